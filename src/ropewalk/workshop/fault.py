"""A line that drags, read with a spring scale at both ends: what is wrong with it, in words."""

from __future__ import annotations

import math
from collections.abc import Mapping
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
from ropewalk.units import radians
from ropewalk.workshop.cautions import CAUTIONS, FAULT_CAUTIONS
from ropewalk.workshop.faultwords import following, reasons, verdict_words
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
class Readings:
    """What a mechanic read.

    Attributes
    ----------
    lever, end : tuple of float
        Pull at the lever's end and at the other end, reading by reading [N].
    scale : float or None
        What the scale may be wrong by, 19 times in 20 [N]; None: the catalogue's setting.
    part_moves, part_returns : float or None
        What it takes to move the moving part with the wire off, and what it pulls with as it returns [N].
    steer_deg : float
        Where the bars pointed [°].
    """

    lever: tuple[float, ...]
    end: tuple[float, ...]
    scale: float | None = None
    part_moves: float | None = None
    part_returns: float | None = None
    steer_deg: float = 0.0


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
    reasons, following, how, limits, cautions : tuple of str
        Why; what to read or do next; how to take the readings; the model's limits; what to take care of.
    """

    bike: str
    line: str
    work: str
    readings: Readings
    pose: Mapping[str, float]
    diagnosis: Diagnosis
    verdict: str
    reasons: tuple[str, ...]
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
    route = next(placed.route for placed in job.routing if placed.route.line.name == line)
    if planned.friction is None:
        raise ChoiceError(f'"{line}" is a hose: it has no wire that could drag')
    settled = checked_readings(readings, job.catalogue)
    most = _check_reach(settled, route, job.catalogue)
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
        following=tuple(following(found, sigma, float(job.catalogue.settings.fault.more_load), most)),
        how=HOW,
        limits=LIMITS,
        cautions=(*FAULT_CAUTIONS, *CAUTIONS),
    )


def checked_readings(readings: Readings, catalogue: Catalogue) -> Readings:
    """Return readings with the scale's error filled in, refusing those that cannot be.

    Raises
    ------
    ChoiceError
        When there are none, or not one at each end for every pull; when one is no force above 0, or no larger than
        what the scale may be wrong by; when more comes out than goes in, by more than the scale explains.
    """
    scale = float(catalogue.settings.fault.scale) if readings.scale is None else readings.scale
    if not (math.isfinite(scale) and scale > 0.0):
        raise ChoiceError(f"the scale's error is {scale:g} N: it has to be more than 0")
    if len(readings.lever) != len(readings.end):
        raise ChoiceError(
            f"there are {len(readings.lever)} readings at the lever and {len(readings.end)} at the other end: "
            "give one of each for every pull"
        )
    if not readings.lever:
        raise ChoiceError("there is no reading: give at least one pull at the lever and one at the other end")
    for where, force in _pulls(readings):
        if not (math.isfinite(force) and force > 0.0):
            raise ChoiceError(f"{where} is {force:g} N: it has to be more than 0; read while the wire creeps")
        if scale >= force:
            raise ChoiceError(f"{where} is {force:g} N, but the scale may be wrong by {scale:g} N: pull more")
    returns = readings.part_returns
    if returns is not None and not (math.isfinite(returns) and returns >= 0.0):
        raise ChoiceError(f"what the part returns with is {returns:g} N: it has to be 0 or more")
    # of two readings both may be wrong
    apart = math.sqrt(2.0) * scale
    for lever, end in zip(readings.lever, readings.end, strict=True):
        if end - lever > apart:
            raise ChoiceError(
                f"{end:g} N come out where {lever:g} N go in, more than the scale's {scale:g} N explain: a wire pulled "
                "from its lever gives less than it takes; check which reading is which, and read again"
            )
    if returns is not None and readings.part_moves is not None and returns - readings.part_moves > apart:
        raise ChoiceError(
            f"the part returns with {returns:g} N but moves with {readings.part_moves:g} N: it gives back more than it "
            "takes; read again"
        )
    return replace(readings, scale=scale)


def _pulls(readings: Readings) -> list[tuple[str, float]]:
    """Return the readings that have to lie above 0, each with where it was taken."""
    found = [("a reading at the lever", force) for force in readings.lever]
    found += [("a reading at the other end", force) for force in readings.end]
    return found if readings.part_moves is None else [*found, ("what moves the part", readings.part_moves)]


def _check_reach(readings: Readings, route: Route, catalogue: Catalogue) -> float:
    """Return the most that a workshop's scale shows, or the lever strength test would give; refuse what is beyond."""
    most, why = float(catalogue.settings.fault.scale_reach), "which is more than a workshop's spring scale shows"
    if route.exit.advantage is not None:
        test = float(catalogue.settings.force.lever_test)
        pull = test * float(route.exit.advantage) * route.share
        if pull < most:
            most, why = pull, f"which the lever strength test's {test:g} N at the hand would not give"
    returns = () if readings.part_returns is None else (("what the part returns with", readings.part_returns),)
    for where, force in (*_pulls(readings), *returns):
        if force > most:
            raise ChoiceError(f"{where} is {force:g} N, {why}: it has to be {most:.0f} N at most")
    return most
