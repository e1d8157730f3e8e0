"""Curves to start the search for a rod's shape from: a cubic of the asked length, and bows about the chord.

Rods of unit length, one a row.
"""

import numpy as np
from numpy.typing import NDArray

from ropewalk.mechanics.lobatto import LobattoGrid

__all__ = ["bowed_tangents", "hermite_tangents", "spin_axis"]

Array = NDArray[np.float64]

# Clamps this close to the chord [rad] let the rod spin freely about it.
IN_LINE = 1e-7


def _unit(vectors: Array) -> Array:
    length = np.sqrt(np.einsum("...c,...c->...", vectors, vectors))[..., None]
    return vectors / np.maximum(length, 1e-300)


def spin_axis(first: Array, last: Array, reach: Array) -> Array:
    """Give the axis a rod spins freely about: the chord's direction where both clamps lie along it, else zero.

    Parameters
    ----------
    first, last : (B, 3) array
        Unit tangents at the clamps.
    reach : (B, 3) array
        Vector from start to end.

    Returns
    -------
    (B, 3) array
    """
    chord = _unit(reach)
    aside = np.maximum(np.linalg.norm(np.cross(chord, first), axis=-1), np.linalg.norm(np.cross(chord, last), axis=-1))
    return np.where((aside < IN_LINE)[:, None], chord, 0.0)


def _aside(first: Array, last: Array, chord: Array) -> Array:
    """Give a unit vector across the chord to which side the clamps make the rod bow."""
    lean = first - last
    lean = lean - np.einsum("bc,bc->b", lean, chord)[:, None] * chord
    # In-line and point-symmetric clamps favour no side: take the axis least along the chord.
    plain = np.eye(3)[np.argmin(np.abs(chord), axis=1)]
    plain = plain - np.einsum("bc,bc->b", plain, chord)[:, None] * chord
    weak = np.einsum("bc,bc->b", lean, lean) < 1e-6
    return _unit(np.where(weak[:, None], plain, lean))


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
    u = np.linspace(0.0, 1.0, 33)
    steps = np.stack([(1 - u) * (1 - 3 * u), u * (3 * u - 2), 6 * u * (1 - u)])
    fixed = reach[:, None, :] * steps[2][:, None]
    both = first[:, None, :] * steps[0][:, None] + last[:, None, :] * steps[1][:, None]
    low, high = np.full(first.shape[0], 0.05), np.full(first.shape[0], 8.0)
    for _ in range(14):
        middle = 0.5 * (low + high)
        curve = fixed + middle[:, None, None] * both
        speed = np.sqrt(np.einsum("buc,buc->bu", curve, curve))
        too_long = np.trapezoid(speed, u, axis=1) > 1.0
        high, low = np.where(too_long, middle, high), np.where(too_long, low, middle)
    curve = fixed + low[:, None, None] * both
    speed = np.sqrt(np.einsum("buc,buc->bu", curve, curve))
    arc = np.concatenate([np.zeros((len(speed), 1)), np.cumsum(0.5 * (speed[:, 1:] + speed[:, :-1]), axis=1)], axis=1)
    arc /= arc[:, -1:]
    # Where on the curve each node lies: linear interpolation, all rows at once.
    cell = np.clip((arc[:, None, :] < grid.nodes[None, :, None]).sum(axis=2) - 1, 0, u.size - 2)
    left, right = np.take_along_axis(arc, cell, axis=1), np.take_along_axis(arc, cell + 1, axis=1)
    share = ((grid.nodes - left) / np.maximum(right - left, 1e-300))[:, :, None]
    before = np.take_along_axis(curve, cell[:, :, None], axis=1)
    after = np.take_along_axis(curve, cell[:, :, None] + 1, axis=1)
    tangents = _unit((1 - share) * before + share * after)
    tangents[:, 0], tangents[:, -1] = first, last
    return tangents


def bowed_tangents(grid: LobattoGrid, first: Array, last: Array, reach: Array, angle: float, size: float) -> Array:
    """Blend from the first clamp to the last over a bow.

    Parameters
    ----------
    grid : LobattoGrid
    first, last, reach : (B, 3) array
        As in `hermite_tangents`.
    angle : float
        Side of the bow about the chord, 0 being the side the clamps lean to [rad].
    size : float
        Swing of the tangents about the chord.

    Returns
    -------
    (B, n, 3) array
        Unit tangents at the nodes.
    """
    s = grid.nodes[:, None]
    chord = _unit(reach)
    side = _aside(first, last, chord)
    across = np.cos(angle) * side + np.sin(angle) * np.cross(chord, side)
    blend = (1 - s) ** 2 * first[:, None, :] + s**2 * last[:, None, :] + 2 * s * (1 - s) * chord[:, None, :]
    # A small part to the third direction keeps a flat start from staying in its plane by symmetry.
    third = np.cross(chord, across)
    swing = np.sin(2 * np.pi * s) * across[:, None, :] + 0.05 * np.sin(np.pi * s) * third[:, None, :]
    tangents = _unit(blend + size * swing)
    tangents[:, 0], tangents[:, -1] = first, last
    return tangents
