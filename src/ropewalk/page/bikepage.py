"""The page of the bike: choose or bring one, say which lever works which brake, change what is not as on the stand."""

from __future__ import annotations

import streamlit

from ropewalk.errors import RopewalkError
from ropewalk.page import bikes, levers, links, notices
from ropewalk.page.editing import show_editor
from ropewalk.page.markup import complain, put, tag
from ropewalk.page.router import page_of, show_link, tell_refused
from ropewalk.page.starting import show_start
from ropewalk.workshop.jobplan import JobPlan

_PURPOSE = "Cable housing, inners and liners: how long to cut every piece, before anything is cut."


def show_bike() -> None:
    """Show the page."""
    put(tag("h1", "Ropewalk"), tag("p", _PURPOSE, css="rw-quiet"))
    tell_refused()
    bikes.show_picker()
    show_start()
    source = bikes.current()
    links.start_noting(bikes.in_link(source))
    job: JobPlan | None = None
    try:
        job = bikes.planned_with_bar(source)
    except RopewalkError as error:
        complain(str(error))
    if job is not None:
        warning = notices.stops(job)
        if warning is not None:
            put(warning)
        if levers.confirmed(job):
            levers.show(job)
            with streamlit.container(key="go-on"):
                streamlit.page_link(page_of("cut-list"), label="Go to the cut list", width="stretch")
        else:
            levers.ask(source, job)
    show_editor(source, job)
    if job is not None:
        put(notices.cautions(job))
    show_link()
