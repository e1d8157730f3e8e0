"""The length window of loops: shortest safe, longest tidy, target, each with its pose and reason.

All loops of a bike are studied together: a grid of lengths is followed through every pose of the sweep, the lengths at
which a requirement is just kept are then found between grid lengths, and the governing pose between sweep steps.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from ropewalk.analysis.brackets import Start
from ropewalk.analysis.longest import longest_in_poses, longest_of
from ropewalk.analysis.loopgrid import follow_cases, follow_grids
from ropewalk.analysis.loops import Array, Limit, LoopCase, LoopWindow
from ropewalk.analysis.shortest import demands_of, shortest_of, start_of
from ropewalk.units import radians

#: a longer length is worth aiming for when it turns less by at least this [rad]
WORTH_LESS_TURN = radians(0.5)


def windows(cases: Sequence[LoopCase]) -> tuple[LoopWindow, ...]:
    """Find the windows of loops.

    Parameters
    ----------
    cases : sequence of LoopCase
        Loops; those with the same number of poses are followed in one batch.

    Notes
    -----
    Shortest safe: the shortest length that keeps the kink radius in every pose, and the advised radius in the riding
    range where some tidy length can. Longest tidy: the end of the unbroken run of lengths from there that keep the same
    radii, turn no more than the allowance beyond the shortest safe length (each the most over the riding range), and
    rub nothing.
    """
    if not cases:
        return ()
    starts = [start_of(grid) for grid in follow_grids(cases)]
    demands = demands_of(starts)
    shortest = [
        None if demand is None else shortest_of(start, demand) for start, demand in zip(starts, demands, strict=True)
    ]
    longest = longest_of(starts, shortest)
    highs = longest_in_poses(starts, shortest, demands)
    targets = [_target(*parts) for parts in zip(starts, shortest, longest, strict=True)]
    sweeps = follow_cases(cases, [target for target, _ in targets])
    return tuple(
        LoopWindow(
            case,
            low,
            high,
            target,
            start.advised,
            squeezed,
            demand,
            rods,
            snapped,
            *_turn_table(start, low, high),
            grid=start.grid if case.slides else None,
            highs=most,
        )
        for case, start, low, high, demand, (target, squeezed), (rods, snapped), most in zip(
            cases, starts, shortest, longest, demands, targets, sweeps, highs, strict=True
        )
    )


def _target(start: Start, shortest: Limit | None, longest: Limit | None) -> tuple[float, bool]:
    """Return the target length, and whether it had to give way to the longest tidy one."""
    grid = start.grid
    if shortest is None or longest is None:
        return float(grid.lengths[int(grid.margin(advised=False).argmax())]), False
    target = shortest.length + grid.case.trim
    if target > longest.length:
        return longest.length, True
    if grid.case.trim == 0.0:
        # no slack is wanted here, not even for less turn
        return target, False
    inside = (grid.lengths > target) & (grid.lengths <= longest.length)
    if inside.any():
        turn = grid.riding_turn()
        at_target = float(
            np.interp(target, grid.lengths, np.where(np.isfinite(turn), turn, turn[np.isfinite(turn)].max()))
        )
        best = int(np.where(inside, turn, math.inf).argmin())
        if turn[best] < at_target - WORTH_LESS_TURN:
            return float(grid.lengths[best]), False
    return target, False


def _turn_table(start: Start, shortest: Limit | None, longest: Limit | None) -> tuple[Array, Array]:
    """Return lengths (J,) that span the window, and the turn there in each pose (J, P)."""
    grid = start.grid
    if shortest is None or longest is None:
        return np.empty(0), np.empty((0, len(grid.case.poses)))
    usable = (grid.radius > 0).all(axis=1)
    low = grid.lengths[usable & (grid.lengths <= shortest.length)].max(initial=-math.inf)
    high = grid.lengths[usable & (grid.lengths >= longest.length)].min(initial=math.inf)
    rows = usable & (grid.lengths >= low) & (grid.lengths <= high)
    return grid.lengths[rows], grid.rods.turn[rows]
