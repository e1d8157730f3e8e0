"""Where two round tubes meet, and how far from there a point of the surface is."""

from __future__ import annotations

import math

import numpy as np
import pytest

from ropewalk.mechanics.joint import Cylinder, flat_distance, inside, joint_line

UP = np.array([0.0, 1.0, 0.0])
THIS = Cylinder(np.zeros(3), np.array([300.0, 0.0, 0.0]), 30.0)


@pytest.mark.parametrize("angle_deg", [60.0, 90.0, 110.0])
def test_every_point_lies_on_both_tubes(angle_deg: float) -> None:
    angle = math.radians(angle_deg)
    axis = np.array([math.cos(angle), math.sin(angle), 0.0])
    other = Cylinder(-90.0 * axis, 90.0 * axis, 44.0)
    line = joint_line(THIS, UP, other)
    assert len(line) == 720
    points = np.stack([line[:, 0], 15.0 * np.cos(line[:, 1] / 15.0), 15.0 * np.sin(line[:, 1] / 15.0)], axis=-1)
    away = np.linalg.norm(np.cross(points, axis), axis=1)
    assert away == pytest.approx(np.full(len(points), 22.0))


def test_a_thin_tube_on_a_thick_ones_side_meets_it_in_a_closed_curve_there() -> None:
    # A stay of 16 mm square on a tube of 30: the joint is 16 mm long, and 2·15·asin(8/15) wide round the tube.
    stay = Cylinder(np.array([150.0, 0.0, 0.0]), np.array([150.0, 200.0, 0.0]), 16.0)
    line = joint_line(THIS, UP, stay)
    assert np.ptp(line[:, 0]) == pytest.approx(16.0, abs=0.01)
    assert np.ptp(line[:, 1]) == pytest.approx(2 * 15 * math.asin(8 / 15), abs=0.3)
    assert np.abs(line[:, 1]).max() < 15.0 * math.pi / 2


@pytest.mark.parametrize(
    "other",
    [
        Cylinder(np.array([0.0, 60.0, 0.0]), np.array([300.0, 60.0, 0.0]), 30.0),
        Cylinder(np.array([150.0, 100.0, 0.0]), np.array([150.0, 200.0, 0.0]), 30.0),
        Cylinder(np.array([400.0, -50.0, 0.0]), np.array([400.0, 50.0, 0.0]), 30.0),
    ],
    ids=["beside", "ends short of it", "beyond its end"],
)
def test_tubes_that_do_not_touch_have_no_joint(other: Cylinder) -> None:
    assert joint_line(THIS, UP, other).shape == (0, 2)
    assert not inside(np.array([[150.0, 15.0, 0.0]]), other)


def test_a_point_in_the_joint_is_inside() -> None:
    other = Cylinder(np.array([0.0, -90.0, 0.0]), np.array([0.0, 90.0, 0.0]), 44.0)
    assert inside(np.array([[100.0, 15.0, 0.0], [10.0, 15.0, 0.0]]), other)
    assert not inside(np.array([[100.0, 15.0, 0.0]]), other)


def test_the_short_way_round_counts() -> None:
    assert flat_distance(np.array([[3.0, -48.0]]), np.array([[0.0, 48.0]]), 100.0) == (5.0, 0)
