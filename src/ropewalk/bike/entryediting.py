"""Adding, removing, moving and copying entries of a frame file's lists in its text: stations, levers, lines."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import tomlkit
from tomlkit.items import AoT, Array
from tomlkit.toml_document import TOMLDocument

from ropewalk.bike.editing import with_value
from ropewalk.bike.faults import Path
from ropewalk.bike.reading import tables
from ropewalk.bike.tomledits import WHERE, cannot, checked, document_of, edited, inline_of, item_of

# A table's heading on a line of its own.
_HEADING = re.compile(r"^\s*\[\[?([^\[\]]+)\]\]?\s*(?:#.*)?$")


def with_entry(text: str, path: Path, place: int, entry: Mapping[str, Any]) -> str:
    """Return a frame file's text with a new entry in a list of stations, levers or the like.

    Parameters
    ----------
    text : str
    path : tuple of int and str
        The list, such as ``("line", 0, "station")``.
    place : int
        Where the entry comes to stand.
    entry : mapping
        Its fields.
    """

    def change(held: Any) -> None:
        _list_at(held, path).insert(place, dict(entry))

    document = document_of(text)
    listed = _at(document, path)
    if isinstance(listed, Array):
        return edited(text, path, change, lambda document: _at(document, path).insert(place, inline_of(entry)))
    block = "".join(f"{key} = {item_of(value).as_string()}\n" for key, value in entry.items())
    block = f"[[{_top_key(path)}]]\n{block}"
    spans = _blocks(text, _top_key(path))
    if place < len(spans):
        start = spans[place][0]
        new = f"{text[:start]}{block}\n{text[start:]}"
    else:
        end = spans[-1][1] if spans else len(text)
        new = f"{text[:end].rstrip()}\n\n{block}" + (f"\n{text[end:]}" if text[end:].strip() else "")
    return checked(new, text, path, change)


def without_entry(text: str, path: Path) -> str:
    """Return a frame file's text without one entry of a list, and without the comment that stands over it.

    Parameters
    ----------
    text : str
    path : tuple of int and str
        The entry, such as ``("line", 0, "station", 3)``.
    """
    *within, place = path
    at = tuple(within)

    def change(held: Any) -> None:
        del _list_at(held, at)[int(place)]

    if isinstance(_at(document_of(text), at), Array):
        return edited(text, path, change, lambda document: _at(document, at).pop(place))
    start, end = _block(text, path)
    return checked(text[:start] + text[end:], text, path, change)


def moved(text: str, path: Path, by: int) -> str:
    """Return a frame file's text with one entry of a list moved; beyond the list's ends it stays where it is.

    Parameters
    ----------
    text : str
    path : tuple of int and str
        The entry.
    by : int
        How many places: 1 for one further down.
    """
    *within, place = path
    at, first = tuple(within), int(place)
    listed = _at(document_of(text), at)
    if not isinstance(listed, (AoT, Array)):
        raise cannot(path)
    second = min(max(first + by, 0), len(listed) - 1)
    if second == first:
        return text
    low, high = sorted((first, second))
    order = list(range(len(listed)))
    order.insert(second, order.pop(first))

    def change(held: Any) -> None:
        entries = _list_at(held, at)
        entries[:] = [entries[old] for old in order]

    if isinstance(listed, Array):

        def reorder(document: TOMLDocument) -> None:
            array = _at(document, at)
            written = [array[old].as_string() for old in order]
            for at_place in range(low, high + 1):
                array[at_place] = tomlkit.value(written[at_place])

        return edited(text, path, change, reorder)
    spans = _blocks(text, _top_key(at))
    if len(spans) != len(listed):
        raise cannot(path)
    parts = [text[start:end].rstrip("\n") + "\n" for start, end in spans]
    if any(spans[one][1] != spans[one + 1][0] for one in range(low, high)):
        raise cannot(path)
    between = "\n".join(parts[old] for old in order[low : high + 1])
    tail = "\n" if text[spans[high][1] :].strip() else ""
    return checked(text[: spans[low][0]] + between + tail + text[spans[high][1] :], text, path, change)


def with_copy(text: str, path: Path, name: str) -> str:
    """Return a frame file's text with a copy of one entry of a list right after it, under a name of its own.

    Parameters
    ----------
    text : str
    path : tuple of int and str
        The entry.
    name : str
        The copy's name.
    """
    *within, place = path
    given = _list_at(tables(text, WHERE), tuple(within))[int(place)]
    if not isinstance(given, Mapping):
        raise cannot(path)
    copied = {key: value for key, value in given.items() if key != "option"} | {"name": name}
    if isinstance(_at(document_of(text), tuple(within)), Array):
        return with_entry(text, tuple(within), int(place) + 1, copied)
    start, end = _block(text, path)
    kept = text[start:end].splitlines(keepends=True)
    headings = [number for number, line in enumerate(kept) if _HEADING.match(line)]
    own = "".join(kept[headings[0] : headings[1] if len(headings) > 1 else len(kept)]).rstrip("\n") + "\n"
    # A comment that stands over what was left out goes with it.
    own = re.sub(r"\n(?:\s*#[^\n]*\n)+\Z", "\n", own)
    new = f"{text[:end].rstrip()}\n\n{own}" + (f"\n{text[end:]}" if text[end:].strip() else "")
    original = dict(copied, name=given.get("name"))

    def change(held: Any) -> None:
        _list_at(held, tuple(within)).insert(int(place) + 1, original)

    return with_value(checked(new, text, path, change), (*within, int(place) + 1, "name"), name)


def _at(document: Any, path: Path) -> Any:
    for step in path:
        try:
            document = document[step]
        except (KeyError, IndexError, TypeError):
            return None
    return document


def _list_at(held: Any, path: Path) -> list[Any]:
    """Return the list at a path of plain tables, made when it is missing at the top."""
    for step in path[:-1]:
        held = held[step]
    if isinstance(path[-1], str):
        found: list[Any] = held.setdefault(path[-1], [])
        return found
    raise KeyError(path[-1])


def _top_key(path: Path) -> str:
    if len(path) != 1 or not isinstance(path[0], str):
        raise cannot(path)
    return path[0]


def _block(text: str, path: Path) -> tuple[int, int]:
    """Return where one entry of a list of tables stands."""
    *within, place = path
    spans = _blocks(text, _top_key(tuple(within)))
    if int(place) >= len(spans):
        raise cannot(path)
    return spans[int(place)]


def _blocks(text: str, key: str) -> list[tuple[int, int]]:
    """Return where each entry of a list of tables stands: its comment, its heading and all that belongs to it."""
    lines = text.splitlines(keepends=True)
    starts = [0]
    for line in lines:
        starts.append(starts[-1] + len(line))
    found: list[tuple[int, int]] = []
    begin: int | None = None
    for number, line in enumerate(lines):
        heading = _HEADING.match(line)
        if heading is None:
            continue
        name = heading[1].strip()
        if name.startswith(f"{key}."):
            continue
        first = number
        while first > 0 and lines[first - 1].lstrip().startswith("#"):
            first -= 1
        if begin is not None:
            found.append((starts[begin], starts[first]))
        begin = first if name == key and line.lstrip().startswith("[[") else None
    if begin is not None:
        found.append((starts[begin], starts[-1]))
    return found
