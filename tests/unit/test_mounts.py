"""Mounts, lever clamps and the whole build against plain geometry."""

import math

import makers
import moving
import numpy as np
import pytest

from ropewalk.bike.deviations import deviated
from ropewalk.bike.framefile import Lever
from ropewalk.bike.model import build, lever_clamp
from ropewalk.bike.mounts import on_tube
from ropewalk.errors import FrameFileError


@pytest.fixture(name="bike", scope="module")
def _bike():
    return build(makers.frame())


NAMES = [
    "bottom bracket",
    "rear bottom bracket",
    "front axle",
    "rear axle",
    "derailleur hanger",
    "bar clamp",
    "seat tube",
    "fork crown",
    "brake bridge",
    "front disc mount",
    "rear disc mount",
    "left fork boss",
    "right fork boss",
    "left stay boss",
    "right stay boss",
]


def test_all_mounts_are_there(bike):
    assert sorted(bike.mounts) == sorted(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_axes_are_a_right_handed_cross_with_right_at_the_rider_s(bike, name):
    mount = bike.mounts[name]
    assert mount.right == pytest.approx([0.0, 0.0, 1.0])
    assert np.cross(mount.forward, mount.up) == pytest.approx(mount.right, abs=1e-12)
    assert mount.up[1] > 0.5
    assert mount.forward[0] > 0.5


@pytest.mark.parametrize("name", NAMES)
def test_mounts_in_front_of_the_head_tube_steer(bike, name):
    front = bike.mounts[name].origin[0] > bike.skeleton.head_top[0]
    assert (bike.mounts[name].body in ("fork", "bar")) == front


def test_the_crown_s_hole_lies_on_the_steering_axis_15_mm_down(bike):
    crown = bike.mounts["fork crown"]
    assert crown.origin - bike.skeleton.crown == pytest.approx(15.0 * bike.skeleton.steering_axis)
    assert crown.up == pytest.approx(-bike.skeleton.steering_axis)


def test_the_bridge_lies_between_the_stays_over_the_rim(bike):
    """A caliper of usual reach: 361 mm from the axle for a bead seat of 622, in the plane of the stays."""
    bridge, stay = bike.mounts["brake bridge"], bike.tubes["left seat stay"]
    assert math.dist(bridge.origin, bike.skeleton.rear_axle) == pytest.approx(361.0)
    assert bridge.origin[2] == 0.0
    span = stay.end[:2] - stay.start[:2]
    away = bridge.origin[:2] - stay.start[:2]
    assert span[0] * away[1] - span[1] * away[0] == pytest.approx(0.0, abs=1e-6)


def test_the_bridge_clears_a_wide_tyre():
    bike = build(makers.frame(chart={"wheel": "55-622"}))
    assert math.dist(bike.mounts["brake bridge"].origin, bike.skeleton.rear_axle) == pytest.approx(311 + 55 + 10)


def test_bosses_are_as_high_as_rim_brakes_for_622_want_them(bike):
    # some 284 mm from the axle, 80 mm apart: common practice
    for name, axle in (("left fork boss", bike.skeleton.front_axle), ("right stay boss", bike.skeleton.rear_axle)):
        boss = bike.mounts[name].origin
        assert math.dist(boss[:2], axle[:2]) == pytest.approx(284.0)
        assert abs(boss[2]) == 40.0


def test_disc_mounts_are_75_mm_from_the_axle_behind_the_leg_and_on_the_stay(bike):
    front, rear = bike.mounts["front disc mount"], bike.mounts["rear disc mount"]
    leg, stay = bike.tubes["left fork leg"], bike.tubes["left chainstay"]
    assert math.dist(front.origin, bike.skeleton.front_axle) == pytest.approx(math.hypot(75.0, leg.diameter / 2))
    assert math.dist(rear.origin, bike.skeleton.rear_axle) == pytest.approx(math.hypot(75.0, stay.diameter / 2))
    assert front.origin[0] < leg.place(75.0, "front axle")[0]
    assert rear.origin[0] > bike.skeleton.rear_axle[0]
    assert rear.forward[0] > 0.9


def test_places_and_directions_are_told_in_the_mount_s_axes(bike):
    mount = bike.mounts["brake bridge"]
    assert mount.place(0.0, 0.0, 0.0) == pytest.approx(mount.origin)
    away = mount.place(3.0, 4.0, 12.0) - mount.origin
    assert np.linalg.norm(away) == pytest.approx(13.0)
    assert away @ mount.up == pytest.approx(4.0)


def test_a_mount_on_a_tube_stands_along_it(bike):
    mount = on_tube(bike.tubes["seat tube"], 150.0, "bottom bracket")
    assert mount.origin == pytest.approx(150.0 * bike.tubes["seat tube"].axis)
    assert mount.up == pytest.approx(bike.tubes["seat tube"].axis)
    assert on_tube(bike.tubes["down tube"], 100.0, "head tube").up[1] > 0.0


def test_a_mount_on_a_folding_tube_is_on_its_side_of_the_hinge():
    """The hinge sits 300 mm from the bottom bracket."""
    down = build(moving.folding()).tubes["down tube"]
    assert on_tube(down, 290.0, "bottom bracket").body == "frame"
    assert on_tube(down, 310.0, "bottom bracket").body == "front half"


def _lever(bike, side, along):
    return lever_clamp(bike, Lever(name="lever", part="lever", side=side, along=along))


@pytest.mark.parametrize("side", ["left", "right"])
def test_a_flat_bar_s_lever_points_level_forward(side):
    bike = build(makers.frame(cockpit={"bar": {"shape": "flat", "width": 740}}))
    clamp = _lever(bike, side, 130.0)
    point, inward = bike.bars[side].at(130.0)
    assert clamp.body == "bar"
    assert clamp.origin == pytest.approx(bike.skeleton.bar_clamp + point)
    assert clamp.inward == pytest.approx(inward)
    assert clamp.forward[1] == pytest.approx(0.0, abs=1e-12)
    assert clamp.forward[0] > 0.98
    assert clamp.up[1] > 0.99


@pytest.mark.parametrize(("side", "outside"), [("left", -1.0), ("right", 1.0)])
def test_a_drop_bar_s_lever_points_out_of_the_hook(bike, side, outside):
    clamp = _lever(bike, side, 215.0)
    assert clamp.forward[0] > 0.5
    assert clamp.forward[1] > 0.3
    assert clamp.up == pytest.approx([0.0, 0.0, outside], abs=1e-9)


@pytest.mark.parametrize("along", [20.0, 215.0, 400.0])
def test_clamp_axes_are_square_and_mirrored(bike, along):
    left, right = _lever(bike, "left", along), _lever(bike, "right", along)
    for clamp in (left, right):
        axes = np.array([clamp.inward, clamp.forward, clamp.up])
        assert axes @ axes.T == pytest.approx(np.eye(3), abs=1e-12)
    mirror = np.array([1.0, 1.0, -1.0])
    for name in ("origin", "inward", "forward", "up"):
        assert getattr(left, name) == pytest.approx(getattr(right, name) * mirror, abs=1e-9)
    assert left.place(10.0, 5.0, 2.0) == pytest.approx(right.place(10.0, 5.0, 2.0) * mirror)


def test_a_lever_on_the_tops_points_forward(bike):
    clamp = _lever(bike, "right", 400.0)
    assert clamp.forward == pytest.approx([1.0, 0.0, 0.0])
    assert clamp.up == pytest.approx([0.0, 1.0, 0.0])


def test_a_lever_beyond_the_bar_is_refused(bike):
    with pytest.raises(FrameFileError, match=r"^along is 600 mm from the bar end"):
        _lever(bike, "left", 600.0)


def test_building_twice_gives_the_same_bike_and_leaves_the_frame(bike):
    again = build(makers.frame())
    assert again.frame == bike.frame
    for name, mount in bike.mounts.items():
        assert np.array_equal(mount.origin, again.mounts[name].origin)
    for name, tube in bike.tubes.items():
        assert np.array_equal(tube.start, again.tubes[name].start)


def test_small_errors_of_measurement_are_built_and_move_things_a_little(bike):
    """Each figure of chart, tubes and cockpit, half a unit off: no station's ground moves by more than 8 mm."""
    frame = bike.frame
    paths = [
        (group, name)
        for group in ("chart", "cockpit")
        for name, value in getattr(frame, group)
        if isinstance(value, float)
    ]
    assert len(paths) > 12
    for path in paths:
        moved = build(deviated(frame, {path: 0.5}))
        shift = max(math.dist(mount.origin, moved.mounts[name].origin) for name, mount in bike.mounts.items())
        assert shift < 8.0, path
    assert build(deviated(frame, {("chart", "stack"): 40.0})).skeleton.head_top[1] == 631.0
