"""The bench sheet: one bike's cut list to print, tape to the frame and tick off."""

from __future__ import annotations

import hashlib
import io
from collections.abc import Iterator
from datetime import date
from typing import Any
from xml.sax.saxutils import escape

from reportlab.graphics.shapes import Drawing, Rect
from reportlab.lib.colors import black
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import KeepTogether, Paragraph, SimpleDocTemplate, Spacer, Table

from ropewalk import __version__
from ropewalk.bike.wording import listed
from ropewalk.drawing.benchextras import end_tags, strips
from ropewalk.drawing.pdfshapes import BOLD, PLAIN, embed_typeface, scene_drawing, shown
from ropewalk.drawing.sheet import side_picture
from ropewalk.errors import ChoiceError
from ropewalk.workshop import words
from ropewalk.workshop.jobplan import JobPlan, LinePlan, PiecePlan

#: papers by name, with their sizes [pt]
PAPERS: dict[str, tuple[float, float]] = {"A4": A4, "Letter": LETTER}
#: margin, room a table takes, box to tick [mm]
MARGIN, WIDTH, TICK = 10.0, 186.0, 6.5
_TEXT = ParagraphStyle("text", fontName=PLAIN, fontSize=7.2, leading=8.9)
_SMALL = ParagraphStyle("small", parent=_TEXT, fontSize=6.6, leading=8.0)
_HEAD = ParagraphStyle("head", parent=_TEXT, fontName=BOLD, fontSize=9, leading=12, spaceBefore=4)
_TITLE = ParagraphStyle("title", parent=_TEXT, fontName=BOLD, fontSize=15, leading=18)
_TAG = ParagraphStyle("tag", parent=_TEXT, fontName=BOLD, fontSize=14, leading=16)
_CUT = ParagraphStyle("cut", parent=_TEXT, fontName=BOLD, fontSize=18, leading=20)
_RULED = [("VALIGN", (0, 0), (-1, -1), "MIDDLE"), ("GRID", (0, 0), (-1, -1), 0.5, black)]
#: widths the drawing may take, the largest that saves a page [mm]
_PICTURES = (96.0, 84.0, 72.0, 62.0)
_PADS = [
    *((f"{side}PADDING", (0, 0), (-1, -1), 1.5) for side in ("TOP", "BOTTOM")),
    *((f"{side}PADDING", (0, 0), (-1, -1), 3) for side in ("LEFT", "RIGHT")),
]


def paper_of(name: str) -> str:
    """Return a paper's name as written in `PAPERS`, whatever its case, or raise a `ChoiceError`."""
    found = next((paper for paper in PAPERS if paper.lower() == name.strip().lower()), None)
    if found is None:
        raise ChoiceError(f'--paper is "{name[:40]}": write {listed(PAPERS, last="or")}')
    return found


def bench_sheet(
    job: JobPlan, day: date, paper: str = "A4", *, own_parts: bytes = b"", with_strips: bool = False,
    with_end_tags: bool = False,
) -> bytes:  # fmt: skip
    """Return the bench sheet of a job as a PDF; the same job and day give the same bytes.

    Parameters
    ----------
    job : JobPlan
    day : date
        Printed on it.
    paper : str
        One of `PAPERS`.
    own_parts : bytes
        A shop's own parts file, for the mark of the input.
    with_strips, with_end_tags : bool
        Whether true-length strips of short pieces and tags for the ends go with it.
    """
    embed_typeface()
    given = hashlib.sha256(job.model.frame.model_dump_json().encode() + own_parts).hexdigest()[:10]
    foot = f"Ropewalk {__version__} · input {given} · {day.isoformat()} · {_cut_off(job.bike)}"
    title = f"{job.bike}: bench sheet"
    pages = [_made(list(_story(job, day, width)), paper, title, foot)[1] for width in _PICTURES]
    width = _PICTURES[pages.index(min(pages))]
    story = list(_story(job, day, width))
    if with_end_tags:
        story += end_tags(job)
    if with_strips:
        story += strips(job)
    return _made(story, paper, title, foot)[0]


def _made(story: list[Any], paper: str, title: str, foot: str) -> tuple[bytes, int]:
    """Return a story as a PDF, and how many pages it takes."""
    stream = io.BytesIO()

    def finish(canvas: Any, made: Any) -> None:
        canvas.setViewerPreference("PrintScaling", "None")
        canvas.setFont(PLAIN, 6.5)
        canvas.drawString(MARGIN * mm + 6, 5.5 * mm, shown(foot))
        canvas.drawRightString(PAPERS[paper][0] - MARGIN * mm - 6, 5.5 * mm, f"page {made.page}")

    document = SimpleDocTemplate(
        stream, pagesize=PAPERS[paper], leftMargin=MARGIN * mm, rightMargin=MARGIN * mm, topMargin=6 * mm,
        bottomMargin=8 * mm, invariant=1, title=shown(title), author="Ropewalk",
    )  # fmt: skip
    document.build(story, onFirstPage=finish, onLaterPages=finish)
    return stream.getvalue(), int(document.page)


def _cut_off(name: str) -> str:
    return name if len(name) <= 60 else f"{name[:59]}…"


def text(said: str, style: ParagraphStyle = _TEXT) -> Paragraph:
    """Return words as a paragraph, whatever signs they hold."""
    return Paragraph(escape(shown(said)), style)


def _story(job: JobPlan, day: date, width: float) -> Iterator[Any]:
    yield text(f"{job.bike} · {day.isoformat()}", _TITLE)
    yield text(_inputs(job), _SMALL)
    yield Spacer(1, 4)
    yield _cut_table(job)
    yield Spacer(1, 4)
    picture = scene_drawing(side_picture(job), width)
    picture.hAlign = "CENTER"
    yield picture
    for head, told in _sections(job):
        first, *others = told
        yield KeepTogether([text(head, _HEAD), first])
        yield from (KeepTogether([one]) for one in others)


def _sections(job: JobPlan) -> Iterator[tuple[str, list[Any]]]:
    graded = [found for found in job.findings if found.grade != "note"]
    notes = len(job.findings) - len(graded)
    found = [text(f"{one.grade.upper()} · {words.finding(one)}") for one in graded]
    if notes:
        found.append(text(f"{words.how_many(notes, 'note')} more: see the cut list."))
    if found:
        yield "Findings", found
    yield "Order of work", [text(_order(line), _SMALL) for line in job.lines]
    yield "Parts to pick", [text(" · ".join(f"{part.count} × {part.item}" for part in job.parts))]
    yield "Torque check, front to back", [text(_torque(job))]
    yield "Cautions", [text(f"• {caution}") for caution in job.cautions]


def _inputs(job: JobPlan) -> str:
    frame = job.model.frame
    parts = []
    for name, table in (("chart", frame.chart), ("cockpit", frame.cockpit), ("bar", frame.cockpit.bar)):
        told = [
            f"{key.removesuffix('_deg').replace('_', ' ')} {float(value):g}" for key, value in table if _plain(value)
        ]
        parts.append(f"{name}: {', '.join(told)}")
    return "Lengths rest on " + "; ".join(parts) + " (mm, °)."


def _plain(value: object) -> bool:
    return hasattr(value, "__float__") and not isinstance(value, str)


def _cut_table(job: JobPlan) -> Table:
    heads = ("", "piece", "from, to, ends", "first cut", "target, window", "as cut")
    rows: list[list[Any]] = [[text(head, _SMALL) for head in heads]]
    for line in job.lines:
        rows += [_piece_row(line, piece) for piece in line.pieces]
        for name, inner in words.named_inners(line):
            rows.append(_small_row(f"{line.name}: {name}, {inner.kind}", words.take(inner), words.inner_figures(inner)))
        for liner in line.liners:
            cut = words.millimetres(liner.cut)
            rows.append(_small_row(f"{line.name}: {words.liner_name(liner)}", cut, words.liner_place(liner)))
    spans = [("SPAN", (4, place), (5, place)) for place, row in enumerate(rows) if place and row[1] == ""]
    widths = [part * mm for part in (9.5, 14.0, 61.0, 39.0, 41.5, 21.0)]
    return Table(rows, colWidths=widths, repeatRows=1, style=[*_RULED, *_PADS, *spans])


def _piece_row(line: LinePlan, piece: PiecePlan) -> list[Any]:
    told = f"{line.name}: {words.way(piece.start, piece.end)}. {piece.housing}; {words.ends(piece)}"
    if piece.first_cut is None:
        cut, target = text("STOP: do not cut", _HEAD), text("no length: see the findings")
    else:
        cut = text(words.first_cut(piece), _CUT)
        target = text(f"target {words.millimetres(piece.target)}; window {words.window(piece)}")
    return [_tick(), text(piece.tag, _TAG), text(told, _SMALL), cut, target, ""]


def _small_row(what: str, length: str, figures: str) -> list[Any]:
    return [_tick(), "", text(what, _SMALL), text(length, _HEAD), text(figures, _SMALL), ""]


def _tick() -> Drawing:
    side = TICK * mm
    return Drawing(side, side, Rect(0, 0, side, side, fillColor=None, strokeColor=black, strokeWidth=0.9))


def _order(line: LinePlan) -> str:
    return f"{line.name}: " + " ".join(f"{place}. {step}" for place, step in enumerate(line.order, 1))


def _torque(job: JobPlan) -> str:
    settings = job.catalogue.settings.torque
    bands = []
    for name, figure in (("brake", settings.brake_anchor), ("derailleur", settings.derailleur_anchor)):
        low, high = float(figure) - float(figure.spread), float(figure) + float(figure.spread)
        bands.append(f"{name} anchor bolt {low:.1f} to {high:.1f} N m")
    return f"Go by the figure printed on the part. Only where there is none, the usual band: {'; '.join(bands)}."
