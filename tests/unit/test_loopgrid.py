"""Grids of lengths: what they keep in the worst pose, and where a window narrower than their steps is looked for."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from makers import loop_case
from numpy.typing import NDArray

from ropewalk.analysis.loopgrid import LoopGrid, follow_cases, follow_grids
from ropewalk.analysis.loops import LoopCase
from ropewalk.analysis.shortest import start_of
from ropewalk.bike.poses import STEER
from ropewalk.mechanics.elastica import Clamps, relax

Array = NDArray[np.float64]
X, Y, _ = np.eye(3)


def case(steer_deg: tuple[float, ...] = (0.0,), kink: float = 30.0, advised: float = 50.0) -> LoopCase:
    """Return an in-line loop 200 mm long whose far end moves 1 mm away for every degree to the right."""

    def clamps(poses: Array) -> Clamps:
        rows = np.ones((len(poses), 1))
        return Clamps(0 * rows * X, rows * X, (200.0 + np.degrees(poses[:, [STEER]])) * X, rows * X)

    return loop_case(steer_deg, clamps, kink, advised)


def grid(radius: Any, turn_deg: Any, *, steer: tuple[float, ...] = (0.0,), bad: Any = None) -> LoopGrid:
    """Return a hand-made grid from radii and turns by length and pose."""
    radii = np.array(radius, dtype=float).reshape(-1, len(steer))
    sound = np.ones(radii.shape, dtype=bool) if bad is None else ~np.array(bad, dtype=bool).reshape(radii.shape)
    rods: Any = SimpleNamespace(
        converged=sound, stable=sound, least_radius=radii, turn=np.radians(turn_deg).reshape(radii.shape)
    )
    lengths = 200.0 + 10.0 * np.arange(len(radii))
    return LoopGrid(case(steer), lengths, np.full(len(steer), 190.0), rods)


def test_a_margin_is_that_of_the_worst_pose_by_its_own_radius() -> None:
    """Advised 50 mm within 45°, kink 30 mm beyond: 55/50, 45/50, 33/30 and 48/50, 60/50, 27/30."""
    made = grid([[55, 45, 33], [48, 60, 27]], np.zeros((2, 3)), steer=(-45, 0, 60))
    assert made.margin(advised=True) == pytest.approx([-0.1, -0.1])
    assert made.margin(advised=False) == pytest.approx([0.1, -0.1])


def test_a_pose_without_a_stable_shape_keeps_nothing() -> None:
    made = grid([[80, 80]], [[10, 10]], steer=(0, 60), bad=[[False, True]])
    assert made.margin(advised=False)[0] < -1.0
    assert made.riding_turn() == pytest.approx(np.radians([10]))
    assert math.isinf(grid([[80, 80]], [[10, 10]], steer=(0, 60), bad=[[True, False]]).riding_turn()[0])


def test_turn_counts_while_riding_only() -> None:
    assert grid([[80, 80]], [[10, 90]], steer=(0, 60)).riding_turn() == pytest.approx(np.radians([10]))


def test_the_kink_radius_governs_where_the_advised_is_never_kept() -> None:
    start = start_of(grid([20, 32, 36, 40], [100, 105, 110, 115]))
    assert (start.advised, start.first) == (False, 1)


def test_the_advised_radius_governs_where_a_tidy_length_keeps_it() -> None:
    start = start_of(grid([20, 32, 40, 52], [100, 105, 110, 115]))
    assert (start.advised, start.first) == (True, 3)


def test_a_balloon_does_not_make_the_advised_radius_govern() -> None:
    """It keeps 52 mm at last, but turns 60° more than where it first keeps 30 mm."""
    start = start_of(grid([20, 32, 40, 52], [100, 105, 140, 165]))
    assert (start.advised, start.first) == (False, 1)


def test_a_loop_that_keeps_no_radius_starts_nowhere() -> None:
    start = start_of(grid([10, 20, 25], [100, 110, 120]))
    assert (start.advised, start.first) == (False, None)


def test_a_grid_begins_just_over_the_longest_chord() -> None:
    (made,) = follow_grids([case((-60, -30, 0, 30, 60))])
    assert made.chord == pytest.approx([140, 170, 200, 230, 260])
    assert 260.0 < made.lengths[0] < 260.5
    assert (np.diff(made.lengths) > 0).all()
    assert made.rods.shape == (len(made.lengths), 5)


def test_a_grid_goes_on_until_nothing_longer_can_be_tidy() -> None:
    """In line, any length bends the rod the more; far past 30° more turn nothing has to be followed."""
    (made,) = follow_grids([case()])
    turn = np.degrees(made.riding_turn())
    kept = int((made.margin(advised=True) >= 0).argmax())
    assert turn.max() > turn[kept] + 30.0


@pytest.mark.parametrize("share", [0.93, 0.97, 0.99])
def test_lengths_are_put_about_a_peak_that_misses_by_little(share: float) -> None:
    """About the half circle between opposite clamps a radius is kept within a few mm only."""

    def clamps(poses: Array) -> Clamps:
        rows = np.ones((len(poses), 1))
        return Clamps(0 * rows * X, rows * Y, 120.0 * rows * X, -rows * Y)

    radius = share * 60.0
    (made,) = follow_grids([loop_case([0.0], clamps, radius, radius, trim=3.0, turn_allowance=9.0)])
    tight = made.lengths < 230.0
    assert made.margin(advised=False)[tight].max() >= 0.0


def test_loops_of_different_sweeps_are_followed_together() -> None:
    cases = [case((-60, -30, 0, 30, 60)), case(), case((-30, 0, 30))]
    found = follow_cases(cases, [270.0, 220.0, 240.0])
    for own, length, (rods, snapped) in zip(cases, (270.0, 220.0, 240.0), found, strict=True):
        assert rods.shape == snapped.shape == (len(own.poses),)
        assert (rods.length == length).all()
        alone = relax(own.clamps(own.poses), np.full(len(own.poses), length))
        assert rods.energy == pytest.approx(alone.energy, rel=1e-4)
