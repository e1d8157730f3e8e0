"""Routings of one line side by side: each planned alone, weighed against the others, and ranked."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from ropewalk.analysis.causes import Figured
from ropewalk.analysis.findings import JOIN, Finding
from ropewalk.analysis.water import low_points
from ropewalk.analysis.weighing import Wire, weighed_lost_motion
from ropewalk.analysis.wireline import CONDITIONS
from ropewalk.bike.framefile import Frame
from ropewalk.bike.options import named_line, without_options
from ropewalk.bike.parts import Catalogue, catalogue
from ropewalk.bike.poses import pose_words, poses, shown_pose
from ropewalk.bike.wording import listed, nearest, shortened
from ropewalk.errors import ChoiceError, RopewalkError
from ropewalk.workshop import plan as planning
from ropewalk.workshop.candidate import Candidate, LowPlace
from ropewalk.workshop.cautions import CAUTIONS
from ropewalk.workshop.choices import Choices, settle
from ropewalk.workshop.entrants import Contest, Entrant
from ropewalk.workshop.jobplan import JobPlan, LinePlan
from ropewalk.workshop.plan import Progress
from ropewalk.workshop.ranking import MEASURES, Difference, Standing, ranked
from ropewalk.workshop.releasewords import release_words
from ropewalk.workshop.shelf import count_parts

#: what friction here does and does not know, beside every comparison
LIMITS = (
    "Friction is reckoned by turn and pair of materials alone (capstan rule). What a stiff wire adds where it bends, "
    "and at the ends of housing, is not counted. Use it to rank, then measure.",
)


@dataclass(frozen=True, slots=True)
class Comparison:
    """Routings of one line, compared.

    Attributes
    ----------
    bike, line, work : str
    by : str
        What they are ranked by: a key of `ropewalk.workshop.ranking.MEASURES`.
    condition : str
        new, worn or corroded: the one that friction is ranked in.
    hand_force : float
        Force at the lever [N].
    candidates : tuple of Candidate
        The best first, those that cannot be ranked last.
    standings : tuple of Standing
        In the order of the candidates.
    differences : tuple of Difference
        Between every two that are ranked.
    ranked_by : str
        What they are ranked by, and which way round, in words.
    limits, cautions : tuple of str
    catalogue : Catalogue
        The parts they were planned with.
    """

    bike: str
    line: str
    work: str
    by: str
    condition: str
    hand_force: float
    candidates: tuple[Candidate, ...]
    standings: tuple[Standing, ...]
    differences: tuple[Difference, ...]
    ranked_by: str
    limits: tuple[str, ...]
    cautions: tuple[str, ...]
    catalogue: Catalogue


def compare(
    contest: Contest,
    *,
    by: str = "efficiency",
    condition: str = "worn",
    choices: Choices | None = None,
    shelf: Catalogue | None = None,
    progress: Progress | None = None,
) -> Comparison:
    """Compare routings of one line.

    Parameters
    ----------
    contest : Contest
        From `ropewalk.workshop.entrants`.
    by : str
        efficiency, reserve, lost-motion or length.
    condition : str
        new, worn or corroded.
    choices : Choices, optional
        What the shop settles otherwise than the catalogue, such as the hand's force.
    shelf : Catalogue, optional
        The parts to plan with.
    progress : callable, optional
        Told what is being done and which share of the work is behind (0 to 1).

    Raises
    ------
    ChoiceError
        When by or condition is none there is.
    RopewalkError
        When a routing cannot be planned.
    """
    check_choice("--by", by, MEASURES)
    check_choice("--condition", condition, CONDITIONS)
    candidates = plan_candidates(contest, choices=choices, shelf=shelf, progress=progress)
    return compare_planned(contest, candidates, by=by, condition=condition, choices=choices, shelf=shelf)


def plan_candidates(
    contest: Contest,
    *,
    choices: Choices | None = None,
    shelf: Catalogue | None = None,
    progress: Progress | None = None,
) -> tuple[Candidate, ...]:
    """Plan each routing of a contest, in its order; parameters as for `compare`."""
    tell = progress or (lambda what, share: None)
    parts = shelf or catalogue()
    candidates = []
    for place, entrant in enumerate(contest.entrants):
        tell(f"planning {entrant.name}", place / len(contest.entrants))
        candidates.append(_candidate(contest.line, entrant, choices, parts))
    return tuple(candidates)


def compare_planned(
    contest: Contest,
    candidates: Sequence[Candidate],
    *,
    by: str = "efficiency",
    condition: str = "worn",
    choices: Choices | None = None,
    shelf: Catalogue | None = None,
) -> Comparison:
    """Compare what `plan_candidates` planned; parameters as for `compare`, which says the same."""
    check_choice("--by", by, MEASURES)
    check_choice("--condition", condition, CONDITIONS)
    parts = shelf or catalogue()
    ordered, standings, differences = ranked(candidates, by, condition)
    measure = MEASURES[by]
    return Comparison(
        bike=_bike(contest.entrants),
        line=contest.line,
        work=candidates[0].plan.work,
        by=by,
        condition=condition,
        hand_force=settle(choices or Choices(), parts).hand_force,
        candidates=ordered,
        standings=standings,
        differences=differences,
        ranked_by=measure.words.format(condition=condition),
        limits=LIMITS,
        cautions=CAUTIONS,
        catalogue=parts,
    )


def check_choice(option: str, given: str, known: Iterable[str]) -> None:
    """Refuse a word that is none of those there are, naming the nearest."""
    names = list(known)
    if given not in names:
        near = nearest(given, names)
        hint = f'did you mean "{near}"?' if near else f"choose {listed(names)}"
        raise ChoiceError(f'{option} is "{shortened(given)}": {hint}')


def _bike(entrants: Iterable[Entrant]) -> str:
    names = list(dict.fromkeys(entrant.frame.name for entrant in entrants))
    return names[0] if len(names) == 1 else names[0].partition(",")[0].strip()


def _candidate(line: str, entrant: Entrant, choices: Choices | None, parts: Catalogue) -> Candidate:
    """Plan one routing, with the lines that share its lever and no others."""
    frame = without_options(entrant.frame)
    asked = named_line(frame, line)
    alone = frame.model_copy(update={"line": tuple(one for one in frame.line if one.lever == asked.lever)})
    try:
        job = _with_own_tags(planning.plan(alone, choices=choices, shelf=parts), frame)
    except RopewalkError as error:
        raise type(error)(f"{entrant.file}: {error}") from error
    at = next(place for place, one in enumerate(job.lines) if one.name == line)
    plan, placed, sweep = job.lines[at], job.routing[at], poses(job.model.frame)
    stations = placed.route.line.station
    friction = plan.friction
    worst = sweep.straight if friction is None or friction.release is None else friction.release.pose
    wire = (
        None if friction is None else Wire(placed.route, friction.stretches, friction.hand_force, sweep.straight, parts)
    )
    lever = next(lever for lever in frame.lever if lever.name == asked.lever)
    return Candidate(
        name=entrant.name,
        file=entrant.file,
        plan=plan,
        lost=_lost(wire),
        wire=wire,
        release=release_words(friction, pose_words(sweep.values[worst]), lever_on=lever.on),
        release_at=shown_pose(sweep.values[worst], sweep.moving),
        low_points=tuple(
            LowPlace(
                stations[placed.route.spans[low.span].start].name,
                stations[placed.route.spans[low.span].end].name,
                low.depth,
            )
            for low in low_points(placed, {span: loop for (place, span), loop in job.loops.items() if place == at})
        ),
        parts=tuple(count_parts((plan,))),
        findings=tuple(finding for finding in job.findings if _concerns(finding, line, job.lines)),
    )


def _lost(wire: Wire | None) -> dict[str, Figured]:
    if wire is None:
        return {}
    found = {name: weighed_lost_motion(wire, name) for name in CONDITIONS}
    return {name: Figured(lost.value, lost.sigma) for name, lost in found.items() if lost is not None}


def _concerns(finding: Finding, line: str, lines: Iterable[LinePlan]) -> bool:
    """Return whether a finding is about a line, or about no other line."""

    def about(place: str, name: str) -> bool:
        return place == name or place.startswith(f"{name}, ")

    places = finding.where.split(JOIN)
    others = [one.name for one in lines if one.name != line]
    return any(about(place, line) for place in places) or not all(
        any(about(place, other) for other in others) for place in places
    )


def _with_own_tags(job: JobPlan, frame: Frame) -> JobPlan:
    """Return a plan of some of a bike's lines with the tags that their pieces have among all of them."""
    places = {line.name: place for place, line in enumerate(frame.line)}
    letters = {line.name: (chr(ord("A") + at), chr(ord("A") + places[line.name])) for at, line in enumerate(job.lines)}

    def told(tag: str, line: str) -> str:
        was, becomes = letters[line]
        return re.sub(rf"^{was}(?=\d)", becomes, tag)

    def told_place(place: str) -> str:
        line, _, tag = place.rpartition(", ")
        return f"{line}, {told(tag, line)}" if line in letters else place

    lines = tuple(
        replace(line, pieces=tuple(replace(piece, tag=told(piece.tag, line.name)) for piece in line.pieces))
        for line in job.lines
    )
    findings = (
        replace(finding, where=JOIN.join(told_place(place) for place in finding.where.split(JOIN)))
        for finding in job.findings
    )
    return replace(job, lines=lines, findings=tuple(findings))
