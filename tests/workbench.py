"""A small bike to put one line on, as a mechanic would write it, and that line placed on it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import makers
import pytest

from ropewalk.bike.framefile import Frame
from ropewalk.bike.model import Bike
from ropewalk.bike.parts import catalogue
from ropewalk.errors import FrameFileError, PartError
from ropewalk.routing.spans import PlacedLine
from ropewalk.workshop.plan import place_lines, plan

PARTS = catalogue()

LEVERS = {
    "drop": {"name": "lever", "part": "drop-bar brake-and-shift lever", "side": "left", "along": 215},
    "flat": {"name": "lever", "part": "flat-bar brake lever, short pull", "side": "left", "along": 120},
}
#: a straight bar without sweep or rise
FLAT_BAR = {"shape": "flat", "width": 700, "backsweep": 0, "upsweep": 0}

LEVER = {"name": "lever", "type": "lever", "then": "loop"}
#: stops on the down tube, one behind the other at 9 o'clock
FRONT_STOP = {
    "name": "front stop",
    "type": "stop",
    "on": "down tube",
    "from": "head tube",
    "along": 120,
    "clock": 9,
    "facing": "head tube",
    "then": "bare",
}
REAR_STOP = {
    "name": "rear stop",
    "type": "stop",
    "on": "down tube",
    "from": "head tube",
    "along": 420,
    "clock": 9,
    "facing": "bottom bracket",
    "then": "loop",
}
CALIPER = {"name": "caliper", "type": "stop", "part": "dual-pivot rim caliper, rear"}
FRONT_CALIPER = {"name": "caliper", "type": "stop", "part": "dual-pivot rim caliper, front"}


def station(base: dict[str, Any], **changes: Any) -> dict[str, Any]:
    """Return a station with changes; None leaves a key out, ``from_`` stands for from."""
    merged = {**base, **{key.rstrip("_"): value for key, value in changes.items()}}
    return {key: value for key, value in merged.items() if value is not None}


def line(stations: Sequence[dict[str, Any]], **changes: Any) -> dict[str, Any]:
    """Return a brake line over stations, with changes."""
    standard = {"name": "brake", "work": "brake", "lever": "lever", "inner": "brake 1.5", "housing": "spiral brake 5.0"}
    merged = {**standard, **changes, "station": list(stations)}
    return {key: value for key, value in merged.items() if value is not None}


def bench_frame(*lines: dict[str, Any], bar: str = "drop", **changes: Any) -> Frame:
    """Return the small bike of `makers` with lines on it; with ``bar="flat"`` a straight bar with a brake lever."""
    cockpit = {"cockpit": {"bar": FLAT_BAR}} if bar == "flat" else {}
    return makers.frame(lever=[LEVERS[bar]], line=list(lines), **cockpit, **changes)


def refusal_of(frame: Frame) -> str:
    """Return the one line that a frame file is refused with when it is planned; it names the line called brake."""
    with pytest.raises((FrameFileError, PartError)) as refusal:
        plan(frame)
    said = str(refusal.value)
    assert "\n" not in said
    assert 'line "brake"' in said
    return said


def placed(
    stations: Sequence[dict[str, Any]], *, bar: str = "drop", frame: dict[str, Any] | None = None, **changes: Any
) -> tuple[Bike, PlacedLine]:
    """Return the small bike and one line over stations, placed on it."""
    bike, lines = place_lines(bench_frame(line(stations, **changes), bar=bar, **(frame or {})), PARTS)
    return bike, lines[0]
