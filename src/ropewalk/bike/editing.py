"""Setting fields in a frame file's text in place, its comments and its layout kept."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

import tomlkit
from tomlkit.items import InlineTable, Table
from tomlkit.toml_document import TOMLDocument

from ropewalk.bike.faults import Path
from ropewalk.bike.tomledits import edited, item_of


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

    return edited(text, next(iter(plain)), change, edit)


def as_text(contents: bytes) -> str:
    """Return a file's bytes as the text that is edited; what is not UTF-8 is shown as a replacement character."""
    return contents.decode("utf-8-sig", errors="replace")


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
        container[key]["is"] = item_of(value)
    else:
        container[key] = item_of(value)


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
