"""Spans on a placed line against hand geometry: mouths, strapped runs, bare runs over guides, rigid parts."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest
from scipy.integrate import quad
from workbench import CALIPER, FRONT_STOP, LEVER, REAR_STOP, placed, station

from ropewalk.bike.model import Bike
from ropewalk.errors import FrameFileError
from ropewalk.routing.course import Course, Loop
from ropewalk.routing.spans import PlacedLine, shape_span, spans_about

#: floor and insertion of the ferrule of 5 mm brake housing [mm]
FLOOR, INSERTION = 2.0, 10.0
DEPTH = FLOOR + INSERTION
ANCHOR = {
    "name": "derailleur",
    "type": "anchor",
    "part": "front derailleur, from below",
    "on": "seat tube",
    "from": "bottom bracket",
    "along": 150,
}
SHIFT = {"work": "shift", "inner": "shift 1.2", "housing": "lengthwise shift 4.0"}


def guide(**changes: Any) -> dict[str, Any]:
    base = {"name": "guide", "type": "guide", "on": "bottom bracket", "offset": [0, -24, 8], "radius": 20}
    return station({**base, "then": "bare"}, **changes)


def course(line: PlacedLine, place: int) -> Course:
    found = line.spans[place]
    assert isinstance(found, Course)
    return found


def loop(line: PlacedLine, place: int) -> Loop:
    found = line.spans[place]
    assert isinstance(found, Loop)
    return found


def test_a_loop_s_mouths_lie_a_floor_and_an_insertion_out_of_its_seats() -> None:
    _, line = placed([LEVER, FRONT_STOP, REAR_STOP, CALIPER])
    found, (start, end, *_) = loop(line, 0), line.stations
    assert found.start == pytest.approx(start.place + DEPTH * start.direction, abs=1e-9)
    assert found.end == pytest.approx(end.place + DEPTH * end.direction, abs=1e-9)
    assert (found.start_body, found.end_body) == ("bar", "frame")


def test_housing_travels_out_of_its_first_seat_and_into_its_second() -> None:
    """A stop's direction is that of the housing from its seat: travel into it goes the other way, out of it along."""
    _, line = placed([LEVER, FRONT_STOP, REAR_STOP, CALIPER])
    assert loop(line, 0).end_direction == pytest.approx(-line.stations[1].direction)
    assert loop(line, 2).start_direction == pytest.approx(line.stations[2].direction)
    assert loop(line, 2).end_direction == pytest.approx(-line.stations[3].direction)


def test_housing_runs_on_through_a_clip_the_way_it_faces_with_no_ferrule() -> None:
    clip = station(REAR_STOP, name="clip", type="clip", along=300, then="strapped")
    _, line = placed([LEVER, clip, station(REAR_STOP, then="loop"), CALIPER])
    assert loop(line, 0).end == pytest.approx(line.stations[1].place)
    assert loop(line, 0).end_direction == pytest.approx(line.stations[1].direction)


def test_a_port_is_entered_against_its_outside_direction_and_left_along_it() -> None:
    inner = {"then": "inside", "through": ["down tube"], "carries": "housing", "lean": 25}
    port = station(FRONT_STOP, name="port", type="port", **inner)
    rear = station(REAR_STOP, name="rear port", type="port", lean=25)
    _, line = placed([LEVER, port, rear, CALIPER])
    assert loop(line, 0).end == pytest.approx(line.stations[1].place)
    assert loop(line, 0).end_direction == pytest.approx(-line.stations[1].direction)
    assert loop(line, 2).start_direction == pytest.approx(line.stations[2].direction)


def test_strapped_housing_on_a_tube_is_its_straight_way_less_what_the_ferrules_take() -> None:
    """Seats 300 mm apart along one side of one tube; cut length is the way between the mouths and two insertions."""
    first, last = station(FRONT_STOP, facing="bottom bracket", then="strapped"), station(REAR_STOP, facing="head tube")
    _, line = placed([LEVER, first, last, CALIPER])
    found = course(line, 1)
    assert found.length == pytest.approx(300.0 - 2 * DEPTH, abs=1e-9)
    assert found.length + 2 * INSERTION == pytest.approx(300.0 - 2 * FLOOR, abs=1e-9)
    assert (found.turn, found.least_radius, found.slack) == (0.0, math.inf, 0.0)


def test_clips_take_nothing_from_a_strapped_run() -> None:
    clips = [
        station(REAR_STOP, name="upper clip", type="clip", along=150, then="strapped"),
        station(REAR_STOP, name="lower clip", type="clip", along=400, then="loop"),
    ]
    _, line = placed([LEVER, *clips, CALIPER])
    assert course(line, 1).length == pytest.approx(250.0, abs=1e-9)


def tape(**changes: Any) -> dict[str, Any]:
    base = {"name": "tape end", "type": "clip", "on": "bar", "from": "stem", "along": 30, "clock": 3, "then": "loop"}
    return station(base, **changes)


def test_strapped_housing_winds_along_a_straight_bar() -> None:
    """From the lever's mouth to the tape's end: a helix whose distance from the bar and clock change evenly.

    On a straight bar of 700 mm with the clamp 120 mm from its end; seat (38, 26, -6), leaving (0.90, 0.42, -0.08).
    """
    _, line = placed([station(LEVER, then="strapped"), tape(), FRONT_STOP, REAR_STOP, CALIPER], bar="flat")
    leaving = np.array([0.90, 0.42, -0.08]) / math.hypot(0.90, 0.42, 0.08)
    inward, forward, up = np.array([38.0, 26.0, -6.0]) + DEPTH * leaving
    along = 350.0 - 30.0 - (120.0 + inward)
    first, last = math.hypot(forward, up), 22.2 / 2 + 2.5
    swing = math.atan2(up, forward)  # the tape's end is at 3 o'clock, straight ahead of the bar
    length, _ = quad(lambda share: math.hypot(along, last - first, (first + share * (last - first)) * swing), 0, 1)
    assert course(line, 0).length == pytest.approx(length, rel=1e-4)


def test_a_stop_at_the_end_of_a_strapped_run_on_the_bar_takes_its_ferrule() -> None:
    stop = tape(name="bar stop", type="stop", facing="bar end")
    bare = [station(LEVER, then="strapped"), tape(), FRONT_STOP, REAR_STOP, CALIPER]
    held = course(placed(bare, bar="flat")[1], 0)
    seated = course(placed([bare[0], stop, *bare[2:]], bar="flat")[1], 0)
    # the run is nearly along the bar there
    assert held.length - seated.length == pytest.approx(DEPTH, abs=0.3)


def test_ferrules_that_do_not_fit_between_two_stops_are_told() -> None:
    first, last = station(FRONT_STOP, facing="bottom bracket", then="strapped"), station(REAR_STOP, along=140)
    with pytest.raises(FrameFileError, match=r'"rear stop" is 20 mm away: too near for the ferrules'):
        placed([LEVER, first, last, CALIPER])


def test_a_rigid_part_has_the_length_and_turn_it_is_given() -> None:
    noodle = station(FRONT_STOP, then="rigid", arc=85, turn=90)
    _, line = placed([LEVER, noodle, station(REAR_STOP), CALIPER])
    found = course(line, 1)
    assert (found.length, found.turn) == (85.0, pytest.approx(math.pi / 2))
    assert found.least_radius == pytest.approx(85.0 / (math.pi / 2))


def moved(bike: Bike, line: PlacedLine, places: Sequence[Sequence[float]], **directions: Sequence[float]) -> PlacedLine:
    """Return the line with its last stations, all on the frame, put at given places, and its spans worked out anew."""
    stations, onward = list(line.stations), line.onward.copy()
    first = len(stations) - len(places)
    for place, at in enumerate(places, start=first):
        stations[place] = dataclasses.replace(stations[place], place=np.array(at, dtype=float))
    for name, direction in directions.items():
        onward[first + int(name.removeprefix("at_"))] = np.array(direction) / np.linalg.norm(direction)
    spans = tuple(shape_span(bike, line.route, place, stations, onward) for place in range(len(line.spans)))
    return dataclasses.replace(line, stations=tuple(stations), onward=onward, spans=spans)


def test_bare_inner_over_a_guide_goes_round_it() -> None:
    """A square corner at (200, 0, 0) over a radius of 20 mm: the middle of the bend is 20 (sqrt 2 - 1) inside it."""
    inside = 20.0 * (math.sqrt(2.0) - 1.0) / math.sqrt(2.0)
    bike, line = placed([LEVER, FRONT_STOP, guide(), ANCHOR], **SHIFT)
    line = moved(bike, line, [[0, 0, 0], [200 - inside, inside, 0], [200, 150, 0]], at_0=[1, 0, 0])
    before, after = course(line, 1), course(line, 2)
    assert before.length == pytest.approx(200.0 - 20.0 + 20.0 * math.pi / 4, abs=1e-6)
    assert after.length == pytest.approx(150.0 - 20.0 + 20.0 * math.pi / 4, abs=1e-6)
    assert before.turn + after.turn == pytest.approx(math.pi / 2, abs=1e-9)
    assert before.least_radius == after.least_radius == 20.0


def test_bare_inner_over_a_guide_in_space() -> None:
    """The same corner turned out of the plane: lengths and turn do not care."""
    turned = np.linalg.qr(np.random.default_rng(3).standard_normal((3, 3)))[0]
    inside = 20.0 * (math.sqrt(2.0) - 1.0) / math.sqrt(2.0)
    bike, line = placed([LEVER, FRONT_STOP, guide(), ANCHOR], **SHIFT)
    flat = np.array([[0, 0, 0], [200 - inside, inside, 0], [200, 150, 0]])
    line = moved(bike, line, (flat @ turned.T).tolist(), at_0=turned[:, 0])
    assert course(line, 1).length + course(line, 2).length == pytest.approx(310.0 + 10.0 * math.pi, abs=1e-6)


def test_a_guide_in_line_bends_nothing() -> None:
    bike, line = placed([LEVER, FRONT_STOP, guide(), ANCHOR], **SHIFT)
    line = moved(bike, line, [[0, 0, 0], [120, 0, 0], [200, 0, 0]], at_0=[1, 0, 0])
    assert course(line, 1).length + course(line, 2).length == pytest.approx(200.0, abs=1e-9)
    assert course(line, 1).turn + course(line, 2).turn == pytest.approx(0.0, abs=1e-9)


def test_bare_inner_between_stops_is_straight_and_turns_by_what_they_are_off() -> None:
    """The first stop points 10° off the straight way, the second 20°; the wire turns at both."""
    bike, line = placed([LEVER, FRONT_STOP, REAR_STOP, CALIPER])
    ten, twenty = math.radians(10), math.radians(20)
    at = {"at_0": [math.cos(ten), math.sin(ten), 0], "at_1": [math.cos(twenty), 0, math.sin(twenty)]}
    line = moved(bike, line, [[0, 0, 0], [300, 0, 0], [500, 300, 0]], **at)
    assert course(line, 1).length == pytest.approx(300.0)
    assert course(line, 1).turn == pytest.approx(ten + twenty)


def test_the_turn_at_a_moving_end_is_left_to_the_catalogue() -> None:
    bike, line = placed([LEVER, FRONT_STOP, ANCHOR], **SHIFT)
    line = moved(bike, line, [[0, 0, 0], [300, 0, 0]], at_0=[1, 0, 0], at_1=[0, 1, 0])
    assert course(line, 1).turn == pytest.approx(0.0, abs=1e-9)


def test_guides_whose_bends_overlap_are_told() -> None:
    second = guide(name="second guide", offset=[-40, -24, 8])
    bike, line = placed([LEVER, FRONT_STOP, guide(), second, ANCHOR], **SHIFT)
    with pytest.raises(FrameFileError, match=r"(overlap|no way round its guides).*make radius smaller"):
        moved(bike, line, [[0, 0, 0], [200, 0, 0], [200, 20, 0], [0, 20, 0]], at_0=[1, 0, 0])


def test_two_guides_in_one_place_are_told() -> None:
    with pytest.raises(FrameFileError, match=r'station "second guide": it lies in the same place as "guide"'):
        placed([LEVER, FRONT_STOP, guide(), guide(name="second guide"), ANCHOR], **SHIFT)


def test_what_a_station_touches() -> None:
    """A station moves the spans beside it, and the whole bare run over guides that it belongs to."""
    _, line = placed([LEVER, FRONT_STOP, guide(), guide(name="second guide", offset=[-40, -24, 8]), ANCHOR], **SHIFT)
    assert spans_about(line.route, 0) == [0]
    assert spans_about(line.route, 1) == [0, 1, 2, 3]
    assert spans_about(line.route, 3) == [1, 2, 3]
    _, straight = placed([LEVER, FRONT_STOP, REAR_STOP, CALIPER])
    assert spans_about(straight.route, 2) == [1, 2]
