"""Reading a frame file: from a path or text to a `Frame`, or to one line that says what is wrong with it."""

from __future__ import annotations

import math
import os
import re
import stat
import tomllib
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from ropewalk.bike.faults import say_first
from ropewalk.bike.framefile import MOST_STATIONS_A_LINE, Frame
from ropewalk.bike.wording import one_line, shortened_path
from ropewalk.errors import FrameFileError

#: most bytes of a frame file
MOST_BYTES = 1_000_000
#: most characters on one line of a frame file
MOST_LINE_LENGTH = 2_500

# What the parser says shortly, said so that it helps.
_PLAINER = {
    "Cannot overwrite a value": "this key has been written before",
    "Invalid value": "this is no number, text in quotation marks, true, false, list or table",
}


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
    where = shortened_path(os.fspath(path))
    return loads(_contents(Path(path), where), where)


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
    where = shortened_path(where)
    if len(text) > MOST_BYTES:
        raise _too_large(where, len(text))
    given = _tables(_decoded(text, where) if isinstance(text, bytes) else text, where)
    try:
        # Files use the trade's keys alone, not the names of attributes.
        return Frame.model_validate(given, by_alias=True, by_name=False)
    except ValidationError as error:
        raise _refusal(where, say_first(error.errors(include_url=False), given, Frame)) from None


def schema() -> dict[str, Any]:
    """Return the JSON Schema of the frame file, so that an editor can complete and check its keys.

    Examples
    --------
    >>> schema()["properties"]["chart"]
    {'$ref': '#/$defs/Chart', 'description': 'the geometry chart'}
    """
    described = _without_null(Frame.model_json_schema(by_alias=True))
    described["$defs"]["Line"]["properties"]["station"] |= {"minItems": 2, "maxItems": MOST_STATIONS_A_LINE}
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "Ropewalk frame file"}
    return head | {key: entry for key, entry in described.items() if key != "title"}


def _refusal(where: str, what: str) -> FrameFileError:
    return FrameFileError(one_line(f"{where}: {what}"))


def _too_large(where: str, size: int) -> FrameFileError:
    megabytes = math.ceil(size / 1e5) / 10
    return _refusal(where, f"is {megabytes:g} MB: a frame file may have at most {MOST_BYTES / 1e6:g} MB")


def _contents(path: Path, where: str) -> bytes:
    try:
        _check_kind(path.stat(), where)
        # Without waiting: what was a file a moment ago could by now be a pipe that nobody writes to.
        descriptor = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
        with open(descriptor, "rb") as file:
            _check_kind(os.fstat(descriptor), where)
            return file.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise _refusal(where, "there is no such file: check the path and the spelling") from None
    except (OSError, ValueError) as error:
        if isinstance(error, FrameFileError):
            raise
        reason = error.strerror if isinstance(error, OSError) else error
        raise _refusal(where, f"cannot be read: {reason}") from None


def _check_kind(status: os.stat_result, where: str) -> None:
    if stat.S_ISDIR(status.st_mode):
        raise _refusal(where, "is a folder: name one frame file in it")
    if not stat.S_ISREG(status.st_mode):
        raise _refusal(where, "is a pipe or a device: save the frame file to disk and name that")
    if status.st_size > MOST_BYTES:
        raise _too_large(where, status.st_size)


def _decoded(contents: bytes, where: str) -> str:
    if contents.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise _refusal(where, "is UTF-16 text: save it as UTF-8")
    if b"\0" in contents:
        raise _refusal(where, "is no text but binary: name a frame file, which is text in TOML")
    try:
        return contents.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = contents.count(b"\n", 0, error.start) + 1
        raise _refusal(where, f"line {line} is not UTF-8 text: save the file as UTF-8") from None


def _tables(text: str, where: str) -> dict[str, Any]:
    """Return the contents of TOML text."""
    text = text.removeprefix("\ufeff")
    if not text.strip():
        raise _refusal(where, "is empty: write a bike into it, starting with format = 1")
    for number, line in enumerate(text.splitlines(), start=1):
        if len(line) > MOST_LINE_LENGTH:
            limit = f"a line may have at most {MOST_LINE_LENGTH}"
            raise _refusal(where, f"line {number} has {len(line)} characters: {limit}")
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise _refusal(where, _syntax_fault(str(error), text)) from None
    except RecursionError:
        raise _refusal(where, "holds tables or lists nested too deeply to be read") from None
    except ValueError:
        raise _refusal(where, "holds a number of too many digits or an impossible date") from None


def _syntax_fault(message: str, text: str) -> str:
    """Return the parser's message with the place first."""
    found = re.fullmatch(r"(?P<what>.*) \(at (?:line (?P<line>\d+), column (?P<column>\d+)|end of document)\)", message)
    if found is None:
        return f"is not TOML: {message}"
    what = re.sub(r"Cannot declare \((.*?),?\) twice", _declared_twice, _PLAINER.get(found["what"], found["what"]))
    what = what[0].lower() + what[1:]
    if found["line"]:
        return f"line {found['line']}, column {found['column']} is not TOML: {what}"
    return f"line {len(text.rstrip().splitlines())}, the last, is not TOML: {what}"


def _declared_twice(found: re.Match[str]) -> str:
    table = ".".join(re.findall(r"'(.*?)'", found[1]))
    return f"[{table}] has been written before"


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
