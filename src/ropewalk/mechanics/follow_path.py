"""The way of the clamps between poses, and what they do to the rod on it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ropewalk.mechanics.elastica_batch import UnitRods, unit_rods
from ropewalk.mechanics.lobatto import LobattoGrid
from ropewalk.mechanics.rods import Clamps
from ropewalk.mechanics.vectors import cross, dot, norm

__all__ = ["Ends", "Path", "ends_of", "rods_at", "turning", "work_between"]

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
    nodes : int
        Lobatto nodes of the shapes.
    """

    clamps: Clamps
    length: Array
    rods: UnitRods
    stack: Array
    even: NDArray[np.bool_]
    nodes: int

    @classmethod
    def of(cls, clamps: Clamps, length: Array, nodes: int) -> "Path":
        """Lay the path of clamps of batch shape (B, S) and lengths (B,)."""
        rods = unit_rods(clamps.reshape(-1), np.repeat(length, clamps.shape[1]), nodes)
        stack = np.stack([clamps.start, clamps.start_direction, clamps.end, clamps.end_direction], axis=2)
        return cls(clamps, length, rods, stack, _even(clamps), nodes)


@dataclass(frozen=True, slots=True, eq=False)
class Ends:
    """What the clamps exert on rods of unit length, one a row.

    Attributes
    ----------
    energy : (B,) array
    force : (B, 3) array
        At the end; at the start its opposite.
    first_moment, last_moment : (B, 3) array
    """

    energy: Array
    force: Array
    first_moment: Array
    last_moment: Array

    def __getitem__(self, index: Index) -> "Ends":
        """Select rows."""
        return Ends(self.energy[index], self.force[index], self.first_moment[index], self.last_moment[index])

    def put(self, index: Index, other: "Ends") -> None:
        """Overwrite rows."""
        self.energy[index], self.force[index] = other.energy, other.force
        self.first_moment[index], self.last_moment[index] = other.first_moment, other.last_moment


def ends_of(grid: LobattoGrid, tangents: Array, force: Array) -> Ends:
    """Give energy, force and moments of rods in equilibrium.

    Parameters
    ----------
    grid : LobattoGrid
    tangents : (B, n, 3) array
    force : (B, 3) array

    Returns
    -------
    Ends
    """
    bending = np.matmul(grid.stiffness, tangents)
    energy = 0.5 * np.einsum("bic,bic->b", tangents, bending)
    edge = grid.weights[0] * force
    first = cross(tangents[:, 0], bending[:, 0] - edge)
    last = cross(tangents[:, -1], bending[:, -1] - edge)
    return Ends(energy, force, first, last)


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
    poses = path.stack.shape[1]
    if poses >= 4:
        # Cubic of Lagrange through the four poses about the place, or the nearest four.
        begin = np.clip(low - 1, 0, poses - 4)
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
        ends = np.where(path.even[row, begin][:, None, None], cubic, ends)
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


def turning(one: Array, two: Array) -> Array:
    """Give the vector of the least turn that brings one unit vector to another."""
    across = cross(one, two)
    sine = norm(across)
    angle = np.arctan2(sine, dot(one, two))
    return np.asarray(across * np.where(sine > 0.0, angle / np.where(sine > 0.0, sine, 1.0), 1.0)[:, None])


def work_between(before: UnitRods, at_before: Ends, after: UnitRods, at_after: Ends) -> Array:
    """Give the work the clamps do between two neighbouring shapes, by the rule of the trapezium.

    Parameters
    ----------
    before, after : UnitRods
    at_before, at_after : Ends

    Returns
    -------
    (W,) array
    """
    moved = after.reach - before.reach
    work = dot(at_before.force + at_after.force, moved)
    turned = turning(before.first, after.first)
    work += dot(at_before.first_moment + at_after.first_moment, turned)
    turned = turning(before.last, after.last)
    work += dot(at_before.last_moment + at_after.last_moment, turned)
    return np.asarray(0.5 * work)
