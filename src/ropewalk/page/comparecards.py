"""Routings side by side as HTML: a card each, what tells them apart, what was found; tension along a wire."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ropewalk.page.markup import Markup, mark, tag
from ropewalk.workshop.candidate import Candidate
from ropewalk.workshop.compare import Comparison
from ropewalk.workshop.comparewords import Cell, difference_words, figures, graded_findings, rank_words
from ropewalk.workshop.frictionplan import FrictionPlan
from ropewalk.workshop.frictionwords import StretchWords, stretch_words
from ropewalk.workshop.ranking import Standing
from ropewalk.workshop.rankingwords import bare_figure

_HEADINGS = ("stretch of the wire", "turn", "to", "pulled", "let back")


def cards(comparison: Comparison) -> Markup:
    """Return a card for every routing, the best first; figures of one kind stand beside each other."""
    told = [
        (label, cell)
        for label, cell in figures(comparison)
        if any(cell(candidate) for candidate in comparison.candidates)
    ]
    pairs = zip(comparison.candidates, comparison.standings, strict=True)
    entries = (_card(comparison, one, standing, told) for one, standing in pairs)
    rows = f'style="--rw-rows:{len(told) + 3}" role="list"'
    return tag("ol", *entries, css="rw-rivals", attributes=rows)


def differences(comparison: Comparison) -> Markup:
    """Return how every two routings differ: which difference is clear, which a tie, and why."""
    entries = (
        tag(
            "li",
            tag("span", "tie" if apart.tie else "clear", css=f"rw-apart rw-{'tie' if apart.tie else 'clear'}"),
            tag("span", f"{difference_words(comparison, apart)}."),
        )
        for apart in comparison.differences
    )
    return tag("ul", *entries, css="rw-list rw-differences", attributes='role="list"')


def findings(comparison: Comparison) -> Markup:
    """Return stops and looks, each once with the routings it is found in."""
    groups = []
    for grade, found in graded_findings(comparison):
        entries = (tag("li", tag("b", f"{names}: "), text) for names, text in found)
        groups.append(tag("section", tag("h3", mark(grade)), tag("ul", *entries, css=f"rw-list rw-edge-{grade}")))
    return tag("div", *groups, css="rw-findings") if groups else tag("p", "No stops and nothing to look at.")


def tension(line: FrictionPlan, condition: str) -> Markup:
    """Return tension along a wire, stretch by stretch from the lever on."""
    heads = tag("tr", *(tag("th", heading, attributes='scope="col"') for heading in _HEADINGS))
    body = (_stretch(stretch) for stretch in stretch_words(line, condition))
    return tag("table", tag("thead", heads), tag("tbody", *body), css="rw-tension")


def sentences(told: Iterable[str]) -> Markup:
    """Return sentences, one below the other."""
    return tag("ul", *(tag("li", sentence) for sentence in told), css="rw-list")


def _card(comparison: Comparison, one: Candidate, standing: Standing, told: Sequence[tuple[str, Cell]]) -> Markup:
    rank = rank_words(standing, comparison.standings)
    figure = standing.figure if standing.rank is not None else None
    head = (
        tag("span", "no rank" if standing.rank is None else rank, css="rw-rank"),
        tag("h3", one.name),
        tag("b", mark("stop") if one.stops else "-" if figure is None else bare_figure(comparison.by, figure)),
    )
    rows = (tag("div", tag("dt", label), tag("dd", cell(one) or "-")) for label, cell in told)
    return tag(
        "li",
        tag("div", *head, css="rw-rival-head"),
        tag("p", _sentence(standing.why), css="rw-rival-why"),
        tag("p", _sentence(one.release), css="rw-quiet"),
        tag("dl", *rows),
        css="rw-rival",
    )


def _stretch(stretch: StretchWords) -> Markup:
    cells = (stretch.turn, stretch.to, stretch.pulled, stretch.let_back)
    figures_told = (
        tag("td", tag("span", f"{heading} ", css="rw-key"), value) if value else tag("td", css="rw-empty")
        for heading, value in zip(_HEADINGS[1:], cells, strict=True)
    )
    return tag("tr", tag("th", stretch.label, attributes='scope="row"'), *figures_told)


def _sentence(told: str) -> str:
    return f"{told[:1].upper()}{told[1:]}."
