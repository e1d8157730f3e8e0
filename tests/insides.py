"""Inside spans on the small bike, as a mechanic would write them, and shaped."""

from __future__ import annotations

from typing import Any

import makers
from workbench import CALIPER, FRONT_STOP, LEVER, REAR_STOP, placed, station

from ropewalk.bike.model import Bike
from ropewalk.routing.course import Course
from ropewalk.routing.spans import PlacedLine

#: a shell that leaves 9 mm beside the spindle's sleeve
WIDE_SHELL = {"shell": {"diameter": 50, "wall": 2}}
#: a way from the down tube through the shell into the left chainstay
CHAINSTAY = {"on": "left chainstay", "from_": "rear axle", "along": 100, "facing": "rear axle"}
TO_CHAINSTAY = ["down tube", "shell", "left chainstay"]
SHELL_OPENINGS = [
    {"between": ["down tube", "shell"], "size": 20},
    {"between": ["shell", "left chainstay"], "size": 12},
]


def port(**changes: Any) -> dict[str, Any]:
    inner = {"then": "inside", "through": ["down tube"], "carries": "housing", "lean": 25}
    return station(FRONT_STOP, **{"name": "port", "type": "port", **inner, **changes})


def rear_port(**changes: Any) -> dict[str, Any]:
    return station(REAR_STOP, **{"name": "rear port", "type": "port", "lean": 25, **changes})


def inside(
    first: dict[str, Any], last: dict[str, Any], *, tubes: dict[str, Any] | None = None, **frame: Any
) -> tuple[Bike, PlacedLine, Course]:
    changed = {"tubes": makers.frame_dict()["tubes"] | (tubes or {}), **frame}
    bike, line = placed([LEVER, first, last, CALIPER], frame=changed)
    found = line.spans[1]
    assert isinstance(found, Course)
    return bike, line, found


def boss(**changes: Any) -> dict[str, Any]:
    made = {"name": "bottle boss", "inside": "down tube", "from": "head tube", "along": 300, "wall": "upper"}
    return made | {"depth": 18, "length": 12} | changes
