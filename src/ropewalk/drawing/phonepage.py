"""The cut list as one page for a phone: one piece a screen in big type, in cutting order, with nothing to fetch.

Everything is in the one file: style, script and text. Its policy lets a browser run that script alone and send
nothing. Without scripts it is a list to scroll.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterator, Sequence
from html import escape
from importlib.resources import files

from ropewalk import __version__
from ropewalk.analysis.findings import Finding
from ropewalk.drawing.svg import clean
from ropewalk.workshop import dryfitwords, words
from ropewalk.workshop.cuttingorder import CUT_SO, cutting_order
from ropewalk.workshop.fitted import FittedJob, FittedPiece
from ropewalk.workshop.jobplan import JobPlan, LinePlan, PiecePlan
from ropewalk.workshop.report import all_findings

#: what slows the bike
_BRAKING = ("brake", "hose")
_GRAVE = ("stop", "look")


def phone_page(job: JobPlan, fitted: FittedJob | None = None, *, own_parts: bytes = b"") -> bytes:
    """Return the page of a job as the contents of an HTML file; the same job gives the same bytes.

    Parameters
    ----------
    job : JobPlan
    fitted : FittedJob, optional
        What follows from a dry fit.
    own_parts : bytes
        A shop's own parts file, for the mark of the input.
    """
    style, script = (_beside(f"phonepage.{kind}") for kind in ("css", "js"))
    policy = (
        f"default-src 'none'; style-src '{_mark(style)}'; script-src '{_mark(script)}'; base-uri 'none'; "
        "form-action 'none'"
    )
    head = (
        '<meta charset="utf-8">'
        f'<meta http-equiv="Content-Security-Policy" content="{escape(policy)}">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        '<meta name="referrer" content="no-referrer">'
        f"<title>{_said(job.bike)}: cut list</title><style>{style}</style>"
    )
    screens = "\n".join(_screens(job, fitted))
    bar = (
        f'<header class="bar"><span>{_name(job.bike)}</span> <b></b>'
        '<span class="unseen" aria-live="polite"></span></header>'
    )
    ways = "".join(f'<button type="button">{word}</button>' for word in ("Back", "Next"))
    word = "cut" if fitted is None else "done"
    body = (
        f'<body data-input="{_input(job, fitted, own_parts)}" data-word="{word}">{bar}<main>{screens}</main>'
        f'<nav class="ways" aria-label="Screens">{ways}</nav><script>{script}</script></body>'
    )
    return f'<!doctype html>\n<html lang="en"><head>{head}</head>\n{body}</html>\n'.encode()


def _beside(name: str) -> str:
    return files("ropewalk.drawing").joinpath(name).read_text(encoding="utf-8")


def _mark(text: str) -> str:
    """Return by what a browser knows a style or script that it may use."""
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _input(job: JobPlan, fitted: FittedJob | None, own_parts: bytes) -> str:
    """Return a mark of what the lengths rest on and of the lengths: ticks belong to these alone."""
    lengths = [(piece.tag, piece.first_cut) for line in job.lines for piece in line.pieces]
    again = [] if fitted is None else [(piece.tag, piece.do, piece.cut, piece.target) for piece in fitted.pieces]
    told = job.model.frame.model_dump_json().encode() + own_parts + repr((lengths, again)).encode()
    return hashlib.sha256(told).hexdigest()[:16]


def _said(text: str) -> str:
    """Return text as HTML shows it, whatever people typed."""
    return escape(clean(text))


def _name(text: str) -> str:
    """Return a name that people gave, whichever way its letters run."""
    return f"<bdi>{_said(text)}</bdi>"


def _screens(job: JobPlan, fitted: FittedJob | None) -> Iterator[str]:
    yield _screen("Bike", _first(job, fitted))
    found = all_findings(job, fitted)
    lines = {piece.tag: line for line in job.lines for piece in line.pieces}
    cuts = cutting_order(job)
    for number, piece in enumerate(cuts, 1):
        yield _screen(f"Piece {piece.tag}", _piece(lines[piece.tag], piece, found, fitted, f"{number} of {len(cuts)}"))
    for line in job.lines:
        for piece in line.pieces:
            if piece.first_cut is None:
                yield _screen(f"Piece {piece.tag}", _piece(line, piece, found, fitted, "not to be cut"))
    yield _screen("Inners and liners", _wires(job, fitted))
    yield _screen("Parts", _parts(job))
    yield _screen("Order of work", _order(job))
    yield _screen("Before you trust it", _last(job))


def _screen(name: str, content: Iterator[str]) -> str:
    return f'<section class="screen" aria-label="{_said(name)}">{"".join(content)}</section>'


def _first(job: JobPlan, fitted: FittedJob | None) -> Iterator[str]:
    yield f"<h1>{_name(job.bike)}</h1>"
    yield f"<p>{_said(CUT_SO)}</p>"
    yield '<h2>Which lever works what</h2><div class="hands">'
    for hand in ("left", None, "right"):
        lines = [line for line in job.lines if line.hand == hand]
        if lines:
            yield _hand(hand, lines)
    yield "</div>"
    if job.hands is not None:
        yield "<ul>" + "".join(f"<li>{_said(told)}</li>" for told in words.hands(job.hands)) + "</ul>"
    grave = [one for one in all_findings(job, fitted) if one.grade in _GRAVE]
    stops = sum(one.grade == "stop" for one in grave)
    if stops:
        yield f'<p class="cut stop"><b>{words.how_many(stops, "stop")}</b>: settle before you cut</p>'
    yield "<h2>What to look at first</h2>" if grave else "<p>Nothing was found to look at first.</p>"
    yield from map(_finding, grave)
    yield _cautions(job)


def _hand(hand: str | None, lines: Sequence[LinePlan]) -> str:
    brakes = [line.name for line in lines if line.work in _BRAKING]
    others = [line.name for line in lines if line.work not in _BRAKING]
    name = "No lever on the bar" if hand is None else f"{hand.capitalize()} lever"
    works = ", ".join(map(_name, brakes)) or "no brake"
    also = f'<span class="quiet">{", ".join(map(_name, others))}</span>' if others else ""
    return f"<p><span>{name}</span><b>{works}</b>{also}</p>"


def _piece(
    line: LinePlan, piece: PiecePlan, findings: Sequence[Finding], fitted: FittedJob | None, place: str
) -> Iterator[str]:
    yield f'<p class="quiet">{_name(line.name)} · {_said(piece.housing)} · {place}</p>'
    way = f"{_name(piece.start)} → {_name(piece.end)}"
    yield f'<div class="what"><h2 class="tag">{_said(piece.tag)}</h2><p class="way">{way}</p></div>'
    now = None if fitted is None else fitted.piece(piece.tag)
    if piece.first_cut is None:
        yield '<div class="cut words stop"><p>stop</p><strong>do not cut</strong></div>'
        yield "<p>There is no safe length: settle what was found first.</p>"
    elif now is not None:
        yield f'<div class="cut words"><p>after the dry fit</p><strong>{_said(dryfitwords.result(now))}</strong></div>'
        yield from (f"<p>{_said(reason[:1].upper() + reason[1:])}.</p>" for reason in now.reasons)
    else:
        figure = f"{piece.first_cut:.0f}<small> mm</small>"
        yield f'<div class="cut"><p>first cut</p><strong>{figure}</strong></div>'
    if piece.first_cut is not None:
        tag, done = _said(piece.tag), "cut" if now is None else "done"
        yield f'<label class="tick"><input type="checkbox" value="{tag}" autocomplete="off"> {tag} is {done}</label>'
    yield _figures(piece, now)
    yield from map(_finding, (one for one in findings if one.concerns(f"{line.name}, {piece.tag}")))


def _figures(piece: PiecePlan, now: FittedPiece | None) -> str:
    rows = []
    target = piece.target if now is None else now.target
    if now is not None and piece.first_cut is not None:
        rows.append(("found", dryfitwords.found(now), ""))
        rows.append(("planned first cut", words.first_cut(piece), ""))
    rows.append(("target", words.millimetres(target), "large" if piece.first_cut is not None else ""))
    rows.append(("window", words.window(piece) + (" mm" if piece.window else ""), ""))
    rows.append(("ends", words.ends(piece), ""))
    rows.append(("least radius", words.radius_there(piece), ""))
    told = (f"<dt>{name}</dt><dd{f' class={css}' if css else ''}>{_said(value)}</dd>" for name, value, css in rows)
    return f'<dl class="figures">{"".join(told)}</dl>'


def _finding(found: Finding) -> str:
    figures = words.against_limit(found)
    told = f"{found.text}{f' ({figures})' if figures else ''}."
    return (
        f'<div class="found"><p><span class="grade {found.grade}">{found.grade}</span> <b>{_name(found.where)}</b>: '
        f"{_said(told)}</p><p><b>To do:</b> {_said(found.advice)}.</p></div>"
    )


def _wires(job: JobPlan, fitted: FittedJob | None) -> Iterator[str]:
    yield "<h2>Inners and liners</h2>"
    for line in job.lines:
        yield f'<div class="item"><h3>{_name(line.name)}</h3>'
        for name, inner in words.named_inners(line):
            yield f"<p>{_said(f'{name} {inner.kind}')}</p><strong>{_said(words.take(inner))}</strong>"
            yield f'<p class="quiet">{_said(words.inner_figures(inner))}</p>'
        if line.setting is not None:
            yield f"<p><b>{_said(words.setting(line.setting))}</b></p>"
        for liner in line.liners:
            yield f"<p>{_said(words.liner_name(liner))}</p><strong>cut {words.millimetres(liner.cut)}</strong>"
            yield f'<p class="quiet">{_said(words.liner_place(liner))}</p>'
        if not line.inners and not line.liners:
            yield "<p>none</p>"
        yield "</div>"
    if fitted is not None:
        yield "<h3>After the dry fit</h3><ul>"
        yield from (f"<li>{_name(one.line)}: {_said(dryfitwords.inner(one))}</li>" for one in fitted.inners)
        yield "</ul>"


def _parts(job: JobPlan) -> Iterator[str]:
    yield '<h2>Parts to pick</h2><ul class="parts">'
    yield from (f"<li><b>{part.count} ×</b><span>{_said(part.item)}</span></li>" for part in job.parts)
    yield "</ul>"


def _order(job: JobPlan) -> Iterator[str]:
    yield "<h2>Order of work</h2>"
    for line in job.lines:
        steps = "".join(f"<li>{_said(step)}</li>" for step in line.order)
        yield f'<div class="item"><h3>{_name(line.name)}</h3><ol>{steps}</ol></div>'


def _last(job: JobPlan) -> Iterator[str]:
    yield _cautions(job)
    yield f'<p class="quiet">{_name(job.bike)} · Ropewalk {__version__}</p>'


def _cautions(job: JobPlan) -> str:
    entries = "".join(f"<li>{_said(caution)}</li>" for caution in job.cautions)
    return f'<aside class="cautions"><h2>Before you trust it</h2><ul>{entries}</ul></aside>'
