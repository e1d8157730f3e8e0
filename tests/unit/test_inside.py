"""Inside spans against plain geometry: one straight tube, two tubes joined or shut, slack from wall to wall."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from shapely import LineString
from workbench import CALIPER, FRONT_STOP, LEVER, REAR_STOP, placed, station

from ropewalk.bike.model import Bike
from ropewalk.errors import FrameFileError
from ropewalk.routing.course import Course
from ropewalk.routing.spans import PlacedLine

#: outside diameter and wall of the small bike's down tube, outside and advised radius of its housing [mm]
TUBE, WALL, HOUSING, ADVISED = 31.8, 1.0, 5.0, 50.0


def port(**changes: Any) -> dict[str, Any]:
    inner = {"then": "inside", "through": ["down tube"], "carries": "housing", "lean": 25}
    return station(FRONT_STOP, **{"name": "port", "type": "port", **inner, **changes})


def rear_port(**changes: Any) -> dict[str, Any]:
    return station(REAR_STOP, **{"name": "rear port", "type": "port", "lean": 25, **changes})


def inside(
    first: dict[str, Any], last: dict[str, Any], *, openings: list[dict[str, Any]] | None = None, **changes: Any
) -> tuple[Bike, PlacedLine, Course]:
    bike, line = placed([LEVER, first, last, CALIPER], frame={"opening": openings or []}, **changes)
    found = line.spans[1]
    assert isinstance(found, Course)
    return bike, line, found


def test_in_a_straight_tube_it_is_the_straight_way_between_its_ports() -> None:
    """Both ports at 9 o'clock, 300 mm apart."""
    _, line, found = inside(port(), rear_port())
    assert found.length == pytest.approx(300.0, abs=1e-9)
    assert found.points == pytest.approx(np.stack([line.stations[1].place, line.stations[2].place]))
    assert found.reached


def test_it_turns_by_the_lean_of_each_port() -> None:
    """Along the wall, in at 25° and out at 30°."""
    _, _, found = inside(port(lean=25), rear_port(lean=30))
    assert found.turn == pytest.approx(math.radians(25 + 30), abs=1e-6)


def test_it_crosses_from_side_to_side() -> None:
    """From 9 to 3 o'clock: across the tube by its diameter while it goes 300 mm along."""
    _, _, found = inside(port(), rear_port(clock=3))
    assert found.length == pytest.approx(math.hypot(300.0, TUBE), abs=1e-9)


def test_slack_housing_snakes_from_wall_to_wall() -> None:
    """With a = (free width - diameter) / 2 and R the advised radius, at most a / (3 R) of the span more."""
    _, _, found = inside(port(), rear_port())
    play = (TUBE - 2 * WALL - HOUSING) / 2
    assert found.slack == pytest.approx(300.0 * play / (3 * ADVISED), rel=1e-6)


def test_a_wire_in_its_liner_has_no_slack() -> None:
    changes = {"work": "shift", "inner": "shift 1.2", "housing": "lengthwise shift 4.0", "liner": "shift liner"}
    bare = station(REAR_STOP, then="loop", facing="bottom bracket")
    derailleur = {"name": "rear derailleur", "type": "stop", "part": "rear derailleur"}
    stop = station(FRONT_STOP, then="inside", through=["down tube"], carries="liner")
    _, line = placed([LEVER, stop, bare, derailleur], **changes)
    found = line.spans[1]
    assert isinstance(found, Course)
    assert (found.slack, found.reached) == (0.0, True)
    assert found.length == pytest.approx(300.0, abs=1e-9)


def two_tubes(openings: list[dict[str, Any]]) -> tuple[Bike, PlacedLine, Course]:
    """Return a way in at the down tube and out of the seat tube, round the bottom bracket."""
    first = port(through=["down tube", "seat tube"])
    last = rear_port(on="seat tube", from_="bottom bracket", along=250, facing="top", clock=9)
    return inside(first, last, openings=openings)


def test_a_joint_is_shut_unless_the_file_names_its_opening() -> None:
    _, _, found = two_tubes([])
    assert not found.reached


def test_an_opening_that_is_too_small_for_the_housing_is_shut() -> None:
    _, _, found = two_tubes([{"between": ["down tube", "seat tube"], "size": HOUSING - 0.5}])
    assert not found.reached


def test_through_an_opening_it_rounds_the_corner_no_shorter_than_straight_and_no_longer_than_along_the_axes() -> None:
    bike, line, found = two_tubes([{"between": ["down tube", "seat tube"], "size": 20}])
    assert found.reached
    first, last = line.stations[1].place, line.stations[2].place
    corner = bike.skeleton.bottom_bracket
    assert math.dist(first, last) < found.length < math.dist(first, corner) + math.dist(corner, last)
    assert 0 < found.least_radius < math.inf
    # the taut way turns where the tubes do, and at both ports
    assert found.turn > math.radians(90)


def test_the_taut_way_keeps_half_its_diameter_from_the_walls() -> None:
    bike, _, found = two_tubes([{"between": ["down tube", "seat tube"], "size": 20}])
    way = LineString(found.points[1:-1, :2])
    bores = [bike.tubes[name].bore() for name in ("down tube", "seat tube")]
    free = bores[0].union(bores[1]).buffer(-HOUSING / 2 + 1e-6)
    # only the strip of the opening may lead it through the wall between the two
    opening = LineString([found.points[1, :2], found.points[-2, :2]]).envelope
    assert way.difference(free).difference(opening).length == pytest.approx(0.0, abs=1e-6)


def test_a_tube_that_is_not_there_is_told() -> None:
    with pytest.raises(FrameFileError, match=r'station "port": through names "upper tube".*top tube'):
        inside(port(through=["upper tube"]), rear_port())
