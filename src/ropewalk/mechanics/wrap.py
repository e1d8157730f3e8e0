"""The shortest path beside a cylinder between two points: straight, or wound about it.

Seen along the axis, a taut line is a tangent, an arc and a tangent; unrolled, its slope along the axis is the same all
the way, so that its length is the hypotenuse of its length seen along the axis and its rise. One point may turn about
the axis: all is told for many angles between both at once.

Examples
--------
A quarter round a cylinder of radius 10, from surface to surface, 30 further along:

>>> float(wound(np.radians([90.0]), 10.0, 10.0, 10.0, 30.0).length[0] - math.hypot(30.0, 5.0 * math.pi))
0.0
"""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


class Wound(NamedTuple):
    """Shortest paths beside a cylinder, one for each of K angles between their ends."""

    #: (K,) [mm]
    length: Array
    #: angle they bend through on the cylinder [rad], (K,); the straight parts join without a corner
    turn: Array
    #: angle seen along the axis over which they lie on the cylinder [rad], (K,)
    contact: Array
    #: radius they bend to there [mm], (K,); infinite where they are straight
    radius: Array
    #: unit directions of travel at both ends, (K, 3): away from the axis, about it (as the angle grows), along it;
    #: each in the axes of its own end
    start_direction: Array
    end_direction: Array


def wound(angle: ArrayLike, start_radius: float, end_radius: float, radius: float, rise: float) -> Wound:
    """Return the shortest paths between two points beside a cylinder.

    Parameters
    ----------
    angle : array_like, shape (K,)
        Angle about the axis from the first point to the second [rad], signed, on the side on which the line passes;
        more than half a turn winds it further round.
    start_radius, end_radius : float
        Distances of the points from the axis [mm], no less than `radius`.
    radius : float
        Of the cylinder, with half the line's diameter [mm].
    rise : float
        How far the second point lies further along the axis than the first [mm].

    Returns
    -------
    Wound

    Raises
    ------
    ValueError
        When a point lies inside the cylinder.

    Notes
    -----
    With the angles a = acos(r/start) and b = acos(r/end) that the tangents take, the line touches where
    |angle| > a + b, over w = |angle| - a - b; seen along the axis it is sqrt(start^2 - r^2) + r w + sqrt(end^2 - r^2)
    long, elsewhere the chord. A helix of slope c to its circle bends to r / cos(c)^2 over r w / cos(c), so it turns by
    w cos(c).

    Examples
    --------
    >>> straight = wound([0.0], 20.0, 20.0, 10.0, 50.0)
    >>> straight.length.tolist(), straight.turn.tolist()
    ([50.0], [0.0])
    """
    if min(start_radius, end_radius) < radius * (1.0 - 1e-12):
        raise ValueError("a point lies inside the cylinder")
    given = np.atleast_1d(np.asarray(angle, dtype=float))
    size, hand = np.abs(given), np.where(given < 0.0, -1.0, 1.0)
    leave = math.acos(min(1.0, radius / start_radius))
    meet = math.acos(min(1.0, radius / end_radius))
    contact = np.maximum(size - leave - meet, 0.0)
    touches = size > leave + meet
    tangents = math.sqrt(max(start_radius**2 - radius**2, 0.0)) + math.sqrt(max(end_radius**2 - radius**2, 0.0))
    # the chord by its parts, so that near points lose no digits
    out, across = end_radius * np.cos(size) - start_radius, end_radius * np.sin(size)
    level = np.where(touches, tangents + radius * contact, np.hypot(out, across))
    length = np.hypot(level, rise)
    share = np.divide(level, length, out=np.zeros_like(level), where=length > 0.0)
    along = np.divide(rise, length, out=np.zeros_like(level), where=length > 0.0)
    bend = np.divide(radius, share**2, out=np.full_like(level, np.inf), where=touches & (share > 0.0))
    # outward and round parts of the flat direction at either end: of a tangent, or of the chord
    chord = np.maximum(np.hypot(out, across), 1e-300)
    start_out = np.where(touches, -math.sin(leave), out / chord)
    start_round = np.where(touches, math.cos(leave), across / chord)
    end_out = np.where(touches, math.sin(meet), (end_radius - start_radius * np.cos(size)) / chord)
    end_round = np.where(touches, math.cos(meet), start_radius * np.sin(size) / chord)
    return Wound(
        length,
        contact * share,
        contact,
        bend,
        np.stack([start_out * share, hand * start_round * share, along], axis=-1),
        np.stack([end_out * share, hand * end_round * share, along], axis=-1),
    )


def wound_points(
    angle: float, start_radius: float, end_radius: float, radius: float, rise: float, *, step: float = 0.1
) -> Array:
    """Return points of one such path: distance from the axis, angle from the first point [rad], rise.

    Parameters
    ----------
    angle, start_radius, end_radius, radius, rise : float
        As in :func:`wound`.
    step : float
        Angle between points on the cylinder at most [rad].

    Returns
    -------
    (n, 3) array
        Straight between the points; two points where the path is straight.
    """
    leave = math.acos(min(1.0, radius / start_radius))
    meet = math.acos(min(1.0, radius / end_radius))
    contact = abs(angle) - leave - meet
    if contact <= 0.0:
        return np.array([[start_radius, 0.0, 0.0], [end_radius, angle, rise]])
    count = max(2, math.ceil(contact / step) + 1)
    turned = leave + np.linspace(0.0, contact, count)
    before, after = math.sqrt(max(start_radius**2 - radius**2, 0.0)), math.sqrt(max(end_radius**2 - radius**2, 0.0))
    level = before + radius * (turned - leave)
    total = before + radius * contact + after
    on_it = np.column_stack([np.full(count, radius), math.copysign(1.0, angle) * turned, level / total * rise])
    return np.concatenate([[[start_radius, 0.0, 0.0]], on_it, [[end_radius, angle, rise]]])
