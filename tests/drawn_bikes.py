"""Bikes drawn from the stated tolerances, each rebuilt exactly, and the length each of their housing pieces then needs.

What is drawn is every figure of the completed frame with a half-width, and insertion and floor of every ferrule; all
are normal and independent. The shortest safe length of every loop is looked for anew on every bike, by the radius that
governs on the bike as written; but where that is the advised one and the drawn bike has no tidy length that keeps it,
the kink radius governs, as by definition. No derivative of the program's own is used.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ropewalk.analysis.cases import clamps_of
from ropewalk.analysis.loops import LoopCase
from ropewalk.bike.deviations import deviated, figures
from ropewalk.bike.model import Bike, build
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.poses import STEER
from ropewalk.bike.rows import Ferrule
from ropewalk.bike.sourced import Source, Sourced
from ropewalk.mechanics.elastica import Clamps, relax_from
from ropewalk.mechanics.follow import follow
from ropewalk.mechanics.lobatto import lobatto_grid
from ropewalk.routing.course import Course, Loop
from ropewalk.routing.lines import Piece, Route
from ropewalk.routing.spans import PlacedLine, place_line
from ropewalk.workshop.jobplan import JobPlan

Array = NDArray[np.float64]
Rows = NDArray[np.intp]
Mask = NDArray[np.bool_]
Drawn = Sequence[tuple[Bike, list[PlacedLine]]]

#: how far a station may come to lie past its tube's end on a drawn bike [mm]
PAST_END = 60.0
#: rods solved in one go
BATCH = 1500
#: poses that ask for less than the most by more than this on the bike as written never ask for most [mm]
FAR_BELOW = 45.0
#: between poses that ask for nearly as much, one more is looked at [mm]
NEARLY = 12.0
#: a length is found when its bracket is as narrow as this [mm]
CLOSE = 0.01
#: no length is looked for further than this beyond where it is expected [mm]
REACH = 150.0
#: share of the bikes, those that ask for most, on which the advised radius is questioned
QUESTIONED = 0.1
#: step at which a narrow window is looked for [mm]
NARROW = 0.25


@dataclass(frozen=True)
class DrawnLoops:
    """One loop of every drawn bike: clamps (B, P) in poses (P,), the radius to keep there, the last shapes found."""

    poses: Array
    clamps: Clamps
    required: Array
    tangents: Array
    length: float
    slope: Array

    @property
    def chord(self) -> Array:
        """Distance between both ends (B, P) [mm]."""
        return np.asarray(np.linalg.norm(self.clamps.end - self.clamps.start, axis=-1))


def piece_lengths(job: JobPlan, drawn: Drawn, loops: Mapping[tuple[int, int], Array]) -> dict[str, Array]:
    """Return the shortest safe length of every piece with a loop by tag, from those of its loops: (B,) [mm]."""
    found = {}
    for place, line in enumerate(job.routing):
        for piece in line.route.pieces:
            own = [loops[place, span] for span in piece.spans if (place, span) in loops]
            if own:
                rest = np.array([_rest(lines[place], piece.tag) for _, lines in drawn])
                found[piece.tag] = rest + np.sum(own, axis=0)
    return found


def draw_lines(job: JobPlan, parts: Catalogue, count: int, seed: int) -> Drawn:
    """Return drawn bikes with their lines in place."""
    draw = np.random.default_rng(seed)
    known = [figure for figure in figures(job.model.frame) if figure.within > 0]
    sigma = np.array([figure.within for figure in known]) / 1.96
    bikes = []
    for _ in range(count):
        amounts = draw.standard_normal(len(known)) * sigma
        frame = deviated(job.model.frame, {f.path: float(a) for f, a in zip(known, amounts, strict=True)})
        bike = build(frame)
        routes = [_with_other_ferrules(line.route, parts, draw) for line in job.routing]
        bikes.append((bike, [place_line(bike, route, beyond=PAST_END) for route in routes]))
    return bikes


def _with_other_ferrules(route: Route, parts: Catalogue, draw: np.random.Generator) -> Route:
    def other(ferrule: Ferrule) -> Ferrule:
        tolerance = parts.tolerances.ferrule
        return ferrule.model_copy(
            update={
                "insertion": _moved(ferrule.insertion, draw.standard_normal() * tolerance.insertion / 1.96),
                "floor": _moved(ferrule.floor, draw.standard_normal() * tolerance.floor / 1.96),
            }
        )

    def off(piece: Piece) -> Piece:
        ends = {"start_ferrule": other(piece.start_ferrule), "end_ferrule": other(piece.end_ferrule)}
        return dataclasses.replace(piece, **ends)

    return dataclasses.replace(route, pieces=tuple(off(piece) for piece in route.pieces))


def _moved(figure: Sourced, amount: float) -> Sourced:
    return Sourced(figure + amount, figure.spread, figure.unit, Source(figure.kind, figure.source))


def _rest(line: PlacedLine, tag: str) -> float:
    """Return what a piece has besides its loops: other spans and what lies in its ferrules [mm]."""
    piece = next(piece for piece in line.route.pieces if piece.tag == tag)
    spans = [shape for place in piece.spans if isinstance(shape := line.spans[place], Course)]
    return sum(span.length for span in spans) + float(piece.start_ferrule.insertion + piece.end_ferrule.insertion)


def loop_lengths(job: JobPlan, drawn: Drawn, key: tuple[int, int]) -> tuple[Array, Mask]:
    """Return the shortest safe length (B,) of one loop on every bike [mm], and where the advised radius governs it."""
    window = job.loops[key]
    length = shortest_lengths(loops_of(job, drawn, key, advised=window.keeps_advised))
    advised = np.full(length.shape, window.keeps_advised)
    if not window.keeps_advised:
        return length, advised
    found = np.isfinite(length)
    most = np.flatnonzero(~found | (length >= np.quantile(length[found], 1.0 - QUESTIONED)))
    some = [drawn[bike] for bike in most]
    loops = loops_of(job, some, key, advised=False)
    kink = shortest_lengths(loops) if window.case.moves else _first_keeping(loops, loops.chord[:, 0] * (1 + 1e-4))
    allowed = _riding_turn(job, some, key, np.nan_to_num(kink, posinf=1e3)) + window.case.turn_allowance
    if not window.case.moves:
        length[most] = _first_keeping(loops_of(job, some, key, advised=True), kink, allowed)
    turn = _riding_turn(job, some, key, np.nan_to_num(length[most], posinf=1e3))
    advised[most] = np.isfinite(length[most]) & (turn <= allowed)
    length[most] = np.where(advised[most], length[most], kink)
    return length, advised


def _first_keeping(loops: DrawnLoops, low: Array, most_turn: Array | None = None) -> Array:
    """Return the first length (B,) from a low one on that keeps the radius of a loop with one pose, or infinity.

    The search ends where the loop turns more than it may.
    """
    found = np.full(low.shape, np.inf)
    bikes = np.flatnonzero(np.isfinite(low))
    for step in np.arange(0.0, REACH, NARROW):
        if not bikes.size:
            break
        spare, turn = _measured(loops, bikes, np.zeros_like(bikes), low[bikes] + step)
        kept = spare >= 0
        found[bikes[kept]] = low[bikes[kept]] + step
        bikes = bikes[~kept & (True if most_turn is None else turn <= most_turn[bikes])]
    return found


def _riding_turn(job: JobPlan, drawn: Drawn, key: tuple[int, int], length: Array) -> Array:
    """Return the most turn over the riding range at lengths (B,) [rad]."""
    case = job.loops[key].case
    poses = case.poses[case.ridden(case.poses)]
    rods = follow(_clamps(drawn, key, poses), length, len(poses) // 2).rods
    return np.where(rods.converged, rods.turn, np.inf).max(axis=1)


def loops_of(job: JobPlan, drawn: Drawn, key: tuple[int, int], *, advised: bool) -> DrawnLoops:
    """Return one loop on drawn bikes, in the poses that may ask for most."""
    window = job.loops[key]
    assert window.shortest is not None
    poses = _half_steps(window.case)
    length = window.shortest.length
    required = window.case.required(poses, advised=advised)
    nominal = window.case.clamps(poses)
    longer = follow(nominal.reshape(1, len(poses)), np.array([length + 1.0]), len(poses) // 2).rods[0]
    rods = relax_from(nominal, np.full(len(poses), length), longer.tangents)
    slope = longer.least_radius - rods.least_radius
    asked = length + (required - rods.least_radius) / np.maximum(slope, 0.1)
    between = np.arange(len(poses)) % 2 == 1
    keep = np.flatnonzero((asked > asked.max() - np.where(between, NEARLY, FAR_BELOW)) | (~between & (slope <= 0.02)))
    clamps = _clamps(drawn, key, poses[keep])
    shapes = _carried(rods.tangents[keep], nominal[keep], clamps)
    return DrawnLoops(poses[keep], clamps, required[keep], shapes, length, np.maximum(slope[keep], 0.1))


def _carried(tangents: Array, before: Clamps, after: Clamps) -> Array:
    """Return shapes (P, n, 3) carried along with clamps (P,) that become others (B, P)."""
    share = lobatto_grid(tangents.shape[-2]).nodes[:, None]
    first = (after.start_direction - before.start_direction)[:, :, None]
    last = (after.end_direction - before.end_direction)[:, :, None]
    moved = tangents + (1.0 - share) * first + share * last
    return np.asarray(moved / np.linalg.norm(moved, axis=-1, keepdims=True))


def _clamps(drawn: Drawn, key: tuple[int, int], poses: Array) -> Clamps:
    """Return the clamps (B, P) of one loop on every bike."""
    each = []
    for bike, lines in drawn:
        shape = lines[key[0]].spans[key[1]]
        assert isinstance(shape, Loop)
        each.append(clamps_of(bike, shape)(poses))
    return Clamps(*(np.stack([getattr(one, name) for one in each]) for name in Clamps.__dataclass_fields__))


def unconfirmed(job: JobPlan, drawn: Drawn, key: tuple[int, int], length: Array, advised: Mask, apart: float) -> Rows:
    """Return the bikes whose loop, followed from straight ahead to both locks, gives another shortest safe length.

    It should keep its radii with ``apart`` mm more than the length (B,) found, and not with so much less.
    """
    case = job.loops[key].case
    poses = _half_steps(case)
    required = np.where(advised[:, None], case.required(poses, advised=True), case.required(poses, advised=False))
    clamps = _clamps(drawn, key, poses)
    keeps = []
    for other in (length + apart, length - apart):
        rods = follow(clamps, other, len(poses) // 2).rods
        keeps.append(((rods.least_radius >= required) & rods.converged & rods.stable).all(axis=1))
    return np.flatnonzero(~keeps[0] | keeps[1])


def _half_steps(case: LoopCase) -> Array:
    """Return the poses of a loop that only the bars move, with one more between each two."""
    poses = case.poses
    assert len(case.walks.walks) == 1 and 2 * case.home + 1 == len(poses), "drawn bikes move by their bars only"
    assert (np.diff(poses[:, STEER]) > 0).all()
    return np.insert(poses, np.arange(1, len(poses)), (poses[1:] + poses[:-1]) / 2, axis=0)


def shortest_lengths(loops: DrawnLoops) -> Array:
    """Return the shortest length (B,) of one loop on every bike that keeps the radius [mm], infinite if none is near.

    The pose that seems to ask for most is solved; as long as another then bends too tightly, the worst of those is
    solved in turn.
    """
    count, poses = loops.clamps.shape
    length, open_ = np.full(count, loops.length), np.arange(count)
    asked = _asked(loops, open_, np.ones((count, poses), dtype=bool), length)
    length = _solved(loops, open_, asked.argmax(axis=1), length)
    near = asked > length[:, None] - FAR_BELOW
    while (open_ := open_[np.isfinite(length[open_])]).size:
        asked = _asked(loops, open_, near, length)
        more = (asked > length[open_, None] + CLOSE).any(axis=1)
        open_, asked = open_[more], asked[more]
        if open_.size:
            length[open_] = _solved(loops, open_, asked.argmax(axis=1), length[open_])
    return length


def _asked(loops: DrawnLoops, bikes: Rows, near: Mask, length: Array) -> Array:
    """Return the length each pose of some bikes seems to ask for (K, P), by the slope on the bike as written."""
    row, pose = np.nonzero(near[bikes])
    asked = np.full((len(bikes), near.shape[1]), -np.inf)
    spare = _spare(loops, bikes[row], pose, length[bikes[row]])
    asked[row, pose] = length[bikes[row]] - spare / loops.slope[pose]
    return asked


def _solved(loops: DrawnLoops, bikes: Rows, pose: Rows, guess: Array) -> Array:
    """Return the length at which each bike's loop in one pose just keeps its radius: bracketed, then false position."""
    least = loops.chord[bikes, pose] * (1 + 1e-4)

    def spare(length: Array, rows: Rows) -> Array:
        return _spare(loops, bikes[rows], pose[rows], length)

    low = np.maximum(guess, least)
    high, at_low = low.copy(), spare(low, np.arange(len(bikes)))
    at_high, step = at_low.copy(), np.ones(len(bikes))
    near = np.maximum(guess, least) + REACH
    while (rows := np.flatnonzero(((at_high < 0) & (high < near)) | ((at_low >= 0) & (low > least)))).size:
        stride = np.maximum(step[rows], 1.2 * np.abs(at_low[rows]) / loops.slope[pose[rows]])
        up, down = rows[at_high[rows] < 0], rows[at_high[rows] >= 0]
        low[up], at_low[up] = high[up], at_high[up]
        high[up] += stride[at_high[rows] < 0]
        high[down], at_high[down] = low[down], at_low[down]
        low[down] = np.maximum(low[down] - stride[~np.isin(rows, up)], least[down])
        at_high[up], at_low[down] = spare(high[up], up), spare(low[down], down)
        step[rows] *= 2
    high[at_low >= 0] = low[at_low >= 0]
    lost = at_high < 0
    high[lost] = low[lost]
    turn = 0
    while (rows := np.flatnonzero(high - low > CLOSE)).size:
        turn += 1
        share = at_low[rows] / (at_low[rows] - at_high[rows]) if turn % 3 else np.full(rows.size, 0.5)
        middle = low[rows] + (high[rows] - low[rows]) * np.clip(share, 0.03, 0.97)
        value = spare(middle, rows)
        kept = value >= 0
        high[rows[kept]], at_high[rows[kept]] = middle[kept], value[kept]
        low[rows[~kept]], at_low[rows[~kept]] = middle[~kept], value[~kept]
    return np.where(lost, np.inf, high)


def _spare(loops: DrawnLoops, bikes: Rows, pose: Rows, length: Array) -> Array:
    """Return by how much the loops of bikes in poses (K,) keep their radius, from the shapes last found."""
    return _measured(loops, bikes, pose, length)[0]


def _measured(loops: DrawnLoops, bikes: Rows, pose: Rows, length: Array) -> tuple[Array, Array]:
    """Return by how much loops keep their radius [mm], and their turn [rad], 0 without a shape."""
    radius, turn = np.zeros(len(bikes)), np.zeros(len(bikes))
    for at in range(0, len(bikes), BATCH):
        cut = slice(at, at + BATCH)
        at_bikes, at_pose = bikes[cut], pose[cut]
        rods = relax_from(loops.clamps[at_bikes, at_pose], length[cut], loops.tangents[at_bikes, at_pose])
        sound = rods.converged & rods.stable
        loops.tangents[at_bikes[sound], at_pose[sound]] = rods.tangents[sound]
        radius[cut], turn[cut] = np.where(sound, rods.least_radius, 0.0), np.where(sound, rods.turn, 0.0)
    return radius - loops.required[pose], turn
