"""Shortest safe lengths: what each pose demands, and which pose governs."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ropewalk.analysis.brackets import (
    RADIUS,
    Brackets,
    Start,
    joined_brackets,
    nearby_poses,
    solve_radius,
)
from ropewalk.analysis.loopgrid import LoopGrid
from ropewalk.analysis.loops import Array, Demand, Limit
from ropewalk.bike.poses import pose_words
from ropewalk.mechanics.elastica import Rods, relax_from


def start_of(grid: LoopGrid) -> Start:
    """Return which radii a loop can keep, and the first grid length that keeps them.

    Any loop keeps any radius once it is long enough to balloon. The advised radius therefore governs only where a tidy
    length keeps it: one that turns no more than the allowance beyond the shortest length that keeps the kink radius.
    """
    kink = grid.margin(advised=False)
    if not (kink >= 0).any():
        return Start(grid, advised=False, first=None)
    first = int((kink >= 0).argmax())
    advised = grid.margin(advised=True)
    keeping = (advised >= 0) & (np.arange(len(advised)) >= first)
    if keeping.any():
        at = int(keeping.argmax())
        turn = grid.riding_turn()
        allowed = _at_margin(turn, kink, first) + grid.case.turn_allowance
        if _at_margin(turn, advised, at) <= allowed:
            return Start(grid, advised=True, first=at)
    return Start(grid, advised=False, first=first)


def _at_margin(turn: Array, margin: Array, at: int) -> float:
    """Return the turn where a margin becomes 0, between the grid length `at` and the one before."""
    if at == 0 or not np.isfinite(turn[at - 1]) or margin[at] == margin[at - 1] or margin[at - 1] <= -1.0:
        return float(turn[at])
    share = margin[at] / (margin[at] - margin[at - 1])
    return float(turn[at] + share * (turn[at - 1] - turn[at]))


def demands_of(starts: Sequence[Start]) -> list[Demand | None]:
    """Return, for each loop with a window, the shortest length in every pose of the sweep and about the worst."""
    rows = [_demand_rows(place, start) for place, start in enumerate(starts) if start.first is not None]
    if not rows:
        return [None] * len(starts)
    first = joined_brackets(rows)
    required = np.concatenate([starts[place].required for place in dict.fromkeys(int(loop) for loop in first.loop)])
    length, rods = solve_radius(starts, first, required)
    demands: list[Demand | None] = []
    for place, start in enumerate(starts):
        mine = first.loop == place
        demands.append(
            None
            if start.first is None
            else _demand(start, first.pose[mine], length[mine], required[mine], rods.tangents[mine])
        )
    return _refined(starts, demands)


def _demand_rows(place: int, start: Start) -> Brackets:
    """Bracket, in every pose, the length at which the radius is just kept."""
    grid, first = start.grid, start.first
    assert first is not None
    failing = grid.radius[:first] < start.required
    lowest = (
        np.where(failing.any(axis=0), first - 1 - np.argmax(failing[::-1], axis=0), -1)
        if first
        else np.full(len(grid.chord), -1)
    )
    poses = grid.case.poses
    good = grid.lengths[lowest + 1]
    bad = np.maximum(np.where(lowest >= 0, grid.lengths[lowest], grid.chord), grid.chord)
    tangents = grid.rods.tangents[lowest + 1, np.arange(len(poses))]
    return Brackets(np.full(len(poses), place), poses, good, bad, tangents, np.full(len(poses), RADIUS))


def _demand(start: Start, poses: Array, length: Array, required: Array, tangents: Array) -> Demand:
    chord = start.grid.case.clamps(poses)
    straight = np.linalg.norm(chord.end - chord.start, axis=-1)
    taut = length <= straight * (1 + 1e-3)
    return Demand(poses, np.where(taut, straight, length), taut, required, tangents)


def _refined(starts: Sequence[Start], demands: list[Demand | None]) -> list[Demand | None]:
    """Add poses in fine steps about the worst one of loops that move."""
    rows, placed = [], []
    for place, (start, demand) in enumerate(zip(starts, demands, strict=True)):
        if demand is None or not start.grid.case.moves:
            continue
        worst = int(demand.length.argmax())
        if demand.taut[worst] or start.first is None:
            continue
        nearby = nearby_poses(start.grid.case, demand.poses[worst])
        # the poses of the sweep come first in the demand, in its own order
        column, count = worst, len(nearby)
        # one step up if that keeps the radii too: between two poses more may be asked for than at either
        up = start.first + 1
        first = up if up < len(start.grid.lengths) and start.grid.margin(advised=start.advised)[up] >= 0 else up - 1
        good = np.full(count, start.grid.lengths[first])
        chord = start.grid.case.clamps(nearby)
        straight = np.linalg.norm(chord.end - chord.start, axis=-1)
        bad = np.maximum(straight, demand.length[worst] - 0.5 * (good[0] - demand.length[worst]) - 3.0)
        tangents = np.repeat(start.grid.rods.tangents[first, column][np.newaxis], count, axis=0)
        rows.append(Brackets(np.full(count, place), nearby, good, bad, tangents, np.full(count, RADIUS)))
        placed.append(place)
    if not rows:
        return demands
    more = joined_brackets(rows)
    required = np.concatenate(
        [starts[p].grid.case.required(row.pose, advised=starts[p].advised) for p, row in zip(placed, rows, strict=True)]
    )
    length, rods = solve_radius(starts, more, required)
    for place in placed:
        mine, demand = more.loop == place, demands[place]
        assert demand is not None
        extra = _demand(starts[place], more.pose[mine], length[mine], required[mine], rods.tangents[mine])
        demands[place] = Demand(
            *(
                np.concatenate([getattr(demand, name), getattr(extra, name)])
                for name in ("poses", "length", "taut", "radius", "tangents")
            )
        )
    return demands


def shortest_of(start: Start, demand: Demand) -> Limit:
    """Return the shortest safe length: the most that any pose demands, with its reason."""
    case = start.grid.case
    worst = int(demand.length.argmax())
    pose, length = demand.poses[worst], float(demand.length[worst])
    where = f" at {pose_words(pose)}" if case.moves else ""
    if demand.taut[worst]:
        return Limit(length * (1 + 5e-4), pose, f"pulls{where}: it is straight between its ends")
    rods = relax_from(case.clamps(pose[np.newaxis]), np.array([length]), demand.tangents[[worst]])
    radius = float(demand.radius[worst])
    kind = "the advised" if start.advised and radius > case.kink_radius else "its kink radius,"
    return Limit(length, pose, f"{_verb(rods)}{where}: any shorter and it bends tighter than {kind} {radius:.0f} mm")


def _verb(rods: Rods) -> str:
    return "pulls" if float(rods.pull[0]) > 0 else "kinks"
