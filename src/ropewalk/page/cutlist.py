"""The cut list: housing, one row a piece, each opening to its why; inners and liners; parts."""

from __future__ import annotations

from collections.abc import Sequence

from ropewalk.analysis.findings import GRADES, Finding
from ropewalk.page.markup import Markup, mark, tag
from ropewalk.page.why import why
from ropewalk.workshop import words
from ropewalk.workshop.jobplan import JobPlan, LinePlan, PiecePlan

_HEADINGS = ("tag", "from → to", "first cut", "target", "window", "least radius", "turn", "ends")


def housing(job: JobPlan) -> Markup:
    """Return the pieces of housing, line by line."""
    heads = tag(
        "div", *(tag("span", heading) for heading in _HEADINGS), css="rw-heads", attributes='aria-hidden="true"'
    )
    return tag("div", heads, *(_line(line, job.findings) for line in job.lines), css="rw-cut")


def inners(job: JobPlan) -> Markup:
    """Return what inner and liners every line takes, and what its bends cost."""
    return tag("ul", *(_wires(line) for line in job.lines), css="rw-list", attributes='role="list"')


def parts(job: JobPlan) -> Markup:
    """Return what to pick from the shelf."""
    entries = (tag("li", tag("b", f"{part.count} ×"), tag("span", part.item), css="rw-part") for part in job.parts)
    return tag("ul", *entries, css="rw-list", attributes='role="list"')


def _line(line: LinePlan, findings: Sequence[Finding]) -> Markup:
    kinds = list(dict.fromkeys(piece.housing for piece in line.pieces))
    told = ", ".join([line.work, *([f"{line.hand} hand"] if line.hand else []), *(kinds or ["no housing"])])
    heading = tag("h3", line.name, " ", tag("span", told, css="rw-quiet"))
    return tag("section", heading, *(_piece(line, piece, findings, several=len(kinds) > 1) for piece in line.pieces))


def _piece(line: LinePlan, piece: PiecePlan, findings: Sequence[Finding], *, several: bool) -> Markup:
    """Return one piece; several: its line has housings of several kinds, so that each is told."""
    own = [finding for finding in findings if finding.concerns(f"{line.name}, {piece.tag}")]
    grades = [grade for grade in GRADES if any(finding.grade == grade for finding in own)]
    cut = words.first_cut(piece)
    cells = (
        tag("span", piece.tag, css="rw-tag"),
        tag("span", words.way(piece.start, piece.end), *(mark(grade) for grade in grades), css="rw-way"),
        _cell("first cut", mark("stop", cut) if piece.first_cut is None else tag("b", cut), css="rw-first"),
        _cell("target", words.millimetres(piece.target)),
        _cell("window", words.window(piece) + (" mm" if piece.window else ""), _window_bar(piece)),
        _cell("least radius", words.radius_there(piece)),
        _cell("turn", words.turn(piece.turn)),
        _cell("ends", f"{piece.housing}; {words.ends(piece)}" if several else words.ends(piece), css="rw-ends"),
        tag("span", "why", css="rw-open"),
    )
    return tag("details", tag("summary", *cells), why(piece, own), css="rw-piece")


def _cell(name: str, value: str, *more: Markup, css: str = "") -> Markup:
    shown = tag("span", value, *more)
    return tag("span", tag("span", f"{name} ", css="rw-key"), shown, css=f"rw-cell {css}".strip())


def _window_bar(piece: PiecePlan) -> Markup:
    """Return the window as a bar from the shortest safe to the longest tidy length, with target and first cut on it.

    The figures stand beside it in words, so that it may go unheard.
    """
    if piece.window is None or piece.first_cut is None:
        return Markup("")
    low, high = piece.window
    marks = (low, high, piece.target, piece.first_cut)
    start, room = min(marks), max(max(marks) - min(marks), 1.0)

    def at(length: float) -> str:
        return f"{100.0 * (length - start) / room:.1f}%"

    band = f'style="left:{at(low)};right:{100.0 - 100.0 * (high - start) / room:.1f}%"'
    return tag(
        "span",
        tag("span", css="rw-band", attributes=band),
        tag("span", css="rw-at-target", attributes=f'style="left:{at(piece.target)}"'),
        tag("span", css="rw-at-first", attributes=f'style="left:{at(piece.first_cut)}"'),
        css="rw-window",
        attributes='aria-hidden="true"',
    )


def key() -> Markup:
    """Return what the bars of the windows show, in words."""
    bar = tag("span", tag("span", css="rw-at-target", attributes='style="left:50%"'), css="rw-window rw-sample")
    cut = tag("span", tag("span", css="rw-at-first", attributes='style="left:50%"'), css="rw-window rw-sample")
    told = "The thick bar is the window, from the shortest safe to the longest tidy length; on it"
    return tag("p", told, " ", bar, " the target and ", cut, " the first cut.", css="rw-quiet")


def _wires(line: LinePlan) -> Markup:
    told = []
    for name, inner in words.named_inners(line):
        told.append(tag("p", f"{name} {inner.kind}: ", tag("b", words.take(inner))))
        told.append(tag("p", words.inner_figures(inner), css="rw-quiet"))
    if line.setting is not None:
        told.append(tag("p", tag("b", words.setting(line.setting))))
    for liner in line.liners:
        cut = tag("b", f"cut {words.millimetres(liner.cut)}")
        told.append(tag("p", f"{words.liner_name(liner)}: ", cut, f", {words.liner_place(liner)}"))
    told.append(tag("p", words.friction(line), css="rw-quiet"))
    if line.order:
        steps = tag("ol", *(tag("li", step) for step in line.order))
        told.append(tag("details", tag("summary", "order of work"), steps, css="rw-order"))
    return tag("li", tag("h3", line.name), *told)
