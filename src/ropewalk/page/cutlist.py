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
        _cell("window", words.window(piece) + (" mm" if piece.window else "")),
        _cell("least radius", words.radius_there(piece)),
        _cell("turn", words.turn(piece.turn)),
        _cell("ends", f"{piece.housing}; {words.ends(piece)}" if several else words.ends(piece), css="rw-ends"),
        tag("span", "why", css="rw-open"),
    )
    return tag("details", tag("summary", *cells), why(piece, own), css="rw-piece")


def _cell(name: str, value: str, css: str = "") -> Markup:
    return tag("span", tag("span", f"{name} ", css="rw-key"), tag("span", value), css=f"rw-cell {css}".strip())


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
