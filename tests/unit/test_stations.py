"""Stations placed as a mechanic measures them: seat and direction by hand, and what is missing told in one line."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from workbench import CALIPER, FRONT_STOP, LEVER, LEVERS, PARTS, REAR_STOP, bench_frame, line, placed, station

from ropewalk.bike.model import Bike
from ropewalk.errors import FrameFileError
from ropewalk.routing.stations import PlacedStation
from ropewalk.workshop.plan import place_lines

REST = [REAR_STOP, CALIPER]


def front_stop(**changes: Any) -> tuple[Bike, PlacedStation]:
    bike, made = placed([LEVER, station(FRONT_STOP, **changes), *REST])
    return bike, made.stations[1]


def down_tube(bike: Bike) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return where the down tube's axis meets the head tube's, and its unit axis and upper side in the side view."""
    bones = bike.skeleton
    # 35 mm up from the lower end of a head tube of 150 mm
    start = bones.head_bottom + 35.0 / 150.0 * (bones.head_top - bones.head_bottom)
    axis = (bones.bottom_bracket - start) / np.linalg.norm(bones.bottom_bracket - start)
    return start, axis, np.array([axis[1], -axis[0], 0.0]) * np.sign(-axis[0])


def test_along_is_measured_on_the_axis_from_where_it_meets_the_other_tube_s() -> None:
    bike, stop = front_stop(along=120, height=0)
    start, axis, _ = down_tube(bike)
    # 9 o'clock is the rider's left: half a tube of 31.8 mm out to the side
    assert stop.place == pytest.approx(start + 120.0 * axis + np.array([0.0, 0.0, -15.9]), abs=1e-9)


@pytest.mark.parametrize(("clock", "up", "right"), [(12, 1, 0), (3, 0, 1), (6, -1, 0), (1.5, 0.5**0.5, 0.5**0.5)])
def test_twelve_faces_up_and_three_to_the_rider_s_right(clock: float, up: float, right: float) -> None:
    bike, stop = front_stop(clock=clock, height=2)
    start, axis, upper = down_tube(bike)
    outward = up * upper + right * np.array([0.0, 0.0, 1.0])
    assert upper[1] > 0
    assert stop.place == pytest.approx(start + 120.0 * axis + (15.9 + 2.0) * outward, abs=1e-9)


def test_a_stop_without_height_stands_off_by_half_its_ferrule() -> None:
    _, stop = front_stop(clock=9)
    # a ferrule for 5 mm housing is 6 mm outside (common practice)
    assert stop.place[2] == pytest.approx(-15.9 - 3.0)


def test_a_clip_without_height_holds_the_housing_against_the_tube() -> None:
    clip = station(REAR_STOP, name="clip", type="clip", along=300, facing="bottom bracket", then="strapped")
    _, made = placed([LEVER, clip, station(REAR_STOP, then="loop"), CALIPER])
    assert made.stations[1].place[2] == pytest.approx(-15.9 - 2.5)


def test_a_mouth_without_lean_runs_along_the_tube_to_the_end_it_faces() -> None:
    bike, stop = front_stop(facing="head tube")
    _, axis, _ = down_tube(bike)
    assert stop.direction == pytest.approx(-axis, abs=1e-12)


def test_lean_turns_the_mouth_outward_at_its_clock() -> None:
    bike, stop = front_stop(facing="head tube", clock=9, lean=20)
    _, axis, _ = down_tube(bike)
    left = np.array([0.0, 0.0, -1.0])
    lean = math.radians(20)
    assert stop.direction == pytest.approx(-math.cos(lean) * axis + math.sin(lean) * left, abs=1e-12)


def test_skew_turns_the_mouth_round_the_tube() -> None:
    """At 12 o'clock a quarter turn takes the lean from up to the rider's right, where 3 o'clock is."""
    bike, stop = front_stop(facing="head tube", clock=12, lean=30, skew=90)
    _, axis, _ = down_tube(bike)
    right = np.array([0.0, 0.0, 1.0])
    assert stop.direction == pytest.approx(-math.cos(math.pi / 6) * axis + 0.5 * right, abs=1e-12)


def test_a_place_on_a_straight_bar() -> None:
    """30 mm from the stem's middle, 3 o'clock: ahead of the bar by half of it and half the housing."""
    tape = {"name": "tape", "type": "clip", "on": "bar", "from": "stem", "along": 30, "clock": 3, "then": "loop"}
    bike, made = placed([station(LEVER, then="strapped"), tape, FRONT_STOP, *REST], bar="flat")
    clamp = bike.skeleton.bar_clamp
    assert made.stations[1].place - clamp == pytest.approx([22.2 / 2 + 2.5, 0.0, -30.0], abs=1e-9)
    assert made.stations[1].direction == pytest.approx([0.0, 0.0, 1.0], abs=1e-12)


@pytest.mark.parametrize(("side", "sign"), [("left", -1.0), ("right", 1.0)])
def test_a_lever_s_seat_is_measured_from_its_clamp_inward_forward_and_up(side: str, sign: float) -> None:
    """On a straight bar of 700 mm: 120 mm from its end, and from there by the catalogue's own figures."""
    frame = bench_frame(line([LEVER, FRONT_STOP, *REST]), bar="flat")
    lever = frame.lever[0].model_copy(update={"side": side})
    bike, (placed_line,) = place_lines(frame.model_copy(update={"lever": (lever,)}), PARTS)
    inward, forward, up = PARTS.lever(LEVERS["flat"]["part"]).exit("brake").seat
    seat = placed_line.stations[0].place - bike.skeleton.bar_clamp
    assert seat == pytest.approx([forward, up, sign * (350 - 120 - inward)], abs=1e-9)


def test_a_moving_end_sits_on_its_mount_by_the_catalogue() -> None:
    bike, made = placed([LEVER, FRONT_STOP, *REST])
    mover, mount = PARTS.mover("dual-pivot rim caliper, rear"), bike.mounts["brake bridge"]
    assert made.stations[-1].place == pytest.approx(mount.place(*mover.seat), abs=1e-9)
    assert made.stations[-1].direction == pytest.approx(mount.direction(*mover.leaves), abs=1e-9)


def test_raw_coordinates_go_before_the_catalogue_s() -> None:
    bike, made = placed([LEVER, FRONT_STOP, REAR_STOP, station(CALIPER, offset=[1, 2, 3], towards=[0, 0.5, 0])])
    mount = bike.mounts["brake bridge"]
    assert made.stations[-1].place == pytest.approx(mount.place(1, 2, 3), abs=1e-9)
    assert made.stations[-1].direction == pytest.approx(mount.up, abs=1e-12)


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"on": "down pipe"}, ['on is "down pipe"', "down tube"]),
        ({"along": None}, ["along is missing"]),
        ({"from_": None}, ["from is missing"]),
        ({"clock": None}, ["clock is missing"]),
        ({"facing": None}, ["facing is missing"]),
        ({"facing": "seat tube end"}, ['facing is "seat tube end"', "bottom bracket"]),
        ({"from_": "stem"}, ['from is "stem"']),
        ({"along": 900}, ["900 mm", "beyond the end of the down tube"]),
        ({"on": "bar", "along": 50, "from_": "stem", "facing": "fork"}, ['facing is "fork"', "stem"]),
        ({"on": "bar", "along": 50, "from_": "fork", "facing": "stem"}, ['from is "fork"', "bar end"]),
    ],
)
def test_what_is_missing_or_wrong_is_told_with_line_and_station(changes: dict[str, Any], expected: list[str]) -> None:
    with pytest.raises(FrameFileError) as refusal:
        front_stop(**changes)
    said = str(refusal.value)
    assert said.startswith('line "brake", station "front stop": ')
    assert "\n" not in said
    for part in expected:
        assert part in said


def test_a_direction_of_no_length_is_told() -> None:
    with pytest.raises(FrameFileError, match="towards has no direction"):
        placed([LEVER, FRONT_STOP, REAR_STOP, station(CALIPER, towards=[0, 0, 0])])
