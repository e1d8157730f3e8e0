"""Lengths to be found for loops: one bracket a loop and pose, all loops in one batch."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ropewalk.analysis.crossing import crossings
from ropewalk.analysis.loopgrid import LoopGrid
from ropewalk.analysis.loops import Array, LoopCase, joined
from ropewalk.bike.poses import FINE, FOLD
from ropewalk.mechanics.elastica import Clamps, Rods

#: poses tried on either side of the governing one, in fine steps of each thing that moves
NEARBY = 4
#: what a bracket is about: a radius to keep, a turn not to pass, something not to rub
RADIUS, TURN, RUB = 0, 1, 2


@dataclass(frozen=True, slots=True)
class Start:
    """What the grid says of one loop: which radii it can keep, and the first grid length that keeps them."""

    grid: LoopGrid
    advised: bool
    first: int | None

    @property
    def required(self) -> Array:
        """Radius to keep in each pose of the sweep (P,) [mm]."""
        return self.grid.case.required(self.grid.case.poses, advised=self.advised)


@dataclass(frozen=True, slots=True)
class Brackets:
    """Lengths to be found: one row a loop and pose, bracketed by a good and a bad length."""

    loop: Array
    pose: Array
    good: Array
    bad: Array
    tangents: Array
    kind: Array

    def __len__(self) -> int:
        return len(self.loop)


def clamps_of_rows(starts: Sequence[Start], rows: Brackets) -> Clamps:
    """Return the clamps of every row; rows of one loop stand together."""
    places = [int(loop) for loop in np.unique(rows.loop)]
    return joined([starts[place].grid.case.clamps(rows.pose[rows.loop == place]) for place in places])


def joined_brackets(rows: list[Brackets]) -> Brackets:
    """Return several brackets as one."""
    names = ("loop", "pose", "good", "bad", "tangents", "kind")
    return Brackets(*(np.concatenate([getattr(row, name) for row in rows]) for name in names))


def keep_radius(rods: Rods, required: Array) -> Array:
    """Return by how much rods keep their radius, as a share of it; NaN without a stable shape."""
    value = np.minimum(rods.least_radius, 1e6) / required - 1.0
    return np.where(rods.converged & rods.stable, value, np.nan)


def solve_radius(starts: Sequence[Start], rows: Brackets, required: Array) -> tuple[Array, Rods]:
    """Return the lengths [mm] at which rows just keep a radius (K,) [mm], and the rods there."""
    found = crossings(
        clamps_of_rows(starts, rows),
        rows.good,
        rows.tangents,
        rows.bad,
        lambda rods, at: keep_radius(rods, required[at]),
    )
    return found.length, found.rods


def nearby_poses(case: LoopCase, pose: Array) -> Array:
    """Return poses (K, 5) in fine steps about one (5,), within the sweep and not on it; one coordinate at a time.

    While a bike is being folded nothing else moves.
    """
    moving = case.poses.max(axis=0) > case.poses.min(axis=0)
    found = []
    for at in np.flatnonzero(moving):
        # an open hinge is left alone, unless nothing else moves the loop
        if (at == FOLD) != bool(pose[FOLD] > 0.0 or not moving[:FOLD].any()):
            continue
        for step in range(-NEARBY, NEARBY + 1):
            value = pose[at] + step * FINE[at]
            if step and case.low[at] <= value <= case.high[at]:
                found.append(pose.copy())
                found[-1][at] = value
    return np.array(found).reshape(-1, len(pose))
