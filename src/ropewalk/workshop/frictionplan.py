"""What friction does to the lines of a planned bike: tension from lever to anchor, release, losses, for showing."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ropewalk.analysis.causes import Figured, Wire
from ropewalk.analysis.friction import LineFriction, Tensions, tensions
from ropewalk.analysis.lostmotion import LostMotion, Shifting
from ropewalk.analysis.wireline import Stretch, in_pose
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.poses import Poses, pose_words, poses, shown_pose
from ropewalk.bike.wording import nearest, shortened
from ropewalk.errors import ChoiceError
from ropewalk.routing.lines import Route
from ropewalk.units import degrees
from ropewalk.workshop import compare
from ropewalk.workshop.candidate import Candidate
from ropewalk.workshop.cautions import CAUTIONS
from ropewalk.workshop.entrants import Entrant
from ropewalk.workshop.jobplan import JobPlan, LinePlan
from ropewalk.workshop.posed import checked_pose
from ropewalk.workshop.releasewords import release_words

#: what friction here does and does not know
LIMITS = (
    *compare.LIMITS,
    "Friction coefficients, spring forces and stiffness of housing are estimates unless a source is given (ropewalk "
    "parts); what stands behind ± holds 19 times in 20 if they are no further off than their spread says.",
)


@dataclass(frozen=True, slots=True, eq=False)
class FrictionPlan:
    """One line's friction in a pose.

    Attributes
    ----------
    bike, line, work : str
    at : str
        The pose in words.
    pose : mapping of str to float
        The same as faces show it.
    stretches : tuple of Stretch
        The wire in that pose alone.
    profiles : mapping of str to Tensions
        Tension along the line in that pose, by condition.
    friction : LineFriction
    worst_at : mapping of str to str
        Where least of the pull arrives while riding, in words, by condition.
    release_at : str
        The worst pose while riding, in words.
    release : str
        The release reserve in words.
    lost : mapping of str to LostMotion
        Straight ahead, by condition.
    shifting : Shifting or None
    """

    bike: str
    line: str
    work: str
    at: str
    pose: Mapping[str, float]
    stretches: tuple[Stretch, ...]
    profiles: Mapping[str, Tensions]
    friction: LineFriction
    worst_at: Mapping[str, str]
    release_at: str
    release: str
    lost: Mapping[str, LostMotion]
    shifting: Shifting | None

    @property
    def labels(self) -> tuple[str, ...]:
        """Names of its stretches, from the lever on."""
        return tuple(stretch.label for stretch in self.stretches)


def plan_friction(job: JobPlan, line: str | None, pose: Mapping[str, float]) -> list[FrictionPlan]:
    """Return what friction does to one line of a planned bike, or to all that have a wire.

    Parameters
    ----------
    job : JobPlan
    line : str or None
        The line's name; None for all.
    pose : mapping of str to float
        Where tension is wanted, as for `ropewalk.workshop.posed.posed_lines`.

    Raises
    ------
    ChoiceError
        When there is no such line, it is a hose, or the bike does not move so.
    """
    names = [one.name for one in job.lines]
    if line is not None and line not in names:
        near = nearest(line, names)
        hint = f'did you mean "{near}"?' if near else f"it has {', '.join(names)}"
        raise ChoiceError(f'{job.bike} has no line "{shortened(line)}": {hint}')
    picked = [one for one in job.lines if one.name == line] if line is not None else list(job.lines)
    wired = [one for one in picked if one.friction is not None]
    if not wired:
        what = f'"{line}" is a hose' if line is not None else f"{job.bike} has hoses only"
        raise ChoiceError(f"{what}: without a wire there is no friction to tell")
    sweep = poses(job.model.frame)
    found = []
    for one in wired:
        route = next(placed.route for placed in job.routing if placed.route.line.name == one.name)
        found.append(_plan_line(job.bike, one, route, job.catalogue, sweep, pose))
    return found


def friction_of_routing(entrant: Entrant, candidate: Candidate, pose: Mapping[str, float]) -> FrictionPlan:
    """Return what friction does to a routing that was planned to be compared.

    Parameters
    ----------
    entrant : Entrant
        Who took part.
    candidate : Candidate
        What was planned for it.
    pose : mapping of str to float
        As for `plan_friction`.

    Raises
    ------
    ChoiceError
        When it is a hose, or the bike does not move so.
    """
    if candidate.wire is None:
        raise ChoiceError(f'"{candidate.name}" is a hose: without a wire there is no friction to tell')
    wire = candidate.wire
    return _plan_line(entrant.frame.name, candidate.plan, wire.route, wire.catalogue, poses(entrant.frame), pose)


def _plan_line(
    bike: str, line: LinePlan, route: Route, catalogue: Catalogue, sweep: Poses, pose: Mapping[str, float]
) -> FrictionPlan:
    friction = line.friction
    assert friction is not None
    at = checked_pose(sweep, pose)
    wire = Wire(route, tuple(in_pose(friction.stretches, sweep, at)), friction.hand_force, 0, catalogue)
    profiles = {name: tensions(wire, 0, name) for name in friction.profiles}
    worst = pose_words(sweep.values[friction.release.pose]) if friction.release is not None else ""
    return FrictionPlan(
        bike=bike,
        line=line.name,
        work=line.work,
        at=pose_words(at),
        pose=shown_pose(at, sweep.moving),
        stretches=wire.stretches,
        profiles=profiles,
        friction=friction,
        worst_at={name: pose_words(sweep.values[worst]) for name, worst in friction.worst.items()},
        release_at=worst,
        release=release_words(friction, worst),
        lost=line.lost,
        shifting=line.shifting,
    )


def friction_as_json_object(bike: str, lines: list[FrictionPlan]) -> dict[str, Any]:
    """Return what friction does as an object of plain values, its keys stable between releases.

    Notes
    -----
    ``format`` (1), ``bike``, ``lines``, ``limits``, ``cautions``. A line: ``name``, ``work``, ``at`` (pose),
    ``turn_deg`` (straight ahead), ``hand_force_N``, ``pull_N`` (at the lever, all new); ``efficiency``,
    ``least_efficiency`` (``value``, ``sigma``; the latter with its pose ``at`` in words) and ``at_locks`` ([left,
    right]) by condition; ``tension`` by condition: a list from the lever on of ``stretch``, ``contact``, ``turn_deg``,
    ``drag_N`` (at its far end), ``from_mm``, ``to_mm``, ``pulling_N`` and ``releasing_N`` ([at its start, at its
    end]); ``release``: ``reserve_mu`` and ``reserve_sigma`` (null where nothing stops it), ``at``, ``spring_N``,
    ``needed_N``, ``arrives_N`` by condition, ``shares`` of the turn in the order of the stretches, ``text``; null where
    it is not known; ``lost_motion`` by condition: ``total_mm``, ``sigma_mm``, ``share``, ``settling_mm``,
    ``take_up_mm``, ``pull_mm``, ``left_mm``, ``left_sigma_mm``, ``parts`` (``what``, ``mm``, ``sigma_mm``, ``note``);
    ``shifting``: ``step`` (its name) and ``step_mm`` (null where the file names none), ``hysteresis_mm`` and
    ``share_of_step`` by condition, ``steering_mm``; null for other work.
    """
    return {
        "format": 1,
        "bike": bike,
        "lines": [_line_object(line) for line in lines],
        "limits": list(LIMITS),
        "cautions": list(CAUTIONS),
    }


def _line_object(line: FrictionPlan) -> dict[str, Any]:
    friction, release = line.friction, line.friction.release
    return {
        "name": line.line,
        "work": line.work,
        "at": dict(line.pose),
        "turn_deg": round(degrees(friction.turn), 1),
        "hand_force_N": round(friction.hand_force, 2),
        "pull_N": round(friction.pull, 2),
        "efficiency": {name: _figured(one, 4) for name, one in friction.efficiency.items()},
        "least_efficiency": {
            name: {**_figured(one, 4), "at": line.worst_at[name]} for name, one in friction.least_efficiency.items()
        },
        "at_locks": {name: [round(side, 4) for side in both] for name, both in friction.at_locks.items()},
        "tension": {name: _tension(line, profile) for name, profile in line.profiles.items()},
        "release": None
        if release is None
        else {
            "reserve_mu": round(release.reserve, 4) if math.isfinite(release.reserve) else None,
            "reserve_sigma": round(release.reserve_sigma, 4) if math.isfinite(release.reserve) else None,
            "at": line.release_at,
            "spring_N": round(release.spring, 2),
            "needed_N": round(release.needed, 2),
            "arrives_N": {name: _figured(one, 2) for name, one in release.arrives.items()},
            "shares": [round(float(share), 4) for share in release.shares],
            "text": line.release,
        },
        "lost_motion": {name: _lost(one) for name, one in line.lost.items()},
        "shifting": None
        if line.shifting is None
        else {
            "step": line.shifting.name,
            "step_mm": line.shifting.step,
            "hysteresis_mm": {name: _figured(one, 3) for name, one in line.shifting.hysteresis.items()},
            "share_of_step": None
            if not line.shifting.step
            else {name: round(one.value / line.shifting.step, 4) for name, one in line.shifting.hysteresis.items()},
            "steering_mm": round(line.shifting.steering, 3),
        },
    }


def _tension(line: FrictionPlan, profile: Tensions) -> list[dict[str, Any]]:
    return [
        {
            "stretch": stretch.label,
            "contact": stretch.pair,
            "turn_deg": round(degrees(float(stretch.turn[profile.pose])), 1),
            "drag_N": round(stretch.drag, 2),
            "from_mm": round(float(profile.distance[at]), 1),
            "to_mm": round(float(profile.distance[at + 1]), 1),
            "pulling_N": [round(float(one), 2) for one in profile.pulling[at : at + 2]],
            "releasing_N": [round(float(one), 2) for one in profile.releasing[at : at + 2]],
        }
        for at, stretch in enumerate(line.stretches)
    ]


def _lost(lost: LostMotion) -> dict[str, Any]:
    return {
        "total_mm": round(lost.total.value, 3),
        "sigma_mm": round(lost.total.sigma, 3),
        "share": None if lost.share is None else round(lost.share, 4),
        "settling_mm": round(lost.settling, 2),
        "take_up_mm": round(lost.take_up, 2),
        "pull_mm": None if lost.pull is None else round(lost.pull, 2),
        "left_mm": None if lost.left is None else round(lost.left, 2),
        "left_sigma_mm": None if lost.left is None else round(lost.left_sigma, 2),
        "parts": [
            {
                "what": one.label,
                "mm": round(one.mm.value, 3),
                "sigma_mm": round(one.mm.sigma, 3),
                "note": one.note,
            }
            for one in lost.losses
        ],
    }


def _figured(one: Figured, digits: int) -> dict[str, float]:
    return {"value": round(one.value, digits), "sigma": round(one.sigma, digits)}
