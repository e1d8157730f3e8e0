"""How a frame file's text is changed: by tomlkit, which keeps comments and layout, and checked afterwards.

Read again, the new text holds the one change that was meant and nothing else; otherwise the edit is refused.
"""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Callable, Mapping
from typing import Any

import tomlkit
from tomlkit.items import Item
from tomlkit.toml_document import TOMLDocument

from ropewalk.bike.faults import Path
from ropewalk.bike.reading import tables
from ropewalk.bike.wording import shortened
from ropewalk.errors import FrameFileError

#: what messages about a text without a file call it
WHERE = "frame file"


def edited(text: str, path: Path, change: Callable[[Any], None], edit: Callable[[TOMLDocument], None]) -> str:
    """Return a text changed through its document; change: the same done to plain tables, to check it by."""
    document = document_of(text)
    try:
        edit(document)
    except (tomlkit.exceptions.TOMLKitError, KeyError, IndexError, TypeError, ValueError, AttributeError):
        raise cannot(path) from None
    return checked(tomlkit.dumps(document), text, path, change)


def checked(new: str, old: str, path: Path, change: Callable[[Any], None]) -> str:
    """Return the new text when it holds what the old one held with the change, or refuse."""
    expected = copy.deepcopy(tables(old, WHERE))
    try:
        change(expected)
        if _without_empty(tomllib.loads(new)) == _without_empty(expected):
            return new
    except (tomllib.TOMLDecodeError, KeyError, IndexError, TypeError):
        pass
    raise cannot(path)


def document_of(text: str) -> TOMLDocument:
    """Return a text as a document that keeps its layout."""
    tables(text, WHERE)
    try:
        return tomlkit.parse(text.removeprefix("\ufeff"))
    except tomlkit.exceptions.TOMLKitError:
        raise FrameFileError("the frame file cannot be changed here as it is written: change it as text") from None


def cannot(path: Path) -> FrameFileError:
    """Return the refusal of an edit at a path."""
    told = ".".join(shortened(str(step + 1 if isinstance(step, int) else step)) for step in path)
    return FrameFileError(f"{told} cannot be changed here as it is written: change it in the file itself", path)


def item_of(value: Any) -> Item:
    """Return a plain value as a document's item."""
    if isinstance(value, Mapping):
        return inline_of(value)
    if isinstance(value, (list, tuple)):
        return tomlkit.value("[" + ", ".join(item_of(entry).as_string() for entry in value) + "]")
    item: Item = tomlkit.item(value)
    return item


def inline_of(entry: Mapping[str, Any]) -> Item:
    """Return plain fields as a table on one line."""
    written = (f"{tomlkit.key(key).as_string()} = {item_of(value).as_string()}" for key, value in entry.items())
    return tomlkit.value("{ " + ", ".join(written) + " }")


def _without_empty(held: Any) -> Any:
    """Return tables without tables that hold nothing: whether their heading stays makes no difference."""
    if isinstance(held, list):
        return [_without_empty(entry) for entry in held]
    if not isinstance(held, dict):
        return held
    return {key: kept for key, value in held.items() if (kept := _without_empty(value)) != {}}
