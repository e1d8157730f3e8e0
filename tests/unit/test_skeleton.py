"""The skeleton against plain geometry: lengths, right angles and figures worked by hand."""

import math

import makers
import numpy as np
import pytest

from ropewalk.bike.figures import Figure
from ropewalk.bike.skeleton import rear_reach, skeleton, trail
from ropewalk.errors import ChartError


@pytest.fixture(name="bones")
def _bones():
    return skeleton(makers.frame())


def test_the_head_tube_stands_where_the_chart_says(bones):
    assert bones.head_top == pytest.approx([380.0, 591.0, 0.0])
    assert math.dist(bones.head_top, bones.head_bottom) == pytest.approx(150.0)
    assert math.dist(bones.head_bottom, bones.crown) == pytest.approx(12.0)
    leaning_back = bones.head_top - bones.head_bottom
    assert math.degrees(math.atan2(leaning_back[1], -leaning_back[0])) == pytest.approx(71.5)


def test_the_steering_axis_points_down_and_forward(bones):
    # cos and sin of 71.5° from a table of natural functions: 0.3173, 0.9483
    assert bones.steering_axis == pytest.approx([0.3173, -0.9483, 0.0], abs=1e-4)
    assert bones.steering_axis @ bones.steering_square == pytest.approx(0.0, abs=1e-15)
    assert bones.steering_square[0] > 0.0


def test_the_front_axle_is_the_fork_s_length_down_and_its_offset_ahead(bones):
    from_crown = bones.front_axle - bones.crown
    assert from_crown @ bones.steering_axis == pytest.approx(398.0)
    assert from_crown @ bones.steering_square == pytest.approx(50.0)


def test_both_axles_stand_level_when_the_chart_closes(bones):
    # the touring chart is rounded to whole millimetres
    assert bones.front_axle[1] == pytest.approx(76.0, abs=0.5)
    assert bones.rear_axle[1] == 76.0
    assert math.hypot(*bones.rear_axle) == pytest.approx(450.0)
    assert bones.rear_axle[0] < 0.0


def test_the_seat_tube_leans_back_at_its_angle(bones):
    assert math.dist(bones.bottom_bracket, bones.seat_top) == pytest.approx(540.0)
    assert math.degrees(math.atan2(bones.seat_top[1], -bones.seat_top[0])) == pytest.approx(73.0)


def test_a_stem_as_steep_as_the_head_tube_leans_is_level():
    bones = skeleton(makers.frame(cockpit={"stem": 110, "stem_angle": -18.5}))
    assert bones.bar_clamp - bones.stem_point == pytest.approx([110.0, 0.0, 0.0])


def test_a_stem_s_angle_counts_from_the_square_to_the_steerer_upwards():
    bones = skeleton(makers.frame(cockpit={"stem": 100, "stem_angle": 30}))
    stem = (bones.bar_clamp - bones.stem_point) / 100.0
    assert math.degrees(math.acos(stem @ bones.steering_square)) == pytest.approx(30.0)
    assert stem @ bones.steering_axis == pytest.approx(-0.5)


def test_the_stem_sits_on_cup_and_spacers():
    bones = skeleton(makers.frame(cockpit={"spacers": 25, "upper_cup": 15, "stem_clamp": 42}))
    up = bones.stem_point - bones.head_top
    assert up @ -bones.steering_axis == pytest.approx(25 + 15 + 21)
    assert math.dist(bones.steerer_top, bones.head_top) == pytest.approx(25 + 15 + 42)


def test_trail_is_where_the_steering_axis_meets_the_ground_ahead_of_the_tyre(bones):
    touch = bones.front_axle - [0.0, bones.wheel_radius, 0.0]
    down = (bones.head_top[1] - touch[1]) / -bones.steering_axis[1]
    meets = bones.head_top + down * bones.steering_axis
    assert meets[0] - touch[0] == pytest.approx(bones.trail, abs=1e-9)


def test_trail_without_offset_is_the_wheel_s_radius_over_the_tangent():
    assert trail(math.radians(45.0), 0.0, 350.0) == pytest.approx(350.0)
    assert trail(math.radians(90.0), 30.0, 350.0) == pytest.approx(-30.0)


def test_ground_lies_a_wheel_s_radius_under_the_axles(bones):
    assert bones.ground == 76.0 - 350.0


@pytest.mark.parametrize("drop", [300.0, -300.0, 320.0])
def test_a_chainstay_no_longer_than_the_drop_is_refused(drop):
    with pytest.raises(ChartError, match=r"^chart\.chainstay is 300 mm: it has to be longer than bb_drop, -?3\d0 mm; "):
        rear_reach(300.0, drop)


def test_a_moved_figure_moves_what_hangs_on_it_and_nothing_else():
    frame = makers.frame()
    chart = frame.chart.model_copy(update={"fork": Figure(frame.chart.fork + 1.0)})
    before, after = skeleton(frame), skeleton(frame.model_copy(update={"chart": chart}))
    assert after.front_axle - before.front_axle == pytest.approx(before.steering_axis)
    for name in ("head_top", "crown", "rear_axle", "seat_top", "bar_clamp"):
        assert np.array_equal(getattr(after, name), getattr(before, name))


def test_points_cannot_be_overwritten(bones):
    with pytest.raises(ValueError, match="read-only"):
        bones.crown[0] = 0.0
