"""What a picture that follows the bars needs of a planned bike: each span's path where it matters, and exact figures.

A span's path is given in the axes of one of its bodies, on a grid of only those coordinates that bend it, so that
whoever draws carries it along with the body and goes straight between the grid's poses. Figures are worked out for
every whole degree or millimetre and are never gone between.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ropewalk.analysis.loops import LoopWindow
from ropewalk.bike.poses import COORDINATES, FOLD, SHOWN, STEER, Poses, pose_of, poses, shown_pose
from ropewalk.routing.course import Course, Loop, Wrap
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.posed import bent_loop

Array = NDArray[np.float64]

#: points of a loop's path, and of the wound part of one about the steerer
LOOP_POINTS, WOUND_POINTS = 25, 31
#: coarsest steps of a grid: angles [rad], travel [mm]; where it has several coordinates travel is coarser
TURN, STEP, COARSE = math.radians(2.5), 10.0, 20.0
#: whole units are counted with this much of a hair, so that 75° is reached in spite of rounding
_HAIR = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """A path on a grid of poses.

    Attributes
    ----------
    axes : tuple of (int, (K,) array)
        Coordinates that bend it, by place, and their values in rising order [rad, mm].
    points : (..., n, 3) array
        Its path in its body's axes, one axis in front for each of `axes` [mm].
    """

    axes: tuple[tuple[int, Array], ...]
    points: Array


@dataclass(frozen=True, slots=True, eq=False)
class Figures:
    """Exact figures of a span for whole units of one coordinate.

    Attributes
    ----------
    coordinate : int or None
        Place of the coordinate; None where nothing bends the span.
    first : int
        Value of the first figure [° or mm]; one further unit each.
    radius, spare : (K,) array
        Least radius, and how much longer the span is than the straight way between its ends [mm]. Infinite where
        straight or not counted; NaN where the housing is too short for the pose.
    others : (5,) array
        The pose they hold for, apart from the coordinate itself.
    """

    coordinate: int | None
    first: int
    radius: Array
    spare: Array
    others: Array


@dataclass(frozen=True, slots=True, eq=False)
class SpanView:
    """One span.

    Attributes
    ----------
    line, span : int
        Its places in the job.
    kind : str
    tag : str or None
        Of the housing that covers it.
    body : str
        The body whose axes its paths are given in.
    path, folding : Grid, Grid or None
        Unfolded, and while the bike folds where that bends it.
    """

    line: int
    span: int
    kind: str
    tag: str | None
    body: str
    path: Grid
    folding: Grid | None


@dataclass(frozen=True, slots=True)
class Worst:
    """The pose in which a piece is bent most by what moves it, and its loop's least radius there [mm].

    The pose is as faces show it; `bends` names the coordinates that bend the loop, the others do not matter.
    """

    tag: str
    pose: Mapping[str, float]
    bends: tuple[str, ...]
    radius: float
    kink_radius: float


@dataclass(frozen=True, slots=True)
class Range:
    """A coordinate that moves: its name and how far it goes in whole units as shown [° or mm]."""

    name: str
    low: int
    high: int


def ranges(sweep: Poses) -> tuple[Range, ...]:
    """Return what moves on a bike, the steering first."""
    found = []
    for at, name in enumerate(COORDINATES):
        scale = SHOWN[name][1]
        low, high = (float(limit[at]) * scale for limit in (sweep.low, sweep.high))
        if name == "steer" or high > low:
            found.append(Range(name, math.ceil(low - _HAIR), math.floor(high + _HAIR)))
    return tuple(found)


def effective(sweep: Poses, pose: Array) -> Array:
    """Return a pose (5,) as it can be: while folded the bars point as the file says and nothing else moves."""
    if pose[FOLD] <= _HAIR:
        return pose
    folded = np.zeros(5)
    folded[STEER], folded[FOLD] = sweep.fold_steer, pose[FOLD]
    return folded


def span_views(job: JobPlan) -> tuple[SpanView, ...]:
    """Return the path of every span of a job, line by line."""
    sweep = poses(job.model.frame)
    found = []
    for place, line in enumerate(job.routing):
        for at, (span, shape) in enumerate(zip(line.route.spans, line.spans, strict=True)):
            tag = next((piece.tag for piece in line.route.pieces if at in piece.spans), None)
            folding = None
            if isinstance(shape, Loop):
                body, (path, folding) = shape.start_body, _loop_paths(job, shape, job.loops[place, at], sweep)
            elif isinstance(shape, Course):
                body, path = shape.body, Grid((), shape.points)
            else:
                body, path = shape.end_body, _wound_path(shape, sweep)
            found.append(SpanView(place, at, span.kind, tag, body, path, folding))
    return tuple(found)


def span_figures(job: JobPlan, others: Mapping[str, float] | None = None) -> tuple[tuple[Figures, ...], ...]:
    """Return the exact figures of every span of a job, in the order of `span_views`.

    Parameters
    ----------
    job : JobPlan
    others : mapping of str to float, optional
        Values of the coordinates other than the steering [rad, mm]: figures of spans that several coordinates bend
        hold for these.

    Returns
    -------
    tuple of tuple of Figures
        For each span one table for riding, and one for folding where that bends it.
    """
    sweep, setting = poses(job.model.frame), pose_of(others or {})
    found: list[tuple[Figures, ...]] = []
    for place, line in enumerate(job.routing):
        for at, shape in enumerate(line.spans):
            if isinstance(shape, Loop):
                found.append(_loop_tables(job.loops[place, at], sweep, setting))
            else:
                found.append((_way_table(shape, sweep),))
    return tuple(found)


def worst_poses(job: JobPlan) -> tuple[Worst, ...]:
    """Return the worst pose of each piece of which something bends as the bike moves, the gravest first."""
    moving = poses(job.model.frame).moving
    found = []
    for place, line in enumerate(job.routing):
        for piece in line.route.pieces:
            own = [job.loops[place, at] for at in piece.spans if (place, at) in job.loops]
            moved = [loop for loop in own if loop.case.moves]
            if moved:
                loop = min(moved, key=lambda one: float(one.radius.min()))
                worst = int(loop.radius.argmin())
                pose = shown_pose(loop.case.poses[worst], moving)
                bends = tuple(COORDINATES[at] for at in np.flatnonzero(_bends(loop)))
                found.append(Worst(piece.tag, pose, bends, float(loop.radius[worst]), loop.case.kink_radius))
    return tuple(sorted(found, key=lambda one: one.radius / one.kink_radius))


def _bends(loop: LoopWindow) -> NDArray[np.bool_]:
    """Return which coordinates bend a loop (5,)."""
    return np.asarray(loop.case.poses.max(axis=0) > loop.case.poses.min(axis=0))


def _folded(sweep: Poses, bends: NDArray[np.bool_]) -> Array:
    """Return the pose from which the bike folds (5,), by the coordinates that bend a loop."""
    about = np.zeros(5)
    about[STEER] = sweep.fold_steer
    return about * bends


def _loop_paths(job: JobPlan, shape: Loop, loop: LoopWindow, sweep: Poses) -> tuple[Grid, Grid | None]:
    bends = _bends(loop)
    riding = [int(at) for at in np.flatnonzero(bends) if at != FOLD]
    axes = [(at, _values(sweep, at, STEP if len(riding) == 1 else COARSE)) for at in riding]
    path = _loop_grid(job, shape, loop, axes, np.zeros(5))
    if not bends[FOLD]:
        return path, None
    return path, _loop_grid(job, shape, loop, [(FOLD, _values(sweep, FOLD, STEP))], _folded(sweep, bends))


def _loop_tables(loop: LoopWindow, sweep: Poses, setting: Array) -> tuple[Figures, ...]:
    bends = _bends(loop)
    asked = setting * bends
    asked[FOLD] = 0.0
    first = next((int(at) for at in np.flatnonzero(bends) if at != FOLD), None)
    if first is not None:
        asked[first] = 0.0
    tables = (_loop_figures(loop, first, sweep, asked),)
    return (*tables, _loop_figures(loop, FOLD, sweep, _folded(sweep, bends))) if bends[FOLD] else tables


def _values(sweep: Poses, at: int, step: float) -> Array:
    """Return the grid's values of a coordinate, the sweep's own steering angles among them."""
    if at == STEER:
        parts = [
            np.linspace(low, high, math.ceil((high - low) / TURN - _HAIR) + 1)[:-1]
            for low, high in itertools.pairwise(sweep.steer)
        ]
        return np.concatenate([*parts, sweep.steer[-1:]])
    reach = float(sweep.high[at])
    return np.linspace(0.0, reach, math.ceil(reach / (TURN if at == FOLD else step) - _HAIR) + 1)


def _loop_grid(job: JobPlan, shape: Loop, loop: LoopWindow, axes: Sequence[tuple[int, Array]], about: Array) -> Grid:
    values = np.array([_placed(about, axes, combined) for combined in itertools.product(*(held for _, held in axes))])
    rods = bent_loop(loop, values)
    world = rods.points(LOOP_POINTS)
    # housing too short for a pose lies straight between its ends, as far as it can be drawn
    ends = rods.clamps.start[:, None, :], rods.clamps.end[:, None, :]
    straight = ends[0] + np.linspace(0.0, 1.0, LOOP_POINTS)[:, None] * (ends[1] - ends[0])
    world = np.where(rods.converged[:, None, None], world, straight)
    back = job.model.mechanism.at(shape.start_body, values).inverse()
    local = np.swapaxes(back.rotation @ np.swapaxes(world, 1, 2), 1, 2) + back.translation[:, None, :]
    return Grid(tuple(axes), local.reshape(*(len(held) for _, held in axes), LOOP_POINTS, 3))


def _placed(about: Array, axes: Sequence[tuple[int, Array]], combined: Sequence[float]) -> Array:
    pose = about.copy()
    for (at, _), value in zip(axes, combined, strict=True):
        pose[at] = value
    return pose


def _whole(sweep: Poses, at: int) -> tuple[int, Array]:
    """Return the first whole unit of a coordinate, and all of them [rad, mm]."""
    reach = next(one for one in ranges(sweep) if one.name == COORDINATES[at])
    return reach.low, np.arange(reach.low, reach.high + 1) / SHOWN[reach.name][1]


def _loop_figures(loop: LoopWindow, at: int | None, sweep: Poses, others: Array) -> Figures:
    first, values = (0, np.zeros(1)) if at is None else _whole(sweep, at)
    asked = np.tile(others, (len(values), 1))
    if at is not None:
        asked[:, at] = values
    rods = bent_loop(loop, asked)
    radius = np.where(rods.converged, rods.least_radius, np.nan)
    return Figures(at, first, radius, rods.length - rods.chord, others)


def _way_table(shape: Course | Wrap, sweep: Poses) -> Figures:
    if isinstance(shape, Course):
        return Figures(None, 0, np.full(1, shape.least_radius), np.full(1, math.inf), np.zeros(5))
    first, values = _whole(sweep, STEER)
    return Figures(STEER, first, shape.at(values).radius, np.full(len(values), math.inf), np.zeros(5))


def _wound_path(shape: Wrap, sweep: Poses) -> Grid:
    angles = _values(sweep, STEER, STEP)
    return Grid(((STEER, angles),), np.stack([_wound_points(shape, float(angle)) for angle in angles]))


def _wound_points(shape: Wrap, angle: float) -> Array:
    """Return a wound path with the same number of points at every angle: its corners, and evenly where it is wound."""
    points = shape.points(angle)
    first, last = len(shape.lead_in) - 1, len(points) - len(shape.lead_out) + 1
    return np.concatenate([points[:first], _evenly(points[first:last], WOUND_POINTS), points[last:]])


def _evenly(points: Array, count: int) -> Array:
    """Return a path with so many points at even steps along it."""
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
    places = np.linspace(0.0, along[-1], count)
    return np.stack([np.interp(places, along, points[:, axis]) for axis in range(3)], axis=1)
