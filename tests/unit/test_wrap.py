"""Paths wound about a cylinder against closed forms and against a fine polyline shortened by a general minimiser."""

import math

import numpy as np
import pytest
from scipy.optimize import minimize

from ropewalk.mechanics.wrap import wound, wound_points

RADIUS = 17.0


def by_minimiser(angle, start_radius, end_radius, radius, rise, *, count=160):
    """Length of the shortest polyline outside the cylinder, by scipy's L-BFGS-B: radii and rises at even angles."""
    share = np.linspace(0.0, 1.0, count)
    bearing = share * angle
    first = np.stack([np.maximum(start_radius + share * (end_radius - start_radius), radius), share * rise])[:, 1:-1]
    cos, sin = np.cos(bearing), np.sin(bearing)

    def length(flat):
        out, along = flat.reshape(2, -1)
        out = np.concatenate([[start_radius], out, [end_radius]])
        points = np.stack([out * cos, out * sin, np.concatenate([[0.0], along, [rise]])], axis=1)
        steps = np.diff(points, axis=0)
        sizes = np.linalg.norm(steps, axis=1)
        units = steps / sizes[:, None]
        pull = units[:-1] - units[1:]
        return sizes.sum(), np.concatenate([pull[:, 0] * cos[1:-1] + pull[:, 1] * sin[1:-1], pull[:, 2]])

    bounds = [(radius, None)] * (count - 2) + [(None, None)] * (count - 2)
    options = {"maxiter": 20000, "maxfun": 40000, "maxcor": 30, "ftol": 1e-14, "gtol": 1e-8}
    return minimize(length, first.ravel(), jac=True, method="L-BFGS-B", bounds=bounds, options=options).fun


@pytest.mark.parametrize("angle", np.radians([10.0, 90.0, 180.0, 400.0]))
@pytest.mark.parametrize("rise", [0.0, 35.0, 150.0])
def test_from_surface_to_surface_it_is_a_helix(angle, rise):
    """Length sqrt(h^2 + (r phi)^2); curvature r / (r^2 + p^2) with p the rise per radian (helix, any geometry text)."""
    path = wound([angle], RADIUS, RADIUS, RADIUS, rise)
    assert path.length[0] == pytest.approx(math.hypot(rise, RADIUS * angle), rel=1e-12)
    pitch = rise / angle
    assert path.radius[0] == pytest.approx((RADIUS**2 + pitch**2) / RADIUS, rel=1e-12)
    assert path.turn[0] == pytest.approx(path.length[0] / path.radius[0], rel=1e-12)
    assert path.contact[0] == pytest.approx(angle, rel=1e-12)


def test_between_points_that_see_each_other_it_is_straight():
    first, second, angle, rise = 40.0, 60.0, math.radians(50), 80.0
    ends = np.array([[first, 0, 0], [second * math.cos(angle), second * math.sin(angle), rise]])
    path = wound([angle, -angle], first, second, RADIUS, rise)
    assert path.length == pytest.approx(np.full(2, np.linalg.norm(ends[1] - ends[0])), rel=1e-12)
    assert path.turn.tolist() == path.contact.tolist() == [0.0, 0.0]
    assert np.isinf(path.radius).all()
    way = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
    assert path.start_direction[0] == pytest.approx(way, abs=1e-12)
    # in the axes of the other end, turned by the angle between both
    back = [[math.cos(angle), math.sin(angle), 0], [-math.sin(angle), math.cos(angle), 0], [0, 0, 1]]
    assert path.end_direction[0] == pytest.approx(np.array(back) @ way, abs=1e-12)


def test_a_half_turn_between_opposite_points_is_two_tangents_and_an_arc():
    far = 2.0 * RADIUS
    path = wound([math.pi], far, far, RADIUS, 0.0)
    # each tangent takes 60 degrees and is r sqrt 3 long; 60 degrees are left for the arc
    assert path.length[0] == pytest.approx(RADIUS * (2 * math.sqrt(3) + math.pi / 3), rel=1e-12)
    assert path.turn[0] == pytest.approx(math.pi / 3, rel=1e-12)
    assert path.radius[0] == pytest.approx(RADIUS, rel=1e-12)


@pytest.mark.parametrize("seed", range(12))
def test_no_polyline_outside_the_cylinder_is_shorter(seed):
    source = np.random.default_rng(seed)
    angle = source.uniform(-1.5 * math.pi, 1.5 * math.pi)
    start, end = RADIUS * source.uniform(1.0, 2.0, 2)
    rise = source.uniform(-120, 120)
    found = wound([angle], start, end, RADIUS, rise)
    # chords of 160 points undercut the arc by less than 1e-4 of it
    assert found.length[0] == pytest.approx(by_minimiser(angle, start, end, RADIUS, rise), abs=0.02)


@pytest.mark.parametrize("seed", range(12))
def test_its_points_have_its_length_turn_and_directions(seed):
    source = np.random.default_rng(100 + seed)
    angle = source.uniform(-1.5 * math.pi, 1.5 * math.pi)
    start, end = RADIUS * source.uniform(1.0, 2.0, 2)
    rise = source.uniform(-120, 120)
    path = wound([angle], start, end, RADIUS, rise)
    out, bearing, along = wound_points(angle, start, end, RADIUS, rise, step=0.002).T
    assert out.min() >= RADIUS - 1e-9
    points = np.stack([out * np.cos(bearing), out * np.sin(bearing), along], axis=1)
    steps = np.diff(points, axis=0)
    sizes = np.linalg.norm(steps, axis=1)
    assert sizes.sum() == pytest.approx(path.length[0], abs=1e-4)
    units = steps[sizes > 1e-9] / sizes[sizes > 1e-9, None]
    turned = np.arctan2(np.linalg.norm(np.cross(units[:-1], units[1:]), axis=1), np.sum(units[:-1] * units[1:], axis=1))
    assert turned.sum() == pytest.approx(path.turn[0], abs=2e-3)
    assert units[0] == pytest.approx(path.start_direction[0], abs=2e-3)
    spin = [[math.cos(angle), -math.sin(angle), 0], [math.sin(angle), math.cos(angle), 0], [0, 0, 1]]
    assert units[-1] == pytest.approx(np.array(spin) @ path.end_direction[0], abs=2e-3)


def test_length_grows_smoothly_where_it_begins_to_touch():
    angles = np.linspace(1.0, 2.5, 3001)
    path = wound(angles, 30.0, 25.0, RADIUS, 60.0)
    growth = np.diff(path.length) / np.diff(angles)
    # dL/dangle is the moment arm of the line about the axis, which has no step
    assert np.abs(np.diff(growth)).max() < 0.05
    touching = path.contact[1:] > 0
    arm = RADIUS * np.hypot(path.end_direction[1:, 0], path.end_direction[1:, 1])
    assert growth[touching] == pytest.approx(arm[touching], abs=0.01)


def test_a_point_inside_is_refused():
    with pytest.raises(ValueError, match="inside the cylinder"):
        wound([1.0], 16.0, 20.0, RADIUS, 10.0)
