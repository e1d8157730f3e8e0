"""How the length of one piece is made up, term by term."""

from __future__ import annotations

from rich.console import Console
from rich.table import Table
from rich.text import Text

from ropewalk.bike.wording import listed, nearest, shortened
from ropewalk.cli.cutlist import print_findings
from ropewalk.errors import ChoiceError
from ropewalk.workshop import words
from ropewalk.workshop.jobplan import JobPlan, LinePlan, PiecePlan
from ropewalk.workshop.makeup import first_cut_terms, target_terms, window_reasons


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
    for end, reason in window_reasons(piece):
        console.print(Text(f"{end}: {reason}."))
    print_findings([finding for finding in job.findings if finding.concerns(f"{line.name}, {piece.tag}")], console)


def _sum(piece: PiecePlan) -> Table:
    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column(overflow="fold")
    table.add_column(justify="right", no_wrap=True)
    table.add_column(overflow="fold")
    for term in target_terms(piece):
        table.add_row(Text(term.label), Text(f"{term.mm:.1f} mm"), Text(term.note))
    table.add_row(Text("target", "bold"), Text(f"{piece.target:.1f} mm", "bold"), Text("= the sum"))
    if piece.first_cut is None:
        table.add_row(Text("first cut", "bold"), Text("no cut", "bold red"), Text("see the findings"))
        return table
    for term in first_cut_terms(piece):
        table.add_row(Text(term.label), Text(f"{term.mm:.1f} mm"), Text(term.note))
    table.add_row(Text("first cut", "bold"), Text(f"{piece.first_cut:.1f} mm", "bold"), Text("= the sum"))
    return table
