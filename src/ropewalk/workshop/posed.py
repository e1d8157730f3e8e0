"""A planned bike in one pose: where every line runs, for drawing and for a page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ropewalk.analysis.loops import LoopWindow
from ropewalk.bike.poses import COORDINATES, SHOWN, STEER, Poses, pose_of, poses
from ropewalk.errors import ChoiceError
from ropewalk.mechanics.elastica import Rods, relax_from
from ropewalk.routing.course import Course, Loop, Wrap
from ropewalk.workshop.jobplan import JobPlan

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class PosedSpan:
    """One span in a pose.

    Attributes
    ----------
    kind : str
        loop, strapped, bare, inside or rigid.
    covered : bool
        Whether housing or hose runs through it.
    tag : str or None
        Tag of the piece of housing that covers it.
    points : (n, 3) array
        Its path in the bike's axes [mm].
    least_radius : float
        In this pose [mm]; infinite when straight.
    kink_radius, advised_radius : float or None
        Of the housing that covers it [mm].
    """

    kind: str
    covered: bool
    tag: str | None
    points: Points
    least_radius: float
    kink_radius: float | None
    advised_radius: float | None


@dataclass(frozen=True, slots=True)
class PosedLine:
    """One line in a pose: its name, work, spans, and the places (n, 3) and names of its stations."""

    name: str
    work: str
    spans: tuple[PosedSpan, ...]
    stations: Points
    station_names: tuple[str, ...]


def posed_lines(job: JobPlan, pose: Mapping[str, float]) -> tuple[PosedLine, ...]:
    """Return every line of a planned bike in a pose, housing at its target length.

    Parameters
    ----------
    job : JobPlan
    pose : mapping of str to float
        Values of `ropewalk.bike.poses.COORDINATES` [rad, mm]: the steering angle, positive to the rider's right, and
        what else moves; those left out are 0.

    Raises
    ------
    ChoiceError
        When the bike does not move so, or not so far.
    """
    bike = job.model
    values = checked_pose(poses(bike.frame), pose)[np.newaxis]
    found = []
    for place, line in enumerate(job.routing):
        spans = []
        for at, (span, shape) in enumerate(zip(line.route.spans, line.spans, strict=True)):
            if isinstance(shape, Wrap):
                turned = float(values[0, STEER])
                points = bike.mechanism.at(shape.end_body, values).points(shape.points(turned))[0]
                radius = float(shape.at(turned).radius[0])
            elif isinstance(shape, Course):
                points = bike.mechanism.at(shape.body, values).points(shape.points)[0]
                radius = shape.least_radius
            else:
                points, radius = _loop(job, shape, job.loops[place, at], values)
            housing = line.route.housing_of(span)
            tag = next((piece.tag for piece in line.route.pieces if at in piece.spans), None)
            spans.append(
                PosedSpan(
                    span.kind,
                    span.covered,
                    tag,
                    points,
                    radius,
                    None if housing is None else float(housing.kink_radius),
                    None if housing is None else float(housing.advised_radius),
                )
            )
        places = np.stack(
            [bike.mechanism.at(station.body, values).points(station.place)[0] for station in line.stations]
        )
        names = tuple(station.name for station in line.stations)
        found.append(PosedLine(line.route.line.name, line.route.line.work, tuple(spans), places, names))
    return tuple(found)


def checked_pose(sweep: Poses, pose: Mapping[str, float]) -> Points:
    """Return a pose (5,) from named values, refusing what the bike cannot do.

    Raises
    ------
    ChoiceError
        When it names something unknown, something that does not move, or a value beyond its range.
    """
    for name, value in pose.items():
        if name not in COORDINATES:
            raise ChoiceError(f'a pose has no "{name}": write {", ".join(COORDINATES)}')
        at, (_, scale) = COORDINATES.index(name), SHOWN[name]
        low, high = sweep.low[at] * scale, sweep.high[at] * scale
        shown, unit = f"{_MOVES[name]} is {value * scale:g}", _UNITS[name]
        if high == low and value:
            raise ChoiceError(f"{shown}{unit}: on this bike it does not move")
        if not low - 1e-6 <= value * scale <= high + 1e-6:
            reach = f"{high:.0f}{unit} to each side" if name == "steer" else f"from 0 to {high:.0f}{unit}"
            raise ChoiceError(f"{shown}{unit}: it moves {reach}")
    return pose_of(pose)


#: what the coordinates of a pose are called, and their units as shown
_MOVES = {"steer": "steering angle", "fork": "fork travel", "rear": "rear travel", "fold": "fold angle", "post": "post"}
_UNITS = {"steer": "°", "fork": " mm", "rear": " mm", "fold": "°", "post": " mm"}


def bent_loop(loop: LoopWindow, values: Points) -> Rods:
    """Return a loop's housing in poses (K, 5) of the bike, at its target length.

    Each follows from the nearest pose of the sweep, so it lies as the sweep has it.
    """
    nearest = loop.case.places_of(values)
    # where housing slides a loop has another length in every pose
    return relax_from(loop.case.clamps(values), loop.sweep.length[nearest], loop.sweep.tangents[nearest])


def _loop(job: JobPlan, shape: Loop, loop: LoopWindow, pose: Points, count: int = 41) -> tuple[Points, float]:
    if not loop.case.moves:
        home = loop.sweep.points(count)[0]
        points = job.model.mechanism.at(shape.start_body, pose).points(home)[0]
        return points, float(loop.sweep.least_radius[0])
    rods = bent_loop(loop, pose)
    return rods.points(count)[0], float(rods.least_radius[0])
