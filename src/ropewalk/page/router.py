"""The pages there are, and what they share: title, icon, style, the bike and its plan."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path

import streamlit
from streamlit.navigation.page import StreamlitPage

from ropewalk.errors import RopewalkError
from ropewalk.page import bikes, levers, links, notices
from ropewalk.page.bikes import Source
from ropewalk.page.markup import complain, put, tag
from ropewalk.workshop.jobplan import JobPlan

_HERE = Path(__file__).resolve().parent

_TOO_LONG = "This is more than a link can hold: the address in the browser does not lead back to it. Keep your files."


@dataclass(frozen=True, slots=True)
class Entry:
    """One page.

    Attributes
    ----------
    title, path : str
        In the navigation, and in its address.
    module, show : str
        The module of this package, and the function in it that shows the page of a bike.
    lengths : bool
        Whether it tells lengths to cut, so that the levers have to be confirmed before.
    """

    title: str
    path: str
    module: str
    show: str
    lengths: bool = False


ENTRIES = (
    Entry("Bike", "bike", "bikepage", "show_bike"),
    Entry("Cut list", "cut-list", "cutpage", "show_cut_list", lengths=True),
    Entry("Steering", "steering", "steering", "show_steering"),
    Entry("Compare", "compare", "comparing", "show_compare", lengths=True),
    Entry("Fault", "fault", "faulting", "show_fault"),
    Entry("Dry fit", "dry-fit", "dryfit", "show_dry_fit", lengths=True),
    Entry("Bench sheet", "bench-sheet", "sheets", "show_sheet", lengths=True),
)


def run(first: str = "bike") -> None:
    """Show the page that the browser asks for, or the first where it asks for none.

    Parameters
    ----------
    first : str
        Path of a page.
    """
    streamlit.set_page_config(
        page_title="Ropewalk",
        page_icon=str(_HERE / "icon.svg"),
        layout="wide",
        menu_items={"Get help": None, "Report a bug": None, "About": None},
    )
    streamlit.html(_HERE / "style.css")
    links.open_link()
    pages = [
        streamlit.Page(_shower(entry), title=entry.title, url_path=entry.path, default=entry.path == first)
        for entry in ENTRIES
    ]
    streamlit.navigation(pages, position="top").run()


def page_of(path: str) -> StreamlitPage:
    """Return a page to link to, by its path."""
    entry = next(entry for entry in ENTRIES if entry.path == path)
    return streamlit.Page(_shower(entry), title=entry.title, url_path=path)


def _shower(entry: Entry) -> Callable[[], None]:
    def show() -> None:
        _show(entry)

    return show


def _show(entry: Entry) -> None:
    style = _HERE / f"{entry.module}.css"
    if style.exists():
        streamlit.html(style)
    _show_pages()
    bikes.arrive()
    module = import_module(f"ropewalk.page.{entry.module}")
    if entry is ENTRIES[0]:
        module.show_bike()
    else:
        _show_of_bike(entry, getattr(module, entry.show))


def _show_of_bike(entry: Entry, show: Callable[[Source, JobPlan], None]) -> None:
    source = bikes.current()
    links.start_noting(bikes.in_link(source))
    put(tag("h1", f"{entry.title}: {source.title}"))
    bikes.tell_complaint()
    tell_refused()
    try:
        job = bikes.planned_with_bar(source)
    except RopewalkError as error:
        complain(str(error))
    else:
        if entry.lengths and not levers.confirmed(job):
            levers.ask(source, job)
            put(notices.cautions(job))
        else:
            show(source, job)
    show_link()


def _show_pages() -> None:
    """Show links to all pages in rows; the style leaves them to narrow screens, where the server's own fold away."""
    with streamlit.container(horizontal=True, key="pages", gap="small"):
        for entry in ENTRIES:
            streamlit.page_link(page_of(entry.path), label=entry.title, width="content")


def show_link() -> None:
    """Put the page's link into the browser's address, and tell where it cannot lead back to all of it."""
    if not links.show_link():
        put(tag("p", _TOO_LONG, css="rw-quiet"))


def tell_refused() -> None:
    """Tell what the visitor's link gave that cannot be."""
    for told in links.refused():
        complain(told)
