"""Loops made ready for study: clamps that turn with the bars, poses, radii and trims from the parts."""

from __future__ import annotations

import math

import numpy as np
import pytest
from makers import steered
from workbench import CALIPER, FRONT_STOP, LEVER, PARTS, REAR_STOP, placed

from ropewalk.analysis.cases import clamps_of, loop_cases
from ropewalk.analysis.loops import LoopCase
from ropewalk.bike.poses import STEER, poses
from ropewalk.routing.course import Loop


def cases(**chart: float) -> dict[int, LoopCase]:
    bike, line = placed([LEVER, FRONT_STOP, REAR_STOP, CALIPER], frame={"chart": chart} if chart else None)
    return loop_cases(bike, poses(bike.frame), line, PARTS, trim_moving=10.0, trim_still=3.0, turn_allowance=0.5)


def test_a_loop_s_start_turns_about_the_steering_axis_and_its_end_stays() -> None:
    """A half turn to the right about the axis pointing down, by Rodrigues' formula."""
    bike, line = placed([LEVER, FRONT_STOP, REAR_STOP, CALIPER])
    loop, steer = line.spans[0], math.radians(50.0)
    assert isinstance(loop, Loop)
    found = clamps_of(bike, loop)(steered([0.0, 50.0]))
    axis = np.array([math.cos(math.radians(71.5)), -math.sin(math.radians(71.5)), 0.0])
    arm = loop.start - bike.skeleton.head_top
    turned = arm * math.cos(steer) + np.cross(axis, arm) * math.sin(steer) + axis * (axis @ arm) * (1 - math.cos(steer))
    assert found.start[0] == pytest.approx(loop.start)
    assert found.start[1] == pytest.approx(bike.skeleton.head_top + turned)
    assert found.end == pytest.approx(np.stack([loop.end, loop.end]))
    # to the right the left grip goes forward and to the right
    assert found.start[1][0] > found.start[0][0]
    assert found.start[1][2] > found.start[0][2]


def test_loops_that_move_are_swept_lock_to_lock_in_steps_of_at_most_five_degrees() -> None:
    steer = np.degrees(cases(lock=62)[0].poses[:, STEER])
    assert (steer[0], steer[-1]) == (pytest.approx(-62), pytest.approx(62))
    assert np.diff(steer).max() <= 5.0 + 1e-9
    assert np.diff(steer).min() > 0
    for needed in (0.0, 45.0, -45.0):
        assert np.abs(steer - needed).min() < 1e-9


def test_without_a_lock_bars_turn_by_ninety_degrees() -> None:
    assert np.degrees(cases()[0].poses[-1, STEER]) == pytest.approx(90.0)


def test_what_does_not_move_has_one_pose_and_the_smaller_trim() -> None:
    found = cases()
    assert found.keys() == {0, 2}
    assert (found[0].moves, found[0].trim) == (True, 10.0)
    assert (found[2].moves, found[2].trim, found[2].poses.tolist()) == (False, 3.0, [[0.0] * 5])


def test_radii_are_the_housing_s() -> None:
    """Spiral brake housing: kink radius 30, advised 50 mm (estimates)."""
    found = cases()[0]
    assert (found.kink_radius, found.advised_radius, found.turn_allowance) == (30.0, 50.0, 0.5)
    assert math.degrees(found.riding) == pytest.approx(45.0)
    assert found.name == "lever to front stop"
