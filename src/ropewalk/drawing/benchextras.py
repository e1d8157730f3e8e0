"""What goes with the bench sheet when asked for: true-length strips to lay housing on, and tags for its ends."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any
from xml.sax.saxutils import escape

from reportlab.graphics.shapes import Drawing, Group, Line, Rect, String
from reportlab.lib.colors import black
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import PageBreak, Paragraph, Spacer, Table

from ropewalk.drawing.pdfshapes import BOLD, PLAIN, shown
from ropewalk.drawing.sheetstyle import LEAST, TITLE, said, together
from ropewalk.workshop import words
from ropewalk.workshop.jobplan import JobPlan, PiecePlan

#: longest piece that gets a strip, the bar to check the printing by, room of a strip across [mm], strips on a page
LONGEST, CHECK, ACROSS, ON_PAGE = 250.0, 100.0, 17.0, 9
_CUT_OUT = [
    ("GRID", (0, 0), (-1, -1), 0.5, black),
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 7),
]
_TAG = ParagraphStyle("end tag", fontName=PLAIN, fontSize=8, leading=13)


def short_pieces(job: JobPlan) -> list[PiecePlan]:
    """Return the pieces that are short enough for a strip."""
    return [piece for line in job.lines for piece in line.pieces if piece.first_cut and piece.first_cut <= LONGEST]


def strips(job: JobPlan) -> Iterator[Any]:
    """Return pages of strips as long as the first cuts, none where no piece is short enough."""
    short = short_pieces(job)
    for start in range(0, len(short), ON_PAGE):
        yield PageBreak()
        page = Drawing(184.0 * mm, 252.0 * mm)
        page.add(Rect(0, 0, 3.0 * mm, CHECK * mm, fillColor=black, strokeColor=None, strokeWidth=0))
        page.add(_up(6.5, 0.0, "This bar is 100 mm long: print at 100 %, measure it, and only then use the strips."))
        for place, piece in enumerate(short[start : start + ON_PAGE], 1):
            _strip(page, place * ACROSS + 4.0, piece)
        yield page


def _strip(page: Drawing, left: float, piece: PiecePlan) -> None:
    length = float(piece.first_cut or 0.0)
    for x in (left, left + 8.0):
        page.add(Line(x * mm, 0, x * mm, length * mm, strokeColor=black, strokeWidth=0.5))
    for y in (0.0, length):
        page.add(Line(left * mm, y * mm, (left + 8.0) * mm, y * mm, strokeColor=black, strokeWidth=0.3))
    target = piece.target * mm
    page.add(Line(left * mm, target, (left + 8.0) * mm, target, strokeColor=black, strokeDashArray=[2, 2]))
    page.add(_up(left - 1.5, 0.0, f"{piece.tag}  {words.first_cut(piece)}", BOLD, 9.0))
    page.add(_up(left + 11.0, 0.0, f"dashed: target {words.millimetres(piece.target)}", PLAIN, LEAST))


def _up(x: float, y: float, said: str, face: str = PLAIN, size: float = 8.0) -> Group:
    return Group(String(0, 0, shown(said), fontName=face, fontSize=size), transform=(0, 1, -1, 0, x * mm, y * mm))


def end_tags(job: JobPlan) -> Iterator[Any]:
    """Return a page of tags to cut out, one for each end of each piece."""
    cells = []
    for line in job.lines:
        for piece in line.pieces:
            for station, end in zip((piece.start, piece.end), piece.ends, strict=True):
                cut = "do not cut" if piece.first_cut is None else words.first_cut(piece)
                told = f'<font name="{BOLD}" size="13">{escape(piece.tag)}</font> {escape(shown(line.name))}<br/>'
                told += escape(shown(together(f"end at {station}: {end}; {cut}")))
                cells.append(Paragraph(told, _TAG))
    if not cells:
        return
    yield PageBreak()
    yield said(f"{job.bike}: tags for the ends", TITLE)
    yield said("Cut out, and tape each to its end of the piece before the housing goes in.")
    yield Spacer(1, 4)
    rows = [[*cells[at : at + 3], "", ""][:3] for at in range(0, len(cells), 3)]
    yield Table(rows, colWidths=[61.0 * mm] * 3, style=_CUT_OUT)
