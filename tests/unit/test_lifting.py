"""Lifted paths against the taut path in a polygon of the same limits, and against strings worked out by hand."""

import math

import numpy as np
import pytest
from shapely.geometry import Polygon

from ropewalk.mechanics.corridor import taut_path
from ropewalk.mechanics.lifting import lifted


def level(along):
    """A straight flat path with points at these places."""
    return np.column_stack([along, np.zeros(len(along))])


def length_of(points):
    return np.linalg.norm(np.diff(points, axis=0), axis=1).sum()


def test_without_limits_in_the_way_it_rises_evenly():
    flat = np.array([[0, 0], [30, 40], [60, 0.0]])
    path = lifted(flat, np.full(3, -50.0), np.full(3, 50.0), -10.0, 30.0)
    assert path[:, 2].tolist() == [-10.0, 10.0, 30.0]
    assert path[:, :2].tolist() == flat.tolist()


def test_it_waits_at_a_limit_and_leaves_it_as_late_as_it_may():
    along = np.linspace(0, 100, 101)
    high = np.where(along <= 60, 4.0, 40.0)
    path = lifted(level(along), np.full(101, -4.0), high, 0.0, 20.0)
    # straight from the start to the last place of the low limit, and straight on from there
    assert length_of(path) == pytest.approx(math.hypot(60, 4) + math.hypot(40, 16), rel=1e-9)
    assert path[60, 2] == pytest.approx(4.0)


@pytest.mark.parametrize("seed", range(40))
def test_it_is_the_taut_path_between_its_limits(seed):
    source = np.random.default_rng(seed)
    count = int(source.integers(3, 30))
    along = np.concatenate([[0.0], np.cumsum(source.uniform(1, 20, count - 1))])
    middle, half = np.cumsum(source.uniform(-4, 4, count)), source.uniform(1, 6, count)
    low, high = middle - half, middle + half
    # neighbours that overlap by something, so that no limit has to be widened
    for place in range(1, count):
        low[place] = min(low[place], high[place - 1] - 0.5)
        high[place] = max(high[place], low[place - 1] + 0.5)
    first, last = source.uniform(low[0], high[0]), source.uniform(low[-1], high[-1])
    path = lifted(level(along), low, high, first, last)
    assert (path[:, 2] >= low - 1e-9).all()
    assert (path[:, 2] <= high + 1e-9).all()
    room = Polygon(np.concatenate([np.column_stack([along, low]), np.column_stack([along, high])[::-1]]))
    assert length_of(path) == pytest.approx(taut_path(room, (0, first), (along[-1], last)).length, abs=1e-6)


def test_between_limits_that_exclude_each_other_it_steps_over():
    along = np.array([0.0, 40.0, 50.0, 90.0])
    low, high = np.array([-2.0, -2, 10, 10]), np.array([2.0, 2, 14, 14])
    path = lifted(level(along), low, high, 0.0, 12.0)
    assert path[:, 2].tolist() == pytest.approx([0.0, 2.0, 10.0, 12.0])


def test_ends_outside_their_limits_are_kept():
    along = np.array([0.0, 10.0, 90.0, 100.0])
    path = lifted(level(along), np.full(4, -3.0), np.full(4, 3.0), 8.0, -8.0)
    assert path[:, 2].tolist() == pytest.approx([8.0, 3.0, -3.0, -8.0])


@pytest.mark.parametrize("double", [0, 1, 2, 3])
def test_points_that_fall_together_do_no_harm(double):
    along = np.array([0.0, 30.0, 60.0, 100.0])
    twice = np.insert(along, double, along[double])
    path = lifted(level(twice), np.full(5, -3.0), np.full(5, 3.0), 2.0, -1.0)
    assert length_of(path) == pytest.approx(math.hypot(100, 3), rel=1e-9)
    at_one_place = lifted(level(np.zeros(3)), np.full(3, -3.0), np.full(3, 3.0), 2.0, 2.0)
    assert length_of(at_one_place) == 0.0
