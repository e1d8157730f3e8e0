"""Tails of inners: where the anchor lies, and how far tyre and spokes are from hand-made points."""

from __future__ import annotations

import math

import numpy as np
import pytest
from findingcases import dropper
from workbench import CALIPER, FRONT_STOP, LEVER, PARTS, REAR_STOP, placed, station

from ropewalk.analysis.tails import anchor, judge_tail, wheel_distance
from ropewalk.bike.reading import loads
from ropewalk.workshop.plan import place_lines

STATIONS = [LEVER, FRONT_STOP, REAR_STOP, CALIPER]
#: rear axle of the small bike: 76 mm up, 450 mm from the bottom bracket
AXLE = np.array([-math.sqrt(450.0**2 - 76.0**2), 76.0, 0.0])


def test_tyre_and_spokes_are_told_apart_by_hand() -> None:
    """A 39-622 tyre: 39 mm wide, 700 across, on a seat of 622; spokes from the rim's middle to flanges at 35 mm."""
    bike, _ = placed(STATIONS)
    up, right = np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0])
    points = np.stack([AXLE + 360 * up, AXLE + 330.5 * up + 30 * right, AXLE + 100 * up + 20 * right])
    expected = [10.0, 10.5, 20.0 - 35.0 * (1.0 - 100.0 / 311.0)]
    assert wheel_distance(bike, points, PARTS, axle="rear axle") == pytest.approx(expected, abs=1e-9)


def test_the_anchor_lies_from_the_seat_as_the_catalogue_says() -> None:
    bike, line = placed(STATIONS)
    found = anchor(bike, line)
    assert found is not None
    place, direction = found
    mount, seat = bike.mounts["brake bridge"], line.stations[-1].place
    assert place - seat == pytest.approx(-48.0 * mount.up + 2.0 * mount.right)
    assert direction == pytest.approx((place - seat) / math.hypot(48.0, 2.0))


def test_a_bare_inner_runs_on_straight_through_its_anchor() -> None:
    low = {"name": "derailleur", "type": "anchor", "part": "front derailleur, from above", "on": "seat tube"}
    last = {**low, "from": "bottom bracket", "along": 155}
    shift = {"work": "shift", "inner": "shift 1.2", "housing": "lengthwise shift 4.0"}
    bike, line = placed([LEVER, station(FRONT_STOP, then="bare"), last], **shift)
    found = anchor(bike, line)
    assert found is not None
    way = line.stations[-1].place - line.stations[-2].place
    assert found[1] == pytest.approx(way / np.linalg.norm(way), abs=1e-6)


def test_the_longer_the_tail_the_nearer_it_comes() -> None:
    bike, line = placed([LEVER, {**CALIPER, "part": "dual-pivot rim caliper, front", "offset": [40, 38, 24]}])
    assert list(judge_tail(bike, line, 10.0, PARTS)) == []
    near, nearer = (next(judge_tail(bike, line, tail, PARTS)).value for tail in (32.0, 40.0))
    assert near is not None and nearer is not None and nearer < near


def test_where_the_work_holds_the_nipple_there_is_no_tail() -> None:
    bike, lines = place_lines(loads(dropper("dropper lever"), "bike.toml"), PARTS)
    assert anchor(bike, lines[0]) is None
    assert list(judge_tail(bike, lines[0], 30.0, PARTS)) == []
