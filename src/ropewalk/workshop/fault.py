"""A line that drags, read with a spring scale at both ends: what is wrong with it, in words."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from ropewalk.analysis.faultfinding import Diagnosis, between_scales, check_line, check_release, diagnose
from ropewalk.analysis.faultparts import check_part
from ropewalk.analysis.faultreadings import Pair
from ropewalk.bike.options import named_line
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.poses import nearest_pose, poses, shown_pose
from ropewalk.bike.sourced import SIGMAS_WITHIN
from ropewalk.errors import ChoiceError
from ropewalk.routing.lines import Route
from ropewalk.units import degrees, radians
from ropewalk.workshop import words
from ropewalk.workshop.cautions import CAUTIONS, FAULT_CAUTIONS
from ropewalk.workshop.faultchecks import Readings, beyond, misread, reach_of, refuse_first, scale_error
from ropewalk.workshop.faultwords import following, reasons, untold, verdict_words
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.posed import checked_pose

#: least turn that friction can be told from [rad]
LEAST_TURN = radians(20.0)
HOW = (
    "Unhook the wire from its lever and from what it moves, and leave it in its housing. Bars as told above.",
    "Hang a scale on each end, pulling in line with the housing. A helper holds the far one; pull the near one slowly "
    "until the wire creeps, and read both while it creeps, never at rest.",
    "Read twice, then twice with clearly more pull: two loads tell a rough wire from an end that holds it back.",
    "With the wire off, move the caliper or derailleur with the scale where the wire pulls; then read what it still "
    "pulls with as you let it return slowly.",
    "Readings are in newtons: a kilogram on the scale is 9.8 N.",
)
LIMITS = (
    "Friction is told by turn alone (capstan rule): what a stiff wire adds where it bends, and at the ends of housing, "
    "is read as friction or drag too.",
)


@dataclass(frozen=True, slots=True)
class FaultPlan:
    """What is wrong with a line, complete for showing.

    Attributes
    ----------
    bike, line, work : str
    readings : Readings
        With the scale's error filled in.
    pose : mapping of str to float
        Where the bars pointed, by joint: steering angle in degrees under ``steer_deg``.
    diagnosis : Diagnosis
    verdict : str
        In a sentence or two.
    reasons, untold, following, how, limits, cautions : tuple of str
        Why; what the readings do not tell, some of it among the reasons; what to read or do next; how to take the
        readings; the model's limits; what to take care of.
    """

    bike: str
    line: str
    work: str
    readings: Readings
    pose: Mapping[str, float]
    diagnosis: Diagnosis
    verdict: str
    reasons: tuple[str, ...]
    untold: tuple[str, ...]
    following: tuple[str, ...]
    how: tuple[str, ...]
    limits: tuple[str, ...]
    cautions: tuple[str, ...]


def find_fault(job: JobPlan, line: str, readings: Readings) -> FaultPlan:
    """Return what readings at both ends of a line say is wrong with it.

    Parameters
    ----------
    job : JobPlan
        The plan of the bike that was read.
    line : str
        The line's name.
    readings : Readings

    Raises
    ------
    ChoiceError
        When the line is unknown, has no wire or no turn, or the readings cannot be.
    """
    named_line(job.model.frame, line)
    planned = next(one for one in job.lines if one.name == line)
    route = route_of(job, line)
    if planned.friction is None:
        raise ChoiceError(f'"{line}" is a hose: it has no wire that could drag')
    settled = checked_readings(readings, job.catalogue)
    reach = reach_of(route, job.catalogue)
    refuse_first(beyond(settled, reach))
    sweep = poses(job.model.frame)
    pose = nearest_pose(sweep.values, checked_pose(sweep, {"steer": radians(settled.steer_deg)}))
    stretches = [
        planned.friction.stretches[place] for place in between_scales(planned.friction.stretches, straight=True)
    ]
    turns = np.array([float(stretch.turn[pose]) for stretch in stretches])
    if turns.sum() < LEAST_TURN:
        raise ChoiceError(
            f'"{line}" turns by {math.degrees(turns.sum()):.0f}° between the scales, and friction cannot be told from '
            f"less than {math.degrees(LEAST_TURN):.0f}°: look at its ends and at what it moves"
        )
    sigma = (settled.scale or 0.0) / SIGMAS_WITHIN
    pairs = [Pair(lever, end) for lever, end in zip(settled.lever, settled.end, strict=True)]
    checked = check_line(pairs, stretches, turns, sigma, job.catalogue)
    if checked is None:
        raise ChoiceError(
            "the pull at the lever does not rise with that at the other end: check which reading is of which pull, and "
            "read again"
        )
    if checked.fit.friction.high < 0.0:
        raise ChoiceError(
            "the pull at the lever rises by less than that at the other end, more than the scale explains: a wire "
            "pulled from its lever gives less than it takes; check which reading is of which pull, and read again"
        )
    share = float(job.catalogue.settings.fault.part_stick)
    springs = (route.mover.spring_least, route.mover.spring_most)
    part = check_part(settled.part_moves, settled.part_returns, sigma, springs, share)
    release = check_release(checked, planned.friction, settled.part_returns, sigma)
    found = diagnose(checked, part, release)
    return FaultPlan(
        bike=job.bike,
        line=line,
        work=planned.work,
        readings=settled,
        pose=shown_pose(sweep.values[pose]),
        diagnosis=found,
        verdict=verdict_words(found),
        reasons=tuple(reasons(found)),
        untold=tuple(untold(found)),
        following=tuple(following(found, sigma, float(job.catalogue.settings.fault.more_load), reach.most)),
        how=HOW,
        limits=LIMITS,
        cautions=(*FAULT_CAUTIONS, *CAUTIONS),
    )


def checked_readings(readings: Readings, catalogue: Catalogue) -> Readings:
    """Return readings with the scale's error filled in, or raise a `ChoiceError` where they cannot be."""
    refuse_first(misread(readings, catalogue))
    return replace(readings, scale=scale_error(readings, catalogue))


def route_of(job: JobPlan, line: str) -> Route:
    """Return the route of a line of a planned bike."""
    return next(placed.route for placed in job.routing if placed.route.line.name == line)


def read_words(found: FaultPlan) -> Iterator[str]:
    """Return what was read, where and with what, in sentences."""
    readings = found.readings
    pulls = "; ".join(f"{lever:g} N in, {end:g} N out" for lever, end in zip(readings.lever, readings.end, strict=True))
    turn = degrees(found.diagnosis.line.turn)
    yield f"{pulls}; read {words.pose(found.pose)}, {turn:.0f}° of turn between the scales."
    part = []
    if readings.part_moves is not None:
        part.append(f"{readings.part_moves:g} N move it")
    if readings.part_returns is not None:
        part.append(f"it returns with {readings.part_returns:g} N")
    if part:
        yield f"The moving part, wire off: {', '.join(part)}."
    yield f"The scale may be wrong by {readings.scale:g} N, 19 times in 20."
