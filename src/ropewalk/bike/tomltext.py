"""Text that people write in TOML, from a file or a page: its tables, or one line that says why it cannot be read."""

from __future__ import annotations

import math
import os
import re
import stat
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ropewalk.bike.wording import one_line, shortened_path
from ropewalk.errors import RopewalkError

#: most bytes of a file
MOST_BYTES = 1_000_000
#: most characters on one of its lines
MOST_LINE_LENGTH = 2_500

# What the parser says shortly, said so that it helps.
_PLAINER = {
    "Cannot overwrite a value": "this key has been written before",
    "Invalid value": "this is no number, text in quotation marks, true, false, list or table",
}


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a file should be, for messages.

    Attributes
    ----------
    word : str
        What it is called, such as ``frame file``.
    begin : str
        What to write into an empty one.
    error : type of RopewalkError
        What is raised when it cannot be read.
    """

    word: str
    begin: str
    error: type[RopewalkError]


def file_tables(path: str | os.PathLike[str], wanted: Wanted) -> dict[str, Any]:
    """Return the tables of a file.

    Parameters
    ----------
    path : str or path-like
        The file.
    wanted : Wanted
        What it should be.

    Raises
    ------
    RopewalkError
        The kind `wanted` asks for, in one line that begins with the path.
    """
    where = shortened_path(os.fspath(path))
    return text_tables(_contents(Path(path), where, wanted), where, wanted)


def text_tables(text: str | bytes, where: str, wanted: Wanted) -> dict[str, Any]:
    """Return the tables of a text.

    Parameters
    ----------
    text : str or bytes
        The text; bytes are UTF-8.
    where : str
        What to call it in messages, such as the file's name.
    wanted : Wanted
        What it should be.

    Raises
    ------
    RopewalkError
        The kind `wanted` asks for, in one line that begins with `where`.
    """
    where = shortened_path(where)
    if len(text) > MOST_BYTES:
        raise _too_large(where, len(text), wanted)
    return _tables(_decoded(text, where, wanted) if isinstance(text, bytes) else text, where, wanted)


def _refusal(where: str, what: str, wanted: Wanted) -> RopewalkError:
    return wanted.error(one_line(f"{where}: {what}"))


def _too_large(where: str, size: int, wanted: Wanted) -> RopewalkError:
    megabytes = math.ceil(size / 1e5) / 10
    return _refusal(where, f"is {megabytes:g} MB: a {wanted.word} may have at most {MOST_BYTES / 1e6:g} MB", wanted)


def _contents(path: Path, where: str, wanted: Wanted) -> bytes:
    try:
        _check_kind(path.stat(), where, wanted)
        # Without waiting: what was a file a moment ago could by now be a pipe that nobody writes to.
        descriptor = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
        with open(descriptor, "rb") as file:
            _check_kind(os.fstat(descriptor), where, wanted)
            return file.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise _refusal(where, "there is no such file: check the path and the spelling", wanted) from None
    except (OSError, ValueError) as error:
        if isinstance(error, RopewalkError):
            raise
        reason = error.strerror if isinstance(error, OSError) else error
        raise _refusal(where, f"cannot be read: {reason}", wanted) from None


def _check_kind(status: os.stat_result, where: str, wanted: Wanted) -> None:
    if stat.S_ISDIR(status.st_mode):
        raise _refusal(where, f"is a folder: name one {wanted.word} in it", wanted)
    if not stat.S_ISREG(status.st_mode):
        raise _refusal(where, f"is a pipe or a device: save the {wanted.word} to disk and name that", wanted)
    if status.st_size > MOST_BYTES:
        raise _too_large(where, status.st_size, wanted)


def _decoded(contents: bytes, where: str, wanted: Wanted) -> str:
    if contents.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise _refusal(where, "is UTF-16 text: save it as UTF-8", wanted)
    if b"\0" in contents:
        raise _refusal(where, f"is no text but binary: name a {wanted.word}, which is text in TOML", wanted)
    try:
        return contents.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = contents.count(b"\n", 0, error.start) + 1
        raise _refusal(where, f"line {line} is not UTF-8 text: save the file as UTF-8", wanted) from None


def _tables(text: str, where: str, wanted: Wanted) -> dict[str, Any]:
    text = text.removeprefix("\ufeff")
    if not text.strip():
        raise _refusal(where, f"is empty: {wanted.begin}", wanted)
    for number, line in enumerate(text.splitlines(), start=1):
        if len(line) > MOST_LINE_LENGTH:
            limit = f"a line may have at most {MOST_LINE_LENGTH}"
            raise _refusal(where, f"line {number} has {len(line)} characters: {limit}", wanted)
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise _refusal(where, _syntax_fault(str(error), text), wanted) from None
    except RecursionError:
        raise _refusal(where, "holds tables or lists nested too deeply to be read", wanted) from None
    except ValueError:
        raise _refusal(where, "holds a number of too many digits or an impossible date", wanted) from None


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
