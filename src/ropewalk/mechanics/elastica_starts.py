"""Curves to start the search for a rod's shape from: a cubic of the asked length, and bows about the chord.

Rods of unit length, one a row.
"""

import numpy as np
from numpy.typing import NDArray

from ropewalk.mechanics.lobatto import LobattoGrid
from ropewalk.mechanics.vectors import cross, dot, norm, unit

__all__ = ["bowed_tangents", "end_bend", "flat_tangents", "hermite_tangents", "taut_tangents"]

Array = NDArray[np.float64]

# A small part across the plane of a flat start, which keeps it from staying there by symmetry.
OUT_OF_PLANE = 0.05


def _chord(reach: Array, first: Array) -> Array:
    """Give the direction of the chord; a closed rod has none, the first tangent stands in for it."""
    return unit(np.where((norm(reach) > 0.0)[:, None], reach, first))


def _from_chord(directions: Array, chord: Array) -> Array:
    """Give the angle between directions and the chord, exact for small ones too."""
    return np.asarray(np.arctan2(norm(cross(directions, chord)), dot(directions, chord)))


def end_bend(first: Array, last: Array, reach: Array) -> Array:
    """Give the length over which a taut rod bends at its clamps; it says more the smaller it is.

    Parameters
    ----------
    first, last : (B, 3) array
        Unit tangents at the clamps.
    reach : (B, 3) array
        Vector from start to end, shorter than 1.

    Returns
    -------
    (B,) array
        Infinite where both clamps are in line.

    Notes
    -----
    A long rod under the tension F leaves its clamp by the angle a and nears the chord as tan(angle/4) = tan(a/4)
    exp(-s/b) with b = F^(-1/2): the separatrix of the pendulum. That takes 4 b sin(a/4)^2 more length than the chord,
    so the bend b follows from the length to spare.
    """
    chord = _chord(reach, first)
    spare = 1.0 - norm(reach)
    need = sum(4.0 * np.sin(_from_chord(end, chord) / 4.0) ** 2 for end in (first, last))
    return np.asarray(np.where(need > 0.0, spare / np.where(need > 0.0, need, 1.0), np.inf))


def taut_tangents(grid: LobattoGrid, first: Array, last: Array, reach: Array) -> Array:
    """Bend from either clamp to the chord as a taut rod does.

    Parameters
    ----------
    grid : LobattoGrid
    first, last, reach : (B, 3) array
        As in `hermite_tangents`.

    Returns
    -------
    (B, n, 3) array
        Unit tangents at the nodes.
    """
    chord = _chord(reach, first)
    bend = np.minimum(end_bend(first, last, reach), 1e6)
    tangents = np.zeros((first.shape[0], grid.nodes.size, 3)) + chord[:, None, :]
    for end, away in ((first, grid.nodes), (last, grid.nodes[::-1])):
        angle = _from_chord(end, chord)
        side = unit(end - dot(end, chord)[:, None] * chord)
        # A clamp that looks straight back bends to whichever side the bow would be on.
        side = np.where(side.any(axis=1, keepdims=True), side, _aside(first, last, chord))
        here = 4.0 * np.arctan(np.tan(angle / 4.0)[:, None] * np.exp(-away / bend[:, None]))
        tangents += np.sin(here)[:, :, None] * side[:, None, :] + (np.cos(here) - 1.0)[:, :, None] * chord[:, None, :]
    tangents = unit(tangents)
    tangents[:, 0], tangents[:, -1] = first, last
    return tangents


def _aside(first: Array, last: Array, chord: Array) -> Array:
    """Give a unit vector across the chord to which side the clamps make the rod bow."""
    lean = first - last
    lean = lean - dot(lean, chord)[:, None] * chord
    # In-line and point-symmetric clamps favour no side: take the axis least along the chord.
    plain = np.eye(3)[np.argmin(np.abs(chord), axis=1)]
    plain = plain - dot(plain, chord)[:, None] * chord
    weak = dot(lean, lean) < 1e-6
    return unit(np.where(weak[:, None], plain, lean))


def hermite_tangents(grid: LobattoGrid, first: Array, last: Array, reach: Array) -> Array:
    """Sample the direction of the cubic Hermite curve whose arc length is 1.

    Parameters
    ----------
    grid : LobattoGrid
    first, last : (B, 3) array
        Unit tangents at the clamps.
    reach : (B, 3) array
        Vector from start to end, shorter than 1.

    Returns
    -------
    (B, n, 3) array
        Unit tangents at the nodes, which are taken as places on the curve's arc.
    """
    chord = _chord(reach, first)
    third = cross(chord, _aside(first, last, chord))
    u = np.linspace(0.0, 1.0, 33)
    steps = np.stack([(1 - u) * (1 - 3 * u), u * (3 * u - 2), 6 * u * (1 - u)])
    fixed = reach[:, None, :] * steps[2][:, None]
    both = first[:, None, :] * steps[0][:, None] + last[:, None, :] * steps[1][:, None]
    low, high = np.full(first.shape[0], 0.05), np.full(first.shape[0], 8.0)
    for _ in range(14):
        middle = 0.5 * (low + high)
        curve = fixed + middle[:, None, None] * both
        speed = norm(curve)
        too_long = np.trapezoid(speed, u, axis=1) > 1.0
        high, low = np.where(too_long, middle, high), np.where(too_long, low, middle)
    curve = fixed + low[:, None, None] * both
    speed = norm(curve)
    arc = np.concatenate([np.zeros((len(speed), 1)), np.cumsum(0.5 * (speed[:, 1:] + speed[:, :-1]), axis=1)], axis=1)
    arc /= arc[:, -1:]
    # Where on the curve each node lies: linear interpolation, all rows at once.
    cell = np.clip((arc[:, None, :] < grid.nodes[None, :, None]).sum(axis=2) - 1, 0, u.size - 2)
    left, right = np.take_along_axis(arc, cell, axis=1), np.take_along_axis(arc, cell + 1, axis=1)
    share = ((grid.nodes - left) / np.maximum(right - left, 1e-300))[:, :, None]
    before = np.take_along_axis(curve, cell[:, :, None], axis=1)
    after = np.take_along_axis(curve, cell[:, :, None] + 1, axis=1)
    tangents = unit((1 - share) * before + share * after)
    tangents = unit(tangents + OUT_OF_PLANE * np.sin(np.pi * grid.nodes)[:, None] * third[:, None, :])
    tangents[:, 0], tangents[:, -1] = first, last
    return tangents


def _blend(grid: LobattoGrid, first: Array, last: Array, chord: Array) -> Array:
    s = grid.nodes[:, None]
    return (1 - s) ** 2 * first[:, None, :] + s**2 * last[:, None, :] + 2 * s * (1 - s) * chord[:, None, :]


def bowed_tangents(grid: LobattoGrid, first: Array, last: Array, reach: Array) -> Array:
    """Blend from the first clamp to the last over a bow to the side the clamps lean to.

    Parameters
    ----------
    grid : LobattoGrid
    first, last, reach : (B, 3) array
        As in `hermite_tangents`.

    Returns
    -------
    (B, n, 3) array
        Unit tangents at the nodes.
    """
    s = grid.nodes[:, None]
    chord = _chord(reach, first)
    side = _aside(first, last, chord)
    swing = np.sin(2 * np.pi * s) * side[:, None, :]
    off = OUT_OF_PLANE * np.sin(np.pi * s) * cross(chord, side)[:, None, :]
    tangents = unit(_blend(grid, first, last, chord) + swing + off)
    tangents[:, 0], tangents[:, -1] = first, last
    return tangents


def flat_tangents(grid: LobattoGrid, first: Array, last: Array, reach: Array, normal: Array, swing: float) -> Array:
    """Blend from the first clamp to the last over a bow within a plane.

    Parameters
    ----------
    grid : LobattoGrid
    first, last, reach : (B, 3) array
        As in `hermite_tangents`, all in the plane.
    normal : (B, 3) array
        Unit normal of the plane.
    swing : float
        Swing of the tangents about the chord, to the side of normal cross chord if positive.

    Returns
    -------
    (B, n, 3) array
        Unit tangents at the nodes.
    """
    chord = _chord(reach, first)
    side = cross(normal, chord)
    tangents = unit(
        _blend(grid, first, last, chord) + swing * np.sin(2 * np.pi * grid.nodes)[:, None] * side[:, None, :]
    )
    tangents[:, 0], tangents[:, -1] = first, last
    return tangents
