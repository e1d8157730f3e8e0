"""The way of the clamps between poses, and what they do to the rod on it."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ropewalk.mechanics.elastica_batch import UnitRods, unit_rods
from ropewalk.mechanics.lobatto import LobattoGrid
from ropewalk.mechanics.rods import Clamps
from ropewalk.mechanics.vectors import cross, dot, norm, unit

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
    nodes : int
        Lobatto nodes of the shapes.
    """

    clamps: Clamps
    length: Array
    rods: UnitRods
    nodes: int

    @classmethod
    def of(cls, clamps: Clamps, length: Array, nodes: int) -> "Path":
        """Lay the path of clamps of batch shape (B, S) and lengths (B,)."""
        rods = unit_rods(clamps.reshape(-1), np.repeat(length, clamps.shape[1]), nodes)
        return cls(clamps, length, rods, nodes)


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
        are about even, and on the straight line and the great circle elsewhere.
    """
    low = np.floor(place).astype(np.intp)
    share = place - low
    rods = path.rods[row * path.clamps.shape[1] + low]
    between = np.flatnonzero(share)
    if between.size:
        row, low, share = row[between], low[between], share[between]
        rods.put(between, unit_rods(_between(path.clamps, row, low, share), path.length[row], path.nodes))
    return rods


def _between(clamps: Clamps, row: Index, low: Index, share: Array) -> Clamps:
    """Interpolate clamps between neighbouring poses."""
    part = share[:, None]
    here, ahead = clamps[row, low], clamps[row, low + 1]
    first = _turned(here.start_direction, ahead.start_direction, part)
    last = _turned(here.end_direction, ahead.end_direction, part)
    start, end = here.start + part * (ahead.start - here.start), here.end + part * (ahead.end - here.end)
    if clamps.shape[1] >= 4:
        # Cubic of Lagrange through the four poses about the place, or the nearest four.
        begin = np.clip(low - 1, 0, clamps.shape[1] - 4)
        at = (low - begin + share)[:, None]
        weights = np.stack(
            [
                (1 - at) * (2 - at) * (3 - at) / 6,
                at * (2 - at) * (3 - at) / 2,
                at * (at - 1) * (3 - at) / 2,
                at * (at - 1) * (at - 2) / 6,
            ]
        )
        poses = [clamps[row, begin + k] for k in range(4)]
        even = _even(poses)[:, None]
        start, first, end, last = (
            np.where(even, sum(w * getattr(p, name) for w, p in zip(weights, poses, strict=True)), plain)
            for name, plain in (("start", start), ("start_direction", first), ("end", end), ("end_direction", last))
        )
    return Clamps(start, unit(first), end, unit(last))


def _even(poses: list[Clamps]) -> NDArray[np.bool_]:
    """Tell where four poses are passed in about even steps."""
    chord = norm(poses[0].end - poses[0].start)
    steps = []
    for one, two in pairwise(poses):
        moved = norm((two.end - two.start) - (one.end - one.start)) / np.where(chord > 0.0, chord, 1.0)
        turned = norm(two.start_direction - one.start_direction) + norm(two.end_direction - one.end_direction)
        steps.append(moved + turned)
    return np.asarray(np.max(steps, axis=0) < UNEVEN * np.min(steps, axis=0))


def _turned(one: Array, two: Array, part: Array) -> Array:
    """Turn unit vectors part of the way to others along the great circle."""
    cosine = dot(one, two)[:, None]
    angle = np.arctan2(norm(cross(one, two))[:, None], cosine)
    return np.asarray(np.cos(part * angle) * one + np.sin(part * angle) * unit(two - cosine * one))


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
