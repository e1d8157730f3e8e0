"""What friction does to the lines of a planned bike: tension from lever to anchor, release, losses, for showing."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ropewalk.analysis.friction import Figured, LineFriction, Tensions, lever_pull, tensions
from ropewalk.analysis.lostmotion import LostMotion, Shifting
from ropewalk.bike.poses import nearest_pose, pose_words, poses, shown_pose
from ropewalk.bike.wording import nearest, shortened
from ropewalk.errors import ChoiceError
from ropewalk.units import degrees
from ropewalk.workshop.cautions import CAUTIONS
from ropewalk.workshop.compare import LIMITS
from ropewalk.workshop.jobplan import JobPlan, LinePlan
from ropewalk.workshop.posed import checked_pose
from ropewalk.workshop.releasewords import release_words


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
    profiles : mapping of str to Tensions
        Tension along the line in that pose, by condition.
    friction : LineFriction
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
    profiles: Mapping[str, Tensions]
    friction: LineFriction
    release_at: str
    release: str
    lost: Mapping[str, LostMotion]
    shifting: Shifting | None

    @property
    def labels(self) -> tuple[str, ...]:
        """Names of its stretches, from the lever on."""
        return tuple(stretch.label for stretch in self.friction.stretches)


def plan_friction(job: JobPlan, line: str | None, hand_force: float, pose: Mapping[str, float]) -> list[FrictionPlan]:
    """Return what friction does to one line of a planned bike, or to all that have a wire.

    Parameters
    ----------
    job : JobPlan
    line : str or None
        The line's name; None for all.
    hand_force : float
        Force at the lever that the job was planned with [N].
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
    return [_plan_line(job, one, hand_force, pose) for one in wired]


def _plan_line(job: JobPlan, line: LinePlan, hand_force: float, pose: Mapping[str, float]) -> FrictionPlan:
    friction = line.friction
    assert friction is not None
    sweep = poses(job.model.frame)
    at = nearest_pose(sweep.values, checked_pose(sweep, pose))
    route = next(placed.route for placed in job.routing if placed.route.line.name == line.name)
    spring = float(route.mover.spring_least or 0.0)
    profiles = dict(friction.profiles)
    if at != sweep.straight:
        pull = lever_pull(route, friction.stretches, at, job.catalogue, hand_force)
        profiles = {
            name: tensions(friction.stretches, at, name, pull, spring, job.catalogue) for name in friction.profiles
        }
    worst = pose_words(sweep.values[friction.release.pose]) if friction.release is not None else ""
    return FrictionPlan(
        bike=job.bike,
        line=line.name,
        work=line.work,
        at=pose_words(sweep.values[at]),
        pose=shown_pose(sweep.values[at], sweep.moving),
        profiles=profiles,
        friction=friction,
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
    ``turn_deg``, ``pull_N``; ``efficiency``, ``least_efficiency`` (``value``, ``sigma``) and ``at_locks`` ([left,
    right]) by condition; ``tension`` by condition: a list from the lever on of ``stretch``, ``contact``, ``turn_deg``,
    ``from_mm``, ``to_mm``, ``pulling_N`` and ``releasing_N`` ([at its start, at its end]); ``release``: ``reserve_mu``
    (null where nothing stops it), ``at``, ``spring_N``, ``needed_N``, ``arrives_N`` by condition, ``text``; null where
    it is not known; ``lost_motion`` by condition: ``total_mm``, ``sigma_mm``, ``share``, ``settling_mm``, ``left_mm``,
    ``parts`` (``what``, ``mm``, ``sigma_mm``); ``shifting``: ``step_mm`` (null), ``hysteresis_mm`` by condition,
    ``steering_mm``; null for other work.
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
        "pull_N": round(friction.pull, 2),
        "efficiency": {name: _figured(one, 4) for name, one in friction.efficiency.items()},
        "least_efficiency": {name: _figured(one, 4) for name, one in friction.least_efficiency.items()},
        "at_locks": {name: [round(side, 4) for side in both] for name, both in friction.at_locks.items()},
        "tension": {name: _tension(line, profile) for name, profile in line.profiles.items()},
        "release": None
        if release is None
        else {
            "reserve_mu": round(release.reserve, 4) if math.isfinite(release.reserve) else None,
            "at": line.release_at,
            "spring_N": round(release.spring, 2),
            "needed_N": round(release.needed, 2),
            "arrives_N": {name: _figured(one, 2) for name, one in release.arrives.items()},
            "text": line.release,
        },
        "lost_motion": {name: _lost(one) for name, one in line.lost.items()},
        "shifting": None
        if line.shifting is None
        else {
            "step_mm": line.shifting.step,
            "hysteresis_mm": {name: _figured(one, 3) for name, one in line.shifting.hysteresis.items()},
            "steering_mm": round(line.shifting.steering, 3),
        },
    }


def _tension(line: FrictionPlan, profile: Tensions) -> list[dict[str, Any]]:
    return [
        {
            "stretch": stretch.label,
            "contact": stretch.pair,
            "turn_deg": round(degrees(float(stretch.turn[profile.pose])), 1),
            "from_mm": round(float(profile.distance[at]), 1),
            "to_mm": round(float(profile.distance[at + 1]), 1),
            "pulling_N": [round(float(one), 2) for one in profile.pulling[at : at + 2]],
            "releasing_N": [round(float(one), 2) for one in profile.releasing[at : at + 2]],
        }
        for at, stretch in enumerate(line.friction.stretches)
    ]


def _lost(lost: LostMotion) -> dict[str, Any]:
    return {
        "total_mm": round(lost.total.value, 3),
        "sigma_mm": round(lost.total.sigma, 3),
        "share": None if lost.share is None else round(lost.share, 4),
        "settling_mm": round(lost.settling, 2),
        "left_mm": None if lost.left is None else round(lost.left, 2),
        "parts": [
            {"what": one.label, "mm": round(one.mm.value, 3), "sigma_mm": round(one.mm.sigma, 3)} for one in lost.losses
        ],
    }


def _figured(one: Figured, digits: int) -> dict[str, float]:
    return {"value": round(one.value, digits), "sigma": round(one.sigma, digits)}
