"""The bench sheet on the page: which paper and what goes with it, a look at every page, the file to print."""

from __future__ import annotations

import hashlib
from datetime import date, datetime

import streamlit

from ropewalk.page import levers, links, notices
from ropewalk.page.bikes import Source
from ropewalk.page.downloads import file_stem
from ropewalk.page.keeping import remember, remembered
from ropewalk.page.markup import put, tag
from ropewalk.workshop import words
from ropewalk.workshop.jobplan import JobPlan

#: most sheets that are kept for all visitors, some 0.3 MB each with their pictures
MOST_SHEETS = 16
_PRINT = "Print it at 100 %, not fitted to the page. It says the same in black and white."
_EXTRAS = {
    "strips": "True-length strips of pieces up to 250 mm, to lay housing on",
    "tags": "A tag for each end of each piece",
    "plots": "Plots from lock to lock: least radius and spare length",
}


def show_sheet(source: Source, job: JobPlan) -> None:
    """Show the page.

    Parameters
    ----------
    source : Source
        The frame file; sheets are kept by its contents.
    job : JobPlan
        The plan of it.
    """
    from ropewalk.drawing.benchsheet import PAPERS

    warning = notices.stops(job)
    if warning is not None:
        put(warning)
    levers.show(job)
    paper, day, extras = _asked(list(PAPERS))
    made, pictures = _sheet(hashlib.sha256(source.contents).hexdigest(), day, paper, extras, job)
    put(tag("h2", "Take it along"), tag("p", _PRINT, css="rw-quiet"))
    name = f"{file_stem(job.bike)}-bench-sheet.pdf"
    with streamlit.container(horizontal=True, key="downloads"):
        streamlit.download_button("Bench sheet, PDF", made, name, "application/pdf", on_click="ignore", type="primary")
    put(tag("h2", "How it looks"))
    for number, picture in enumerate(pictures, 1):
        streamlit.image(picture, width="stretch", alt=_described(job, number, len(pictures)))
    put(notices.cautions(job))


def _asked(papers: list[str]) -> tuple[str, date, tuple[str, ...]]:
    """Show what can be chosen, and return paper, date and extras."""
    given = links.given("paper")
    if given is not None and given not in papers:
        links.refuse("paper", f"write {' or '.join(papers)}")
        given = None
    put(tag("h2", "Paper"))
    left, right = streamlit.columns([1, 1])
    with left:
        key = remembered("sheet paper", given or papers[0])
        paper = streamlit.segmented_control("Size", papers, key=key, on_change=remember, args=(key,), required=True)
    with right:
        key = remembered("sheet day", datetime.now().date())
        day = streamlit.date_input("Date on it", key=key, on_change=remember, args=(key,))
    extras = []
    for name, label in _EXTRAS.items():
        key = remembered(f"sheet {name}", False)
        if streamlit.checkbox(label, key=key, on_change=remember, args=(key,)):
            extras.append(name)
    links.note("paper", paper if paper != papers[0] else None)
    return str(paper), day, tuple(extras)


# A sheet follows from the frame file, known by its mark, and what is asked for alone.
@streamlit.cache_data(max_entries=MOST_SHEETS, show_spinner="Laying out the sheet")
def _sheet(mark: str, day: date, paper: str, extras: tuple[str, ...], _job: JobPlan) -> tuple[bytes, tuple[bytes, ...]]:
    from ropewalk.drawing.benchsheet import Extras, bench_sheet
    from ropewalk.drawing.pdfpages import page_pictures

    with_it = Extras(strips="strips" in extras, end_tags="tags" in extras, plots="plots" in extras)
    made = bench_sheet(_job, day, paper, extras=with_it)
    return made, page_pictures(made)


def _described(job: JobPlan, number: int, pages: int) -> str:
    """Return what a page shows, for those who cannot see it."""
    if number > 1:
        return f"Page {number} of {pages} of the bench sheet of {job.bike}."
    cuts = ", ".join(f"{piece.tag} {words.first_cut(piece)}" for line in job.lines for piece in line.pieces)
    return f"Bench sheet of {job.bike}, page 1 of {pages}: {cuts}; drawing, findings, order of work, cautions."
