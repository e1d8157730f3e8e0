"""A comparison in the words that every face uses: ranks, figures side by side, differences, what was found."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence

from ropewalk.analysis.findings import GRADES
from ropewalk.analysis.wireline import CONDITIONS
from ropewalk.bike.sourced import SIGMAS_WITHIN
from ropewalk.workshop import words
from ropewalk.workshop.candidate import Candidate
from ropewalk.workshop.compare import Comparison
from ropewalk.workshop.jobplan import PiecePlan
from ropewalk.workshop.ranking import Difference, Standing
from ropewalk.workshop.rankingwords import REASONS, because, interval_words

#: how sure figures are, and what is called a tie
SURENESS = (
    "Figures with ± or a range hold 19 times in 20. What routings share, such as the friction of one kind of housing, "
    "moves them together; a difference that could be chance all the same is called a tie."
)
Cell = Callable[[Candidate], str]


def rank_words(standing: Standing, standings: Sequence[Standing]) -> str:
    """Return a rank as it is written: with = where it is shared, - where there is none."""
    if standing.rank is None:
        return "-"
    shared = sum(one.rank == standing.rank for one in standings) > 1
    return f"{standing.rank}{'=' if shared else '.'}"


def figures(comparison: Comparison) -> Iterator[tuple[str, Cell]]:
    """Return what figures are called, and the function that tells each of a routing; empty where it has none."""
    condition = comparison.condition
    yield "first cut", lambda one: "\n".join(f"{p.tag} {words.first_cut(p)}" for p in one.plan.pieces)
    yield "window", lambda one: "\n".join(_window(piece) for piece in one.plan.pieces)
    yield "housing in all", lambda one: words.millimetres(one.housing)
    yield "housing", lambda one: ", ".join(one.housings)
    yield "turn", lambda one: words.turn(one.plan.turn)
    yield "least radius", lambda one: "straight" if one.tightest is None else words.radius_there(one.tightest)
    for name in CONDITIONS:
        yield f"arrives, {name}", _arriving(name)
    yield "comes back to", _reserve
    yield f"lost, {condition}", lambda one: _lost(one, condition)
    yield f"shifts, {condition}", lambda one: _shifting(one, condition)
    yield "low points", lambda one: _low_points(one)
    yield "parts", lambda one: "\n".join(f"{part.count} × {part.item}" for part in one.parts)
    yield "findings", lambda one: _graded(one)


def difference_words(comparison: Comparison, apart: Difference) -> str:
    """Return how one routing differs from another, whether that is sure, and why."""
    told = interval_words(apart, ahead=True, tie=apart.tie)
    if apart.tie:
        return f"{apart.first} and {apart.second}: {told}"
    one, other = (
        next(each for each in comparison.candidates if each.name == name) for name in (apart.first, apart.second)
    )
    reasons = because(REASONS[comparison.by](one, other, comparison.condition))
    return f"{apart.first}: {told} {apart.second}{reasons}"


def graded_findings(comparison: Comparison) -> Iterator[tuple[str, list[tuple[str, str]]]]:
    """Return stops and looks by grade, each once, with the routings it is found in before it.

    Notes stand in each routing's own cut list.
    """
    for grade in GRADES[:2]:
        found: dict[str, list[str]] = {}
        for one in comparison.candidates:
            for finding in one.findings:
                if finding.grade == grade:
                    found.setdefault(words.finding(finding), []).append(one.name)
        if found:
            everywhere = len(comparison.candidates)
            yield (
                grade,
                [("all" if len(names) == everywhere else ", ".join(names), text) for text, names in found.items()],
            )


def _window(piece: PiecePlan) -> str:
    return f"{piece.tag} {words.window(piece)}{' mm' if piece.window else ''}"


def _arriving(condition: str) -> Cell:
    def cell(one: Candidate) -> str:
        figure = one.efficiency.get(condition)
        return "" if figure is None else f"{figure.value:.0%} (± {100.0 * SIGMAS_WITHIN * figure.sigma:.0f})"

    return cell


def _reserve(one: Candidate) -> str:
    release = None if one.plan.friction is None else one.plan.friction.release
    if release is None:
        return ""
    return (
        f"μ {release.reserve:.2f}, {words.pose(one.release_at)}" if math.isfinite(release.reserve) else "any friction"
    )


def _lost(one: Candidate, condition: str) -> str:
    lost = one.plan.lost.get(condition)
    if lost is None:
        return ""
    figure = one.lost[condition]
    told = f"{figure.value:.1f} mm (± {SIGMAS_WITHIN * figure.sigma:.1f})"
    return f"{told}, {lost.share:.0%} of the lever's pull" if lost.share is not None else told


def _shifting(one: Candidate, condition: str) -> str:
    shifting = one.plan.shifting
    if shifting is None:
        return ""
    found = shifting.hysteresis[condition]
    told = f"{found.value:.2f} mm (± {SIGMAS_WITHIN * found.sigma:.2f}) apart up and down"
    if shifting.step:
        told += f", {found.value / shifting.step:.0%} of a click of {shifting.step:g} mm"
    return f"{told}; {shifting.steering:.2f} mm by steering"


def _low_points(one: Candidate) -> str:
    low = [f"{point.depth:.0f} mm, {point.start} to {point.end}" for point in one.low_points if round(point.depth)]
    return "\n".join(low) or "none"


def _graded(one: Candidate) -> str:
    counts = ((sum(finding.grade == grade for finding in one.findings), grade) for grade in GRADES)
    return ", ".join(words.how_many(count, grade) for count, grade in counts if count) or "none"
