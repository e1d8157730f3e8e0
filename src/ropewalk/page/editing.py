"""Changing the bike in place: chart, cockpit, tubes, travel, levers, lines and stations, or the file as text."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path as FilePath
from typing import Any

import streamlit

from ropewalk.bike.complete import belongs
from ropewalk.bike.editing import as_text
from ropewalk.bike.entryediting import moved, without_entry
from ropewalk.bike.faults import Path
from ropewalk.bike.fields import Field, fields_of
from ropewalk.bike.model import Bike
from ropewalk.bike.station import Station
from ropewalk.bike.stationediting import with_new_copy, with_new_station
from ropewalk.bike.wording import shortened
from ropewalk.errors import FrameFileError
from ropewalk.page import levers
from ropewalk.page.bikes import Source
from ropewalk.page.downloads import file_stem
from ropewalk.page.drafts import Draft, back, change, draft_of, lengths_of, take_over, undo
from ropewalk.page.fieldforms import concerns, show_fields
from ropewalk.page.keeping import keep, kept
from ropewalk.page.markup import complain, mark, put, tag
from ropewalk.workshop.jobplan import JobPlan

_STYLE = FilePath(__file__).with_suffix(".css")
_USE = "Measure on the bike and write it here: the plan follows at once. A blank field is left out of the file."
_KEPT = "Not taken over yet: the lengths are still those of the last figures that could be planned."
#: what is edited together: the tables of the file, by the heading it stands under
_TABLES: Mapping[str, tuple[str, ...]] = {
    "Chart": ("name", "note", "chart"),
    "Cockpit": ("cockpit",),
    "Tubes": ("tubes",),
    "Travel": ("travel", "fold"),
    "Inside": ("obstacle", "opening"),
    "Levers": ("lever",),
    "Lines and stations": ("line",),
}
_FILE = "The file"
#: a station's fields that say where it is, and how the line goes on from it; all others stand apart
_PLACE = ("name", "type", "on", "from", "along", "clock", "height", "facing", "lean", "skew")
_ON = ("then", "through", "carries", "housing", "slides")


def show_editor(source: Source, job: JobPlan | None) -> None:
    """Show the editor of the visitor's bike.

    Parameters
    ----------
    source : Source
        The visitor's bike.
    job : JobPlan or None
        Its plan; None when its file is at fault.
    """
    streamlit.html(_STYLE)
    if take_over(source, job):
        streamlit.rerun()
    draft = draft_of(source)
    put(tag("h2", "Change the bike"), tag("p", _USE, css="rw-quiet"))
    if job is not None:
        _show_lengths(draft, job)
    try:
        fields = fields_of(draft.text)
    except FrameFileError:
        fields = ()
    status = streamlit.container()
    group = _chosen("part", "What to change", [*(_TABLES if fields else ()), _FILE], str, control=True)
    shown: Sequence[Field] = ()
    if group == _FILE:
        _show_file(source, draft)
    else:
        own = [field for field in fields if field.path[0] in _TABLES[group]]
        shown = _show_group(source, draft, own, group, None if job is None else job.model)
    with status:
        _show_status(source, draft, shown)
    _show_buttons(source, draft)


def _show_lengths(draft: Draft, job: JobPlan) -> None:
    """Show the first cuts there are now, and what they were when the file was opened."""
    if not levers.confirmed(job):
        put(tag("p", "Confirm the levers above, and the first cuts show here as you change figures.", css="rw-quiet"))
        return
    was = draft.lengths or {}
    told = []
    for name, length in lengths_of(job).items():
        before = was.get(name)
        differs = before is not None and round(before) != round(length)
        also = [tag("span", f" was {before:.0f}", css="rw-quiet")] if differs else []
        told.append(tag("li", tag("span", name, css="rw-tag"), " ", tag("b", f"{length:.0f} mm"), *also))
    put(
        tag("p", "First cuts with these figures", css="rw-quiet"),
        tag("ul", *told, css="rw-lengths", attributes='role="list"'),
    )


def _show_status(source: Source, draft: Draft, shown: Sequence[Field]) -> None:
    """Tell that a change waits, and what is wrong that no field shown below tells."""
    if not draft.faults:
        return
    if draft.text != as_text(source.contents):
        put(tag("p", mark("look", "waits"), " ", _KEPT, css="rw-waits", attributes='role="status"'))
    for number, fault in enumerate(draft.faults):
        if not any(concerns(fault, field) for field in shown):
            complain(fault.message)
            if _group_of(fault.path) is not None:
                streamlit.button("Go to it", key=f"edit go {number}", on_click=_go, args=(fault.path,))


def _group_of(path: Path | None) -> str | None:
    return next((group for group, tables in _TABLES.items() if path and path[0] in tables), None)


def _go(path: Path) -> None:
    """Show the part of the file that a path leads to."""
    keep("edit part", _group_of(path))
    if path[0] == "tubes" and len(path) > 1:
        keep("edit tube", path[1])
    at = path[:4] if path[2:3] == ("option",) else path[:2]
    if path[0] == "line":
        keep("edit line", at)
        if path[len(at) : len(at) + 1] == ("station",) and len(path) > len(at) + 1:
            keep("edit station", path[len(at) + 1])
    elif len(path) > 1 and isinstance(path[1], int):
        keep(f"edit {path[0]}", path[1])


def _show_group(
    source: Source, draft: Draft, fields: Sequence[Field], group: str, bike: Bike | None
) -> Sequence[Field]:
    """Show the fields of one part of the file, or those of one entry of it, and return them."""
    single = [field for field in fields if not any(isinstance(step, int) for step in field.path)]
    if group == "Lines and stations":
        return _show_lines(source, draft, fields, bike)
    if group == "Tubes":
        return _show_tube(source, draft, single)
    shown = [*show_fields(source, single, draft.faults)]
    for key in _TABLES[group]:
        if _entries(fields, (key,)):
            shown += _show_entries(source, draft, fields, (key,), bike)
    if not shown:
        put(tag("p", "The file holds none of these: add one as text, under The file.", css="rw-quiet"))
    return shown


def _show_tube(source: Source, draft: Draft, fields: Sequence[Field]) -> Sequence[Field]:
    built = {field.path[1] for field in fields if field.value is not None}

    def named(tube: str) -> str:
        return tube.replace("_", " ") + ("" if tube in built else " (not in the file)")

    tube = _chosen("tube", "Tube", list(dict.fromkeys(str(field.path[1]) for field in fields)), named)
    return show_fields(source, [field for field in fields if field.path[1] == tube], draft.faults)


def _show_entries(
    source: Source, draft: Draft, fields: Sequence[Field], path: Path, bike: Bike | None
) -> Sequence[Field]:
    """Show one entry of a list of levers, folds and the like, and the buttons that copy and remove it."""
    named = _entries(fields, path)
    word = str(path[-1])
    place = _chosen(word, word.capitalize(), list(named), lambda place: named[place])
    own = (*path, place)
    shown = show_fields(source, _within(fields, own), draft.faults, lambda field: _suggested(field, fields, bike))
    with streamlit.container(horizontal=True, key=f"buttons-{word}"):
        if word != "fold":
            _button(source, f"Add a {word} like this", f"copy {word}", lambda text: with_new_copy(text, own))
        if len(named) > 1 or word not in _TABLES["Levers"]:
            _button(source, f"Remove this {word}", f"remove {word}", lambda text: without_entry(text, own))
    return shown


def _show_lines(source: Source, draft: Draft, fields: Sequence[Field], bike: Bike | None) -> Sequence[Field]:
    """Show one line, or one of its options, and one station of it."""
    routings = _routings(fields)
    place = _chosen("line", "Line", list(routings), lambda path: routings[path])
    own = [field for field in _within(fields, place) if len(field.path) == len(place) + 1]
    faulty = any(concerns(fault, field) for fault in draft.faults for field in own)
    with streamlit.expander("The line itself: lever, inner, housing", expanded=faulty):
        show_fields(source, own, draft.faults)
        if len(place) == 2:
            with streamlit.container(horizontal=True, key="buttons-line"):
                _button(source, "Add a line like this", "copy line", lambda text: with_new_copy(text, place))
                if sum(len(path) == 2 for path in routings) > 1:
                    _button(source, "Remove this line", "remove line", lambda text: without_entry(text, place))
    stations = (*place, "station")
    named = _entries(fields, stations)
    if not named:
        put(tag("p", "This option has the line's own stations.", css="rw-quiet"))
        return own
    number = _chosen("station", "Station, from the lever on", list(named), lambda at: f"{at + 1}. {named[at]}")
    return [*own, *_show_station(source, draft, fields, (*stations, number), bike)]


def _show_station(
    source: Source, draft: Draft, fields: Sequence[Field], path: Path, bike: Bike | None
) -> Sequence[Field]:
    own = {str(field.path[-1]): field for field in _within(fields, path)}
    others = [key for key in own if key not in (*_PLACE, *_ON)]

    def show(keys: Sequence[str]) -> None:
        shown = [own[key] for key in keys if own[key].value is not None or _belongs(key, own)]
        show_fields(source, shown, draft.faults, lambda field: _suggested(field, fields, bike))

    show(_PLACE)
    put(tag("h3", "How the line goes on from here"))
    show(_ON)
    used = any(own[key].value is not None for key in others)
    faulty = any(concerns(fault, own[key]) for fault in draft.faults for key in others)
    with streamlit.expander("Part, direction, bends, inline parts", expanded=used or faulty):
        show(others)
    number = int(path[-1])
    with streamlit.container(horizontal=True, key="buttons-station"):
        _button(source, "Add a station", "add station", lambda text: with_new_station(text, path), to=number + 1)
        _button(source, "Move up", "move up", lambda text: moved(text, path, -1), to=number - 1)
        _button(source, "Move down", "move down", lambda text: moved(text, path, 1), to=number + 1)
        _button(source, "Remove this station", "remove station", lambda text: without_entry(text, path))
    return list(own.values())


def _belongs(key: str, own: Mapping[str, Field]) -> bool:
    """Return whether a station's field means something on it, as far as the file tells what station it is."""
    names = {spec.alias or name: name for name, spec in Station.model_fields.items()}
    kind, then = own["type"].value, own["then"].value
    return not isinstance(kind, str) or belongs(names[key], kind, then if isinstance(then, str) else None)


def _within(fields: Sequence[Field], path: Path) -> list[Field]:
    return [field for field in fields if field.path[: len(path)] == path]


def _show_file(source: Source, draft: Draft) -> None:
    key = "edit file"
    streamlit.session_state[key] = draft.text

    def take() -> None:
        typed = str(streamlit.session_state[key])
        change(source, lambda _: typed)

    streamlit.text_area("The frame file itself, in TOML", key=key, height=560, on_change=take)
    put(tag("p", "Tap outside the text when you have done: it is taken over then.", css="rw-quiet"))


def _show_buttons(source: Source, draft: Draft) -> None:
    stem = file_stem(shortened(source.file_name.removesuffix(".toml"), 60))
    with streamlit.container(horizontal=True, key="edit-buttons"):
        _do("Undo the last change", "undo", undo, source, off=not draft.before)
        _do("Back to the file as it was", "back", back, source, off=draft.text == draft.opened)
        streamlit.download_button(
            "Save the frame file",
            draft.text.encode(),
            f"{stem}.toml",
            "application/toml",
            on_click="ignore",
            key="save",
        )


def _do(label: str, key: str, act: Callable[[Source], None], source: Source, *, off: bool) -> None:
    streamlit.button(label, key=f"edit {key}", on_click=act, args=(source,), disabled=off)


def _button(source: Source, label: str, key: str, edit: Callable[[str], str], to: int | None = None) -> None:
    """Show a button that changes the text; to: which station is shown afterwards."""

    def act() -> None:
        change(source, edit)
        if to is not None:
            keep("edit station", max(to, 0))

    streamlit.button(label, key=f"edit {key}", on_click=act)


def _chosen(name: str, label: str, options: Sequence[Any], show: Callable[[Any], str], *, control: bool = False) -> Any:
    """Return which of several is being edited; what was chosen last stays chosen as long as it is there.

    control: all of them are in view, as buttons.
    """
    key, held = f"editing {name}", f"edit {name}"
    last = kept(held)
    # A place beyond the end of a list that has become shorter is its last one.
    beyond = isinstance(last, int) and last >= len(options)
    streamlit.session_state[key] = last if last in options else options[-1] if beyond else options[0]

    def take() -> None:
        keep(held, streamlit.session_state[key])

    if control:
        return streamlit.segmented_control(
            label, options, format_func=show, key=key, on_change=take, required=True, width="stretch", wrap=True
        )
    return streamlit.selectbox(label, options, format_func=show, key=key, on_change=take, filter_mode=None)


def _entries(fields: Sequence[Field], path: Path) -> dict[int, str]:
    """Return the names of a list's entries by their places."""
    found: dict[int, str] = {}
    for field in fields:
        place = field.path[len(path)] if field.path[: len(path)] == path and len(field.path) > len(path) else None
        if isinstance(place, int):
            found.setdefault(place, f"{path[-1]} {place + 1}")
            if field.path[len(path) + 1 :] == ("name",) and isinstance(field.value, str) and field.value.strip():
                found[place] = shortened(field.value, 60)
    return found


def _routings(fields: Sequence[Field]) -> dict[Path, str]:
    """Return the names of the lines and their options by their paths."""
    found: dict[Path, str] = {}
    for place, line in _entries(fields, ("line",)).items():
        found["line", place] = line
        for number, option in _entries(fields, ("line", place, "option")).items():
            found["line", place, "option", number] = f"{line}, option {option}"
    return found


def _suggested(field: Field, fields: Sequence[Field], bike: Bike | None) -> list[str]:
    """Return the places a station or lever can be told to be on, as far as the bike can be built."""
    key = field.path[-1]
    if bike is None or key not in ("on", "from", "facing", "inside"):
        return []
    bar = ["bar", *(["extension"] if bike.extensions is not None else [])]
    if key == "inside" or (key == "on" and field.path[0] == "fold"):
        return list(bike.tubes)
    if key == "on" and field.path[0] == "lever":
        return [*bar, *(name for name, tube in bike.tubes.items() if "head tube" in tube.joins)]
    if key == "on":
        return list(dict.fromkeys([*bar, *bike.tubes, *bike.mounts]))
    beside = (other.value for other in fields if other.path == (*field.path[:-1], "on"))
    on = next(beside, None) or next((o.value for o in fields if o.path == (*field.path[:-1], "inside")), None)
    if on in bar:
        return [f"{on} end", "stem"]
    tube = bike.tubes.get(str(on))
    if tube is None:
        return []
    return list(tube.joins) if key == "from" else list(dict.fromkeys([tube.start_name, tube.end_name, *tube.joins]))
