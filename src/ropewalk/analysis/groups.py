"""Groups of a line: its covered spans as they are held, or joined by stations that let housing slide."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ropewalk.analysis.loops import Array, LoopWindow, between
from ropewalk.analysis.sliding import Common, Interval, Springs, common, slack_of, split, springs_of
from ropewalk.bike.poses import STEER, Poses, Walks, nearest_pose, nearest_poses, pose_words
from ropewalk.mechanics.elastica import Rods, relax_from
from ropewalk.routing.course import Loop, Wrap
from ropewalk.routing.lines import Piece
from ropewalk.routing.spans import PlacedLine

#: lengths of a group at which its turn is worked out
_TURNS = 5
#: by how much a span may miss its radius at its share before that is worth saying
_NEARLY = 0.98


@dataclass(frozen=True, slots=True, eq=False)
class Tight:
    """A span that bends tighter than it should where housing slides to: its place, radius, limit [mm] and pose."""

    span: int
    radius: float
    required: float
    pose: Array


@dataclass(frozen=True, slots=True, eq=False)
class Group:
    """A run of covered spans that share their slack.

    Attributes
    ----------
    spans : tuple of int
        Places of its spans in the line.
    name : str
        What messages call it.
    window : tuple of float or None
        Shortest safe and longest tidy length of all together [mm].
    target : float
        [mm]
    trim : float
        What the target has over the shortest safe length [mm].
    squeezed : bool
        Whether the target had to give way to the longest tidy length.
    poses : (P, 5) array
        Poses that matter to it.
    shares : mapping of int to (P,) array
        Length of each of its spans at the target [mm].
    why_shortest, why_longest : str
    lengths : (J,) array
        Lengths across the window at which its turn is known [mm].
    turns : (J, P) array
        Turn of all together at those lengths [rad].
    tight : Tight or None
        The span that misses its radius most at its share of the target.
    """

    spans: tuple[int, ...]
    name: str
    window: tuple[float, float] | None
    target: float
    trim: float
    squeezed: bool
    poses: Array
    shares: Mapping[int, Array]
    why_shortest: str
    why_longest: str
    lengths: Array
    turns: Array
    tight: Tight | None

    def turn_at(self, length: float, poses: Array) -> Array:
        """Return the turn of its loops at a length [mm] in poses (K, 5) of the bike [rad]."""
        moving = self.poses.max(axis=0) > self.poses.min(axis=0)
        return between(self.lengths, self.turns, length)[nearest_poses(self.poses, poses * moving)]


def sliding_groups(line: PlacedLine, piece: Piece) -> list[tuple[int, ...]]:
    """Return the runs of a piece's spans that share slack over the poses.

    Two or more spans joined by stations that let housing slide, or one that is wound about the steerer.
    """
    stations = line.route.line.station
    runs: list[list[int]] = []
    for place in piece.spans:
        if runs and stations[line.route.spans[place].start].slides:
            runs[-1].append(place)
        else:
            runs.append([place])
    return [tuple(run) for run in runs if len(run) > 1 or isinstance(line.spans[run[0]], Wrap)]


def study_group(
    line: PlacedLine, spans: Sequence[int], loops: Mapping[int, LoopWindow], sweep: Poses
) -> tuple[Group, dict[int, LoopWindow]]:
    """Return what a run of spans may measure together, and its loops at their shares of the target.

    Parameters
    ----------
    line : PlacedLine
    spans : sequence of int
        Places of the run's spans in the line.
    loops : mapping of int to LoopWindow
        What was found of each loop by itself, by span.
    sweep : Poses
        The bike's.
    """
    own = {place: loops[place] for place in spans if place in loops}
    stations = line.route.line.station
    name = f"{stations[line.route.spans[spans[0]].start].name} to {stations[line.route.spans[spans[-1]].end].name}"
    wound = any(isinstance(line.spans[place], Wrap) for place in spans)
    poses = _poses(own.values(), sweep, wound=wound)
    places = {place: loop.case.places_of(poses) for place, loop in own.items()}
    trim = max((loop.case.trim for loop in own.values()), default=0.0)
    fixed = {place: _fixed(line, place, poses) for place in spans if place not in own}
    if any(loop.shortest is None or loop.longest is None for loop in own.values()):
        shares = {place: np.full(len(poses), loop.target) for place, loop in own.items()}
        shares |= {place: interval.low for place, interval in fixed.items()}
        target = float(sum(share[0] for share in shares.values()))
        why = "no length keeps the kink radius"
        none = np.empty(0)
        group = Group(tuple(spans), name, None, target, trim, False, poses, shares, why, why, none, none, None)
        return group, own
    intervals = [
        fixed[place] if place in fixed else Interval(own[place].lows[places[place]], own[place].highs[places[place]])
        for place in spans
    ]
    found = common(intervals)
    target = min(found.low + trim, found.high) if found.window is not None else found.low
    members = [_springs(line, place, own, places, fixed) for place in spans]
    low, high = found.low, max(found.high, found.low)
    lengths = np.linspace(low, high, _TURNS) if high > low else np.array([low])
    turns = np.array([_turn(members, _shared(members, intervals, length)) for length in lengths])
    shared = _shared(members, intervals, target)
    group = Group(
        spans=tuple(spans),
        name=name,
        window=found.window,
        target=target,
        trim=trim,
        squeezed=found.window is not None and found.low + trim > found.high,
        poses=poses,
        shares=dict(zip(spans, shared, strict=True)),
        why_shortest=_why(found, poses, len(spans), shortest=True),
        why_longest=_why(found, poses, len(spans), shortest=False),
        lengths=lengths,
        turns=turns,
        tight=_tightest(dict(zip(spans, shared, strict=True)), own, poses, places),
    )
    return group, {place: _at_share(loop, group, place) for place, loop in own.items()}


def _poses(loops: Iterable[LoopWindow], sweep: Poses, *, wound: bool) -> Array:
    """Return the poses of the bike that matter to any of some loops, or to a span about the steerer, each once."""
    moving = np.zeros(5, dtype=bool)
    moving[STEER] = wound
    own = []
    for loop in loops:
        moving |= loop.case.poses.max(axis=0) > loop.case.poses.min(axis=0)
        own.append(loop.case.poses)
    return np.asarray(np.unique(np.round(np.concatenate([sweep.values * moving, *own]), 9) + 0.0, axis=0))


def _fixed(line: PlacedLine, place: int, poses: Array) -> Interval:
    shape = line.spans[place]
    assert not isinstance(shape, Loop)
    low = shape.length_in(poses[:, STEER])
    return Interval(low, low + shape.slack)


def _springs(
    line: PlacedLine,
    place: int,
    own: Mapping[int, LoopWindow],
    places: Mapping[int, NDArray[np.intp]],
    fixed: Mapping[int, Interval],
) -> Springs:
    if place in own:
        grid = own[place].grid
        assert grid is not None
        return springs_of(grid, places[place])
    shape = line.spans[place]
    assert not isinstance(shape, Loop)
    interval = fixed[place]
    turn = np.zeros(len(interval.low))
    return slack_of(interval.low, float((interval.high - interval.low)[0]), turn, shape.least_radius)


def _shared(members: Sequence[Springs], intervals: Sequence[Interval], total: float) -> list[Array]:
    """Return the balanced shares of a total, starting in proportion to what each may measure."""
    low = np.array([interval.low for interval in intervals])
    room = np.array([interval.high for interval in intervals]) - low
    left = total - low.sum(axis=0)
    whole = room.sum(axis=0)
    share = np.where(whole > 1e-9, left / np.where(whole > 1e-9, whole, 1.0), 0.0)
    return split(members, total, list(low + share * room))


def _turn(members: Sequence[Springs], shares: Sequence[Array]) -> Array:
    return np.asarray(np.sum([member.at(share)[1] for member, share in zip(members, shares, strict=True)], axis=0))


def _tightest(
    shares: Mapping[int, Array],
    own: Mapping[int, LoopWindow],
    poses: Array,
    places: Mapping[int, NDArray[np.intp]],
) -> Tight | None:
    """Return the loop that misses its radius most at its share in some pose, or None where none misses it by much."""
    worst: Tight | None = None
    least = _NEARLY
    for place, loop in own.items():
        rods = _rods(loop, places[place], shares[place])
        radius = np.where(rods.converged, rods.least_radius, 0.0)
        required = loop.case.required(poses, advised=loop.keeps_advised)
        at = int((radius / required).argmin())
        if radius[at] / required[at] < least:
            least = float(radius[at] / required[at])
            worst = Tight(place, float(radius[at]), float(required[at]), poses[at])
    return worst


def _rods(loop: LoopWindow, places: NDArray[np.intp], lengths: Array) -> Rods:
    """Return a loop in poses (P,) of its own sweep, each at its own length (P,)."""
    grid = loop.grid
    assert grid is not None
    shaped = grid.radius[:, places] > 0.0
    nearest = np.where(shaped, np.abs(grid.lengths[:, np.newaxis] - lengths), np.inf).argmin(axis=0)
    return relax_from(loop.case.clamps(loop.case.poses[places]), lengths, grid.rods.tangents[nearest, places])


def _why(found: Common, poses: Array, count: int, *, shortest: bool) -> str:
    low, high = pose_words(poses[found.low_at]), pose_words(poses[found.high_at])
    what, needs = ("its sliding spans together", "need") if count > 1 else ("its way about the steerer", "needs")
    if found.window is None:
        return f"{what} {needs} {found.low:.0f} mm at {low} but may have only {found.high:.0f} mm at {high}"
    at = f" at {low if shortest else high}" if len(poses) > 1 else ""
    return f"{what} {needs} no less{at}" if shortest else f"{what} may have no more{at}"


def _at_share(loop: LoopWindow, group: Group, place: int) -> LoopWindow:
    """Return a loop at its share of the group's target in each of the group's poses, whether they move it or not."""
    grid = loop.grid
    assert grid is not None
    places, home = loop.case.places_of(group.poses), nearest_pose(group.poses, np.zeros(5))
    lengths = np.maximum(group.shares[place], grid.chord[places] * (1.0 + 1e-4))
    rows = np.arange(len(group.poses))
    return dataclasses.replace(
        loop,
        case=dataclasses.replace(loop.case, walks=Walks(group.poses, home, (rows,), (home,))),
        target=float(lengths[home]),
        sweep=_rods(loop, places, lengths),
        squeezed=False,
        snapped=np.zeros(len(rows), bool),
    )
