"""The dry fit: how long each piece was cut and how it fits; new targets, what to trim, what to make again."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping

import streamlit

from ropewalk.bike.fitfile import LONGEST, SHORTEST, DryFit, Fit, fit_text, written_fit
from ropewalk.errors import DryFitError, RopewalkError
from ropewalk.page import links, notices
from ropewalk.page.bikes import Source
from ropewalk.page.downloads import file_stem
from ropewalk.page.keeping import keep, kept
from ropewalk.page.markup import Markup, complain, mark, put, tag
from ropewalk.page.uploads import brought
from ropewalk.workshop import dryfitwords, words
from ropewalk.workshop.cuttingorder import CUT_SO, told_order
from ropewalk.workshop.dryfit import fit_dry, offered_fits
from ropewalk.workshop.fitted import FittedJob, FittedPiece
from ropewalk.workshop.fittedinners import CHOSEN_BEFORE
from ropewalk.workshop.jobplan import JobPlan, LinePlan, PiecePlan

#: most results that are kept for all visitors, by frame file and what was found
MOST_RESULTS = 64
#: what the dry fit is called in messages, and in the page's link
_WHERE, _LINK = "dry fit", "fitted"
_USE = (
    "Fit everything dry, every end home in its seat, and turn the bars to both locks. Write how long each piece was "
    "cut, without ferrules, and how it fits."
)
_ELSEWHERE: Fit = "tight"

#: what was written of each piece: its length, and how it fits
Written = Mapping[str, tuple[float, Fit | None]]


def show_dry_fit(source: Source, job: JobPlan) -> None:
    """Show the page.

    Parameters
    ----------
    source : Source
        The frame file.
    job : JobPlan
        The plan of it.
    """
    bike = hashlib.sha256(source.contents).hexdigest()
    _arrive(bike, job)
    put(tag("h2", "Cutting order"), _cutting_order(job))
    put(tag("h2", "What was found"), tag("p", _USE, css="rw-quiet"))
    status = streamlit.container()
    _take_upload(bike, job)
    text = _as_file(bike, job)
    fitted = None
    try:
        fitted = _fitted(bike, text, job)
    except DryFitError as error:
        with status:
            complain(f"{error}. Until then nothing follows from it.")
    complaint = kept(_complaint(bike))
    if complaint:
        with status:
            complain(complaint)
    for line in job.lines:
        put(tag("h3", words.line_heading(line)))
        for piece in line.pieces:
            _show_piece(bike, job, line, piece, fitted)
    links.note(_LINK, links.pack(text.encode()) if _written(bike) else None)
    if fitted is not None:
        _show_rest(job, fitted)
    _offer(job, text, bike)
    put(notices.cautions(job))


def _show_piece(bike: str, job: JobPlan, line: LinePlan, piece: PiecePlan, fitted: FittedJob | None) -> None:
    cut = tag("span", f"first cut {words.first_cut(piece)}", css="rw-quiet")
    head = (tag("span", piece.tag, css="rw-tag"), tag("span", words.way(piece.start, piece.end)), cut)
    with streamlit.container(border=True, key=f"piece-{piece.tag}"):
        put(tag("p", *head, css="rw-fit-head"))
        if piece.first_cut is None:
            put(tag("p", mark("stop", "no cut"), "its findings must be settled first"))
            return
        as_cut, fit = _written(bike).get(piece.tag, (piece.first_cut, None))
        cut_key, fit_key = _keys(bike, piece.tag)
        # Kept apart from the widgets: these forget when another page is shown.
        streamlit.session_state[cut_key], streamlit.session_state[fit_key] = as_cut, fit
        left, right = streamlit.columns([1, 3], vertical_alignment="top")
        with left:
            streamlit.number_input(
                f"{piece.tag} as cut [mm]",
                float(SHORTEST),
                float(LONGEST),
                step=1.0,
                format="%g",
                key=cut_key,
                on_change=_note,
                args=(bike, piece),
            )
        with right:
            offered = offered_fits(job, piece.tag)
            streamlit.pills(
                f"{piece.tag} fits",
                offered,
                format_func=lambda one: "tight elsewhere" if one == _ELSEWHERE and len(offered) > 4 else one,
                key=fit_key,
                on_change=_note,
                args=(bike, piece),
            )
        result = None if fitted is None else fitted.piece(piece.tag)
        if result is not None:
            put(_result(result))


def _result(piece: FittedPiece) -> Markup:
    told = dryfitwords.result(piece)
    said = mark("stop", told) if piece.do == "make again" else tag("b", told)
    target = (
        tag("span", f"target {piece.target:g} mm", css="rw-quiet")
        if piece.do != "trim" and (piece.do != "cut" or piece.reasons)
        else ""
    )
    reasons = tag("ul", *(tag("li", reason) for reason in piece.reasons)) if piece.reasons else ""
    big = tag("p", said, " ", target, css="rw-fit-result")
    return tag("div", big, reasons, css=f"rw-fit rw-fit-{piece.do.replace(' ', '-')}", attributes='role="status"')


def _show_rest(job: JobPlan, fitted: FittedJob) -> None:
    """Show the inners and the findings of the dry fit."""
    if fitted.findings:
        put(tag("h2", "Findings of the dry fit"), notices.graded(fitted.findings))
    if fitted.inners:
        entries = (tag("li", tag("b", f"{inner.line}: "), dryfitwords.inner(inner)) for inner in fitted.inners)
        put(tag("h2", "Inners"), tag("p", CHOSEN_BEFORE, css="rw-quiet"), tag("ul", *entries, css="rw-list"))


def _cutting_order(job: JobPlan) -> Markup:
    entries = [tag("li", tag("b", f"{kind}: "), pieces) for kind, pieces in told_order(job)]
    return tag("div", tag("p", CUT_SO, css="rw-quiet"), tag("ul", *entries, css="rw-list"))


def _offer(job: JobPlan, text: str, bike: str) -> None:
    told = ("For the command line: ", tag("code", "ropewalk cut"), " with ", tag("code", "--fitted"), " and this file.")
    put(tag("h2", "Take it along"), tag("p", *told, css="rw-fit-told"))
    with streamlit.container(horizontal=True, key="downloads"):
        name = f"{file_stem(job.bike)}-dry-fit.toml"
        streamlit.download_button("Dry-fit file", text.encode(), name, "application/toml", on_click="ignore")
        streamlit.button("Forget what was found", on_click=_forget, args=(bike,), disabled=not _written(bike))


# What was written, kept for this visitor and this bike.


def _complaint(bike: str) -> str:
    return f"dry fit complaint {bike}"


def _keys(bike: str, piece: str) -> tuple[str, str]:
    return f"as cut {piece} {bike}", f"fit {piece} {bike}"


def _written(bike: str) -> Written:
    written: Written = kept(f"dry fit {bike}", {})
    return written


def _note(bike: str, piece: PiecePlan) -> None:
    cut_key, fit_key = _keys(bike, piece.tag)
    as_cut, fit = float(streamlit.session_state[cut_key]), streamlit.session_state[fit_key]
    written = {one: value for one, value in _written(bike).items() if one != piece.tag}
    if fit is not None or as_cut != piece.first_cut:
        written[piece.tag] = (as_cut, fit)
    keep(f"dry fit {bike}", written)
    keep(_complaint(bike), None)


def _forget(bike: str) -> None:
    keep(f"dry fit {bike}", None)
    keep(_complaint(bike), None)


def _as_file(bike: str, job: JobPlan) -> str:
    """Return what was written as a dry-fit file, in the order of the cut list; a length alone is one not tried."""
    written = _written(bike)
    pieces = [piece for line in job.lines for piece in line.pieces if piece.tag in written]
    rows = [(piece.tag, *written[piece.tag], words.way(piece.start, piece.end)) for piece in pieces]
    return written_fit(job.bike, [(name, as_cut, fit or "not tried", way) for name, as_cut, fit, way in rows])


# A result follows from the frame file, known by its mark, and what was found alone.
@streamlit.cache_data(max_entries=MOST_RESULTS, show_spinner=False)
def _fitted(bike: str, text: str, _job: JobPlan) -> FittedJob:
    return fit_dry(_job, fit_text(text, _WHERE), _WHERE)


def _take(bike: str, job: JobPlan, contents: bytes, where: str) -> None:
    """Take over a dry-fit file that goes with the bike, or raise what is wrong with it."""
    found: DryFit = fit_text(contents, where)
    fit_dry(job, found, where)
    keep(f"dry fit {bike}", {piece.tag: (float(piece.as_cut), piece.fit) for piece in found.piece})
    keep(_complaint(bike), None)


def _arrive(bike: str, job: JobPlan) -> None:
    """Take over what the visitor's link gives, once a visit."""
    packed = links.given(_LINK)
    if packed is None or kept("dry fit arrived"):
        return
    keep("dry fit arrived", True)
    try:
        _take(bike, job, links.unpack(packed), "the dry fit in this link")
    except RopewalkError as error:
        keep(_complaint(bike), f"{error}. Nothing was taken from it.")


def _take_upload(bike: str, job: JobPlan) -> None:
    upload = brought("Load a dry-fit file", "Dry-fit file", f"dry fit upload {bike}", _complaint(bike))
    if upload is not None:
        try:
            _take(bike, job, upload.getvalue(), upload.name)
        except RopewalkError as error:
            keep(_complaint(bike), f"{error}. What was found stays as it was.")
