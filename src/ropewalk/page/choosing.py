"""Choices that outlast their page, stand in its link, and show names letter by letter."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

import streamlit

from ropewalk.bike.wording import listed, nearest
from ropewalk.page import bikes, links
from ropewalk.page.bikes import Source
from ropewalk.page.keeping import keep, kept


def chosen_line(source: Source, names: Sequence[str], page: str, first: str | None = None) -> str:
    """Show which line a page is about, and return its name; the pages that ask have the line in common.

    Parameters
    ----------
    source : Source
        The visitor's bike.
    names : sequence of str
        Lines to choose from.
    page : str
        What the page's widgets are called.
    first : str, optional
        The one to begin with; left out, the first.
    """

    def show(options: Sequence[str], **told: Any) -> Any:
        return streamlit.selectbox(options=options, filter_mode=None, **told)

    return _chosen(source, "line", names, page, show, first=first)


def chosen_word(source: Source, name: str, label: str, words: Mapping[str, str], page: str, first: str) -> str:
    """Show words to choose one of, all in view, and return the one chosen.

    Parameters
    ----------
    source : Source
        The visitor's bike.
    name : str
        What it is called in the page's link.
    label : str
    words : mapping of str to str
        What each is shown as; never anything that people wrote.
    page : str
        What the page's widgets are called.
    first : str
        The usual one.
    """

    def show(options: Sequence[str], **told: Any) -> Any:
        return streamlit.segmented_control(
            options=options, format_func=words.__getitem__, required=True, width="stretch", wrap=True, **told
        )

    return _chosen(source, name, list(words), page, show, label=label, first=first)


def from_link(source: Source, name: str, page: str) -> str | None:
    """Return what the link gives under a name, once a page and only for the bike it is about."""
    value, taken = links.given(name), f"link taken: {page}, {name}"
    bike = links.given("bike")
    if value is None or kept(taken) or (bike is not None and bikes.in_link(source).get("bike") != bike):
        return None
    keep(taken, True)
    return value


def unknown(value: str, known: Iterable[str]) -> str:
    """Return what to do about a word in a link that is none of those there are."""
    names = list(known)
    near = nearest(value, names)
    return f'did you mean "{near}"?' if near else f"there is {listed(names, last='and')}"


def _chosen(
    source: Source,
    name: str,
    options: Sequence[str],
    page: str,
    show: Callable[..., Any],
    *,
    label: str = "Line",
    first: str | None = None,
) -> str:
    linked = from_link(source, name, page)
    if linked in options:
        keep(name, linked)
    elif linked is not None:
        links.refuse(name, unknown(linked, options))
    key, held = f"{page} {name}", kept(name)
    # Kept apart from the widget: that forgets when another page is shown.
    streamlit.session_state[key] = held if held in options else first or options[0]

    def take() -> None:
        keep(name, streamlit.session_state[key])

    value = str(show(options, label=label, key=key, on_change=take))
    links.note(name, value)
    return value
