"""Clearance of hand-made curves: points beside a torus tyre, a crown, a crank; ends are held and left out."""

from __future__ import annotations

import math

import numpy as np
import pytest
from makers import steered
from numpy.typing import NDArray
from workbench import CALIPER, FRONT_STOP, LEVER, PARTS, REAR_STOP, placed

from ropewalk.analysis.clearance import Clearance, Obstacle, obstacles
from ropewalk.bike.model import Bike

STRAIGHT = steered([0.0])
#: a 39-622 tyre (ISO 5775): 39 mm wide, 700 mm outside diameter
TYRE, OUTSIDE = 39.0, 350.0


@pytest.fixture(scope="module", name="bike")
def _bike() -> Bike:
    return placed([LEVER, FRONT_STOP, REAR_STOP, CALIPER])[0]


@pytest.fixture(scope="module", name="things")
def _things(bike: Bike) -> dict[str, Obstacle]:
    return {thing.name: thing for thing in obstacles(bike, PARTS)}


def at(thing: Obstacle, *points: NDArray[np.float64], steer: float = 0.0) -> NDArray[np.float64]:
    """Return the distance from points to a thing at one steering angle."""
    return thing.distance(np.array(points)[np.newaxis], steered([math.degrees(steer)]))[0]


def test_the_things_that_end_a_window_are_tyres_crown_and_crank(things: dict[str, Obstacle]) -> None:
    limiting = sorted(name for name, thing in things.items() if thing.limits)
    assert limiting == ["the crank", "the fork crown", "the front tyre", "the rear tyre"]
    told = sorted(name for name, thing in things.items() if not thing.limits)
    assert told == ["a rider's knee", "the chainring", "the head tube"]


def test_the_head_tube_is_a_cylinder(bike: Bike, things: dict[str, Obstacle]) -> None:
    """36 mm thick, from the top at reach 380 and stack 591 down at 71.5°: beside it, over it, inside it."""
    tube = bike.tubes["head tube"]
    axis = np.array([math.cos(math.radians(71.5)), -math.sin(math.radians(71.5)), 0.0])
    top = np.array([380.0, 591.0, 0.0])
    right = np.array([0.0, 0.0, 1.0])
    found = at(
        things["the head tube"],
        top + 50.0 * axis + 30.0 * right,
        top - 8.0 * axis,
        top - 3.0 * axis + 22.0 * right,
        top + 75.0 * axis,
    )
    assert found == pytest.approx([12.0, 8.0, 5.0, -18.0], abs=1e-9)
    assert tube.diameter == 36.0


def test_the_chainring_is_on_the_right_only(things: dict[str, Obstacle]) -> None:
    found = at(things["the chainring"], np.array([0.0, 60.0, 47.0]), np.array([0.0, 60.0, -47.0]))
    assert found == pytest.approx([42.0 - 47.0, 42.0 + 47.0])
    assert at(things["the chainring"], np.array([-115.0, 0.0, 50.0])) == pytest.approx([10.0])


def test_knees_are_on_both_sides_and_only_while_riding(things: dict[str, Obstacle]) -> None:
    """From 60 to 190 mm aside, 120 to 450 behind the head tube's top, 250 below it to 60 above."""
    knee = things["a rider's knee"]
    inside = [np.array([150.0, 500.0, side * 70.0]) for side in (1.0, -1.0)]
    assert at(knee, *inside) == pytest.approx([-10.0, -10.0])
    assert at(knee, np.array([263.0, 655.0, 100.0])) == pytest.approx([5.0])
    assert at(knee, *inside, steer=math.radians(60.0)).min() > 100.0


@pytest.mark.parametrize(("name", "axle"), [("the rear tyre", "rear_axle"), ("the front tyre", "front_axle")])
def test_a_tyre_is_a_torus_about_its_axle(bike: Bike, things: dict[str, Obstacle], name: str, axle: str) -> None:
    centre, tyre = getattr(bike.skeleton, axle), things[name]
    middle = OUTSIDE - TYRE / 2
    outwards = np.array([math.cos(2.0), math.sin(2.0), 0.0])
    beside = np.array([0.0, 0.0, 1.0])
    found = at(
        tyre,
        centre + (OUTSIDE + 10.0) * outwards,
        centre + middle * outwards + (TYRE / 2 + 7.0) * beside,
        centre + middle * outwards,
        centre + (middle + 30.0) * outwards + 40.0 * beside,
        centre + 0.0 * outwards,
    )
    expected = [10.0, 7.0, -TYRE / 2, math.hypot(30.0, 40.0) - TYRE / 2, middle - TYRE / 2]
    assert found == pytest.approx(expected, abs=1e-9)


def test_the_front_tyre_turns_with_the_fork(bike: Bike, things: dict[str, Obstacle]) -> None:
    """A point carried along by the fork keeps its distance; one that stays behind does not."""
    bones, steer = bike.skeleton, math.radians(40.0)
    point = bones.front_axle + np.array([-(OUTSIDE + 12.0), 0.0, 0.0])
    carried = bike.mechanism.placement("fork", {"steer": steer}).points(point)[0]
    assert at(things["the front tyre"], carried, steer=steer) == pytest.approx([12.0], abs=1e-9)
    assert at(things["the front tyre"], point, steer=steer)[0] > 15.0


def test_the_rear_tyre_stays(bike: Bike, things: dict[str, Obstacle]) -> None:
    point = bike.skeleton.rear_axle + np.array([OUTSIDE + 12.0, 0.0, 0.0])
    assert at(things["the rear tyre"], point, steer=1.0) == pytest.approx([12.0], abs=1e-9)


def test_the_crown_is_a_cylinder_about_the_steering_axis_below_the_crown_race(
    bike: Bike, things: dict[str, Obstacle]
) -> None:
    """22 mm in radius and 35 mm high by the catalogue's settings."""
    bones, crown = bike.skeleton, things["the fork crown"]
    axis, square = bones.steering_axis, bones.steering_square
    found = at(
        crown,
        bones.crown + 17.5 * axis + 30.0 * square,
        bones.crown - 9.0 * axis,
        bones.crown + (35.0 + 3.0) * axis + (22.0 + 4.0) * square,
        bones.crown + 17.5 * axis + 20.0 * square,
    )
    assert found == pytest.approx([8.0, 9.0, 5.0, -2.0], abs=1e-9)


def test_the_cranks_sweep_a_disc_on_either_side(things: dict[str, Obstacle]) -> None:
    """Nothing within 170 mm of the bottom bracket further out than 55 mm from the middle plane."""
    points = ([100.0, 0, 60], [100.0, 0, -60], [100.0, 0, 50], [180.0, 0, 80], [0, -165.0, 100])
    found = at(things["the crank"], *(np.array(point, dtype=float) for point in points))
    assert found == pytest.approx([-5.0, -5.0, 5.0, 10.0, -5.0])


def ball(size: float) -> Obstacle:
    return Obstacle("a ball", lambda curves, _poses: np.linalg.norm(curves, axis=-1) - size)


def straight(height: float, count: int, half: float = 100.0) -> NDArray[np.float64]:
    return np.column_stack([np.linspace(-half, half, count), np.full(count, height), np.zeros(count)])


def test_a_line_is_half_its_thickness_nearer_than_its_middle() -> None:
    assert Clearance((ball(20.0),), 2.5)(straight(30.0, 41)[np.newaxis], STRAIGHT) == pytest.approx([7.5], abs=1e-9)


@pytest.mark.parametrize("count", [30, 40, 41, 42])
def test_the_nearest_place_may_lie_between_points(count: int) -> None:
    """A straight line passes a ball of 20 mm at 25 mm from its middle, wherever its points fall."""
    found = Clearance((ball(20.0),), 0.0)(straight(25.0, count)[np.newaxis], STRAIGHT)
    assert found == pytest.approx([5.0], abs=0.05)


def test_the_fifth_next_to_either_end_does_not_count() -> None:
    """Housing is held there: a curve whose first point lies in the middle of a ball is as free as its middle part."""
    curve = np.column_stack([np.linspace(0.0, 100.0, 41), np.zeros(41), np.zeros(41)])
    found = Clearance((ball(5.0),), 0.0)(curve[np.newaxis], STRAIGHT)
    assert found == pytest.approx([20.0 - 5.0], abs=0.5)


def test_every_curve_is_taken_at_its_own_angle(bike: Bike, things: dict[str, Obstacle]) -> None:
    clear = Clearance((things["the front tyre"],), 0.0)
    ahead = bike.skeleton.front_axle + np.array([-(OUTSIDE + 12.0), 0.0, 0.0])
    curve = ahead + np.column_stack([np.zeros(41), np.linspace(-20, 20, 41), np.zeros(41)])
    together = clear(np.stack([curve, curve]), steered([0.0, 40.0]))
    apart = [clear(curve[np.newaxis], steered([steer]))[0] for steer in (0.0, 40.0)]
    assert together == pytest.approx(apart)
    assert together[0] < together[1]


def test_without_obstacles_everything_is_far_away() -> None:
    assert Clearance((), 2.5)(straight(0.0, 41)[np.newaxis], STRAIGHT)[0] >= 1000.0


def test_the_nearest_thing_has_a_name(bike: Bike) -> None:
    clear = Clearance(obstacles(bike, PARTS), 2.5)
    by_the_tyre = bike.skeleton.rear_axle + np.array([OUTSIDE, 0.0, 0.0]) + straight(0.0, 41, half=5.0)
    assert clear.nearest(by_the_tyre, STRAIGHT[0]) == "the rear tyre"
