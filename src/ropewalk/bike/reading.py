"""Reading a frame file: from a path or text to a `Frame`, or to one line that says what is wrong with it."""

from __future__ import annotations

import os
from typing import Any

from pydantic import ValidationError

from ropewalk.bike.faults import Path, say_each, say_first
from ropewalk.bike.framefile import MOST_STATIONS_A_LINE, Frame
from ropewalk.bike.tomltext import Wanted, file_tables, text_tables
from ropewalk.bike.wording import one_line, shortened_path
from ropewalk.errors import FrameFileError

_FRAME_FILE = Wanted("frame file", "write a bike into it, starting with format = 1", FrameFileError)


def read(path: str | os.PathLike[str]) -> Frame:
    """Read a frame file.

    Parameters
    ----------
    path : str or path-like
        The file.

    Returns
    -------
    Frame
        The bike it describes.

    Raises
    ------
    FrameFileError
        When it cannot be read or used; the text is one line that begins with the path.
    """
    return _frame(file_tables(path, _FRAME_FILE), os.fspath(path))


def loads(text: str | bytes, where: str) -> Frame:
    """Read the text of a frame file.

    Parameters
    ----------
    text : str or bytes
        The text; bytes are UTF-8.
    where : str
        What to call it in messages, such as the file's name.

    Returns
    -------
    Frame
        The bike it describes.

    Raises
    ------
    FrameFileError
        When it cannot be used; the text is one line that begins with `where`.
    """
    return _frame(text_tables(text, where, _FRAME_FILE), where)


def schema() -> dict[str, Any]:
    """Return the JSON Schema of the frame file, so that an editor can complete and check its keys.

    Examples
    --------
    >>> schema()["properties"]["chart"]
    {'$ref': '#/$defs/Chart', 'description': 'the geometry chart'}
    """
    described = _without_null(Frame.model_json_schema(by_alias=True))
    for routed in ("Line", "Option"):
        described["$defs"][routed]["properties"]["station"] |= {"minItems": 2, "maxItems": MOST_STATIONS_A_LINE}
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "Ropewalk frame file"}
    return head | {key: entry for key, entry in described.items() if key != "title"}


def tables(text: str | bytes, where: str) -> dict[str, Any]:
    """Return the tables of a frame file's text as they stand there, whatever they hold.

    Raises
    ------
    FrameFileError
        When the text is not TOML; in one line that begins with `where`.
    """
    return text_tables(text, where, _FRAME_FILE)


def faults(text: str | bytes, where: str) -> list[tuple[Path, str]]:
    """Return every fault of a frame file's fields in file order: the path of the field, and one line without the file.

    Parameters
    ----------
    text, where
        As for `loads`.

    Raises
    ------
    FrameFileError
        When the text is not TOML.
    """
    given = tables(text, where)
    try:
        _validated(given)
    except ValidationError as error:
        told = say_each(error.errors(include_url=False), given, Frame)
        return [(path, one_line(fault)) for path, fault in told]
    return []


def _frame(given: dict[str, Any], where: str) -> Frame:
    try:
        return _validated(given)
    except ValidationError as error:
        errors = error.errors(include_url=False)
        fault = say_first(errors, given, Frame)
        path, _ = say_each(errors, given, Frame)[0]
        raise FrameFileError(one_line(f"{shortened_path(where)}: {fault}"), path) from None


def _validated(given: dict[str, Any]) -> Frame:
    # Files use the trade's keys alone, not the names of attributes.
    return Frame.model_validate(given, by_alias=True, by_name=False)


def _without_null(described: Any) -> Any:
    """Return a schema without null, which TOML does not have: a key is given or left out."""
    if isinstance(described, list):
        return [_without_null(entry) for entry in described]
    if not isinstance(described, dict):
        return described
    kept = {key: _without_null(entry) for key, entry in described.items()}
    if "default" in kept and kept["default"] is None:
        del kept["default"]
    choices = kept.get("anyOf")
    if isinstance(choices, list) and {"type": "null"} in choices:
        choices = [choice for choice in choices if choice != {"type": "null"}]
        del kept["anyOf"]
        kept = choices[0] | kept if len(choices) == 1 else kept | {"anyOf": choices}
    return kept
