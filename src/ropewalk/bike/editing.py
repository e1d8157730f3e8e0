"""Editing a frame file's text in place: fields set, left out and added, its comments and its layout kept.

Every edit is checked: read again, the new text holds the one change that was meant and nothing else.
"""

from __future__ import annotations

import copy
import re
import tomllib
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import tomlkit
from tomlkit.items import AoT, Array, InlineTable, Item, Table
from tomlkit.toml_document import TOMLDocument

from ropewalk.bike.faults import Path
from ropewalk.bike.reading import tables
from ropewalk.bike.wording import shortened
from ropewalk.errors import FrameFileError

_WHERE = "frame file"
# A table's heading on a line of its own.
_HEADING = re.compile(r"^\s*\[\[?([^\[\]]+)\]\]?\s*(?:#.*)?$")


def with_value(text: str, path: Path, value: object) -> str:
    """Return a frame file's text with one field set, replaced or left out.

    Parameters
    ----------
    text : str
        The file's text.
    path : tuple of int and str
        The field; tables on the way that are missing are made.
    value : number, str, bool, sequence of numbers or str, or None
        None leaves the field out. A whole number is written without a point. A figure that is a table keeps its
        half-width.

    Raises
    ------
    FrameFileError
        When the text is not TOML, or the field is written in a way that cannot be changed in place.

    Examples
    --------
    >>> with_value("stack = { is = 591, within = 2 }  # taped", ("stack",), 595.0)
    'stack = { is = 595, within = 2 }  # taped'
    >>> with_value("trail = 64\\nlock = 75  # the rack\\n", ("trail",), None)
    'lock = 75  # the rack\\n'
    """
    return with_values(text, {path: value})


def with_values(text: str, values: Mapping[Path, object]) -> str:
    """Return a frame file's text with several fields set; see `with_value`."""
    plain = {path: _plain(value) for path, value in values.items()}
    if not plain:
        return text

    def change(held: Any) -> None:
        for path, value in plain.items():
            _put_plain(held, path, value)

    def edit(document: TOMLDocument) -> None:
        for path, value in plain.items():
            _put(document, path, value)

    return _edited(text, next(iter(plain)), change, edit)


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

    document = _document(text)
    listed = _at(document, path)
    if isinstance(listed, Array):
        return _edited(text, path, change, lambda document: _at(document, path).insert(place, _inline(entry)))
    block = "".join(f"{key} = {_item(value).as_string()}\n" for key, value in entry.items())
    block = f"[[{_top_key(path)}]]\n{block}"
    spans = _blocks(text, _top_key(path))
    if place < len(spans):
        start = spans[place][0]
        new = f"{text[:start]}{block}\n{text[start:]}"
    else:
        end = spans[-1][1] if spans else len(text)
        new = f"{text[:end].rstrip()}\n\n{block}" + (f"\n{text[end:]}" if text[end:].strip() else "")
    return _checked(new, text, path, change)


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

    if isinstance(_at(_document(text), at), Array):
        return _edited(text, path, change, lambda document: _at(document, at).pop(place))
    start, end = _block(text, path)
    return _checked(text[:start] + text[end:], text, path, change)


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
    listed = _at(_document(text), at)
    if not isinstance(listed, (AoT, Array)):
        raise _cannot(path)
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

        return _edited(text, path, change, reorder)
    spans = _blocks(text, _top_key(at))
    if len(spans) != len(listed):
        raise _cannot(path)
    parts = [text[start:end].rstrip("\n") + "\n" for start, end in spans]
    if any(spans[one][1] != spans[one + 1][0] for one in range(low, high)):
        raise _cannot(path)
    between = "\n".join(parts[old] for old in order[low : high + 1])
    tail = "\n" if text[spans[high][1] :].strip() else ""
    return _checked(text[: spans[low][0]] + between + tail + text[spans[high][1] :], text, path, change)


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
    given = _list_at(tables(text, _WHERE), tuple(within))[int(place)]
    if not isinstance(given, Mapping):
        raise _cannot(path)
    copied = {key: value for key, value in given.items() if key != "option"} | {"name": name}
    if isinstance(_at(_document(text), tuple(within)), Array):
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

    return with_value(_checked(new, text, path, change), (*within, int(place) + 1, "name"), name)


def as_text(contents: bytes) -> str:
    """Return a file's bytes as the text that is edited; what is not UTF-8 is shown as a replacement character."""
    return contents.decode("utf-8-sig", errors="replace")


def _edited(text: str, path: Path, change: Callable[[Any], None], edit: Callable[[TOMLDocument], None]) -> str:
    document = _document(text)
    try:
        edit(document)
    except (tomlkit.exceptions.TOMLKitError, KeyError, IndexError, TypeError, ValueError, AttributeError):
        raise _cannot(path) from None
    return _checked(tomlkit.dumps(document), text, path, change)


def _document(text: str) -> TOMLDocument:
    tables(text, _WHERE)
    try:
        return tomlkit.parse(text.removeprefix("\ufeff"))
    except tomlkit.exceptions.TOMLKitError:
        raise FrameFileError("the frame file cannot be changed here as it is written: change it as text") from None


def _checked(new: str, old: str, path: Path, change: Callable[[Any], None]) -> str:
    """Return the new text when it holds what the old one held with the change, or refuse."""
    expected = copy.deepcopy(tables(old, _WHERE))
    try:
        change(expected)
        if _without_empty(tomllib.loads(new)) == _without_empty(expected):
            return new
    except (tomllib.TOMLDecodeError, KeyError, IndexError, TypeError):
        pass
    raise _cannot(path)


def _without_empty(held: Any) -> Any:
    """Return tables without tables that hold nothing: whether their heading stays makes no difference."""
    if isinstance(held, list):
        return [_without_empty(entry) for entry in held]
    if not isinstance(held, dict):
        return held
    return {key: kept for key, value in held.items() if (kept := _without_empty(value)) != {}}


def _cannot(path: Path) -> FrameFileError:
    told = ".".join(shortened(str(step + 1 if isinstance(step, int) else step)) for step in path)
    return FrameFileError(f"{told} cannot be changed here as it is written: change it in the file itself", path)


def _plain(value: object) -> Any:
    """Return a value as a file holds it: whole numbers without a point, text that can be saved."""
    match value:
        case bool() | None:
            return value
        case int():
            return int(value)
        case float():
            return int(value) if value.is_integer() and abs(value) < 1e15 else float(value)
        case str():
            return value.encode("utf-8", "replace").decode()
        case Sequence():
            return [_plain(entry) for entry in value]
    raise TypeError(f"a frame file holds no {type(value).__name__}")


def _put_plain(held: Any, path: Path, value: Any) -> None:
    step, *rest = path
    if rest:
        if isinstance(step, str) and not isinstance(held.get(step), (dict, list)):
            if value is None:
                return
            held[step] = {}
        _put_plain(held[step], tuple(rest), value)
    elif value is None:
        held.pop(step, None)
    elif isinstance(held.get(step), dict) and "is" in held[step]:
        held[step]["is"] = value
    else:
        held[step] = value


def _put(container: Any, path: Path, value: Any) -> None:
    step, *rest = path
    if not rest:
        _put_field(container, step, value)
        return
    child = container[step] if isinstance(step, int) else container.get(step)
    if not isinstance(child, (Mapping, Sequence)) or isinstance(child, str):
        if value is None:
            return
        child = tomlkit.table() if isinstance(container, TOMLDocument) else tomlkit.value("{}")
        container[step] = child
        child = container[step]
    _put(child, tuple(rest), value)
    if isinstance(child, InlineTable):
        if not child and isinstance(step, str):
            del container[step]
        else:
            container[step] = tomlkit.value(_spaced(child))
    elif isinstance(child, Table) and isinstance(step, str) and not child.as_string().strip():
        del container[step]


def _put_field(container: Any, key: int | str, value: Any) -> None:
    if value is None:
        if key in container:
            del container[key]
    elif isinstance(container.get(key), Mapping) and "is" in container[key]:
        container[key]["is"] = _item(value)
    else:
        container[key] = _item(value)


def _spaced(table: InlineTable) -> str:
    """Return an inline table with single spaces; adding and removing keys leaves them uneven."""
    text = table.as_string().strip()
    entries = [
        f"{key.as_string().strip()} = {item.as_string().strip()}" for key, item in table.value.body if key is not None
    ]
    held = "{ " + ", ".join(entries) + " }" if entries else "{}"
    same = re.sub(r"\s+", "", text) == re.sub(r"\s+", "", held)
    even = not re.search(r"[^ ]}$|  |, }| ,", text)
    return text if same and even else held


def _inline(entry: Mapping[str, Any]) -> Item:
    written = (f"{tomlkit.key(key).as_string()} = {_item(value).as_string()}" for key, value in entry.items())
    return tomlkit.value("{ " + ", ".join(written) + " }")


def _item(value: Any) -> Item:
    if isinstance(value, Mapping):
        return _inline(value)
    if isinstance(value, (list, tuple)):
        return tomlkit.value("[" + ", ".join(_item(entry).as_string() for entry in value) + "]")
    item: Item = tomlkit.item(value)
    return item


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
        raise _cannot(path)
    return path[0]


def _block(text: str, path: Path) -> tuple[int, int]:
    """Return where one entry of a list of tables stands."""
    *within, place = path
    spans = _blocks(text, _top_key(tuple(within)))
    if int(place) >= len(spans):
        raise _cannot(path)
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
