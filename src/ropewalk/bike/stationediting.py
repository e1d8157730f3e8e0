"""New stations, lines and levers in a frame file's text: what is most likely meant, to be changed from there."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from ropewalk.bike.entryediting import with_copy, with_entry
from ropewalk.bike.faults import Path
from ropewalk.bike.reading import tables

#: how far past the station before it a new one is put [mm]
_FURTHER = 50
#: fields of the station before that a new one beside it shares
_SHARED = ("on", "from", "clock", "facing", "lean")
#: radius of a new guide [mm] (common practice)
_GUIDE_RADIUS = 20


def with_new_station(text: str, path: Path) -> str:
    """Return a frame file's text with a new station after one, or before it when it is the line's last.

    Parameters
    ----------
    text : str
        The file's text.
    path : tuple of int and str
        A station, such as ``("line", 0, "station", 3)``.

    Notes
    -----
    A clip that holds the housing, 50 mm further along the same tube; on bare inner a guide. Where it sits is to be
    measured on the bike.
    """
    *within, given_place = path
    at, place = tuple(within), int(given_place)
    stations = [entry if isinstance(entry, Mapping) else {} for entry in _entry(tables(text, "frame file"), at)]
    after = min(place, len(stations) - 2)
    return with_entry(text, at, after + 1, _beside(stations[after], stations))


def with_new_copy(text: str, path: Path) -> str:
    """Return a frame file's text with a copy of a lever or line after it, under a name that is not taken.

    Parameters
    ----------
    text : str
        The file's text.
    path : tuple of int and str
        The lever or line, such as ``("line", 0)``.
    """
    *within, place = path
    entries = _entry(tables(text, "frame file"), tuple(within))
    given = entries[int(place)]
    name = str(given.get("name", path[0])) if isinstance(given, Mapping) else str(path[0])
    return with_copy(text, path, _free_name(name, _names(entries)))


def _beside(before: Mapping[str, Any], stations: Iterable[Mapping[str, Any]]) -> dict[str, Any]:
    bare = before.get("then") == "bare"
    new: dict[str, Any] = {
        "name": _free_name("new guide" if bare else "new clip", _names(stations)),
        "type": "guide" if bare else "clip",
    }
    if before.get("type") == "lever" or before.get("on") is None:
        new |= {"on": "bar", "from": "stem", "along": _FURTHER, "clock": 2}
    else:
        new |= {key: before[key] for key in _SHARED[:2] if key in before}
        if isinstance(before.get("along"), (int, float)):
            new["along"] = before["along"] + _FURTHER
        new |= {key: before[key] for key in _SHARED[2:] if key in before}
    if bare:
        new["radius"] = _GUIDE_RADIUS
    # An inside span goes on to where the line comes out again; housing that follows a clip is a loop.
    new["then"] = before.get("then") if before.get("then") in ("bare", "strapped") else "loop"
    return new


def _free_name(name: str, taken: Iterable[str]) -> str:
    """Return a name with a number behind it when it is taken."""
    held, number, free = set(taken), 2, name
    while free in held:
        free, number = f"{name[:50]} {number}", number + 1
    return free


def _names(entries: Iterable[Mapping[str, Any]]) -> list[str]:
    return [str(entry.get("name")) for entry in entries if isinstance(entry, Mapping)]


def _entry(held: Any, path: Path) -> Any:
    for step in path:
        held = held[step]
    return held
