"""Joints of a bike against points worked out by hand: forks that dive, arms that swing, hinges that fold, posts.

Closed forms are written out for round angles; turns by other angles come from a reference library. Charts need not
close here: nothing but how bodies move is looked at.
"""

from __future__ import annotations

import itertools
import math

import moving
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation
from workbench import CALIPER, FRONT_CALIPER, LEVER, LEVERS, PARTS, line, station

from ropewalk.bike.fleet import fleet
from ropewalk.bike.framefile import Frame
from ropewalk.bike.mechanism import BODIES
from ropewalk.bike.model import Bike, build
from ropewalk.bike.poses import COORDINATES, FOLD, poses
from ropewalk.bike.reading import read
from ropewalk.bike.tube import Tube
from ropewalk.workshop.plan import place_lines

Array = NDArray[np.float64]
ROOT_3 = math.sqrt(3.0)
X, Y, Z = np.eye(3)


def moved(bike: Bike, body: str, point: Array, **pose: float) -> Array:
    """Return where a point of a body goes in one pose."""
    return bike.mechanism.placement(body, pose).points(point)[0]


# Fork travel.


@pytest.fixture(scope="module", name="steep")
def _steep() -> Bike:
    """A suspension fork on a head angle of 60°: its axis points along (1, −√3) / 2, square to it lies (√3, 1) / 2."""
    return build(moving.suspended(chart={"head_angle": 60, "fork_offset": 40}))


def test_the_lower_legs_slide_up_the_steering_axis(steep: Bike) -> None:
    """100 mm up an axis at 60° to the ground: 50 mm back and 50 √3 mm up."""
    axle = steep.skeleton.front_axle
    assert moved(steep, "lower", axle, fork=100.0) - axle == pytest.approx([-50.0, 50.0 * ROOT_3, 0.0])
    assert moved(steep, "fork", axle, fork=100.0) == pytest.approx(axle)


def test_the_wheel_turned_by_90_degrees_lies_its_offset_to_the_right_of_the_axis(steep: Bike) -> None:
    """40 mm of offset, square to the axis and ahead, come to lie on its right; travel stays along it."""
    axle = steep.skeleton.front_axle
    foot = axle - 40.0 * np.array([ROOT_3 / 2.0, 0.5, 0.0])
    turned = foot + 40.0 * Z
    assert moved(steep, "lower", axle, steer=math.pi / 2) == pytest.approx(turned)
    both = moved(steep, "lower", axle, steer=math.pi / 2, fork=100.0)
    assert both == pytest.approx(turned + np.array([-50.0, 50.0 * ROOT_3, 0.0]))


def test_lower_legs_slide_along_the_upper_ones(steep: Bike) -> None:
    """In every pose the lower leg's axis stays on the upper leg's; its top comes nearer to the crown by the travel."""
    upper, lower = steep.tubes["left fork leg"], steep.tubes["left lower leg"]
    for steer, fork in itertools.product((0.0, -0.6), (0.0, 45.0, 120.0)):
        crown, foot = (moved(steep, "fork", end, steer=steer) for end in (upper.start, upper.end))
        top = moved(steep, "lower", lower.start, steer=steer, fork=fork)
        along = (foot - crown) / np.linalg.norm(foot - crown)
        assert np.cross(top - crown, along) == pytest.approx(np.zeros(3), abs=1e-9)
        assert (top - crown) @ along == pytest.approx(upper.length - lower.length - fork)


# The swing arm.


@pytest.mark.parametrize("travel", [0.0, 30.0, 110.0])
def test_an_arm_that_starts_level_rises_by_the_travel_and_comes_forward_by_pythagoras(travel: float) -> None:
    """The pivot as high as the axle, 76 mm over the bottom bracket: forward by L − √(L² − t²)."""
    bike = build(moving.suspended(travel={"pivot": [20, 76]}))
    axle = bike.skeleton.rear_axle
    arm = 20.0 + math.sqrt(450.0**2 - 76.0**2)
    there = moved(bike, "rear", axle, rear=travel)
    assert there - axle == pytest.approx([arm - math.sqrt(arm**2 - travel**2), travel, 0.0], abs=1e-9)


def test_what_lies_ahead_of_the_pivot_on_the_arm_goes_down() -> None:
    """An arm turned by 30°: a point 10 mm ahead of the pivot is then 5 √3 mm ahead and 5 mm below it."""
    bike = build(moving.suspended(travel={"pivot": [20, 76], "rear": 300}))
    arm = 20.0 + math.sqrt(450.0**2 - 76.0**2)
    pivot = np.array([20.0, 76.0, 0.0])
    there = moved(bike, "rear", pivot + 10.0 * X, rear=arm / 2.0)
    assert there - pivot == pytest.approx([5.0 * ROOT_3, -5.0, 0.0])


@given(
    forward=st.integers(-150, 200), up=st.integers(-50, 250), share=st.floats(0.0, 1.0), side=st.sampled_from([-64, 64])
)
@settings(deadline=None, max_examples=60)
def test_the_axle_rises_by_exactly_the_travel_and_keeps_its_distance_from_the_pivot(
    forward: int, up: int, share: float, side: int
) -> None:
    bike = build(moving.suspended(travel={"pivot": [forward, up]}))
    axle, pivot = bike.skeleton.rear_axle, np.array([forward, up, 0.0])
    for point in (axle, axle + side * Z):
        there = moved(bike, "rear", point, rear=110.0 * share)
        assert there[1] - point[1] == pytest.approx(110.0 * share, abs=1e-9)
        assert math.dist(there[:2], pivot[:2]) == pytest.approx(math.dist(point[:2], pivot[:2]))
        assert there[2] == point[2]


def test_stays_of_a_swing_arm_start_at_its_pivot() -> None:
    bike = build(moving.suspended())
    for side in ("left", "right"):
        stay = bike.tubes[f"{side} chainstay"]
        assert stay.start[:2] == pytest.approx([20.0, 56.0])
        pivot = stay.start
        assert moved(bike, "rear", pivot, rear=90.0) == pytest.approx(pivot)


# The dropper post.


def test_a_post_sinks_along_the_seat_tube() -> None:
    """100 mm down a seat tube at 60° to the ground: 50 mm forward and 50 √3 mm down."""
    bike = build(moving.suspended(chart={"seat_angle": 60}))
    head = bike.mounts["post head"].origin
    assert moved(bike, "post", head, post=100.0) - head == pytest.approx([50.0, -50.0 * ROOT_3, 0.0])
    # fully up it stands its travel and its collar over the seat tube, so fully down still over it
    assert math.dist(head, bike.skeleton.seat_top) > 100.0


# Folding.


@pytest.fixture(scope="module", name="folding")
def _folding() -> Bike:
    return build(moving.folding())


def hinge_of(bike: Bike) -> Array:
    """Return the main hinge: 300 mm from the bottom bracket towards the down tube's upper end, 20 mm to the right."""
    upper = bike.tubes["down tube"].start
    return upper * 300.0 / np.linalg.norm(upper) + 20.0 * Z


def test_a_quarter_turn_about_a_plumb_pin_folds_the_front_to_the_rider_s_left(folding: Bike) -> None:
    """About y, right-handed by 90°: what lay forward lies left, what lay right lies forward, heights stay."""
    hinge = hinge_of(folding)
    away = folding.skeleton.head_top - hinge
    there = moved(folding, "front half", folding.skeleton.head_top, fold=math.pi / 2) - hinge
    assert there == pytest.approx([away[2], away[1], -away[0]])
    assert there[2] < -150.0


def test_a_half_turn_about_a_plumb_pin_lays_the_front_beside_the_rear(folding: Bike) -> None:
    """About y by 180°: x and z change their sign about the hinge."""
    hinge = hinge_of(folding)
    axle = folding.skeleton.front_axle
    expected = [2.0 * hinge[0] - axle[0], axle[1], 2.0 * hinge[2] - axle[2]]
    assert moved(folding, "fork", axle, fold=math.pi) == pytest.approx(expected)


def test_the_second_hinge_turns_in_proportion(folding: Bike) -> None:
    """180° and −170°: when the first is at 90° the second is at −85°, about the pin across, seen in the fork's axes."""
    clamp, steerer = folding.skeleton.bar_clamp, folding.tubes["steerer"]
    pin = steerer.start + 200.0 * (steerer.end - steerer.start) / steerer.length
    by_hand = pin + Rotation.from_euler("z", -85.0, degrees=True).apply(clamp - pin)
    fork = folding.mechanism.placement("fork", {"fold": math.pi / 2}).points(by_hand)[0]
    assert moved(folding, "bar", clamp, fold=math.pi / 2) == pytest.approx(fork)


def test_the_bar_folds_on_the_fork_that_turns_on_the_front_half_that_folds(folding: Bike) -> None:
    """A point of the bar through three hinges one after the other, innermost first, by a reference library."""
    bones, steerer = folding.skeleton, folding.tubes["steerer"]
    pin = steerer.start + 200.0 * (steerer.end - steerer.start) / steerer.length
    steps = [
        (pin, Rotation.from_euler("z", -170.0 / 3.0, degrees=True)),
        (bones.head_top, Rotation.from_rotvec(math.radians(20.0) * bones.steering_axis)),
        (hinge_of(folding), Rotation.from_euler("y", 60.0, degrees=True)),
    ]
    point = bones.bar_clamp + np.array([30.0, 10.0, -200.0])
    expected = point
    for centre, turn in steps:
        expected = centre + turn.apply(expected - centre)
    found = moved(folding, "bar", point, steer=math.radians(20.0), fold=math.radians(60.0))
    assert found == pytest.approx(expected, abs=1e-9)


def test_each_tube_belongs_to_the_body_on_its_side_of_the_hinge(folding: Bike) -> None:
    down, post, head = folding.tubes["down tube"], folding.tubes["bar post"], folding.tubes["head tube"]
    assert down.body_at(down.place(280.0, "bottom bracket")) == "frame"
    assert down.body_at(down.place(320.0, "bottom bracket")) == "front half"
    assert (head.body, folding.tubes["seat tube"].body) == ("front half", "frame")
    for tube in (folding.tubes["steerer"], post):
        assert body_at(tube, 190.0, folding) == "fork"
        assert body_at(tube, 210.0, folding) == "bar"


def body_at(tube: Tube, over_crown: float, bike: Bike) -> str:
    return tube.body_at(bike.skeleton.crown - over_crown * bike.skeleton.steering_axis)


@pytest.mark.parametrize("body", ["frame", "front half", "fork", "bar"])
def test_a_tube_cut_by_a_hinge_stays_in_one_piece_until_it_folds(folding: Bike, body: str) -> None:
    """At the pin two bodies share a point in every pose; elsewhere they do not."""
    pins = {"frame": hinge_of(folding), "front half": hinge_of(folding)}
    crown = folding.skeleton.crown - 200.0 * folding.skeleton.steering_axis
    partner = {"frame": "front half", "front half": "frame", "fork": "bar", "bar": "fork"}[body]
    point = pins.get(body, crown)
    for fold in (0.0, 1.0, 3.0):
        assert moved(folding, body, point, fold=fold) == pytest.approx(moved(folding, partner, point, fold=fold))
    other = point + np.array([60.0, 10.0, 0.0])
    assert math.dist(moved(folding, body, other, fold=3.0), moved(folding, partner, other, fold=3.0)) > 50.0


def folding_with_lines() -> Frame:
    """Return the folding bike with a line to the front brake and one over the hinge to the rear brake."""
    right = {**LEVERS["flat"], "name": "right lever", "side": "right"}
    clip = {"type": "clip", "on": "down tube", "clock": 9, "then": "loop", "facing": "bottom bracket"}
    over_hinge = [
        LEVER,
        station(clip, name="front clip", from_="head tube", along=90),
        station(clip, name="hinge clip", from_="bottom bracket", along=380),
        station(clip, name="rear clip", from_="bottom bracket", along=150),
        CALIPER,
    ]
    lines = [line([LEVER, FRONT_CALIPER]), line(over_hinge, name="rear brake", lever="right lever")]
    return moving.folding(lever=[LEVERS["flat"], right], line=lines)


def frames_that_fold() -> list[tuple[str, Frame]]:
    found = [(bike.name, read(bike.path)) for bike in fleet()]
    return [("small bike", folding_with_lines()), *((name, frame) for name, frame in found if frame.fold)]


@pytest.mark.parametrize(
    ("_name", "frame"), frames_that_fold(), ids=lambda value: value if isinstance(value, str) else ""
)
def test_folding_and_unfolding_returns_every_station(_name: str, frame: Frame) -> None:
    """Folded by the program and unfolded hinge by hinge, outermost first, by a reference library: back to 1e-9 mm."""
    bike, lines = place_lines(frame, PARTS)
    sweep = poses(bike.frame)
    shut, steer = float(sweep.high[FOLD]), sweep.fold_steer
    assert shut > 1.0
    hung = {joint.body: joint for joint in bike.mechanism.joints}
    travelled = 0.0
    for placed in lines:
        for at in placed.stations:
            there = moved(bike, at.body, at.place, fold=shut, steer=steer)
            travelled = max(travelled, math.dist(there, at.place))
            chain, body = [], at.body
            while body in hung:
                chain.insert(0, hung[body])
                body = hung[body].parent
            back = there
            for joint in chain:
                turned = (
                    shut if joint.coordinate == "fold" else steer if joint.coordinate == "steer" else 0.0
                ) * joint.sign
                back = joint.point + Rotation.from_rotvec(-turned * joint.axis).apply(back - joint.point)
            assert np.abs(back - at.place).max() < 1e-9
            (home,) = bike.mechanism.placement(at.body, {"fold": 0.0, "steer": 0.0}).points(at.place)
            assert np.abs(home - at.place).max() < 1e-9
    assert travelled > 200.0


# Which coordinates move what.

#: coordinates between two bodies of a bike that folds at both hinges and rides on springs, worked out by hand: those
#: of every joint on the way from one to the other
BETWEEN = {
    ("frame", "front half"): {"fold"},
    ("frame", "fork"): {"fold", "steer"},
    ("frame", "bar"): {"fold", "steer"},
    ("frame", "lower"): {"fold", "steer", "fork"},
    ("frame", "rear"): {"rear"},
    ("frame", "post"): {"post"},
    ("front half", "fork"): {"steer"},
    ("front half", "bar"): {"steer", "fold"},
    ("front half", "lower"): {"steer", "fork"},
    ("front half", "rear"): {"fold", "rear"},
    ("front half", "post"): {"fold", "post"},
    ("fork", "bar"): {"fold"},
    ("fork", "lower"): {"fork"},
    ("fork", "rear"): {"fold", "steer", "rear"},
    ("fork", "post"): {"fold", "steer", "post"},
    ("bar", "lower"): {"fold", "fork"},
    ("bar", "rear"): {"fold", "steer", "rear"},
    ("bar", "post"): {"fold", "steer", "post"},
    ("lower", "rear"): {"fold", "steer", "fork", "rear"},
    ("lower", "post"): {"fold", "steer", "fork", "post"},
    ("rear", "post"): {"rear", "post"},
}


def test_every_pair_of_bodies_is_listed() -> None:
    assert {frozenset(pair) for pair in BETWEEN} == {frozenset(pair) for pair in itertools.combinations(BODIES, 2)}


@pytest.mark.parametrize(("one", "other"), BETWEEN)
def test_coordinates_between_bodies_are_those_of_the_joints_on_the_way(one: str, other: str) -> None:
    mechanism = build(moving.everything()).mechanism
    assert mechanism.coordinates_between(one, other) == BETWEEN[one, other]
    assert mechanism.coordinates_between(other, one) == BETWEEN[one, other]
    assert not mechanism.coordinates_between(one, one)


@pytest.mark.parametrize(("one", "other"), BETWEEN)
def test_coordinates_that_are_not_between_two_bodies_do_not_move_them_against_each_other(one: str, other: str) -> None:
    """A point of one, seen from the other, stays where it was; with those between, it moves."""
    mechanism = build(moving.everything()).mechanism
    point, most = np.array([123.0, 456.0, -78.0]), {"steer": 0.7, "fork": 90.0, "rear": 80.0, "fold": 1.9, "post": 60.0}

    def seen(pose: dict[str, float]) -> Array:
        world = mechanism.placement(one, pose).points(point)[0]
        return mechanism.placement(other, pose).inverse().points(world)[0]

    rest = {name: most[name] for name in COORDINATES if name not in BETWEEN[one, other]}
    assert seen(rest) == pytest.approx(point, abs=1e-9)
    for name in BETWEEN[one, other]:
        assert math.dist(seen({**rest, name: most[name]}), point) > 1.0, name


def test_without_a_hinge_of_its_own_the_bar_moves_with_the_fork() -> None:
    mechanism = build(moving.folding(fold=[moving.MAIN_HINGE])).mechanism
    assert not mechanism.moves_between("bar", "fork")
    assert mechanism.coordinates_between("bar", "frame") == {"fold", "steer"}
    only_bar = build(moving.folding(fold=[moving.POST_HINGE])).mechanism
    assert only_bar.coordinates_between("bar", "fork") == {"fold"}
    assert only_bar.coordinates_between("fork", "frame") == {"steer"}
