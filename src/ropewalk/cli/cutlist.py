"""The cut list on a terminal or in a pipe: housing, inners and liners, parts, findings, cautions.

A terminal gets as many columns as fit: with room, one row a piece; with less, ends and pose move under the row; on a
narrow one every piece is a block of lines. Figures are never cut off.
"""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.table import Table
from rich.text import Text

from ropewalk.analysis.findings import GRADES, Finding
from ropewalk.cli.fitting import fitted_entries
from ropewalk.workshop import words
from ropewalk.workshop.cuttingorder import CUT_SO, told_order
from ropewalk.workshop.fitted import FittedJob
from ropewalk.workshop.jobplan import JobPlan, LinePlan, PiecePlan
from ropewalk.workshop.report import all_findings

_GAP = 2
_LEAST_WAY, _LEAST_ENDS = 24, 22
#: below this many columns a table would break its words to pieces
_NARROW = 72
#: colours of the grades; the word alone says as much
GRADE_STYLES = {"stop": "bold red", "look": "bold yellow", "note": "bold blue"}
_HEADINGS = ("tag", "from → to", "first cut", "target", "window", "least radius", "turn", "ends")
_TAG, _WAY, _FIRST, _TARGET, _WINDOW, _RADIUS, _TURN, _ENDS = range(8)


def print_cut_list(job: JobPlan, console: Console, *, order: bool = False, fitted: FittedJob | None = None) -> None:
    """Print a job plan.

    Parameters
    ----------
    job : JobPlan
        The plan.
    console : Console
        Where to; its width decides the layout.
    order : bool
        Whether to print the cutting order and the order of work too.
    fitted : FittedJob, optional
        What follows from a dry fit.
    """
    console.print(Text.assemble(("Cut list: ", "bold"), (job.bike, "bold")))
    stops = sum(finding.grade == "stop" for finding in job.findings)
    if stops:
        warning = f"STOP: {words.how_many(stops, 'finding')} below must be settled before you cut"
        console.print(Text(warning, style=GRADE_STYLES["stop"]))
    console.print(Text("Lengths in mm without ferrules. Cut to the first cut, try it on the bike, trim to the target."))
    if job.hands is not None:
        print_entries("Hands", [("-", [told]) for told in words.hands(job.hands)], console)
    for heading, entries in fitted_entries(fitted):
        print_entries(heading, entries, console)
    _print_housing(job, console)
    print_entries("Inners and liners", [(line.name, _inner_lines(line)) for line in job.lines], console)
    print_entries("Parts", [(f"{part.count} ×", [part.item]) for part in job.parts], console)
    if order:
        _print_order(job, console)
    print_findings(all_findings(job, fitted), console)
    print_entries("Cautions", [("-", [caution]) for caution in job.cautions], console)


def _print_order(job: JobPlan, console: Console) -> None:
    print_entries(f"Cutting order: {CUT_SO}", [(kind, [pieces]) for kind, pieces in told_order(job)], console)
    for line in job.lines:
        steps = [(f"{number}.", [step]) for number, step in enumerate(line.order, start=1)]
        print_entries(f"Order of work: {line.name}", steps, console)


def print_findings(findings: Sequence[Finding], console: Console) -> None:
    """Print findings by grade, the gravest first; the grade is a word, its colour comes on top."""
    if not findings:
        print_entries("Findings", [("none", [])], console)
        return
    graded = [(grade, finding) for grade in GRADES for finding in findings if finding.grade == grade]
    entries = [(grade.upper(), [words.finding(finding)]) for grade, finding in graded]
    print_entries("Findings", entries, console, [GRADE_STYLES[grade] for grade, _ in graded])


def _print_housing(job: JobPlan, console: Console) -> None:
    if console.width < _NARROW:
        for line in job.lines:
            _print_heading(words.line_heading(line), console)
            for piece in line.pieces:
                _print_block(piece, console)
        return
    rows = [_row(piece) for line in job.lines for piece in line.pieces]
    widths, wide = _widths(rows, console.width)
    for number, line in enumerate(job.lines):
        _print_heading(words.line_heading(line), console)
        for at, piece in enumerate(line.pieces):
            _print_row(piece, widths, console, wide=wide, headed=number == at == 0)
            if not wide:
                several = len({piece.housing for piece in line.pieces}) > 1
                housing = f"housing: {piece.housing}; " if several else ""
                console.print(_hanging("", f"{housing}ends: {', '.join(piece.ends)}", indent=_GAP + widths[_TAG]))
        if not line.pieces:
            console.print(Text("  no housing"))


def _print_row(piece: PiecePlan, widths: Sequence[int], console: Console, *, wide: bool, headed: bool) -> None:
    table = Table(box=None, padding=(0, 0, 0, _GAP), pad_edge=True, show_header=headed, header_style="dim")
    for at, width in enumerate(widths):
        table.add_column(
            _HEADINGS[at],
            width=width,
            justify="right" if at in (_FIRST, _TARGET, _WINDOW, _TURN) else "left",
            no_wrap=at not in (_WAY, _ENDS),
            overflow="fold",
        )
    cells = _row(piece)
    if not wide:
        cells = cells[:_ENDS]
        cells[_RADIUS] = "\n".join(filter(None, words.radius(piece)))
    table.add_row(*(Text(cell, _cut_style(piece) if at == _FIRST else "") for at, cell in enumerate(cells)))
    console.print(table)


def _cut_style(piece: PiecePlan) -> str:
    return "bold" if piece.first_cut is not None else GRADE_STYLES["stop"]


def _row(piece: PiecePlan) -> list[str]:
    return [
        piece.tag,
        words.way(piece.start, piece.end),
        words.first_cut(piece),
        f"{piece.target:.0f}",
        words.window(piece),
        " ".join(filter(None, words.radius(piece))),
        words.turn(piece.turn),
        ", ".join(piece.ends),
    ]


def _widths(rows: Sequence[Sequence[str]], room: int) -> tuple[list[int], bool]:
    """Return the columns' widths and whether the ends have a column of their own."""
    natural = [max([len(heading), *(len(row[at]) for row in rows)]) for at, heading in enumerate(_HEADINGS)]
    fixed = [at for at in range(8) if at not in (_WAY, _ENDS)]
    left = room - sum(natural[at] for at in fixed) - 8 * _GAP
    if left >= _LEAST_WAY + _LEAST_ENDS:
        ends = min(natural[_ENDS], max(_LEAST_ENDS, left - natural[_WAY]))
        return [*natural[:_WAY], min(natural[_WAY], left - ends), *natural[_FIRST:_ENDS], ends], True
    radius = max(len(_HEADINGS[_RADIUS]), len("straight ahead"), *(len(row[_RADIUS]) - len("00 mm ") for row in rows))
    left = room - sum(natural[at] for at in fixed if at != _RADIUS) - radius - 7 * _GAP
    return [natural[_TAG], min(natural[_WAY], left), *natural[_FIRST:_RADIUS], radius, natural[_TURN]], False


def _print_block(piece: PiecePlan, console: Console) -> None:
    cut = f"first cut {words.first_cut(piece)}" if piece.first_cut is not None else "do not cut"
    console.print(Text(f"{piece.tag}  {cut}", _cut_style(piece)))
    facts = (
        words.way(piece.start, piece.end),
        f"target {piece.target:.0f}, window {words.window(piece)}",
        f"least radius {' '.join(filter(None, words.radius(piece)))}, turn {words.turn(piece.turn)}",
        f"housing {piece.housing}",
        f"ends: {', '.join(piece.ends)}",
    )
    for fact in facts:
        console.print(_hanging("", fact, indent=2))


def _inner_lines(line: LinePlan) -> list[str]:
    told = [
        f"{name} {inner.kind}: {words.take(inner)}; {words.inner_figures(inner)}"
        for name, inner in words.named_inners(line)
    ]
    if line.setting is not None:
        told.append(words.setting(line.setting))
    told += [
        f"{words.liner_name(liner)}: cut {words.millimetres(liner.cut)}, {words.liner_place(liner)}"
        for liner in line.liners
    ]
    return [*told, words.friction(line)]


def _print_heading(heading: str, console: Console) -> None:
    console.print()
    console.print(Text(heading, style="bold"))


def print_entries(
    heading: str, entries: Sequence[tuple[str, Sequence[str]]], console: Console, styles: Sequence[str] = ()
) -> None:
    """Print labelled sentences with a hanging indent."""
    _print_heading(heading, console)
    # A long label wraps rather than crowd out what it labels.
    widest = max((len(label) for label, _ in entries), default=0)
    indent = min(widest, max(_LEAST_WAY, console.width // 5))
    for number, (label, sentences) in enumerate(entries):
        style = styles[number] if styles else ""
        for at, sentence in enumerate(sentences or [""]):
            console.print(_hanging(label if at == 0 else "", sentence, indent=indent, style=style))


def _hanging(label: str, sentence: str, *, indent: int, style: str = "") -> Table:
    grid = Table.grid(padding=(0, _GAP, 0, 0))
    grid.add_column(width=indent, overflow="fold")
    grid.add_column(overflow="fold")
    grid.add_row(Text(label, style), Text(sentence))
    return grid
