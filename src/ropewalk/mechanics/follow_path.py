"""The way of the clamps from pose to pose."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ropewalk.mechanics.elastica_batch import UnitRods, unit_rods
from ropewalk.mechanics.rods import Clamps
from ropewalk.mechanics.vectors import norm

__all__ = ["Path", "rods_at"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# Steps are about even if none is longer than another by this factor.
UNEVEN = 1.5


@dataclass(frozen=True, slots=True, eq=False)
class Path:
    """Rods with the clamps of all their poses.

    Attributes
    ----------
    clamps : Clamps
        Of batch shape (B, S).
    length : (B,) array
        [mm]
    rods : UnitRods
        The same rods of unit length, flat: pose p of rod b in row b S + p.
    stack : (B, S, 4, 3) array
        Start, its direction, end and its direction, together.
    even : (B, S - 3) array of bool
        Whether the four poses from one on are passed in about even steps.
    count : (B,) array of int
        Poses that each rod is followed through, the first so many.
    nodes : int
        Lobatto nodes of the shapes.
    """

    clamps: Clamps
    length: Array
    rods: UnitRods
    stack: Array
    even: NDArray[np.bool_]
    count: Index
    nodes: int

    @classmethod
    def of(cls, clamps: Clamps, length: Array, nodes: int, count: Index | None = None) -> "Path":
        """Lay the path of clamps of batch shape (B, S) and lengths (B,), through the first (B,) poses or all."""
        rods = unit_rods(clamps.reshape(-1), np.repeat(length, clamps.shape[1]), nodes)
        stack = np.stack([clamps.start, clamps.start_direction, clamps.end, clamps.end_direction], axis=2)
        if count is None:
            count = np.full(clamps.shape[0], clamps.shape[1])
        return cls(clamps, length, rods, stack, _even(clamps), count, nodes)


def rods_at(path: Path, row: Index, place: Array) -> UnitRods:
    """Give rods at places between poses.

    Parameters
    ----------
    path : Path
    row : (W,) array of int
        Which rod.
    place : (W,) array
        Where, in poses; 2.25 is a quarter of the way from pose 2 to pose 3.

    Returns
    -------
    UnitRods
        Between poses, positions and directions lie on the cubic through the two poses on either side where the steps
        are about even, and on the straight line elsewhere.
    """
    low = np.floor(place).astype(np.intp)
    share = place - low
    rods = path.rods[row * path.clamps.shape[1] + low]
    between = np.flatnonzero(share)
    if between.size:
        row, low, share = row[between], low[between], share[between]
        ends = _between(path, row, low, share)
        rods.put(between, unit_rods(Clamps(*ends), path.length[row], path.nodes))
    return rods


def _between(path: Path, row: Index, low: Index, share: Array) -> list[Array]:
    """Interpolate clamps between neighbouring poses; directions are brought to unit length by who scales the rods."""
    here, ahead = path.stack[row, low], path.stack[row, low + 1]
    ends = here + share[:, None, None] * (ahead - here)
    poses = path.count[row]
    enough = poses >= 4
    if enough.any():
        # Cubic of Lagrange through the four poses about the place, or the nearest four.
        begin = np.clip(low - 1, 0, np.maximum(poses, 4) - 4)
        at = low - begin + share
        weights = np.stack(
            [
                (1 - at) * (2 - at) * (3 - at) / 6,
                at * (2 - at) * (3 - at) / 2,
                at * (at - 1) * (3 - at) / 2,
                at * (at - 1) * (at - 2) / 6,
            ],
            axis=1,
        )
        cubic = np.einsum("wp,wpac->wac", weights, path.stack[row[:, None], begin[:, None] + np.arange(4)])
        ends = np.where((enough & path.even[row, begin])[:, None, None], cubic, ends)
    return [ends[:, k] for k in range(4)]


def _even(clamps: Clamps) -> NDArray[np.bool_]:
    """Tell where four poses in a row are passed in about even steps."""
    span = clamps.end - clamps.start
    chord = norm(span).max(axis=1, keepdims=True)
    steps = norm(np.diff(span, axis=1)) / np.where(chord > 0.0, chord, 1.0)
    steps += norm(np.diff(clamps.start_direction, axis=1)) + norm(np.diff(clamps.end_direction, axis=1))
    if steps.shape[1] < 3:
        return np.zeros((steps.shape[0], 0), dtype=bool)
    three = np.stack([steps[:, :-2], steps[:, 1:-1], steps[:, 2:]])
    return np.asarray(three.max(axis=0) < UNEVEN * three.min(axis=0))
