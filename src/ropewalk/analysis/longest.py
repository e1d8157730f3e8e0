"""Longest tidy lengths: where radius, turn or clearance first gives way above the shortest safe length."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from ropewalk.analysis.brackets import (
    RADIUS,
    RUB,
    TURN,
    Brackets,
    Start,
    clamps_of_rows,
    joined_brackets,
    keep_radius,
    nearby_poses,
)
from ropewalk.analysis.clearance import Clearance
from ropewalk.analysis.crossing import Rows, crossings
from ropewalk.analysis.loopgrid import CURVE_POINTS
from ropewalk.analysis.loops import Array, Demand, Limit, Mask, joined
from ropewalk.bike.poses import nearest_pose, pose_words
from ropewalk.mechanics.elastica import Rods, relax_from
from ropewalk.units import degrees

_NO_ROWS = Brackets(*(np.empty(0) for _ in range(6)))


@dataclass(frozen=True, slots=True)
class _Upper:
    """What limits a loop from above, and its rods (P,) at the shortest safe length."""

    place: int
    start: Start
    shortest: float
    limit: float
    rods: Rods

    @property
    def rubs(self) -> int | None:
        """The pose in which it rubs most at its shortest safe length already, or None."""
        case = self.start.grid.case
        if case.clearance is None:
            return None
        good = np.flatnonzero(self.rods.converged)
        free = case.clearance(self.rods[good].points(CURVE_POINTS), case.poses[good])
        return int(good[free.argmin()]) if good.size and free.min() < 0 else None


def longest_of(starts: Sequence[Start], shortest: Sequence[Limit | None]) -> list[Limit | None]:
    """Return the longest tidy length of every loop that has a shortest safe one."""
    uppers = _uppers(starts, shortest)
    ends: list[Limit | None] = [None] * len(starts)
    rows: list[Brackets] = []
    for upper in uppers:
        rubs, row = upper.rubs, _upper_rows(upper)
        if rubs is not None:
            ends[upper.place] = _upper_limit(upper, upper.shortest, upper.start.grid.case.poses[rubs], RUB)
        elif row is None:
            ends[upper.place] = Limit(
                float(upper.start.grid.lengths[-1]), np.zeros(5), "nothing limits it up to a full circle more"
            )
        else:
            rows.append(row)
    if not rows:
        return ends
    by_place = {upper.place: upper for upper in uppers}
    all_rows = joined_brackets(rows)
    length = _solve_upper(starts, by_place, all_rows)
    near = _nearby_rows(starts, by_place, all_rows, length)
    if near is not None:
        length = np.concatenate([length, _solve_upper(starts, by_place, near)])
        all_rows = joined_brackets([all_rows, near])
    for place in by_place:
        mine = np.flatnonzero(all_rows.loop == place)
        if mine.size:
            first = mine[int(length[mine].argmin())]
            ends[place] = _upper_limit(
                by_place[place], float(length[first]), all_rows.pose[first], int(all_rows.kind[first])
            )
    return ends


def longest_in_poses(
    starts: Sequence[Start], shortest: Sequence[Limit | None], demands: Sequence[Demand | None]
) -> list[Array]:
    """Return, for every loop at whose ends housing slides, the longest length in each pose by itself (P,) [mm].

    Empty for the others, and where there is no window.
    """
    uppers = {upper.place: upper for upper in _uppers(starts, shortest) if upper.start.grid.case.slides}
    found = [np.empty(0) for _ in starts]
    for place, upper in uppers.items():
        demand = demands[place]
        assert demand is not None
        rows, most = _rows_in_poses(upper, demand)
        if len(rows):
            at = np.flatnonzero(np.isnan(most))
            most[at] = _solve_upper(starts, uppers, rows)
        found[place] = most
    return found


def _rows_in_poses(upper: _Upper, demand: Demand) -> tuple[Brackets, Array]:
    """Bracket, in every pose, the first length above its own shortest at which something gives; NaN where one does."""
    grid = upper.start.grid
    over = _over(upper)
    rows, most = [], np.full(len(grid.case.poses), float(grid.lengths[-1]))
    for pose in range(len(grid.case.poses)):
        low = float(demand.length[pose])
        above = np.flatnonzero(grid.lengths >= low)
        breaking = [
            (int(above[mask[above, pose].argmax()]), kind) for kind, mask in over.items() if mask[above, pose].any()
        ]
        if not above.size or not breaking:
            continue
        at, kind = min(breaking)
        own = at == above[0]
        most[pose] = np.nan
        rows.append(
            Brackets(
                np.array([upper.place]),
                grid.case.poses[[pose]],
                np.array([low if own else float(grid.lengths[at - 1])]),
                np.array([float(grid.lengths[at])]),
                (demand.tangents[[pose]] if own else grid.rods.tangents[[at - 1], [pose]]),
                np.array([kind]),
            )
        )
    return joined_brackets(rows) if rows else _NO_ROWS, most


def _uppers(starts: Sequence[Start], shortest: Sequence[Limit | None]) -> list[_Upper]:
    """Work out the most turn each loop may have: what it has at its shortest safe length, and the allowance."""
    held = [
        (place, start, low) for place, (start, low) in enumerate(zip(starts, shortest, strict=True)) if low is not None
    ]
    if not held:
        return []
    sweeps = [start.grid.case.poses for _, start, _ in held]
    clamps = joined([start.grid.case.clamps(poses) for (_, start, _), poses in zip(held, sweeps, strict=True)])
    lengths = np.concatenate([np.full(len(poses), low.length) for (_, _, low), poses in zip(held, sweeps, strict=True)])
    tangents = np.concatenate([start.grid.rods.tangents[start.first] for _, start, _ in held])
    rods = relax_from(clamps, lengths, tangents)
    found, at = [], 0
    for (place, start, low), poses in zip(held, sweeps, strict=True):
        mine = slice(at, at + len(poses))
        at += len(poses)
        ridden = start.grid.case.ridden(poses)
        turn = float(np.nanmax(np.where(ridden, rods.turn[mine], np.nan)))
        found.append(_Upper(place, start, low.length, turn + start.grid.case.turn_allowance, rods[mine]))
    return found


def _over(upper: _Upper) -> dict[int, Mask]:
    """Return which grid lengths and poses (J, P) break each upper requirement."""
    grid, case = upper.start.grid, upper.start.grid.case
    usable = grid.radius > 0
    over = {
        RADIUS: grid.radius < upper.start.required,
        TURN: usable & (np.where(usable, grid.rods.turn, 0.0) > upper.limit) & case.ridden(case.poses),
    }
    if case.clearance is not None:
        first = upper.start.first or 0
        clear = np.ones(grid.radius.shape, dtype=bool)
        rows, poses = np.nonzero(usable & (np.arange(len(grid.lengths)) >= first)[:, np.newaxis])
        clear[rows, poses] = case.clearance(grid.rods[rows, poses].points(CURVE_POINTS), case.poses[poses]) >= 0
        over[RUB] = ~clear
    return over


def _upper_rows(upper: _Upper) -> Brackets | None:
    """Bracket the first length above the shortest safe one at which something gives, in every pose where it does."""
    grid, first = upper.start.grid, upper.start.first
    assert first is not None
    over = _over(upper)
    breaking = np.zeros(len(grid.lengths), dtype=bool)
    for mask in over.values():
        breaking |= mask.any(axis=1)
    breaking[:first] = False
    if not breaking.any():
        return None
    at = int(breaking.argmax())
    before = max(at - 1, first)
    own = at == first
    rows = []
    for kind, mask in over.items():
        poses = np.flatnonzero(mask[at])
        count = len(poses)
        good = np.full(count, upper.shortest if own else max(float(grid.lengths[before]), upper.shortest))
        tangents = upper.rods.tangents[poses] if own else grid.rods.tangents[before, poses]
        rows.append(
            Brackets(
                np.full(count, upper.place),
                grid.case.poses[poses],
                good,
                np.full(count, grid.lengths[at]),
                tangents,
                np.full(count, kind),
            )
        )
    return joined_brackets(rows)


def _nearby_rows(starts: Sequence[Start], uppers: dict[int, _Upper], rows: Brackets, length: Array) -> Brackets | None:
    """Return rows in fine steps about the pose that gives first, for loops that move."""
    found = []
    for place in np.unique(rows.loop):
        case = starts[int(place)].grid.case
        mine = np.flatnonzero(rows.loop == place)
        worst = mine[int(length[mine].argmin())]
        nearby = nearby_poses(case, rows.pose[worst]) if case.moves else np.empty((0, 5))
        if rows.kind[worst] == TURN:
            nearby = nearby[case.ridden(nearby)]
        if nearby.size:
            count = len(nearby)
            found.append(
                Brackets(
                    np.full(count, place),
                    nearby,
                    np.full(count, rows.good[worst]),
                    np.full(count, rows.bad[worst]),
                    np.repeat(rows.tangents[[worst]], count, axis=0),
                    np.full(count, rows.kind[worst]),
                )
            )
    return _bracketed(starts, uppers, joined_brackets(found)) if found else None


def _bracketed(starts: Sequence[Start], uppers: dict[int, _Upper], rows: Brackets) -> Brackets:
    """Return rows that go down to the shortest safe length where something gives below their good length already."""
    rods = relax_from(clamps_of_rows(starts, rows), rows.good, rows.tangents)
    value = _figure(starts, uppers, rows)(rods, np.arange(len(rows)))
    good, bad, tangents = rows.good.copy(), rows.bad.copy(), rows.tangents.copy()
    for row in np.flatnonzero(~(value >= 0.0)):
        upper = uppers[int(rows.loop[row])]
        nearest = nearest_pose(upper.start.grid.case.poses, rows.pose[row])
        good[row], bad[row], tangents[row] = upper.shortest, rows.good[row], upper.rods.tangents[nearest]
    return Brackets(rows.loop, rows.pose, good, bad, tangents, rows.kind)


def _solve_upper(starts: Sequence[Start], uppers: dict[int, _Upper], rows: Brackets) -> Array:
    figure = _figure(starts, uppers, rows)
    return crossings(clamps_of_rows(starts, rows), rows.good, rows.tangents, rows.bad, figure).length


def _figure(starts: Sequence[Start], uppers: dict[int, _Upper], rows: Brackets) -> Callable[[Rods, Rows], Array]:
    """Return by how much rods of rows keep what those are about, negative where they do not, NaN without a shape."""
    limit = np.array([uppers[int(loop)].limit for loop in rows.loop])
    required = np.concatenate(
        [starts[int(loop)].grid.case.required(pose[np.newaxis], advised=starts[int(loop)].advised)
         for loop, pose in zip(rows.loop, rows.pose, strict=True)]
    )  # fmt: skip

    def figure(rods: Rods, at: Rows) -> Array:
        kind = rows.kind[at]
        value = keep_radius(rods, required[at])
        value = np.where(kind == TURN, limit[at] - rods.turn, value)
        for row in np.flatnonzero(kind == RUB):
            clearance = starts[int(rows.loop[at[row]])].grid.case.clearance
            assert clearance is not None
            if rods.converged[row]:
                value[row] = clearance(rods[[row]].points(CURVE_POINTS), rows.pose[at[[row]]])[0]
            else:
                value[row] = math.nan
        return value

    return figure


def _upper_limit(upper: _Upper, length: float, pose: Array, kind: int) -> Limit:
    case = upper.start.grid.case
    where = f" at {pose_words(pose)}" if case.moves else ""
    if kind == TURN:
        return Limit(length, pose, f"turns {degrees(case.turn_allowance):.0f}° more than at its shortest{where}")
    if kind == RUB:
        return Limit(length, pose, f"rubs{_rubbed(upper, length, pose)}{where}")
    return Limit(length, pose, f"kinks{where}: any longer and it bends tighter than allowed")


def _rubbed(upper: _Upper, length: float, pose: Array) -> str:
    """Return what a loop rubs at a length in a pose, with a space before it; nothing where that has no name."""
    case = upper.start.grid.case
    if not isinstance(case.clearance, Clearance):
        return ""
    start = upper.rods.tangents[[nearest_pose(case.poses, pose)]]
    rods = relax_from(case.clamps(pose[np.newaxis]), np.array([length]), start)
    return f" {case.clearance.nearest(rods.points(CURVE_POINTS)[0], pose)}" if rods.converged[0] else ""
