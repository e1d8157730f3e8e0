"""Which field of a frame file a fault concerns, so that a form can tell it beside the field.

Reading tells the path itself. What is found later, when the bike is built and its lines are laid, says its place in
the words that begin every message: ``chart.stack is …``, ``line "rear brake", station "stop": along is …``.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ropewalk.bike.closure import check_chart
from ropewalk.bike.complete import complete
from ropewalk.bike.faults import Path, show
from ropewalk.bike.model import build
from ropewalk.bike.parts import catalogue
from ropewalk.bike.reading import faults, loads, tables
from ropewalk.bike.wording import one_line, shortened_path
from ropewalk.errors import FrameFileError, RopewalkError

#: lists of the frame file whose entries messages call by name
_NAMED = ("line", "option", "station", "lever", "obstacle", "opening")
#: tables whose fields messages call by their dotted path
_TABLES = ("chart", "tubes", "cockpit", "travel")
# What the catalogue says of a part that it does not hold.
_MISSING = re.compile(r"there is no \w[\w ]* \"(.*?)\"")


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with a frame file.

    Attributes
    ----------
    message : str
        One line, without the file's name.
    path : tuple of int and str, or None
        The field or the entry it concerns; None when that cannot be told, as in text that is not TOML.
    """

    message: str
    path: Path | None = None


def fault_of(text: str, where: str) -> Fault | None:
    """Return what is wrong first with a frame file as far as its chart, bar and levers go, or None.

    Parameters
    ----------
    text : str
        The file's text.
    where : str
        What to call it in messages.

    Notes
    -----
    Whether its lines can run as written shows when they are planned; `fault_from` takes such an error.
    """
    found = faults_of(text, where)
    return found[0] if found else None


def faults_of(text: str, where: str) -> tuple[Fault, ...]:
    """Return every fault of a frame file's fields, or else the first that shows when its bike is built."""
    try:
        told = faults(text, where)
        if told:
            return tuple(Fault(message, path) for path, message in told)
        frame = loads(text, where)
        check_chart(frame)
        build(complete(frame, catalogue()))
    except RopewalkError as error:
        return (fault_from(error, text, where),)
    return ()


def fault_from(error: RopewalkError, text: str, where: str) -> Fault:
    """Return an error of reading or planning a frame file as a fault with the field it concerns.

    Parameters
    ----------
    error : RopewalkError
        As raised.
    text, where : str
        The file's text, and what messages call it.
    """
    message = str(error).removeprefix(f"{one_line(shortened_path(where))}: ")
    path = error.path if isinstance(error, FrameFileError) else None
    if path is None:
        try:
            path = place_named(message, tables(text, where))
        except FrameFileError:
            path = None
    return Fault(message, path)


def place_named(message: str, given: Mapping[str, Any]) -> Path | None:
    """Return the path that the first words of a message name, or None.

    Parameters
    ----------
    message : str
        One line without the file's name.
    given : mapping
        The file's tables.

    Examples
    --------
    >>> place_named('line "rear": inner is missing: only a hose has none', {"line": [{"name": "rear"}]})
    ('line', 0, 'inner')
    >>> place_named("chart.fork is 500 mm, but …", {"chart": {"fork": 500}})
    ('chart', 'fork')
    """
    dotted = re.match(rf"(?:{'|'.join(_TABLES)})(?:\.[a-z_]+)+", message)
    if dotted:
        return (*dotted[0].split("."), *_join(dotted[0], message[dotted.end() :]))
    path, rest = _entries(message, given)
    if not path:
        missing = _MISSING.match(message)
        return next(_naming(given, missing[1]), None) if missing else None
    if not rest.startswith(": "):
        return path
    return _field(path, rest[2:], given)


def _join(tube: str, said: str) -> tuple[str, ...]:
    """Return which join of a tube a message speaks of: none, or where it meets a seat tube."""
    met = re.match(r" meets the (rear )?seat tube", said)
    if met is None:
        return ()
    return (("at_rear" if met[1] else "at_front") if tube == "tubes.rear_top_tube" else "at_seat",)


def _naming(held: Any, part: str, path: Path = ()) -> Iterator[Path]:
    """Yield the paths of the fields that hold a part's name, but for those that are names themselves."""
    entries = held.items() if isinstance(held, Mapping) else enumerate(held) if isinstance(held, list) else ()
    for step, value in entries:
        if value == part and step != "name":
            yield (*path, step)
        else:
            yield from _naming(value, part, (*path, step))


def _entries(message: str, given: Mapping[str, Any]) -> tuple[Path, str]:
    """Return the path to the entry that a message begins with, and the rest of the message."""
    numbered = re.match(r"fold (\d+)", message)
    if numbered:
        return ("fold", int(numbered[1]) - 1), message[numbered.end() :]
    path: Path = ()
    at: Any = given
    rest = message
    while True:
        step = next(_named(rest, at), None)
        if step is None and path[2:3] == ("option",) and isinstance(at, Mapping) and not at.get("station"):
            # The option has the line's own stations.
            step = next(_named(rest, given["line"][path[1]]), None)
            path = path[:2] if step is not None else path
        if step is None:
            return path, rest
        kind, place, entry, told = step
        path, at, rest = (*path, kind, place), entry, rest.removeprefix(told)
        if not rest.startswith(", "):
            return path, rest
        rest = rest[2:]


def _named(message: str, at: object) -> Iterator[tuple[str, int, object, str]]:
    """Yield the entries that a message's next words name: list, place, entry and the words."""
    if not isinstance(at, Mapping):
        return
    for kind in _NAMED:
        entries = at.get(kind)
        for place, entry in enumerate(entries if isinstance(entries, Sequence) else ()):
            name = entry.get("name") if isinstance(entry, Mapping) else None
            for told in (f"{kind} {show(name)}", f'{kind} "{name}"', f"{kind} {place + 1}"):
                if message.startswith((f"{told}:", f"{told},", f"{told} ")):
                    yield kind, place, entry, told


def _field(path: Path, said: str, given: Mapping[str, Any]) -> Path:
    """Return the path of the field that a sentence about an entry begins with; of the entry when it names none."""
    entry: Any = given
    for step in path:
        entry = entry[step]
    missing = _MISSING.match(said)
    if missing:
        return next(_naming(entry, missing[1], path), path)
    word = re.match(r"([a-z_]+)(?= (?:is|are|and|means|names|has|in)\b)", said)
    return (*path, word[1]) if word else path
