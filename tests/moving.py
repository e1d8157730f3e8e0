"""Bikes with moving parts, made from the small touring bike of `makers`; all of them close and may be built."""

from __future__ import annotations

import tomllib
from typing import Any

import makers

from ropewalk.bike.fleet import find
from ropewalk.bike.framefile import Frame

#: a fork with 120 mm of travel, a swing arm with 110 mm about a pivot near the bottom bracket, a dropper post
SUSPENDED: dict[str, Any] = {
    "tubes": {"lower_leg": {"diameter": 28, "height": 250}},
    "travel": {"fork": 120, "rear": 110, "pivot": [20, 56], "post": 100},
}
#: a hinge in the single main tube, its pin plumb
MAIN_HINGE: dict[str, Any] = {
    "moves": "front half",
    "on": "down tube",
    "from": "bottom bracket",
    "along": 300,
    "aside": 20,
    "axis": [0, 1, 0],
    "turn": 180,
    "steer": 20,
}
#: a hinge at the foot of the bar's tall post, its pin lying across
POST_HINGE: dict[str, Any] = {
    "moves": "bar",
    "on": "steerer",
    "from": "fork crown",
    "along": 200,
    "axis": [0, 0, 1],
    "turn": -170,
    "steer": 20,
}
FOLDING: dict[str, Any] = {
    "tubes": {"top_tube": None},
    "cockpit": {"post": 260, "bar": {"shape": "flat", "width": 560}},
    "fold": [MAIN_HINGE, POST_HINGE],
}
#: two bottom brackets 700 mm apart
TANDEM: dict[str, Any] = {
    "chart": {"boom": 700},
    "tubes": {
        "boom_tube": {"diameter": 38},
        "rear_seat_tube": {"diameter": 28.6, "length": 520},
        "rear_top_tube": {"diameter": 28.6, "at_front": 500, "at_rear": 490},
    },
}


def suspended(**changes: Any) -> Frame:
    """Return the bike on springs, with changes."""
    return makers.frame(**makers.merged(SUSPENDED, changes))


def folding(**changes: Any) -> Frame:
    """Return the folding bike, with changes."""
    return makers.frame(**makers.merged(FOLDING, changes))


def tandem(**changes: Any) -> Frame:
    """Return the tandem, with changes."""
    return makers.frame(**makers.merged(TANDEM, changes))


def everything(**changes: Any) -> Frame:
    """Return a bike that folds at both hinges and rides on springs, with changes."""
    return makers.frame(**makers.merged(makers.merged(SUSPENDED, FOLDING), changes))


def full_suspension() -> Frame:
    """Return the fleet's hardtail on springs at both ends, with loops that two or three things move at once.

    The rear derailleur's first loop goes from the bar straight to the swing arm; the front brake's second from the head
    tube to the sliding lower leg.
    """
    with find("hardtail").open("rb") as file:
        tables = tomllib.load(file)
    clip = {"type": "clip", "clock": 9, "then": "loop"}
    arm = {**clip, "on": "right chainstay", "clock": 6, "facing": "rear axle"}
    front = [
        {"name": "left brake lever", "type": "lever", "then": "loop"},
        {**clip, "name": "frame clip", "on": "head tube", "from": "top", "along": 70, "facing": "top"},
        {**clip, "name": "leg clip", "on": "left lower leg", "from": "top", "along": 60, "facing": "front axle"},
        {"name": "front caliper", "type": "stop", "part": "cable disc caliper, front"},
    ]
    rear = [
        {"name": "right shifter", "type": "lever", "then": "loop"},
        {**arm, "name": "arm clip", "from": "pivot", "along": 120, "then": "strapped"},
        {**arm, "name": "rear arm clip", "from": "rear axle", "along": 90},
        {"name": "rear derailleur", "type": "stop", "part": "rear derailleur"},
    ]
    tables["tubes"]["lower_leg"] = {"diameter": 46, "wall": 3, "height": 300}
    tables["travel"] = {"fork": 120, "rear": 130, "pivot": [10, 60]}
    tables["chart"]["lock"] = 60
    wanted = {"front brake": front, "rear derailleur": rear}
    tables["line"] = [{**line, "station": wanted[line["name"]]} for line in tables["line"] if line["name"] in wanted]
    return Frame.model_validate(tables)
