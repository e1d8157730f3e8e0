"""The sweep of a bike: which poses it holds, in what steps they are walked, and how a pose is told."""

from __future__ import annotations

import itertools
import math
from typing import Any

import makers
import moving
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from makers import steered

from ropewalk.bike.poses import (
    COORDINATES,
    FOLD,
    FORK,
    POST,
    REAR,
    STEER,
    STEPS,
    Poses,
    nearest_pose,
    pose_of,
    pose_words,
    poses,
    shown_pose,
    walks_of,
)

#: what a step may be at the most: 5° of steering and fold, 10 mm of travel
LARGEST = np.array([math.radians(5.0), 10.0, 10.0, math.radians(5.0), 10.0])


@pytest.mark.parametrize("lock", [None, 10, 28, 45, 62, 63.7, 80, 90])
def test_the_sweep_runs_from_lock_to_lock_in_small_steps(lock: float | None) -> None:
    swept = poses(makers.frame(chart={} if lock is None else {"lock": lock}))
    assert swept.lock_assumed == (lock is None)
    assert math.degrees(swept.lock) == pytest.approx(90.0 if lock is None else lock)
    assert swept.steer[[0, -1]] == pytest.approx([-swept.lock, swept.lock])
    assert np.diff(swept.steer).min() > 0.0
    assert np.degrees(np.diff(swept.steer).max()) <= 5.0 + 1e-9
    assert (swept.values[swept.straight] == 0.0).all()
    assert swept.steer == pytest.approx(-swept.steer[::-1])
    assert swept.moving == ("steer",)


@pytest.mark.parametrize(("lock", "riding", "indexing"), [(None, 45, 30), (62, 45, 30), (40, 40, 30), (20, 20, 20)])
def test_riding_and_shifting_ranges_end_on_a_pose(lock: float | None, riding: int, indexing: int) -> None:
    swept = poses(makers.frame(chart={} if lock is None else {"lock": lock}))
    assert np.degrees(np.abs(swept.values[swept.riding, STEER]).max()) == pytest.approx(riding)
    for wanted in (indexing, -indexing):
        assert np.abs(np.degrees(swept.steer) - wanted).min() < 1e-9
    assert swept.riding[swept.straight]


def test_steps_are_5_degrees_and_10_mm() -> None:
    assert pytest.approx(LARGEST) == STEPS


#: bikes on which something moves: lock, travel of fork, rear and post, turn of the main hinge and the bars folded
BIKES = st.fixed_dictionaries(
    {
        "lock": st.sampled_from([17.0, 45.0, 63.0, 80.0, None]),
        "fork": st.sampled_from([None, 37.0, 120.0]),
        "rear": st.sampled_from([None, 25.0, 140.0]),
        "post": st.sampled_from([None, 100.0]),
        "fold": st.sampled_from([None, (180.0, 0.0), (-95.0, 12.0), (150.0, -16.5)]),
    }
)


def sweep_of(bike: dict[str, Any]) -> Poses:
    """Return the sweep of a bike that moves so."""
    changes: dict[str, Any] = {"travel": {name: bike[name] for name in ("fork", "rear", "post")}, "chart": {}}
    if bike["rear"] is None:
        changes["travel"]["pivot"] = None
    if bike["lock"] is not None:
        changes["chart"] = {"lock": bike["lock"]}
    if bike["fold"] is not None:
        turn, steer = bike["fold"]
        changes |= {"tubes": {"top_tube": None}, "fold": [{**moving.MAIN_HINGE, "turn": turn, "steer": steer}]}
    return poses(moving.suspended(**changes))


def row(*values: float) -> tuple[float, ...]:
    return tuple(np.round(values, 6).tolist())


@given(bike=BIKES)
@settings(deadline=None, max_examples=60)
def test_the_sweep_holds_the_corners_of_the_box_and_its_middle_and_the_fold(bike: dict[str, Any]) -> None:
    sweep = sweep_of(bike)
    held = {row(*values) for values in sweep.values}
    assert len(held) == len(sweep.values)
    lock = math.radians(90.0 if bike["lock"] is None else bike["lock"])
    ranges = [[0.0, travel / 2, travel] if (travel := bike[name]) else [0.0] for name in ("fork", "rear", "post")]
    for steer, fork, rear, post in itertools.product((-lock, 0.0, lock), *ranges):
        assert row(steer, fork, rear, 0.0, post) in held
    if bike["fold"] is not None:
        turn, steer = (math.radians(angle) for angle in bike["fold"])
        folds = sorted(values[FOLD] for values in sweep.values if values[FOLD] > 0.0)
        assert folds[-1] == pytest.approx(abs(turn))
        assert np.diff([0.0, *folds]).max() <= math.radians(5.0) + 1e-9
        for values in sweep.values[sweep.values[:, FOLD] > 0.0]:
            assert values == pytest.approx([steer, 0.0, 0.0, values[FOLD], 0.0])
    assert (sweep.values >= sweep.low - 1e-9).all()
    assert (sweep.values <= sweep.high + 1e-9).all()
    moves = {name for name in ("fork", "rear", "fold", "post") if bike[name] is not None} | {"steer"}
    assert set(sweep.moving) == moves


@given(bike=BIKES)
@settings(deadline=None, max_examples=30)
def test_riding_poses_have_the_bars_within_45_degrees_and_the_bike_unfolded(bike: dict[str, Any]) -> None:
    sweep = sweep_of(bike)
    for values, rides in zip(sweep.values, sweep.riding, strict=True):
        assert rides == (abs(values[STEER]) <= math.radians(45.0) + 1e-9 and values[FOLD] == 0.0)


@given(bike=BIKES, matters=st.sets(st.sampled_from(COORDINATES)))
@settings(deadline=None, max_examples=150)
def test_walks_go_from_the_zero_pose_in_small_steps_and_meet_every_pose_that_matters(
    bike: dict[str, Any], matters: set[str]
) -> None:
    sweep = sweep_of(bike)
    walks = walks_of(sweep, matters)
    # every pose once, each met, the zero pose in every walk
    assert len({row(*values) for values in walks.values}) == len(walks.values)
    assert set(np.concatenate(walks.walks).tolist()) == set(range(len(walks.values)))
    assert (walks.values[walks.home] == 0.0).all()
    assert all(walk[start] == walks.home for walk, start in zip(walks.walks, walks.starts, strict=True))
    for walk in walks.walks:
        steps = np.abs(np.diff(walks.values[walk], axis=0))
        assert (steps <= LARGEST + 1e-9).all()
    # what does not matter stays put, what does stays in its range
    for at, name in enumerate(COORDINATES):
        if name not in matters:
            assert not walks.values[:, at].any()
    assert (walks.values >= sweep.low - 1e-9).all()
    assert (walks.values <= sweep.high + 1e-9).all()
    # no pose of the bike is missing, seen by what matters
    mask = np.array([name in matters for name in COORDINATES])
    held = {row(*values) for values in walks.values}
    for values in sweep.values:
        if "fold" in matters or values[FOLD] == 0.0:
            assert row(*(values * mask)) in held


def test_loops_that_nothing_moves_have_the_zero_pose_only() -> None:
    walks = walks_of(poses(moving.everything()), set())
    assert walks.values.tolist() == [[0.0] * 5]
    assert [walk.tolist() for walk in walks.walks] == [[0]]


def test_a_loop_that_only_the_bars_move_has_one_walk_from_lock_to_lock() -> None:
    walks = walks_of(poses(moving.suspended(chart={"lock": 60})), {"steer"})
    assert len(walks.walks) == 1
    steer = np.degrees(walks.values[walks.walks[0], STEER])
    assert steer == pytest.approx(np.arange(-60.0, 61.0, 5.0))


@pytest.mark.parametrize(
    ("pose", "words"),
    [
        ({}, "straight ahead"),
        ({"steer": math.radians(0.4)}, "straight ahead"),
        ({"steer": math.radians(62.4)}, "62° right"),
        ({"steer": math.radians(-12.0)}, "12° left"),
        ({"fork": 140.0}, "fork 140 mm in"),
        ({"rear": 65.2}, "rear wheel 65 mm up"),
        ({"fold": math.radians(90.0)}, "folded by 90°"),
        ({"post": 100.0}, "post 100 mm down"),
        (
            {"steer": math.radians(-80.0), "fork": 120.0, "rear": 130.0},
            "80° left, fork 120 mm in, rear wheel 130 mm up",
        ),
    ],
)
def test_poses_in_words(pose: dict[str, float], words: str) -> None:
    assert pose_words(pose_of(pose)) == words


def test_a_pose_is_shown_in_degrees_and_millimetres_with_what_moves() -> None:
    pose = pose_of({"steer": math.radians(-30.0), "fork": 60.0, "rear": 12.5, "fold": math.radians(45.0), "post": 20.0})
    assert shown_pose(pose) == pytest.approx({"steer_deg": -30.0})
    assert shown_pose(pose, COORDINATES) == pytest.approx(
        {"steer_deg": -30.0, "fork_mm": 60.0, "rear_mm": 12.5, "fold_deg": 45.0, "post_mm": 20.0}
    )
    assert shown_pose(pose, ("rear",)) == pytest.approx({"steer_deg": -30.0, "rear_mm": 12.5})


def test_coordinates_stand_in_one_order() -> None:
    assert [COORDINATES[at] for at in (STEER, FORK, REAR, FOLD, POST)] == ["steer", "fork", "rear", "fold", "post"]
    assert pose_of({name: float(at + 1) for at, name in enumerate(COORDINATES)}).tolist() == [1.0, 2.0, 3.0, 4.0, 5.0]


def test_the_nearest_pose_is_counted_in_degrees_and_in_two_millimetres() -> None:
    """1° and 2 mm are one fine step each: 3° off is nearer than 10 mm off."""
    held = np.concatenate([steered([3.0]), pose_of({"fork": 10.0})[np.newaxis]])
    assert nearest_pose(held, np.zeros(5)) == 0
    assert nearest_pose(held, pose_of({"fork": 7.0})) == 1
