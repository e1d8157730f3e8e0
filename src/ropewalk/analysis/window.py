"""The length window of loops: shortest safe, longest tidy, target, each with its pose and reason.

All loops of a bike are studied together: a grid of lengths is followed through every pose of the sweep, the lengths at
which a requirement is just kept are then found between grid lengths, and the governing pose between sweep steps.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ropewalk.analysis.crossing import crossings
from ropewalk.analysis.loopgrid import CURVE_POINTS, LoopGrid, follow_cases, follow_grids
from ropewalk.analysis.loops import Array, Demand, Limit, LoopCase, LoopWindow, Mask, joined, steer_words
from ropewalk.mechanics.elastica import Clamps, Rods, relax_from
from ropewalk.units import degrees, radians

#: poses tried on either side of the governing one, one degree apart
NEARBY = 4
#: a longer length is worth aiming for when it turns less by at least this [rad]
WORTH_LESS_TURN = radians(0.5)
_RADIUS, _TURN, _RUB = 0, 1, 2


@dataclass(frozen=True, slots=True)
class _Start:
    """What the grid says of one loop: which radii it can keep, and the first grid length that keeps them."""

    grid: LoopGrid
    advised: bool
    first: int | None

    @property
    def required(self) -> Array:
        return self.grid.case.required(self.grid.case.steer, advised=self.advised)


@dataclass(frozen=True, slots=True)
class _Rows:
    """Lengths to be found: one row a loop and pose, bracketed by a good and a bad length."""

    loop: Array
    steer: Array
    good: Array
    bad: Array
    tangents: Array
    kind: Array

    def __len__(self) -> int:
        return len(self.loop)


def windows(cases: Sequence[LoopCase]) -> tuple[LoopWindow, ...]:
    """Find the windows of loops.

    Parameters
    ----------
    cases : sequence of LoopCase
        Loops; those with the same number of poses are followed in one batch.

    Notes
    -----
    Shortest safe: the shortest length that keeps the kink radius in every pose, and the advised radius in the riding
    range where some length can. Longest tidy: the end of the unbroken run of lengths from there that keep the same
    radii, turn no more than the allowance beyond the shortest safe length (each the most over the riding range), and
    rub nothing.
    """
    if not cases:
        return ()
    starts = [_start(grid) for grid in follow_grids(cases)]
    demands = _demands(starts)
    shortest = [
        None if demand is None else _shortest(start, demand) for start, demand in zip(starts, demands, strict=True)
    ]
    longest = _longest(starts, shortest)
    targets = [_target(*parts) for parts in zip(starts, shortest, longest, strict=True)]
    sweeps = follow_cases(cases, [target for target, _ in targets])
    return tuple(
        LoopWindow(
            case, low, high, target, start.advised, squeezed, demand, rods, snapped, *_turn_table(start, low, high)
        )
        for case, start, low, high, demand, (target, squeezed), (rods, snapped) in zip(
            cases, starts, shortest, longest, demands, targets, sweeps, strict=True
        )
    )


def _start(grid: LoopGrid) -> _Start:
    for advised in (True, False):
        kept = grid.margin(advised=advised) >= 0
        if kept.any():
            return _Start(grid, advised, int(kept.argmax()))
    return _Start(grid, advised=False, first=None)


def _clamps(starts: Sequence[_Start], rows: _Rows) -> Clamps:
    """Return the clamps of every row; rows of one loop stand together."""
    places = [int(loop) for loop in np.unique(rows.loop)]
    return joined([starts[place].grid.case.clamps(rows.steer[rows.loop == place]) for place in places])


def _joined_rows(rows: list[_Rows]) -> _Rows:
    names = ("loop", "steer", "good", "bad", "tangents", "kind")
    return _Rows(*(np.concatenate([getattr(row, name) for row in rows]) for name in names))


def _keep_radius(rods: Rods, required: Array) -> Array:
    """Return by how much rods keep their radius, as a share of it; NaN without a stable shape."""
    value = np.minimum(rods.least_radius, 1e6) / required - 1.0
    return np.where(rods.converged & rods.stable, value, np.nan)


def _solve_radius(starts: Sequence[_Start], rows: _Rows, required: Array) -> tuple[Array, Rods]:
    found = crossings(
        _clamps(starts, rows), rows.good, rows.tangents, rows.bad, lambda rods, at: _keep_radius(rods, required[at])
    )
    return found.length, found.rods


# --- shortest safe -------------------------------------------------------------------------------------------------


def _demands(starts: Sequence[_Start]) -> list[Demand | None]:
    """Return, for each loop with a window, the shortest length in every pose of the sweep and about the worst."""
    rows = [_demand_rows(place, start) for place, start in enumerate(starts) if start.first is not None]
    if not rows:
        return [None] * len(starts)
    first = _joined_rows(rows)
    required = np.concatenate(
        [starts[int(loop)].grid.case.required(np.array([steer]), advised=starts[int(loop)].advised)
         for loop, steer in zip(first.loop, first.steer, strict=True)]
    )  # fmt: skip
    length, rods = _solve_radius(starts, first, required)
    demands: list[Demand | None] = []
    for place, start in enumerate(starts):
        mine = first.loop == place
        demands.append(
            None
            if start.first is None
            else _demand(start, first.steer[mine], length[mine], required[mine], rods.tangents[mine])
        )
    return _refined(starts, demands)


def _demand_rows(place: int, start: _Start) -> _Rows:
    """Bracket, in every pose, the length at which the radius is just kept."""
    grid, first = start.grid, start.first
    assert first is not None
    failing = grid.radius[:first] < start.required
    lowest = (
        np.where(failing.any(axis=0), first - 1 - np.argmax(failing[::-1], axis=0), -1)
        if first
        else np.full(len(grid.chord), -1)
    )
    steer = grid.case.steer
    good = grid.lengths[lowest + 1]
    bad = np.maximum(np.where(lowest >= 0, grid.lengths[lowest], grid.chord), grid.chord)
    tangents = grid.rods.tangents[lowest + 1, np.arange(len(steer))]
    return _Rows(np.full(len(steer), place), steer, good, bad, tangents, np.full(len(steer), _RADIUS))


def _demand(start: _Start, steer: Array, length: Array, required: Array, tangents: Array) -> Demand:
    chord = start.grid.case.clamps(steer)
    straight = np.linalg.norm(chord.end - chord.start, axis=-1)
    taut = length <= straight * (1 + 1e-3)
    return Demand(steer, np.where(taut, straight, length), taut, required, tangents)


def _refined(starts: Sequence[_Start], demands: list[Demand | None]) -> list[Demand | None]:
    """Add poses one degree apart about the worst one of loops that move."""
    rows, placed = [], []
    for place, (start, demand) in enumerate(zip(starts, demands, strict=True)):
        if demand is None or not start.grid.case.moves:
            continue
        worst = int(demand.length.argmax())
        if demand.taut[worst] or start.first is None:
            continue
        steer = _nearby(start.grid.case, demand.steer[worst])
        column = int(np.argmin(np.abs(start.grid.case.steer - demand.steer[worst])))
        count = len(steer)
        good = np.full(count, start.grid.lengths[start.first])
        chord = start.grid.case.clamps(steer)
        straight = np.linalg.norm(chord.end - chord.start, axis=-1)
        bad = np.maximum(straight, demand.length[worst] - 0.5 * (good[0] - demand.length[worst]) - 3.0)
        tangents = np.repeat(start.grid.rods.tangents[start.first, column][np.newaxis], count, axis=0)
        rows.append(_Rows(np.full(count, place), steer, good, bad, tangents, np.full(count, _RADIUS)))
        placed.append(place)
    if not rows:
        return demands
    more = _joined_rows(rows)
    required = np.concatenate(
        [
            starts[p].grid.case.required(row.steer, advised=starts[p].advised)
            for p, row in zip(placed, rows, strict=True)
        ]
    )
    length, rods = _solve_radius(starts, more, required)
    for place in placed:
        mine, demand = more.loop == place, demands[place]
        assert demand is not None
        extra = _demand(starts[place], more.steer[mine], length[mine], required[mine], rods.tangents[mine])
        demands[place] = Demand(
            *(
                np.concatenate([getattr(demand, name), getattr(extra, name)])
                for name in ("steer", "length", "taut", "radius", "tangents")
            )
        )
    return demands


def _nearby(case: LoopCase, steer: float) -> Array:
    """Return steering angles one degree apart about one, within the sweep and not on it."""
    offsets = np.array([step for step in range(-NEARBY, NEARBY + 1) if step])
    angles = steer + np.radians(offsets)
    return angles[(angles >= case.steer[0]) & (angles <= case.steer[-1])]


def _shortest(start: _Start, demand: Demand) -> Limit:
    case = start.grid.case
    worst = int(demand.length.argmax())
    steer, length = float(demand.steer[worst]), float(demand.length[worst])
    where = f" at {steer_words(steer)}" if case.moves else ""
    if demand.taut[worst]:
        return Limit(length * (1 + 5e-4), steer, f"pulls{where}: it is straight between its ends")
    rods = relax_from(case.clamps(np.array([steer])), np.array([length]), demand.tangents[[worst]])
    radius = float(demand.radius[worst])
    kind = "the advised" if start.advised and radius > case.kink_radius else "its kink radius,"
    return Limit(length, steer, f"{_verb(rods)}{where}: any shorter and it bends tighter than {kind} {radius:.0f} mm")


def _verb(rods: Rods) -> str:
    return "pulls" if float(rods.pull[0]) > 0 else "kinks"


# --- longest tidy --------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Upper:
    """What limits a loop from above, and where the shortest safe length stands."""

    place: int
    start: _Start
    shortest: float
    limit: float
    tangents: Array


def _longest(starts: Sequence[_Start], shortest: Sequence[Limit | None]) -> list[Limit | None]:
    uppers = _uppers(starts, shortest)
    ends: list[Limit | None] = [None] * len(starts)
    rows: list[_Rows] = []
    for upper in uppers:
        row = _upper_rows(upper)
        if row is None:
            ends[upper.place] = Limit(
                float(upper.start.grid.lengths[-1]), 0.0, "nothing limits it up to a full circle more"
            )
        else:
            rows.append(row)
    if not rows:
        return ends
    by_place = {upper.place: upper for upper in uppers}
    all_rows = _joined_rows(rows)
    length = _solve_upper(starts, by_place, all_rows)
    near = _nearby_rows(starts, all_rows, length)
    if near is not None:
        length = np.concatenate([length, _solve_upper(starts, by_place, near)])
        all_rows = _joined_rows([all_rows, near])
    for place in by_place:
        mine = np.flatnonzero(all_rows.loop == place)
        if mine.size:
            first = mine[int(length[mine].argmin())]
            ends[place] = _upper_limit(
                by_place[place], float(length[first]), float(all_rows.steer[first]), int(all_rows.kind[first])
            )
    return ends


def _uppers(starts: Sequence[_Start], shortest: Sequence[Limit | None]) -> list[_Upper]:
    """Work out the most turn each loop may have: what it has at its shortest safe length, and the allowance."""
    held = [
        (place, start, low) for place, (start, low) in enumerate(zip(starts, shortest, strict=True)) if low is not None
    ]
    if not held:
        return []
    steers = [start.grid.case.steer for _, start, _ in held]
    clamps = joined([start.grid.case.clamps(steer) for (_, start, _), steer in zip(held, steers, strict=True)])
    lengths = np.concatenate([np.full(len(steer), low.length) for (_, _, low), steer in zip(held, steers, strict=True)])
    tangents = np.concatenate([start.grid.rods.tangents[start.first] for _, start, _ in held])
    rods = relax_from(clamps, lengths, tangents)
    found, at = [], 0
    for (place, start, low), steer in zip(held, steers, strict=True):
        mine = slice(at, at + len(steer))
        at += len(steer)
        ridden = start.grid.case.ridden(steer)
        turn = float(np.nanmax(np.where(ridden, rods.turn[mine], np.nan)))
        found.append(_Upper(place, start, low.length, turn + start.grid.case.turn_allowance, rods.tangents[mine]))
    return found


def _over(upper: _Upper) -> dict[int, Mask]:
    """Return which grid lengths and poses (J, P) break each upper requirement."""
    grid, case = upper.start.grid, upper.start.grid.case
    usable = grid.radius > 0
    over = {
        _RADIUS: grid.radius < upper.start.required,
        _TURN: usable & (np.where(usable, grid.rods.turn, 0.0) > upper.limit) & case.ridden(case.steer),
    }
    if case.clearance is not None:
        first = upper.start.first or 0
        clear = np.ones(grid.radius.shape, dtype=bool)
        rows, poses = np.nonzero(usable & (np.arange(len(grid.lengths)) >= first)[:, np.newaxis])
        clear[rows, poses] = case.clearance(grid.rods[rows, poses].points(CURVE_POINTS), case.steer[poses]) >= 0
        over[_RUB] = ~clear
    return over


def _upper_rows(upper: _Upper) -> _Rows | None:
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
        good = np.full(count, upper.shortest if own else grid.lengths[before])
        tangents = upper.tangents[poses] if own else grid.rods.tangents[before, poses]
        rows.append(
            _Rows(
                np.full(count, upper.place),
                grid.case.steer[poses],
                good,
                np.full(count, grid.lengths[at]),
                tangents,
                np.full(count, kind),
            )
        )
    return _joined_rows(rows)


def _nearby_rows(starts: Sequence[_Start], rows: _Rows, length: Array) -> _Rows | None:
    """Return rows one degree apart about the pose that gives first, for loops that move."""
    found = []
    for place in np.unique(rows.loop):
        case = starts[int(place)].grid.case
        mine = np.flatnonzero(rows.loop == place)
        worst = mine[int(length[mine].argmin())]
        steer = _nearby(case, float(rows.steer[worst])) if case.moves else np.empty(0)
        if rows.kind[worst] == _TURN:
            steer = steer[case.ridden(steer)]
        if steer.size:
            count = len(steer)
            found.append(
                _Rows(
                    np.full(count, place),
                    steer,
                    np.full(count, rows.good[worst]),
                    np.full(count, rows.bad[worst]),
                    np.repeat(rows.tangents[[worst]], count, axis=0),
                    np.full(count, rows.kind[worst]),
                )
            )
    return _joined_rows(found) if found else None


def _solve_upper(starts: Sequence[_Start], uppers: dict[int, _Upper], rows: _Rows) -> Array:
    limit = np.array([uppers[int(loop)].limit for loop in rows.loop])
    required = np.concatenate(
        [starts[int(loop)].grid.case.required(np.array([steer]), advised=starts[int(loop)].advised)
         for loop, steer in zip(rows.loop, rows.steer, strict=True)]
    )  # fmt: skip

    def figure(rods: Rods, at: Array) -> Array:
        kind = rows.kind[at]
        value = _keep_radius(rods, required[at])
        value = np.where(kind == _TURN, limit[at] - rods.turn, value)
        for row in np.flatnonzero(kind == _RUB):
            clearance = starts[int(rows.loop[at[row]])].grid.case.clearance
            assert clearance is not None
            if rods.converged[row]:
                value[row] = clearance(rods[[row]].points(CURVE_POINTS), rows.steer[at[[row]]])[0]
            else:
                value[row] = math.nan
        return value

    return crossings(_clamps(starts, rows), rows.good, rows.tangents, rows.bad, figure).length


def _upper_limit(upper: _Upper, length: float, steer: float, kind: int) -> Limit:
    case = upper.start.grid.case
    where = f" at {steer_words(steer)}" if case.moves else ""
    if kind == _TURN:
        return Limit(length, steer, f"turns {degrees(case.turn_allowance):.0f}° more than at its shortest{where}")
    if kind == _RUB:
        return Limit(length, steer, f"rubs{where}")
    return Limit(length, steer, f"kinks{where}: any longer and it bends tighter than allowed")


# --- target --------------------------------------------------------------------------------------------------------


def _target(start: _Start, shortest: Limit | None, longest: Limit | None) -> tuple[float, bool]:
    """Return the target length, and whether it had to give way to the longest tidy one."""
    grid = start.grid
    if shortest is None or longest is None:
        return float(grid.lengths[int(grid.margin(advised=False).argmax())]), False
    target = shortest.length + grid.case.trim
    if target > longest.length:
        return longest.length, True
    inside = (grid.lengths > target) & (grid.lengths <= longest.length)
    if inside.any():
        ridden = grid.case.ridden(grid.case.steer)
        turn = np.where(grid.radius[:, ridden] > 0, grid.rods.turn[:, ridden], math.inf).max(axis=1)
        at_target = float(
            np.interp(target, grid.lengths, np.where(np.isfinite(turn), turn, turn[np.isfinite(turn)].max()))
        )
        best = int(np.where(inside, turn, math.inf).argmin())
        if turn[best] < at_target - WORTH_LESS_TURN:
            return float(grid.lengths[best]), False
    return target, False


def _turn_table(start: _Start, shortest: Limit | None, longest: Limit | None) -> tuple[Array, Array]:
    """Return lengths (J,) from the last below the window to the first above it, and the turn there in each pose (J, P)."""
    grid = start.grid
    if shortest is None or longest is None:
        return np.empty(0), np.empty((0, len(grid.case.steer)))
    usable = (grid.radius > 0).all(axis=1)
    low = grid.lengths[usable & (grid.lengths <= shortest.length)].max(initial=-math.inf)
    high = grid.lengths[usable & (grid.lengths >= longest.length)].min(initial=math.inf)
    rows = usable & (grid.lengths >= low) & (grid.lengths <= high)
    return grid.lengths[rows], grid.rods.turn[rows]
