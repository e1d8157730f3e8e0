"""A planned bike in one pose: where every line runs, for drawing and for a page."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ropewalk.analysis.loops import LoopWindow
from ropewalk.bike.poses import poses
from ropewalk.errors import ChoiceError
from ropewalk.mechanics.elastica import relax_from
from ropewalk.routing.course import Course, Loop
from ropewalk.units import degrees
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


def posed_lines(job: JobPlan, steer: float) -> tuple[PosedLine, ...]:
    """Return every line of a planned bike at a steering angle, housing at its target length.

    Parameters
    ----------
    job : JobPlan
    steer : float
        Steering angle, positive to the rider's right [rad].

    Raises
    ------
    ChoiceError
        When the bars do not turn that far.
    """
    bike = job.model
    lock = poses(bike.frame).lock
    if not abs(steer) <= lock + 1e-9:
        raise ChoiceError(f"steering angle is {degrees(steer):g}°: these bars turn {degrees(lock):.0f}° to each side")
    pose = {"steer": steer}
    found = []
    for place, line in enumerate(job.routing):
        spans = []
        for at, (span, shape) in enumerate(zip(line.route.spans, line.spans, strict=True)):
            if isinstance(shape, Course):
                points = bike.mechanism.placement(shape.body, pose).points(shape.points)[0]
                radius = shape.least_radius
            else:
                points, radius = _loop(job, shape, job.loops[place, at], steer)
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
            [bike.mechanism.placement(station.body, pose).points(station.place)[0] for station in line.stations]
        )
        names = tuple(station.name for station in line.stations)
        found.append(PosedLine(line.route.line.name, line.route.line.work, tuple(spans), places, names))
    return tuple(found)


def _loop(job: JobPlan, shape: Loop, loop: LoopWindow, steer: float, count: int = 41) -> tuple[Points, float]:
    case = loop.case
    if not case.moves:
        home = loop.sweep.points(count)[0]
        points = job.model.mechanism.placement(shape.start_body, {"steer": steer}).points(home)[0]
        return points, float(loop.sweep.least_radius[0])
    nearest = int(np.argmin(np.abs(case.steer - steer)))
    rods = relax_from(case.clamps(np.array([steer])), np.array([loop.target]), loop.sweep.tangents[[nearest]])
    return rods.points(count)[0], float(rods.least_radius[0])
