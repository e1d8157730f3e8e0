"""The cut list: what to cut and why, inners, liners and parts, findings and cautions, the files to take along."""

from __future__ import annotations

import hashlib

import streamlit

from ropewalk.bike.wording import listed
from ropewalk.page import cutlist, levers, notices
from ropewalk.page.bikes import Source
from ropewalk.page.downloads import offer_lists
from ropewalk.page.markup import put, tag
from ropewalk.page.pictures import show_picture
from ropewalk.workshop.jobplan import JobPlan

#: most bikes whose drawings are kept for all visitors
MOST_DRAWN = 24
_USE = "Lengths are without ferrules. Cut to the first cut, try it on the bike, trim to the target."


def show_cut_list(source: Source, job: JobPlan) -> None:
    """Show the page.

    Parameters
    ----------
    source : Source
        The frame file.
    job : JobPlan
        The plan of it.
    """
    warning = notices.stops(job)
    if warning is not None:
        put(warning)
    levers.show(job)
    put(tag("h2", "Pieces to cut"), tag("p", _USE, css="rw-quiet"), cutlist.housing(job), cutlist.key())
    put(notices.cautions(job))
    put(tag("h2", "Where they lie"))
    mark = hashlib.sha256(source.contents).hexdigest()
    side, cockpit = _pictures(mark, job)
    show_picture("side", *side, _described("Side view", job))
    show_picture("cockpit", *cockpit, _described("Cockpit from above at both locks", job))
    left, right = streamlit.columns([3, 2], gap="large")
    with left:
        put(tag("h2", "Inners and liners"), cutlist.inners(job))
    with right:
        put(tag("h2", "Findings"), notices.findings(job))
        put(tag("h2", "Parts"), cutlist.parts(job))
    put(tag("h2", "Take it along"))
    offer_lists(source, job)


# Drawings follow from the frame file, known by its mark, alone.
@streamlit.cache_data(max_entries=MOST_DRAWN, show_spinner=False)
def _pictures(mark: str, _job: JobPlan) -> tuple[tuple[str, str], tuple[str, str]]:
    """Return side view and cockpit, each for a wide screen and for a phone."""
    from ropewalk.drawing.render import cockpit_svg, svg

    return (svg(_job), svg(_job, narrow=True)), (cockpit_svg(_job), cockpit_svg(_job, narrow=True))


def _described(shown: str, job: JobPlan) -> str:
    """Return what a drawing shows, for those who cannot see it."""
    tags = listed((piece.tag for line in job.lines for piece in line.pieces), last="and")
    return f"{shown}, {job.bike}; housing pieces {tags} in place."
