"""The cut list: what to cut and why, inners, liners and parts, findings and cautions, the files to take along."""

from __future__ import annotations

import streamlit

from ropewalk.page import cutlist, levers, notices
from ropewalk.page.bikes import Source
from ropewalk.page.downloads import offer_lists
from ropewalk.page.markup import put, tag
from ropewalk.workshop.jobplan import JobPlan

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
    left, right = streamlit.columns([3, 2], gap="large")
    with left:
        put(tag("h2", "Inners and liners"), cutlist.inners(job))
    with right:
        put(tag("h2", "Findings"), notices.findings(job))
        put(tag("h2", "Parts"), cutlist.parts(job))
    put(tag("h2", "Take it along"))
    offer_lists(source, job)
