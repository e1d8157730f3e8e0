"""A comparison on a terminal or in a pipe: the ranking with its reasons, then every figure side by side."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from ropewalk.analysis.findings import GRADES
from ropewalk.analysis.wireline import CONDITIONS
from ropewalk.bike.sourced import SIGMAS_WITHIN
from ropewalk.cli.cutlist import GRADE_STYLES, print_entries
from ropewalk.workshop import words
from ropewalk.workshop.candidate import Candidate
from ropewalk.workshop.compare import Comparison
from ropewalk.workshop.jobplan import PiecePlan
from ropewalk.workshop.ranking import Standing

#: columns of what the rows are called, and the least of a routing; more routings go below each other
_LABEL, _LEAST, _GAP = 17, 18, 2
_Cell = Callable[[Candidate], str]


def print_comparisons(comparisons: Sequence[Comparison], console: Console) -> None:
    """Print comparisons of one bike's lines, then limits and cautions once.

    Parameters
    ----------
    comparisons : sequence of Comparison
    console : Console
        Where to; its width decides how many routings stand beside each other.
    """
    for place, comparison in enumerate(comparisons):
        if place:
            console.print()
        _print_comparison(comparison, console)
    print_entries("Limits", [("-", [limit]) for limit in comparisons[0].limits], console)
    print_entries("Cautions", [("-", [caution]) for caution in comparisons[0].cautions], console)


def _print_comparison(comparison: Comparison, console: Console) -> None:
    console.print(Text(f"Compared: {comparison.line}, {comparison.bike}", style="bold"))
    console.print(Text(f"Ranked by {comparison.ranked_by}"))
    console.print(
        Text(
            "Figures with ± or a range hold 19 times in 20. What routings share, such as the friction of one kind of "
            "housing, moves them together; a difference that could be chance all the same is called a tie."
        )
    )
    entries = [(f"{rank_words(one, comparison.standings)} {one.name}", [one.why]) for one in comparison.standings]
    print_entries("Ranking", entries, console)
    print_entries("Coming back", [(one.name, [one.release]) for one in comparison.candidates], console)
    room = max((console.width - _LABEL - _GAP) // (_LEAST + _GAP), 1)
    for first in range(0, len(comparison.candidates), room):
        console.print()
        _print_table(comparison, slice(first, first + room), console)
    _print_findings(comparison, console)


def rank_words(standing: Standing, standings: Sequence[Standing]) -> str:
    """Return a rank as it is written: with = where it is shared, - where there is none."""
    if standing.rank is None:
        return "-"
    shared = sum(one.rank == standing.rank for one in standings) > 1
    return f"{standing.rank}{'=' if shared else '.'}"


def _print_table(comparison: Comparison, which: slice, console: Console) -> None:
    candidates, standings = comparison.candidates[which], comparison.standings[which]
    table = Table(box=None, padding=(0, 0, 0, _GAP), pad_edge=False, header_style="bold")
    table.add_column("", width=_LABEL, overflow="fold")
    for standing in standings:
        table.add_column(
            Text(f"{rank_words(standing, comparison.standings)} {standing.name}"),
            overflow="fold",
            min_width=_LEAST,
            max_width=_share(console, len(candidates)),
        )
    for label, cell in _rows(comparison):
        cells = [cell(candidate) for candidate in candidates]
        if any(cells):
            table.add_row(Text(label), *(Text(text or "-") for text in cells))
    console.print(table)


def _share(console: Console, count: int) -> int:
    return max((console.width - _LABEL - _GAP) // count - _GAP, _LEAST)


def _rows(comparison: Comparison) -> Iterator[tuple[str, _Cell]]:
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


def _window(piece: PiecePlan) -> str:
    return f"{piece.tag} {words.window(piece)}{' mm' if piece.window else ''}"


def _arriving(condition: str) -> _Cell:
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


def _print_findings(comparison: Comparison, console: Console) -> None:
    """Print stops and looks, each once with the routings it is found in; notes stand in each one's own cut list."""
    for grade in GRADES[:2]:
        found: dict[str, list[str]] = {}
        for one in comparison.candidates:
            for finding in one.findings:
                if finding.grade == grade:
                    found.setdefault(words.finding(finding), []).append(one.name)
        if found:
            console.print()
            console.print(Text(grade.upper(), GRADE_STYLES[grade]))
            for text, names in found.items():
                everywhere = len(names) == len(comparison.candidates)
                console.print(Padding(Text(f"{'all' if everywhere else ', '.join(names)}: {text}"), (0, 0, 0, _GAP)))
