"""A line that drags, read with a spring scale at both ends: what is wrong with it, in words."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ropewalk.analysis.faultfinding import Diagnosis, between_scales, check_line, check_release, diagnose
from ropewalk.analysis.faultparts import check_part
from ropewalk.analysis.faultreadings import Pair
from ropewalk.bike.framefile import Frame
from ropewalk.bike.options import named_line
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.poses import nearest_pose, pose_words, poses
from ropewalk.bike.sourced import SIGMAS_WITHIN
from ropewalk.errors import ChoiceError
from ropewalk.units import radians
from ropewalk.workshop.cautions import CAUTIONS
from ropewalk.workshop.compare import LIMITS
from ropewalk.workshop.faultwords import next_reading, reasons, verdict_words
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.plan import plan
from ropewalk.workshop.posed import checked_pose

#: least turn that friction can be told from [rad]
LEAST_TURN = radians(20.0)
HOW = (
    "Unhook the wire from its lever and from what it moves, and leave it in its housing.",
    "Hang a scale on each end, in line with the housing. One helper holds the far scale; pull the near one slowly "
    "until the wire creeps, and read both while it moves.",
    "Read twice, then again with clearly more pull: two loads tell a rough wire from an end that holds it back.",
    "With the wire off, move the caliper or derailleur with the scale; read what it still pulls with as it returns.",
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
    pose : str
        Where the bars pointed, in words.
    turn : float
        Turn of the wire between the scales there [rad].
    diagnosis : Diagnosis
    verdict : str
        In one sentence.
    reasons, following, how, limits, cautions : tuple of str
        Why; what to read or do next; how to take the readings; the model's limits; the usual cautions.
    """

    bike: str
    line: str
    work: str
    readings: Readings
    pose: str
    turn: float
    diagnosis: Diagnosis
    verdict: str
    reasons: tuple[str, ...]
    following: tuple[str, ...]
    how: tuple[str, ...]
    limits: tuple[str, ...]
    cautions: tuple[str, ...]


def find_fault(
    frame: Frame,
    line: str,
    readings: Readings,
    *,
    shelf: Catalogue | None = None,
    progress: Callable[[str, float], None] | None = None,
) -> FaultPlan:
    """Return what readings at both ends of a line say is wrong with it.

    Parameters
    ----------
    frame : Frame
    line : str
        The line's name.
    readings : Readings
    shelf : Catalogue, optional
        The parts to plan with.
    progress : callable, optional
        As for `ropewalk.workshop.plan.plan`.

    Raises
    ------
    ChoiceError
        When the line is unknown, has no wire or no turn, or the readings cannot be.
    FrameFileError, ChartError, PartError
        As `plan`.
    """
    written = named_line(frame, line)
    if written.work == "hose":
        raise ChoiceError(f'"{line}" is a hose: it has no wire that could drag')
    job = plan(frame, progress=progress, shelf=shelf)
    planned = next(one for one in job.lines if one.name == line)
    assert planned.friction is not None
    settled = _settled(readings, job, line)
    sweep = poses(job.model.frame)
    pose = checked_pose(sweep, {"steer": radians(settled.steer_deg)})
    at = nearest_pose(sweep.values, pose)
    stretches = [
        planned.friction.stretches[place] for place in between_scales(planned.friction.stretches, straight=True)
    ]
    turns = np.array([float(stretch.turn[at]) for stretch in stretches])
    turn = float(turns.sum())
    if turn < LEAST_TURN:
        raise ChoiceError(
            f'"{line}" turns only {math.degrees(turn):.0f}° between the scales: friction cannot be told from so little'
        )
    assert settled.scale is not None
    sigma = settled.scale / SIGMAS_WITHIN
    pairs = [Pair(lever, end) for lever, end in zip(settled.lever, settled.end, strict=True)]
    checked = check_line(pairs, stretches, turns, sigma, job.catalogue)
    if checked is None:
        raise ChoiceError(
            "the pull at the lever does not rise with that at the other end: check which reading belongs to which end"
        )
    route = next(placed.route for placed in job.routing if placed.route.line.name == line)
    share = float(job.catalogue.settings.fault.part_stick)
    springs = (route.mover.spring_least, route.mover.spring_most)
    part = check_part(settled.part_moves, settled.part_returns, sigma, springs, share)
    release = check_release(checked, planned.friction, settled.part_returns)
    found = diagnose(checked, part, release)
    more = float(job.catalogue.settings.fault.more_load)
    return FaultPlan(
        bike=job.bike,
        line=line,
        work=planned.work,
        readings=settled,
        pose=pose_words(sweep.values[at]),
        turn=turn,
        diagnosis=found,
        verdict=verdict_words(found),
        reasons=tuple(reasons(found)),
        following=tuple(next_reading(found, more)),
        how=HOW,
        limits=LIMITS,
        cautions=CAUTIONS,
    )


def _settled(readings: Readings, job: JobPlan, line: str) -> Readings:
    """Return the readings with the scale's error filled in, refusing those that cannot be."""
    settings = job.catalogue.settings
    scale = float(settings.fault.scale) if readings.scale is None else readings.scale
    if not (math.isfinite(scale) and scale > 0.0):
        raise ChoiceError(f"the scale's error is {scale:g} N: it has to be more than 0")
    if len(readings.lever) != len(readings.end):
        raise ChoiceError(
            f"there are {len(readings.lever)} readings at the lever and {len(readings.end)} at the other end: "
            "give one of each for every pull"
        )
    if not readings.lever:
        raise ChoiceError("there is no reading: give at least one pull at the lever and one at the other end")
    most = _most(job, line)
    for where, given in (("the lever", readings.lever), ("the other end", readings.end)):
        for force in given:
            _check_force(force, f"a reading at {where}", most, scale)
    for where, part in (("moves", readings.part_moves), ("returns", readings.part_returns)):
        if part is not None and not (math.isfinite(part) and 0.0 <= part <= most):
            raise ChoiceError(f"the part {where} with {part:g} N: it has to be between 0 and {most:.0f} N")
    if readings.part_moves is not None and readings.part_moves <= 0.0:
        raise ChoiceError("the part moves with 0 N: nothing moves without a force; read again")
    for lever, end in zip(readings.lever, readings.end, strict=True):
        if end - lever > math.sqrt(2.0) * scale:
            raise ChoiceError(
                f"{end:g} N come out where {lever:g} N go in: pulled from the lever no more can come out than goes in, "
                f"and the scale's {scale:g} N do not explain it; check which end is which, and read again"
            )
    moves, returns = readings.part_moves, readings.part_returns
    if moves is not None and returns is not None and returns - moves > math.sqrt(2.0) * scale:
        raise ChoiceError(
            f"the part returns with {returns:g} N but moves with {moves:g} N: it gives back more than it takes to move "
            "it; read again"
        )
    return Readings(readings.lever, readings.end, scale, readings.part_moves, readings.part_returns, readings.steer_deg)


def _most(job: JobPlan, line: str) -> float:
    """Return the most pull that makes sense at a line's ends: a scale's reach, or what the lever test would give."""
    settings = job.catalogue.settings
    route = next(placed.route for placed in job.routing if placed.route.line.name == line)
    reach = float(settings.fault.scale_reach)
    if route.exit.advantage is None:
        return reach
    return min(reach, float(settings.force.lever_test) * float(route.exit.advantage) * route.share)


def _check_force(force: float, where: str, most: float, scale: float) -> None:
    if not (math.isfinite(force) and force > 0.0):
        raise ChoiceError(f"{where} is {force:g} N: it has to be more than 0; a wire that does not move tells nothing")
    if force > most:
        raise ChoiceError(f"{where} is {force:g} N: more than {most:.0f} N is beyond a workshop's scale and the lever")
    if scale >= force:
        raise ChoiceError(
            f"{where} is {force:g} N, but the scale may be wrong by {scale:g} N: pull more, or read finer"
        )
