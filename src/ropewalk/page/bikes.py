"""The visitor's bike: one of the fleet, or a frame file of their own, whichever page is shown."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import streamlit

from ropewalk.bike.fleet import fleet
from ropewalk.bike.reading import loads
from ropewalk.bike.wording import one_line, shortened, shortened_path
from ropewalk.errors import RopewalkError
from ropewalk.page import links
from ropewalk.page.keeping import keep, kept
from ropewalk.page.markup import complain
from ropewalk.page.plans import planned
from ropewalk.page.uploads import MOST_MEGABYTES, brought
from ropewalk.workshop.jobplan import JobPlan

#: what a frame file is called that came without a name
UNNAMED = "bike.toml"
# Names under which what is the visitor's is kept.
_PICKED, _OWN, _COMPLAINT, _ARRIVED = "bike", "own bike", "complaint", "arrived"
_PLANNED = "planned last"
_WIDGET, _OWN_KEY = "bike", "own"


@dataclass(frozen=True, slots=True)
class Source:
    """A frame file to plan from: what the picker shows, what to call it, what it holds."""

    title: str
    file_name: str
    contents: bytes


def arrive() -> None:
    """Take over the bike that the visitor's link gives, once a visit."""
    if kept(_ARRIVED):
        return
    keep(_ARRIVED, True)
    name, packed = links.given("bike"), links.given("frame")
    if packed is not None:
        _take_link(packed, links.given("file") or UNNAMED)
    elif name is not None and f"fleet {name}" in _fleet():
        keep(_PICKED, f"fleet {name}")
    elif name is not None:
        links.refuse("bike", "there is no such bike in the fleet; pick one below")


def current() -> Source:
    """Return the visitor's bike."""
    sources = _sources()
    return sources.get(kept(_PICKED)) or next(iter(sources.values()))


def others(source: Source) -> list[Source]:
    """Return the bikes there are to choose from besides one of them."""
    return [one for one in _sources().values() if one is not source]


def of_fleet(source: Source) -> bool:
    """Return whether a bike is one of the fleet's, and not a visitor's own."""
    return source in _fleet().values()


def take_text(text: str, source: Source) -> None:
    """Make a frame file's text the visitor's bike, in the place of the one they have.

    Parameters
    ----------
    text : str
        A frame file that can be read.
    source : Source
        The one it came from, for its file's name.

    Raises
    ------
    FrameFileError
        When it cannot be read; the bike stays as it was.
    """
    frame = loads(text, source.file_name)
    _own(Source(_title(frame.name, source.file_name), source.file_name, text.encode()))


def in_link(source: Source) -> dict[str, str]:
    """Return what a link has to give to show a bike again."""
    if kept(_PICKED) == _OWN_KEY and kept(_OWN) is source:
        return {"frame": links.pack(source.contents), "file": shortened(source.file_name, 60)}
    return {"bike": source.file_name.removesuffix(".toml")}


def show_picker() -> None:
    """Show the picker and the upload.

    A frame file that cannot be used is told in one line, and the bike stays the one it was.
    """
    place = streamlit.container()
    left, right = streamlit.columns([1, 1], vertical_alignment="top")
    with right:
        _take_upload()
    sources = _sources()
    # Kept apart from the widget: that forgets when another page is shown.
    streamlit.session_state[_WIDGET] = kept(_PICKED) if kept(_PICKED) in sources else next(iter(sources))
    with left:
        streamlit.selectbox(
            "Bike",
            list(sources),
            format_func=lambda key: sources[key].title,
            key=_WIDGET,
            filter_mode=None,
            on_change=_pick,
        )
    with place:
        tell_complaint()


def plan_first() -> None:
    """Plan the bike that a visitor without a link meets, so that it is there when they come."""
    source = next(iter(_fleet().values()))
    planned(source.contents, source.file_name, lambda doing, share: None)


def tell_complaint() -> None:
    """Tell what was wrong with a frame file that was brought or linked, until another bike is chosen."""
    complaint = kept(_COMPLAINT)
    if complaint:
        complain(complaint)


def planned_with_bar(source: Source) -> JobPlan:
    """Return the plan of a frame file, with a bar while it is made.

    Raises
    ------
    RopewalkError
        When it has none; the text is one line.
    """
    bar = streamlit.empty()

    def show(doing: str, share: float) -> None:
        bar.progress(share, text=f"Planning: {doing}")

    try:
        job = planned(source.contents, source.file_name, show, kept(_PLANNED))
    finally:
        bar.empty()
    keep(_PLANNED, source.contents)
    return job


@cache
def _fleet() -> Mapping[str, Source]:
    """Return the fleet's bikes; their files do not change while the page is served."""
    return {f"fleet {bike.name}": Source(bike.title, bike.path.name, bike.path.read_bytes()) for bike in fleet()}


def _sources() -> Mapping[str, Source]:
    """Return what there is to choose from: the fleet and, when there is one, the visitor's own."""
    own = kept(_OWN)
    return _fleet() if own is None else {**_fleet(), _OWN_KEY: own}


def _pick() -> None:
    keep(_PICKED, streamlit.session_state[_WIDGET])
    keep(_COMPLAINT, None)


def _own(source: Source) -> None:
    keep(_OWN, source)
    keep(_PICKED, _OWN_KEY)
    keep(_COMPLAINT, None)


def _title(name: str, file_name: str) -> str:
    return one_line(f"{name} ({shortened_path(file_name, 40)})")


def _take_upload() -> None:
    """Take a new upload over when a plan can be made from it; keep what is wrong with it otherwise."""
    label = f"Frame file, {MOST_MEGABYTES} MB at most: save one of the fleet, edit it, bring it here"
    upload = brought("Use a frame file of your own", label, "upload", _COMPLAINT)
    if upload is not None:
        _take(Source("", upload.name, upload.getvalue()))


def _take(source: Source) -> None:
    try:
        job = planned_with_bar(source)
    except RopewalkError as error:
        keep(_COMPLAINT, f"{error}. The bike stays as it was.")
    else:
        _own(Source(_title(job.bike, source.file_name), source.file_name, source.contents))


def _take_link(packed: str, file_name: str) -> None:
    try:
        _take(Source("", file_name, links.unpack(packed)))
    except RopewalkError as error:
        keep(_COMPLAINT, f"{error}. Here is a bike of the fleet instead.")
