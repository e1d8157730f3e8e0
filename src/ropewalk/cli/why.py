"""How the length of one piece is made up, term by term."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import accumulate, pairwise

from rich.console import Console
from rich.table import Table
from rich.text import Text

from ropewalk.analysis.pieces import Term
from ropewalk.bike.wording import listed, nearest, shortened
from ropewalk.cli import words
from ropewalk.cli.cutlist import print_findings
from ropewalk.errors import ChoiceError
from ropewalk.workshop.jobplan import JobPlan, LinePlan, PiecePlan


def tagged(job: JobPlan, tag: str) -> tuple[LinePlan, PiecePlan]:
    """Return the line and the piece of a tag, or raise a `ChoiceError` that names the tags there are."""
    for line in job.lines:
        for piece in line.pieces:
            if piece.tag == tag.strip().upper():
                return line, piece
    tags = [piece.tag for line in job.lines for piece in line.pieces]
    near = nearest(tag, tags)
    hint = f' (did you mean "{near}"?)' if near else ""
    raise ChoiceError(f'{job.bike} has no piece "{shortened(tag)}": its tags are {listed(tags, last="and")}{hint}')


def print_why(job: JobPlan, tag: str, console: Console) -> None:
    """Print how a piece's target and first cut are made up, and what sets its window."""
    line, piece = tagged(job, tag)
    heading = f"{piece.tag}, {line.name}: {words.way(piece.start, piece.end)} ({piece.housing})"
    console.print(Text(heading, style="bold"))
    console.print(_sum(piece))
    console.print()
    for sentence in _reasons(piece):
        console.print(Text(sentence))
    print_findings([finding for finding in job.findings if finding.where == f"{line.name}, {piece.tag}"], console)


def _sum(piece: PiecePlan) -> Table:
    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column(overflow="fold")
    table.add_column(justify="right", no_wrap=True)
    table.add_column(overflow="fold")
    unlisted = piece.target - sum(term.mm for term in piece.terms)
    terms = [*piece.terms, Term("less, to stay tidy", unlisted)] if abs(unlisted) > 0.05 else list(piece.terms)
    for term, shown in zip(terms, _shown_parts(term.mm for term in terms), strict=True):
        table.add_row(Text(term.label), Text(f"{shown:.1f} mm"), Text(term.note))
    table.add_row(Text("target", "bold"), Text(f"{piece.target:.1f} mm", "bold"), Text("= the sum"))
    if piece.first_cut is None:
        table.add_row(Text("first cut", "bold"), Text("no cut", "bold red"), Text("see the findings"))
        return table
    for term in _beyond_target(piece, piece.first_cut):
        table.add_row(Text(term.label), Text(f"{term.mm:.1f} mm"), Text(term.note))
    table.add_row(Text("first cut", "bold"), Text(f"{piece.first_cut:.1f} mm", "bold"), Text("= the sum"))
    return table


def _beyond_target(piece: PiecePlan, first_cut: float) -> Sequence[Term]:
    """Return what the first cut has over the target."""
    safe = max(piece.target, piece.quantile if piece.quantile is not None else piece.target)
    unsure, rounding = _shown_parts((piece.target, safe - piece.target, first_cut - safe))[1:]
    note = f"its shortest safe length is known to σ {piece.sigma:.1f} mm"
    return (
        Term("more, as figures are not known exactly", unsure, note if unsure else f"the target covers it; {note}"),
        Term("rounded up", rounding),
    )


def _shown_parts(parts: Iterable[float]) -> list[float]:
    """Return parts rounded to a tenth so that they add up to their rounded sum."""
    totals = [round(total, 1) for total in accumulate(parts, initial=0.0)]
    return [round(later - earlier, 1) + 0.0 for earlier, later in pairwise(totals)]


def _reasons(piece: PiecePlan) -> list[str]:
    if piece.window is None:
        return [f"No window: {piece.why_shortest}."]
    shortest, longest = piece.window
    return [
        f"Shortest safe {shortest:.1f} mm: {piece.why_shortest}.",
        f"Longest tidy {longest:.1f} mm: {piece.why_longest}.",
    ]
