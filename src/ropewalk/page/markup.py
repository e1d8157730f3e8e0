"""Pieces of HTML; everything that people wrote goes through here and comes out escaped."""

from __future__ import annotations

import html
from collections.abc import Iterable

import streamlit


class Markup(str):
    """HTML that is safe to show as it is."""

    __slots__ = ()


def safe(text: str) -> Markup:
    """Return text so that a browser shows it letter by letter; HTML made here stays as it is.

    Examples
    --------
    >>> safe("<b>rear</b> & front")
    '&lt;b&gt;rear&lt;/b&gt; &amp; front'
    >>> safe(tag("b", "A1"))
    '<b>A1</b>'
    """
    return text if isinstance(text, Markup) else Markup(html.escape(text))


def tag(element: str, *contents: str, css: str = "", attributes: str = "") -> Markup:
    """Return an element.

    Parameters
    ----------
    element : str
        Its name.
    *contents : str
        What it holds; text is escaped.
    css : str
        Its classes.
    attributes : str
        Others, as they are written; never anything that people wrote.

    Examples
    --------
    >>> tag("p", "5 < 6", css="rw-quiet")
    '<p class="rw-quiet">5 &lt; 6</p>'
    """
    classes = f' class="{css}"' if css else ""
    others = f" {attributes}" if attributes else ""
    return Markup(f"<{element}{classes}{others}>{joined(contents)}</{element}>")


def joined(contents: Iterable[str]) -> Markup:
    """Return contents one after the other."""
    return Markup("".join(safe(content) for content in contents))


def mark(grade: str, label: str = "") -> Markup:
    """Return a grade as its sign and its word: told apart by shape and by word, not by colour alone."""
    sign = tag("span", "", css=f"rw-sign rw-sign-{grade}", attributes='aria-hidden="true"')
    return tag("span", sign, label or grade, css=f"rw-mark rw-{grade}")


def put(*contents: str) -> None:
    """Show HTML on the page."""
    streamlit.html(joined(contents))


def complain(message: str) -> None:
    """Show one line that says what is wrong; screen readers tell it at once."""
    put(tag("p", mark("stop", "not taken"), " ", message, css="rw-complaint", attributes='role="alert"'))
