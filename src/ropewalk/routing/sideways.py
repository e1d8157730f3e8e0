"""How far to the side a line runs inside tubes: a path in side view lifted to its place between their walls."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from ropewalk.bike.tube import Tube
from ropewalk.mechanics import lifting
from ropewalk.routing import bores
from ropewalk.routing.course import Points, Vector

#: how far a port or stop may stand off what its tube's wall and the line's thickness explain [mm]
PORT_PLAY = 2.0
#: places along a path that are nearer to each other than this are one [mm]
_ONE = 1e-6


def aside(room: bores.Room, points: Points, first: float, last: float) -> Points:
    """Return a path in side view with the sideways offset of its ends, kept inside the tubes' width.

    Parameters
    ----------
    room : Room
    points : (n, 2) array
        The path in side view [mm].
    first, last : float
        How far to the rider's right it starts and ends [mm].

    Returns
    -------
    (m, 3) array

    Notes
    -----
    Tubes are taken as wide sideways as they are in side view, and where the line is in or at the wall of several it
    may go where any of them lets it: how wide openings are sideways is not known. Beside a port it is on its way
    through the wall. Limits change just where the path enters and leaves tubes, so its length has no jumps.
    """
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    tubes = (*room.tubes, *room.passed)
    wall = min(2.0 * room.diameter + PORT_PLAY, along[-1] / 2)
    crossings = [_crossings(tube, points, along, room.diameter) for tube in tubes]
    places: Vector = np.sort(np.concatenate([along, np.array([wall, along[-1] - wall]), *crossings]))
    places = places[np.concatenate([[True], np.diff(places) > _ONE])]
    spots = _at(points, along, places)
    inside = np.stack([_holds(tube, (spots[1:] + spots[:-1]) / 2, room.diameter) for tube in tubes])
    low, high = np.full((2, 2, len(places) - 1), np.inf)
    high = -high
    for tube, here in zip(tubes, inside, strict=True):
        middle, half = _width(tube, spots, room.diameter)
        for end, sides in enumerate((middle[:-1], middle[1:])):
            low[end] = np.where(here, np.minimum(low[end], sides - half), low[end])
            high[end] = np.where(here, np.maximum(high[end], sides + half), high[end])
    low[:, ~inside.any(axis=0)], high[:, ~inside.any(axis=0)] = -np.inf, np.inf
    for near, offset in ((places[1:] <= wall + _ONE, first), (places[:-1] >= along[-1] - wall - _ONE, last)):
        low[:, near], high[:, near] = np.minimum(low[:, near], offset), np.maximum(high[:, near], offset)
    return _without_straights(lifting.lifted(spots, *_gates(low, high), first, last))


def _at(points: Points, along: Vector, places: Vector) -> Points:
    """Return the points of a path at places along it."""
    return np.column_stack([np.interp(places, along, points[:, 0]), np.interp(places, along, points[:, 1])])


def _gates(low: Points, high: Points) -> tuple[Vector, Vector]:
    """Return the limits at the places between which (2, n) limits hold, at their starts and at their ends.

    A place has those of both neighbours; where they exclude each other, all between.
    """
    before = np.concatenate([low[0, :1], low[1]]), np.concatenate([high[0, :1], high[1]])
    after = np.concatenate([low[0], low[1, -1:]]), np.concatenate([high[0], high[1, -1:]])
    least, most = np.maximum(before[0], after[0]), np.minimum(before[1], after[1])
    apart = least > most
    least[apart], most[apart] = np.minimum(before[0], after[0])[apart], np.maximum(before[1], after[1])[apart]
    return least, most


def _frame(tube: Tube) -> tuple[Vector, Vector, float]:
    """Return a tube's start, unit direction and length in side view."""
    start, step = tube.start[:2], tube.end[:2] - tube.start[:2]
    length = math.hypot(*step)
    return start, step / length, length


def _crossings(tube: Tube, points: Points, along: Vector, diameter: float) -> Vector:
    """Return the places along a path at which it comes to a tube's outside or end, or leaves it."""
    reach = (tube.diameter + diameter) / 2
    if bores.across(tube):
        return _circle_crossings(points - tube.start[:2], along, reach)
    start, axis, length = _frame(tube)
    off = points - start
    down, beside = off @ axis, off @ np.array([-axis[1], axis[0]])
    found = []
    for value in (down + diameter / 2, down - length - diameter / 2, beside - reach, beside + reach):
        here = np.flatnonzero(value[:-1] * value[1:] < 0.0)
        share = value[here] / (value[here] - value[here + 1])
        found.append(along[here] + share * (along[here + 1] - along[here]))
    return np.concatenate(found)


def _circle_crossings(points: Points, along: Vector, radius: float) -> Vector:
    """Return the places along a path at which it crosses a circle about the origin."""
    step = np.diff(points, axis=0)
    a, b = np.sum(step**2, axis=1), np.sum(step * points[:-1], axis=1)
    c = np.sum(points[:-1] ** 2, axis=1) - radius**2
    root = np.sqrt(np.maximum(b**2 - a * c, 0.0))
    found = []
    for share in ((-b - root) / np.maximum(a, 1e-300), (-b + root) / np.maximum(a, 1e-300)):
        here = np.flatnonzero((root > 0.0) & (share > 0.0) & (share < 1.0))
        found.append(along[here] + share[here] * (along[here + 1] - along[here]))
    return np.concatenate(found)


def _holds(tube: Tube, points: Points, diameter: float) -> NDArray[np.bool_]:
    """Tell which points in side view lie in a tube or touch it."""
    reach = (tube.diameter + diameter) / 2
    if bores.across(tube):
        return np.asarray(np.hypot(*(points - tube.start[:2]).T) <= reach)
    start, axis, length = _frame(tube)
    off = points - start
    down, beside = off @ axis, np.abs(off @ np.array([-axis[1], axis[0]]))
    return np.asarray((beside <= reach) & (down >= -diameter / 2) & (down <= length + diameter / 2))


def _width(tube: Tube, points: Points, diameter: float) -> tuple[Vector, float]:
    """Return the middle of a tube beside points, to the rider's right, and half its free width [mm]."""
    if bores.across(tube):
        middle = np.full(len(points), float(tube.start[2] + tube.end[2]) / 2)
        return middle, max((tube.length - diameter) / 2, 0.0)
    start, axis, length = _frame(tube)
    share = np.clip((points - start) @ axis / length, 0.0, 1.0)
    half = max((tube.diameter - diameter) / 2 - tube.wall, 0.0)
    return np.asarray(tube.start[2] + share * (tube.end[2] - tube.start[2])), half


def _without_straights(points: Points) -> Points:
    """Return a path without the points at which it does not turn."""
    steps = np.diff(points, axis=0)
    turned = np.linalg.norm(np.cross(steps[:-1], steps[1:]), axis=1)
    sizes = np.linalg.norm(steps, axis=1)
    keep = turned > 1e-9 * np.maximum(sizes[:-1] * sizes[1:], 1e-12)
    kept: Points = points[np.concatenate([[True], keep, [True]])]
    return kept
