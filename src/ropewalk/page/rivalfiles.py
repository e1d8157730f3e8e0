"""Who takes part in a comparison on the page: options of the visitor's line, and other frame files of the bike."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence

import streamlit

from ropewalk.bike.framefile import Frame
from ropewalk.bike.options import named_line, option_names
from ropewalk.bike.reading import loads
from ropewalk.bike.wording import shortened
from ropewalk.errors import RopewalkError
from ropewalk.page import bikes, links
from ropewalk.page.bikes import Source, of_fleet
from ropewalk.page.choosing import from_link
from ropewalk.page.keeping import keep, kept
from ropewalk.page.markup import complain
from ropewalk.page.uploads import MOST_MEGABYTES, brought
from ropewalk.workshop.entrants import called, contests_of_files, rivals
from ropewalk.workshop.jobplan import JobPlan

#: most frame files a visitor may bring to compare with
MOST_FILES = 4
#: what the page's widgets are called
PAGE = "compare"
_FILES, _COMPLAINT = "compare files", "compare complaint"
#: how a frame file is called among routings to choose from
_FILE = "file "


@streamlit.cache_resource(max_entries=32, show_spinner=False)
def frame_of(contents: bytes, file_name: str) -> Frame:
    """Return what a frame file holds; where it cannot be read the error is one line that begins with its name."""
    return loads(contents, file_name)


def take_linked_files(source: Source, own: tuple[str, Frame]) -> None:
    """Take over the frame files to compare with that the visitor's link gives, once a visit."""
    packed = from_link(source, "against", PAGE)
    if packed is None:
        return
    try:
        files = [Source(name, name, contents) for name, contents in links.unpack_files(packed, MOST_FILES + 1)]
        for one in files:
            contests_of_files([own, (called(one.file_name), frame_of(one.contents, one.file_name))])
    except RopewalkError as error:
        links.refuse("against", str(error))
    else:
        keep(_FILES, files)


def files_of(source: Source, own: tuple[str, Frame], line: str) -> dict[str, tuple[str, Frame]]:
    """Return the frame files whose line of that name can be compared with the visitor's, by how they are chosen."""
    offered = [(called(one.file_name), frame_of(one.contents, one.file_name)) for one in _offered(source)]
    return {f"{_FILE}{name}": (name, frame) for name, frame in rivals(own[1], line, offered)}


def _offered(source: Source) -> list[Source]:
    """Return the frame files there are besides the visitor's, one of each name: two could not be told apart."""
    found = {called(source.file_name): source}
    for other in (*bikes.others(source), *(kept(_FILES) or ())):
        found.setdefault(called(other.file_name), other)
    return [one for one in found.values() if one is not source]


def note_files(source: Source, files: Mapping[str, tuple[str, Frame]]) -> None:
    """Have the page's link give those of the files to compare with that are the visitor's own."""
    chosen = [one for one in _offered(source) if f"{_FILE}{called(one.file_name)}" in files and not of_fleet(one)]
    packed = links.pack_files([(one.file_name, one.contents) for one in chosen])
    links.note("against", packed if chosen else None)


def first_line(source: Source, own: tuple[str, Frame]) -> str:
    """Return the first line there is something to compare of, else the first."""
    for line in own[1].line:
        files = files_of(source, own, line.name).values()
        if line.option or any(named_line(frame, line.name) != line for _, frame in files):
            return line.name
    return own[1].line[0].name


def chosen_routings(
    source: Source, job: JobPlan, frame: Frame, line: str, files: Mapping[str, tuple[str, Frame]]
) -> list[str]:
    """Show the routings there are, and return those to compare: options by name, files as `files_of` has them."""
    options = option_names(named_line(frame, line))
    known = {
        **{key: _told(held, f"{shortened(name, 30)}.toml") for key, (name, held) in files.items()},
        **{name: name if len(options) > 1 else _told(frame, "this file") for name in options},
    }
    ordered = [*options, *(key for key in files if key not in options)]
    if len(ordered) < 2:
        return ordered
    held = f"compare routings: {job.bike}, {line}"
    _take_linked(source, held, ordered)
    usual = list(options) if len(options) > 1 else ordered
    now = kept(held)
    key = "compare routings"
    streamlit.session_state[key] = usual if now is None else [name for name in ordered if name in now]

    def take() -> None:
        keep(held, list(streamlit.session_state[key]))

    streamlit.multiselect(
        "Routings to compare", ordered, format_func=known.__getitem__, key=key, on_change=take, filter_mode=None
    )
    chosen = [name for name in ordered if name in streamlit.session_state[key]]
    links.note("routings", None if chosen == usual else json.dumps(chosen, ensure_ascii=False))
    return chosen


def _told(frame: Frame, where: str) -> str:
    """Return what tells a frame file's routing from others of the bike, and where it is from."""
    return f"{shortened(frame.name.partition(',')[2].strip() or frame.name, 50)} ({where})"


def _take_linked(source: Source, held: str, known: Sequence[str]) -> None:
    given = from_link(source, "routings", PAGE)
    if given is None:
        return
    try:
        names = json.loads(given)
    except (ValueError, RecursionError):
        names = None
    if isinstance(names, list) and all(name in known for name in names):
        keep(held, names)
    else:
        links.refuse("routings", "not all of these are there to compare; choose below")


def take_upload(own: tuple[str, Frame], line: str) -> None:
    """Take a further frame file to compare with, or tell in one line why it cannot be."""
    label = f"Frame file, {MOST_MEGABYTES} MB at most, with the same bike's name before the comma"
    upload = brought("Compare with another frame file of this bike", label, "compare upload", _COMPLAINT)
    if upload is not None:
        try:
            _take(own, line, Source(upload.name, upload.name, upload.getvalue()))
        except RopewalkError as error:
            keep(_COMPLAINT, f"{error}. The comparison stays as it was.")
        else:
            streamlit.rerun()
    if kept(_COMPLAINT):
        complain(kept(_COMPLAINT))


def _take(own: tuple[str, Frame], line: str, brought: Source) -> None:
    name, frame = called(brought.file_name), frame_of(brought.contents, brought.file_name)
    contests_of_files([own, (name, frame)], line)
    files = [held for held in kept(_FILES) or () if called(held.file_name) != name]
    keep(_FILES, [*files, brought][-MOST_FILES:])
    held = f"compare routings: {own[1].name}, {line}"
    if kept(held) is not None:
        keep(held, [*kept(held), f"{_FILE}{name}"])
