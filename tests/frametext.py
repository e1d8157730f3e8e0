"""Frame files as text, for tests of reading and of the command line."""

from __future__ import annotations

import json
from typing import Any

import makers


def frame_text(**changes: Any) -> str:
    """Return the small frame of `makers` as the text of a frame file, with top-level tables merged or replaced."""
    return to_toml(changed(**changes))


def changed(**changes: Any) -> dict[str, Any]:
    """Return the small frame as plain data with changes: tables are merged, all else is replaced, None leaves out."""
    return _merged(makers.frame_dict(), changes)


def line(**changes: Any) -> dict[str, Any]:
    """Return the small frame's line with changes."""
    return _merged(makers.frame_dict()["line"][0], changes)


def stations(count: int) -> list[dict[str, Any]]:
    """Return so many stations of different names, from a lever to an anchor."""
    first, last = makers.frame_dict()["line"][0]["station"]
    return [first, *({"name": f"clip {number}", "type": "clip"} for number in range(count - 2)), last]


def to_toml(tables: dict[str, Any]) -> str:
    """Return plain data as TOML, one top-level key a line."""
    return "".join(f"{key} = {_value(value, top=True)}\n" for key, value in tables.items())


def _merged(base: dict[str, Any], changes: dict[str, Any]) -> dict[str, Any]:
    merged = dict(base)
    for key, change in changes.items():
        if isinstance(change, dict) and isinstance(base.get(key), dict):
            merged[key] = _merged(base[key], change)
        else:
            merged[key] = change
    return {key: value for key, value in merged.items() if value is not None}


def _value(value: Any, *, top: bool = False) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_key(key)} = {_value(entry)}" for key, entry in value.items()) + "}"
    if isinstance(value, (list, tuple)):
        return "[\n" + ",\n".join(_value(entry) for entry in value) + "\n]"
    if isinstance(value, str):
        # A JSON string is a TOML string.
        return json.dumps(value)
    if isinstance(value, bool):
        return "true" if value else "false"
    return str(value)


def _key(key: str) -> str:
    return key if key.replace("_", "").isalnum() and key.isascii() else json.dumps(key)
