"""The bench sheet: one bike's cut list to print, tape to the frame and tick off."""

from __future__ import annotations

import hashlib
import io
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import Any

from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, SimpleDocTemplate, Spacer
from reportlab.platypus.doctemplate import LayoutError

from ropewalk import __version__
from ropewalk.bike.wording import listed, shortened
from ropewalk.drawing import benchparts
from ropewalk.drawing.benchextras import end_tags, strips
from ropewalk.drawing.benchparts import FULL, NAMED, SHORT
from ropewalk.drawing.lockplots import plots
from ropewalk.drawing.pagepictures import bench_picture
from ropewalk.drawing.pdfshapes import PLAIN, embed_typeface, scene_drawing, shown
from ropewalk.drawing.sheetstyle import LEAST, ORDER, ROOM, TITLE, said
from ropewalk.errors import ChoiceError
from ropewalk.workshop.jobplan import JobPlan

#: papers by name, with their sizes [pt]
PAPERS: dict[str, tuple[float, float]] = {"A4": A4, "Letter": LETTER}
#: margins at the sides, on top and below, and where the foot stands [mm]
SIDE, TOP, BOTTOM, FOOT = 10.0, 6.0, 8.5, 5.0
#: size of the tags in the drawing [mm]: its smallest type, at 0.85 of that, is the smallest of the sheet
_IN_PICTURE = LEAST / 0.85 / 72.0 * 25.4
#: widths the drawing may take [mm] with what is said of notes, the best that saves a page
_LAYOUTS = (
    (112.0, FULL),
    (92.0, FULL),
    (80.0, FULL),
    (92.0, SHORT),
    (80.0, SHORT),
    (92.0, NAMED),
    (80.0, NAMED),
    (72.0, NAMED),
)
#: what two pages get
_SPREAD = (92.0, FULL)


@dataclass(frozen=True, slots=True)
class Extras:
    """What goes with a bench sheet: true-length strips, tags for the ends, plots from lock to lock."""

    strips: bool = False
    end_tags: bool = False
    plots: bool = False


NO_EXTRAS = Extras()


def paper_of(name: str) -> str:
    """Return a paper's name as written in `PAPERS`, whatever its case, or raise a `ChoiceError`."""
    found = next((paper for paper in PAPERS if paper.lower() == name.strip().lower()), None)
    if found is None:
        raise ChoiceError(f'--paper is "{shortened(name, 40)}": write {listed(PAPERS, last="or")}')
    return found


def bench_sheet(
    job: JobPlan, day: date, paper: str = "A4", *, own_parts: bytes = b"", extras: Extras = NO_EXTRAS
) -> bytes:
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
    extras : Extras
        What goes with it.

    Notes
    -----
    What it says fits one side where the lines do; a second page follows only where they do not.
    """
    embed_typeface()
    given = hashlib.sha256(job.model.frame.model_dump_json().encode() + own_parts).hexdigest()[:10]
    foot = f"Ropewalk {__version__} · input {given} · {day.isoformat()} · {shortened(job.bike, 60)}"
    make = partial(_made, paper=paper, title=f"{job.bike}: bench sheet", foot=foot)
    layout = next((layout for layout in _LAYOUTS if _pages(make, _story(job, day, *layout)) == 1), None)
    story = list(_story(job, day, *(layout or _SPREAD), steps_apart=layout is None))
    if extras.end_tags:
        story += end_tags(job)
    if extras.plots:
        story += plots(job)
    if extras.strips:
        story += strips(job)
    return make(story)[0]


def _pages(make: Any, story: Iterator[Flowable]) -> int | None:
    """Return how many pages a story takes, or None where a part of it is higher than a page."""
    try:
        return int(make(list(story))[1])
    except LayoutError:
        return None


def _made(story: list[Flowable], paper: str, title: str, foot: str) -> tuple[bytes, int]:
    """Return a story as a PDF, and how many pages it takes."""
    stream = io.BytesIO()
    width = PAPERS[paper][0]

    def finish(canvas: Any, made: Any) -> None:
        canvas.setViewerPreference("PrintScaling", "None")
        canvas.setFont(PLAIN, LEAST)
        canvas.drawString(SIDE * mm, FOOT * mm, shown(foot))
        canvas.drawRightString(width - SIDE * mm, FOOT * mm, f"page {made.page}")

    # A frame pads what stands in it by 6 pt.
    margin = (width - ROOM * mm) / 2.0 - 6.0
    document = SimpleDocTemplate(
        stream, pagesize=PAPERS[paper], leftMargin=margin, rightMargin=margin, topMargin=TOP * mm - 6.0,
        bottomMargin=BOTTOM * mm - 6.0, invariant=1, title=shown(title), author="Ropewalk",
    )  # fmt: skip
    document.build(story, onFirstPage=finish, onLaterPages=finish)
    return stream.getvalue(), int(document.page)


def _story(job: JobPlan, day: date, width: float, detail: str, *, steps_apart: bool = False) -> Iterator[Flowable]:
    """Return what the sheet says, in the order it is needed; steps apart may go over a page's end."""
    yield said(f"{job.bike} · {day.isoformat()}", TITLE)
    yield benchparts.levers(job)
    yield from benchparts.hands(job)
    yield Spacer(1, 3)
    yield benchparts.cut_table(job)
    yield Spacer(1, 2)
    yield from benchparts.wire_table(job)
    yield Spacer(1, 4)
    picture = scene_drawing(bench_picture(job, width - 2.0, _IN_PICTURE), width - 2.0)
    found = list(benchparts.findings(job, detail)) or [said("Nothing was found that needs a word.")]
    yield from benchparts.around(picture, [*found, Spacer(1, 3), benchparts.parts(job)], width)
    yield said("Order of work", ORDER)
    yield from benchparts.order(job, detail, apart=steps_apart)
    yield Spacer(1, 2)
    yield benchparts.cautions(job, detail)
    yield benchparts.rests_on(job)
