"""Choosing the bike: one of the fleet, or the visitor's own frame file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import streamlit
from streamlit.delta_generator import DeltaGenerator

from ropewalk.bike.fleet import fleet
from ropewalk.bike.wording import one_line, shortened_path
from ropewalk.errors import RopewalkError
from ropewalk.page.markup import complain
from ropewalk.page.plans import planned
from ropewalk.workshop.jobplan import JobPlan

#: largest upload [MB]; a frame file may be smaller still
MOST_MEGABYTES = 2
# Names under which a visitor's session keeps what is theirs.
_PICKED, _OWN, _SEEN, _COMPLAINT = "bike", "own bike", "upload seen", "complaint"
_OWN_KEY = "own"


@dataclass(frozen=True, slots=True)
class Source:
    """A frame file to plan from: what the picker shows, what to call it, what it holds."""

    title: str
    file_name: str
    contents: bytes


def choose() -> tuple[Source, JobPlan] | None:
    """Show the picker and the upload; return the bike that is chosen with its plan, or None when it has none.

    A frame file that cannot be used is told in one line, and the bike stays the one it was.
    """
    left, right = streamlit.columns([1, 1], vertical_alignment="top")
    place = streamlit.container()
    with right:
        _take_upload(place)
    sources = _sources()
    with left:
        picked = streamlit.selectbox(
            "Bike",
            list(sources),
            format_func=lambda key: sources[key].title,
            key=_PICKED,
            filter_mode=None,
            on_change=_forget_complaint,
        )
    source = sources[picked]
    complaint = streamlit.session_state.get(_COMPLAINT)
    with place:
        if complaint:
            complain(complaint)
    try:
        return source, _planned(source, place)
    except RopewalkError as error:
        with place:
            complain(str(error))
        return None


def _sources() -> Mapping[str, Source]:
    """Return what there is to choose from: the fleet and, when there is one, the visitor's own."""
    found = {f"fleet {bike.name}": Source(bike.title, bike.path.name, bike.path.read_bytes()) for bike in fleet()}
    own = streamlit.session_state.get(_OWN)
    return found if own is None else {**found, _OWN_KEY: own}


def _take_upload(place: DeltaGenerator) -> None:
    """Take a new upload over when a plan can be made from it; keep what is wrong with it otherwise."""
    state = streamlit.session_state
    with streamlit.expander("Use a frame file of your own"):
        given = streamlit.file_uploader(
            f"Frame file, {MOST_MEGABYTES} MB at most: save one of the fleet below, edit it, bring it here",
            type="toml",
            max_upload_size=MOST_MEGABYTES,
            key="upload",
        )
    if given is None:
        if state.pop(_SEEN, None) is not None:
            _forget_complaint()
        return
    if state.get(_SEEN) == given.file_id:
        return
    _forget_complaint()
    source = Source("", given.name, given.getvalue())
    try:
        job = _planned(source, place)
    except RopewalkError as error:
        state[_COMPLAINT] = f"{error}. The bike stays as it was."
    else:
        title = one_line(f"{job.bike} ({shortened_path(given.name, 40)})")
        state[_OWN] = Source(title, source.file_name, source.contents)
        state[_PICKED] = _OWN_KEY
    state[_SEEN] = given.file_id


def _planned(source: Source, place: DeltaGenerator) -> JobPlan:
    """Return the plan of a frame file, with a bar while it is made."""
    bar = place.empty()

    def show(doing: str, share: float) -> None:
        bar.progress(share, text=f"Planning: {doing}")

    try:
        return planned(source.contents, source.file_name, show)
    finally:
        bar.empty()


def _forget_complaint() -> None:
    streamlit.session_state.pop(_COMPLAINT, None)
