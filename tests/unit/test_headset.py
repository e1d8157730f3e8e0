"""Headset routing: wound about the steerer, checked in space pose by pose, by mirroring, and by what shuts it."""

from __future__ import annotations

import math
from typing import Any

import makers
import numpy as np
import pytest
from workbench import CALIPER, LEVER, REAR_STOP, placed, station

from ropewalk.bike.model import Bike
from ropewalk.errors import FrameFileError
from ropewalk.routing.course import Course, Wrap
from ropewalk.routing.spans import PlacedLine, shape_span

#: half the steerer and half the housing (1 1/8 in, common practice; 5 mm) [mm]
BESIDE = (28.6 + 5.0) / 2
#: a head tube that leaves 10.2 mm beside the steerer
WIDE = {"head_tube": {"diameter": 52, "wall": 1.5}, "down_tube": {"diameter": 45, "at_head": 35}}
OPENING = [{"between": ["head tube", "down tube"], "size": 25}]
STEERS = np.radians(np.linspace(-90, 90, 13))


def headset(
    *, tubes: dict[str, Any] | None = None, last: dict[str, Any] | None = None, opening: Any = OPENING, **changes: Any
) -> tuple[Bike, PlacedLine, Wrap]:
    """Return a way from a port above the head tube beside the steerer to one low on the down tube."""
    port = {"name": "headset port", "type": "port", "on": "steerer", "from": "head tube top", "along": -8, "clock": 9}
    onward = {"then": "inside", "through": ["head tube", "down tube"], "carries": "housing"}
    first = station(port | onward | {"facing": "top", "lean": 30, "height": 2}, **changes)
    rear = {"name": "rear port", "type": "port", "lean": 25, "from": "bottom bracket", "along": 80, **(last or {})}
    frame = {"tubes": makers.frame_dict()["tubes"] | (WIDE if tubes is None else tubes), "opening": opening}
    bike, line = placed([LEVER, first, station(REAR_STOP, **rear), CALIPER], frame=frame)
    found = line.spans[1]
    assert isinstance(found, Wrap)
    return bike, line, found


def from_axis(wrap: Wrap, points: np.ndarray) -> np.ndarray:
    off = points - wrap.axis_point
    return np.linalg.norm(off - np.outer(off @ wrap.axis, wrap.axis), axis=1)


@pytest.mark.parametrize("clock", [9, 10.5, 12, 3])
@pytest.mark.parametrize("steer", np.radians([-80, -20, 0, 45, 90]))
def test_in_every_pose_it_runs_from_port_to_port_beside_the_steerer(clock: float, steer: float) -> None:
    bike, line, wrap = headset(clock=clock)
    assert wrap.reached
    points = wrap.points(steer)
    start = bike.mechanism.placement("fork", {"steer": steer}).points(line.stations[1].place)[0]
    # a port nearer to the steerer than half the housing counts as one on it
    assert np.linalg.norm(points[0] - start) < 0.6
    assert points[-1] == pytest.approx(line.stations[2].place)
    assert from_axis(wrap, points).min() >= BESIDE - 1e-6
    down = (points - wrap.axis_point) @ wrap.axis
    head = bike.tubes["head tube"]
    # above the opening, 115 mm down, it stays within the bore
    assert from_axis(wrap, points[down < 90]).max() <= head.diameter / 2 - head.wall - 2.5 + 1e-6
    legs = np.diff(points, axis=0)
    assert wrap.at([steer]).length[0] == pytest.approx(np.linalg.norm(legs, axis=1).sum(), abs=0.05)


@pytest.mark.parametrize("steer", np.radians([-80, 0, 45, 90]))
def test_its_turn_is_that_of_its_points_and_ports(steer: float) -> None:
    bike, line, wrap = headset(clock=11)
    turned = bike.mechanism.placement("fork", {"steer": steer}).directions(line.onward[1])[0]
    points = wrap.points(steer)
    directions = np.concatenate([[turned], np.diff(points, axis=0), [line.onward[2]]])
    directions = directions[np.linalg.norm(directions, axis=1) > 1e-9]
    units = directions / np.linalg.norm(directions, axis=1)[:, None]
    angles = np.arccos(np.clip(np.sum(units[:-1] * units[1:], axis=1), -1, 1))
    assert wrap.at([steer]).turn[0] == pytest.approx(angles.sum(), abs=math.radians(1.0))


def test_its_length_changes_by_the_moment_arm_of_the_line_about_the_axis() -> None:
    """Virtual work: a taut line that lies on the steerer pulls at its half-thickness beside it, less its slope."""
    _, _, wrap = headset(clock=12)
    steers = np.linspace(0.2, 1.2, 2001)
    length, _, radius, contact = wrap.at(steers)
    assert (contact > 0).all()
    growth = np.abs(np.gradient(length, steers))[1:-1]
    helix = wrap.at(steers[1:-1])
    # on the helix the radius is r / cos^2 of its slope
    slope = np.sqrt(BESIDE / np.minimum(radius[1:-1], helix.radius))
    bent = radius[1:-1] < wrap.corners[0].radius - 1
    assert bent.any()
    assert growth[bent] == pytest.approx((BESIDE * slope)[bent], rel=1e-3)


def test_the_other_hand_is_the_mirror_image() -> None:
    _, _, left = headset(clock=10, last={"clock": 9})
    _, _, right = headset(clock=2, last={"clock": 3})
    one, other = left.at(STEERS), right.at(-STEERS)
    for name in ("length", "turn", "contact"):
        assert getattr(one, name) == pytest.approx(getattr(other, name), abs=1e-6)


def test_from_straight_ahead_of_the_steerer_it_passes_on_the_side_of_its_other_port() -> None:
    for clock, side in ((9, -1.0), (3, 1.0)):
        _, _, wrap = headset(clock=12, last={"clock": clock})
        middle = wrap.points(0.0)
        beside = middle[np.abs(from_axis(wrap, middle) - BESIDE) < 1e-6]
        assert (side * beside[:, 2]).min() > -1e-6


def test_at_several_angles_is_each_angle_by_itself() -> None:
    _, _, wrap = headset()
    together = wrap.at(STEERS)
    assert together.length.shape == STEERS.shape
    for place, steer in enumerate(STEERS):
        assert wrap.at(steer).length[0] == pytest.approx(together.length[place], rel=1e-12)
    assert wrap.least_radius == pytest.approx(together.radius.min(), rel=0.01)


def test_a_wide_port_leads_over_the_edge_of_the_bore() -> None:
    _, line, wrap = headset(height=30, along=-20)
    assert len(wrap.lead_in) == 2
    assert wrap.lead_in[0] == pytest.approx(line.stations[1].place)
    edge = wrap.lead_in[1]
    assert from_axis(wrap, edge[None, :])[0] == pytest.approx(52 / 2 - 1.5 - 2.5)
    assert (edge - wrap.axis_point) @ wrap.axis == pytest.approx(0.0, abs=1e-9)


def test_how_far_the_bars_turn_before_it_kinks() -> None:
    _, _, wrap = headset(clock=12)
    lock = math.radians(90)
    # wound to the right it bends ever tighter; to the left it unwinds
    left, right = wrap.lock_kept(80.0, lock)
    assert left == pytest.approx(lock)
    assert 0 < right < lock
    assert wrap.at([right]).radius[0] >= 80.0
    assert wrap.at([right + math.radians(1)]).radius[0] < 80.0
    assert wrap.lock_kept(5.0, lock) == (lock, lock)
    assert wrap.lock_kept(1e4, lock) == (0.0, 0.0)


def test_a_gap_too_narrow_says_how_wide_it_is() -> None:
    _, _, wrap = headset(tubes={})
    assert not wrap.reached
    assert "the gap between steerer (28.6 mm) and head tube (34.0 mm inside) is 2.7 mm wide" in wrap.reason
    assert wrap.advice


def test_a_shut_head_tube_says_so() -> None:
    _, _, shut = headset(opening=[])
    assert not shut.reached
    assert "joint of head tube and down tube is shut" in shut.reason
    _, _, small = headset(opening=[{"between": ["head tube", "down tube"], "size": 4}])
    assert "opening between head tube and down tube is 4.0 mm wide" in small.reason


def test_a_port_inside_the_head_tube_is_refused() -> None:
    with pytest.raises(FrameFileError, match=r'"headset port": it lies below the head tube\'s upper end'):
        headset(along=8)


def test_bends_are_left_out_on_request() -> None:
    bike, line, full = headset()
    quick = shape_span(bike, line.route, 1, line.stations, line.onward, radii=False)
    assert isinstance(quick, Wrap)
    assert quick.at(STEERS).length == pytest.approx(full.at(STEERS).length, rel=1e-12)
    assert quick.corners == ()
    assert len(full.corners) == 1


def test_a_guide_tube_cannot_turn_with_the_bars() -> None:
    with pytest.raises(FrameFileError, match=r'"headset port": arc means nothing here'):
        headset(arc=700, turn=40)


@pytest.mark.parametrize("clock", [6, 9, 12])
def test_from_a_port_of_the_head_tube_it_passes_beside_the_steerer(clock: float) -> None:
    port = {"name": "head port", "type": "port", "on": "head tube", "from": "top", "along": 30, "clock": clock}
    onward = {"then": "inside", "through": ["head tube", "down tube"], "carries": "housing"}
    rear = {"name": "rear port", "type": "port", "lean": 25, "from": "bottom bracket", "along": 80}
    frame = {"tubes": makers.frame_dict()["tubes"] | WIDE, "opening": OPENING}
    first = port | onward | {"facing": "top", "lean": 30}
    bike, line = placed([LEVER, first, station(REAR_STOP, **rear), CALIPER], frame=frame)
    found = line.spans[1]
    assert isinstance(found, Course)
    assert found.reached
    assert found.points[0] == pytest.approx(line.stations[1].place)
    assert found.length == pytest.approx(np.linalg.norm(np.diff(found.points, axis=0), axis=1).sum(), abs=0.05)
    assert found.length >= math.dist(line.stations[1].place, line.stations[2].place)
    off = found.points - bike.skeleton.steering_axis_point
    axis = bike.skeleton.steering_axis
    assert np.linalg.norm(off - np.outer(off @ axis, axis), axis=1).min() >= BESIDE - 1e-6
