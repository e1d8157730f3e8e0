"""What the clamps exert on rods, the work they do on the way, and where that work turns a rod that is free to spin.

Rods of unit length, one a row, as in `elastica_newton`.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ropewalk.mechanics.elastica_batch import UnitRods
from ropewalk.mechanics.lobatto import LobattoGrid
from ropewalk.mechanics.vectors import cross, dot, norm, spun

__all__ = ["Ends", "ends_of", "in_line", "spun_to_rest", "turning", "work_between"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# Work [1, over stiffness and length] under which a free rod does not bother to spin.
LEVEL = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Ends:
    """What the clamps exert on rods, one a row.

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


def turning(one: Array, two: Array) -> Array:
    """Give the vector of the least turn that brings one unit vector to another.

    Parameters
    ----------
    one, two : (B, 3) array

    Returns
    -------
    (B, 3) array
        [rad]
    """
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
    (B,) array
    """
    work = dot(at_before.force + at_after.force, after.reach - before.reach)
    work += dot(at_before.first_moment + at_after.first_moment, turning(before.first, after.first))
    work += dot(at_before.last_moment + at_after.last_moment, turning(before.last, after.last))
    return np.asarray(0.5 * work)


def in_line(rods: UnitRods) -> UnitRods:
    """Turn the clamps into the line of the chord, each by its least turn.

    Parameters
    ----------
    rods : UnitRods
        With a chord.

    Returns
    -------
    UnitRods
        Free to spin about it.
    """
    chord = rods.reach / norm(rods.reach)[:, None]
    first, last = (np.where(dot(end, chord)[:, None] < 0.0, -chord, chord) for end in (rods.first, rods.last))
    return UnitRods(first, last, rods.reach, chord, rods.bend, rods.possible)


def spun_to_rest(tangents: Array, ends: Ends, before: UnitRods, after: UnitRods) -> tuple[Array, Ends]:
    """Spin rods about the axis they are free to spin about to where the clamps' next move takes the least work.

    Parameters
    ----------
    tangents : (B, n, 3) array
        Shapes between the clamps before the move.
    ends : Ends
        What the clamps exert on them.
    before, after : UnitRods
        The rods before and after the move; the first have an axis of free spin.

    Returns
    -------
    tangents : (B, n, 3) array
    ends : Ends
        Of the rods spun.

    Notes
    -----
    Turned about the axis a by an angle, force and moments keep their parts along a, so the work of a small move is a
    constant and a sine of that angle. Where the move takes no work, the rod stays as it is.
    """
    axis = before.axis
    moves = (after.reach - before.reach, turning(before.first, after.first), turning(before.last, after.last))
    loads = (ends.force, ends.first_moment, ends.last_moment)
    flat = [load - dot(load, axis)[:, None] * axis for load in loads]
    cosine = sum(dot(load, move) for load, move in zip(flat, moves, strict=True))
    sine = sum(dot(cross(axis, load), move) for load, move in zip(flat, moves, strict=True))
    angle = np.where(np.hypot(sine, cosine) > LEVEL, np.arctan2(-sine, -cosine), 0.0)
    force, first, last = (spun(load, axis, angle) for load in loads)
    return spun(tangents, axis[:, None, :], angle[:, None]), Ends(ends.energy, force, first, last)
