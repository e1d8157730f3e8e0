"""The page a mechanic works from: choose a bike, see what to cut and why, take it along."""

from __future__ import annotations

import streamlit

from ropewalk.page import cutlist, notices
from ropewalk.page.bikes import Source, choose
from ropewalk.page.downloads import offer_lists
from ropewalk.page.markup import put, tag
from ropewalk.page.steering import show_cockpit, show_drawing
from ropewalk.workshop.jobplan import JobPlan

_PURPOSE = "Cable housing, inners and liners: how long to cut every piece, before anything is cut."
_USE = "Lengths are without ferrules. Cut to the first cut, try it on the bike, trim to the target."


def show() -> None:
    """Show the page."""
    put(tag("h1", "Ropewalk"), tag("p", _PURPOSE, css="rw-quiet"))
    chosen = choose()
    if chosen is not None:
        _show_job(*chosen)


def _show_job(source: Source, job: JobPlan) -> None:
    warning = notices.stops(job)
    if warning is not None:
        put(warning)
    put(tag("h2", "Which lever works which brake"), notices.levers(job))
    put(tag("h2", f"Cut list: {job.bike}"), tag("p", _USE, css="rw-quiet"), cutlist.housing(job))
    put(notices.cautions(job))
    left, right = streamlit.columns([3, 2], gap="large")
    with left:
        put(tag("h2", "Side view"))
        show_drawing(source, job)
        put(tag("h2", "Cockpit from above"))
        show_cockpit(source, job)
    with right:
        put(tag("h2", "Findings"), notices.findings(job))
    left, right = streamlit.columns([3, 2], gap="large")
    with left:
        put(tag("h2", "Inners and liners"), cutlist.inners(job))
    with right:
        put(tag("h2", "Parts"), cutlist.parts(job))
    put(tag("h2", "Take it along"))
    offer_lists(source, job)
