"""Measures of curves given by points, on a circle, a helix and polylines with closed forms."""

import numpy as np
import pytest

from ropewalk.mechanics.curves import arc_length, least_radius, resample, turn


def circle(radius: float, angle: float, count: int) -> np.ndarray:
    t = np.linspace(0.0, angle, count)
    return radius * np.stack([np.cos(t), np.sin(t), 0.0 * t], axis=-1)


def helix(radius: float, pitch: float, turns: float, count: int) -> np.ndarray:
    t = np.linspace(0.0, 2.0 * np.pi * turns, count)
    return np.stack([radius * np.cos(t), radius * np.sin(t), pitch * t / (2.0 * np.pi)], axis=-1)


def test_a_circle() -> None:
    points = circle(40.0, 1.5 * np.pi, 4001)
    assert arc_length(points) == pytest.approx(60.0 * np.pi, rel=1e-6)
    assert turn(points) == pytest.approx(1.5 * np.pi, rel=1e-3)
    assert least_radius(points) == pytest.approx(40.0, rel=1e-9)


def test_a_polygon_on_a_circle_turns_by_its_corners_exactly() -> None:
    assert turn(circle(40.0, 1.5 * np.pi, 31)) == pytest.approx(1.5 * np.pi * 29.0 / 30.0, rel=1e-12)


def test_a_helix() -> None:
    # Radius r and rise c a radian: length t sqrt(r² + c²), curvature r / (r² + c²).
    radius, pitch, turns = 25.0, 60.0, 2.5
    rise = pitch / (2.0 * np.pi)
    points = helix(radius, pitch, turns, 20001)
    length = 2.0 * np.pi * turns * np.hypot(radius, rise)
    curvature = radius / (radius**2 + rise**2)
    assert arc_length(points) == pytest.approx(length, rel=1e-7)
    assert turn(points) == pytest.approx(length * curvature, rel=1e-4)
    assert 1.0 / least_radius(points) == pytest.approx(curvature, rel=1e-5)


def test_a_bent_line() -> None:
    points = np.array([[0.0, 0.0, 0.0], [30.0, 0.0, 0.0], [30.0, 40.0, 0.0], [30.0, 40.0, 5.0]])
    assert arc_length(points) == pytest.approx(75.0)
    assert turn(points) == pytest.approx(np.pi)
    # The circle through the first three points has their hypotenuse, 50, as its diameter.
    assert least_radius(points[:3]) == pytest.approx(25.0)


def test_turning_right_back_is_half_a_turn() -> None:
    assert turn(np.array([[0.0, 0.0, 0.0], [10.0, 0.0, 0.0], [2.0, 0.0, 0.0]])) == pytest.approx(np.pi)


def test_a_straight_line_has_no_turn_and_no_radius() -> None:
    points = np.linspace([0.0, 1.0, 2.0], [30.0, -4.0, 7.0], 9)
    assert turn(points) == pytest.approx(0.0, abs=1e-7)
    assert least_radius(points) == np.inf


def test_repeated_points_change_nothing() -> None:
    points = np.array([[0.0, 0.0, 0.0], [30.0, 0.0, 0.0], [30.0, 40.0, 0.0]])
    stuttered = points[[0, 0, 1, 1, 1, 2, 2]]
    assert turn(stuttered) == pytest.approx(np.pi / 2.0)
    assert arc_length(stuttered) == pytest.approx(70.0)
    assert resample(stuttered, 8) == pytest.approx(resample(points, 8))


def test_resampling_keeps_to_the_line_at_even_steps() -> None:
    points = np.array([[0.0, 0.0, 0.0], [30.0, 0.0, 0.0], [30.0, 40.0, 0.0]])
    even = resample(points, 8)
    assert even[0] == pytest.approx(points[0])
    assert even[-1] == pytest.approx(points[-1])
    assert even[3] == pytest.approx([30.0, 0.0, 0.0])
    assert even[5] == pytest.approx([30.0, 20.0, 0.0])
    fine = resample(circle(40.0, np.pi, 3001), 101)
    assert np.linalg.norm(fine, axis=1) == pytest.approx(np.full(101, 40.0), abs=1e-4)
    steps = np.linalg.norm(np.diff(fine, axis=0), axis=1)
    assert steps == pytest.approx(np.full(100, steps.mean()), rel=1e-6)


def test_batches_are_measured_row_by_row() -> None:
    batch = np.stack([circle(40.0, 2.0, 201), helix(20.0, 30.0, 1.0, 201)])[:, None].repeat(2, axis=1)
    for measure in (arc_length, turn, least_radius):
        together = measure(batch)
        assert together.shape == (2, 2)
        assert together[1, 0] == pytest.approx(float(measure(batch[1, 0])))
    assert resample(batch, 7).shape == (2, 2, 7, 3)
    assert resample(batch, 7)[1, 1] == pytest.approx(resample(batch[1, 1], 7))
