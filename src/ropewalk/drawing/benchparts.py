"""The parts of the bench sheet: cut list, inners and liners, findings, order of work, the check of bolts, cautions."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import zip_longest
from typing import Any

from reportlab.graphics.shapes import Drawing
from reportlab.lib.colors import black
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, Table

from ropewalk.analysis.findings import Finding
from ropewalk.drawing.sheetstyle import HEAD, ROOM, STEP, TAG, TARGET, TEXT, TICK, length, said, tick_box
from ropewalk.workshop import words
from ropewalk.workshop.jobplan import JobPlan, LinePlan, LinerPlan, PiecePlan
from ropewalk.workshop.order import order_of_bike

#: how much is said of notes: all of it; what it is, without what to do; where, without what it is
FULL, SHORT, NAMED = "full", "short", "named"
_RULED = [("VALIGN", (0, 0), (-1, -1), "MIDDLE"), ("GRID", (0, 0), (-1, -1), 0.5, black)]
_PADS = [
    *((f"{side}PADDING", (0, 0), (-1, -1), 1.0) for side in ("TOP", "BOTTOM")),
    *((f"{side}PADDING", (0, 0), (-1, -1), 2.5) for side in ("LEFT", "RIGHT")),
]
_BARE = [
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    *((f"{side}PADDING", (0, 0), (-1, -1), 0.0) for side in ("TOP", "LEFT", "RIGHT")),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 1.5),
]
#: large figures have no tails: what stands in these columns goes up by what a tail would take [pt]
_RAISED = 3.0
#: column of a box to tick [mm]
_BOX = TICK + 2.2


def levers(job: JobPlan) -> Flowable:
    """Return which lever works what."""
    told = []
    for hand in ("left", "right", None):
        works = [line.name for line in job.lines if line.hand == hand]
        if works:
            told.append(f"{f'{hand} lever' if hand else 'no lever on the bar'}: {', '.join(works)}")
    return said("; ".join(told) + ". Check it on the bike before you cut.", STEP, bold="Levers:")


def rests_on(job: JobPlan) -> Flowable:
    """Return the figures that the lengths rest on."""
    frame = job.model.frame
    parts = []
    for name, table in (("chart", frame.chart), ("cockpit", frame.cockpit), ("bar", frame.cockpit.bar)):
        told = [
            f"{key.removesuffix('_deg').replace('_', ' ')} {float(value):g}" for key, value in table if _plain(value)
        ]
        parts.append(f"{name}: {', '.join(told)}")
    return said("; ".join(parts) + " (mm, °).", bold="Lengths rest on")


def _plain(value: object) -> bool:
    return hasattr(value, "__float__") and not isinstance(value, str)


def hands(job: JobPlan) -> Iterator[Flowable]:
    """Return what changed hands change, and the caution that goes with it; nothing when nobody asked."""
    if job.hands is not None:
        yield said(" ".join(words.hands(job.hands)), STEP, bold="Hands:")


def cut_table(job: JobPlan) -> Table:
    """Return the pieces of housing to cut, with room to write down how long each was cut."""
    heads = ("", "piece", "from, to, ends", "first cut", "target, window", "as cut")
    rows: list[list[Any]] = [[said(head) for head in heads]]
    rows += [_piece_row(line, piece) for line in job.lines for piece in line.pieces]
    widths = [part * mm for part in (_BOX, 14.5, 75.0, 30.0, 40.0, ROOM - _BOX - 159.5)]
    return Table(rows, colWidths=widths, repeatRows=1, style=[*_RULED, *_PADS, *_raised(3, 1)])


def _piece_row(line: LinePlan, piece: PiecePlan) -> list[Any]:
    told = said(f"{words.way(piece.start, piece.end)}. {piece.housing}; {words.ends(piece)}", bold=f"{line.name}:")
    if piece.first_cut is None:
        cut, target = said("STOP: do not cut", HEAD), [said("no length: see the findings")]
    else:
        cut = length(piece.first_cut)
        target = [said(f"target {words.millimetres(piece.target)}", TARGET), said(f"window {words.window(piece)} mm")]
    return [tick_box(), said(piece.tag, TAG), told, cut, target, ""]


def wire_table(job: JobPlan) -> Iterator[Table]:
    """Return inners, liners and setting lengths, two beside each other; nothing where there is none."""
    cells = [cell for line in job.lines for cell in _wires(line)]
    if not cells:
        return
    empty: list[Any] = ["", "", ""]
    rows = [[*left, *right] for left, right in zip_longest(cells[::2], cells[1::2], fillvalue=empty)]
    wide = [part * mm for part in (_BOX, ROOM / 2.0 - _BOX - 30.0, 30.0)]
    yield Table(rows, colWidths=[*wide, *wide], style=[*_RULED, *_PADS, *_raised(2), *_raised(5)])


def _raised(column: int, first: int = 0) -> list[Any]:
    part = ((column, first), (column, -1))
    return [("TOPPADDING", *part, 1.0 - _RAISED), ("BOTTOMPADDING", *part, 1.0 + _RAISED)]


def _wires(line: LinePlan) -> Iterator[list[Any]]:
    for name, inner in words.named_inners(line):
        told = f"take {name}, {inner.kind}: {words.millimetres(inner.need)} needed on the bench"
        take = said("none is long enough", HEAD) if inner.stock is None else length(inner.stock)
        yield [tick_box(), said(told, bold=f"{line.name}:"), take]
    for liner in line.liners:
        told = f"cut {words.liner_name(liner)}, {_lies(liner)}"
        yield [tick_box(), said(told, bold=f"{line.name}:"), length(liner.cut)]
    if line.setting is not None:
        told = words.setting(line.setting)
        yield [tick_box(), said(told, bold=f"{line.name}:"), length(line.setting.length, "g")]


def _lies(liner: LinerPlan) -> str:
    """Return where a liner lies; how far a guide stands out is said in the order of work."""
    return words.way(liner.start, liner.end) if liner.use == "guide" else words.liner_place(liner)


def findings(job: JobPlan, detail: str) -> Iterator[Flowable]:
    """Return the findings, the gravest first; nothing where there is none.

    Parameters
    ----------
    job : JobPlan
    detail : str
        How much is said of notes: `FULL`, `SHORT` or `NAMED`.
    """
    notes = [found for found in job.findings if found.grade == "note"]
    for found in job.findings:
        if found.grade != "note":
            yield said(words.finding(found), bold=f"{found.grade.upper()} ·")
    if detail == NAMED:
        yield from (said(f"{found.where}: {_subject(found)}; more on the cut list.", bold="NOTE ·") for found in notes)
    elif detail == SHORT:
        yield from (said(f"{found.where}: {_figured(found)}.", bold="NOTE ·") for found in notes)
    else:
        yield from (said(words.finding(found), bold="NOTE ·") for found in notes)


def _subject(found: Finding) -> str:
    """Return what a finding is about: what it says first."""
    return re.split(r"[:;]|, and ", found.text, maxsplit=1)[0]


def _figured(found: Finding) -> str:
    figures = words.against_limit(found)
    return f"{found.text} ({figures})" if figures else found.text


def order(job: JobPlan, detail: str, *, apart: bool = False) -> Iterator[Table]:
    """Return the order of work on the bike, each step with a box to tick, the check of bolts last.

    Parameters
    ----------
    job : JobPlan
    detail : str
        `NAMED`: lines are named without what the cut list says of them.
    apart : bool
        Whether steps stand one below another, so that they may go over a page's end, rather than in two columns.
    """
    steps = [*order_of_bike(job, named_only=detail == NAMED), bolts(job)]
    if apart:
        yield Table(_numbered(steps, 0, len(steps)), colWidths=[_BOX * mm, (ROOM - _BOX) * mm], style=_BARE)
        return
    # The columns are about as long as each other when they hold as much to read.
    half = next(at for at in range(len(steps) + 1) if 2 * _length(steps[:at]) >= _length(steps))
    wide = [part * mm for part in (_BOX, ROOM / 2.0 - _BOX - 2.0)]
    columns = [Table(_numbered(steps, *part), colWidths=wide, style=_BARE) for part in ((0, half), (half, len(steps)))]
    yield Table([columns], colWidths=[ROOM / 2.0 * mm] * 2, style=_BARE)


def _length(steps: Sequence[str]) -> int:
    """Return how many lines some steps take, each at least the height of its box."""
    return sum(max(2, -(-len(step) // 62)) for step in steps)


def _numbered(steps: Sequence[str], first: int, last: int) -> list[list[Flowable]]:
    return [[tick_box(), said(steps[at], STEP, bold=f"{at + 1}.")] for at in range(first, last)]


def bolts(job: JobPlan) -> str:
    """Return how to check the bolts, with the usual bands of those anchors that this bike has."""
    settings = job.catalogue.settings.torque
    # A hub gear is shifted too, but its wire has an anchor of its own kind.
    pulled = [one.route.line.station[-1].part or "" for one in job.routing if one.route.line.work == "shift"]
    anchors = [("brake", settings.brake_anchor, any(line.work == "brake" for line in job.lines))]
    anchors.append(("derailleur", settings.derailleur_anchor, any("derailleur" in part for part in pulled)))
    bands = []
    for name, figure in ((name, figure) for name, figure, has in anchors if has):
        low, high = float(figure) - float(figure.spread), float(figure) + float(figure.spread)
        bands.append(f"{name} anchor {low:.1f} to {high:.1f} N m")
    usual = f"; only where there is none, the usual band: {', '.join(bands)}" if bands else ""
    return f"Torque check from front to back, every bolt you undid: the figure printed on the part{usual}."


def parts(job: JobPlan) -> Flowable:
    """Return what to pick from the shelf."""
    return said(
        " · ".join(f"{part.count}\N{NO-BREAK SPACE}×\N{NO-BREAK SPACE}{part.item}" for part in job.parts),
        bold="Parts to pick:",
    )


def cautions(job: JobPlan, detail: str) -> Flowable:
    """Return the cautions, in two columns or, where notes are only `NAMED`, one after another."""
    if detail == NAMED:
        return said(" • ".join(job.cautions), bold="Take care:")
    told = [said(f"• {caution}") for caution in job.cautions]
    half = -(-len(told) // 2)
    return Table([[told[:half], told[half:]]], colWidths=[ROOM / 2.0 * mm] * 2, style=_BARE)


def around(picture: Drawing, told: Sequence[Flowable], width: float) -> Iterator[Flowable]:
    """Return a picture in a column of some width [mm] with words at its right, and the rest of them below it."""
    widths = [width * mm, (ROOM - width) * mm]
    high, beside = 0.0, 0
    for part in told:
        high += part.wrap(widths[1] - 6.0, 1e6)[1]
        if high > picture.height:
            break
        beside += 1
    row = [[picture], list(told[:beside])]
    yield Table([row], colWidths=widths, style=[*_BARE, ("LEFTPADDING", (1, 0), (1, 0), 6.0)])
    yield from told[beside:]


__all__ = [
    "FULL", "NAMED", "SHORT", "TEXT", "around", "bolts", "cautions", "cut_table", "findings", "hands", "levers",
    "order", "parts", "rests_on", "wire_table",
]  # fmt: skip
