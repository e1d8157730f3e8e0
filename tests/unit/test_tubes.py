"""Tubes and places on them against plain geometry."""

import math

import makers
import numpy as np
import pytest

from ropewalk.bike.skeleton import skeleton
from ropewalk.bike.tubes import tubes
from ropewalk.errors import FrameFileError


@pytest.fixture(name="bones")
def _bones():
    return skeleton(makers.frame())


@pytest.fixture(name="laid")
def _laid(bones):
    return tubes(makers.frame(), bones)


NAMES = {
    "head tube",
    "top tube",
    "down tube",
    "seat tube",
    "shell",
    "steerer",
    "stem",
    "left fork leg",
    "right fork leg",
    "left seat stay",
    "right seat stay",
    "left chainstay",
    "right chainstay",
}


def test_all_tubes_are_there_each_on_its_body(laid):
    assert set(laid) == NAMES
    assert {tube.body for tube in laid.values()} == {"frame", "fork", "bar"}
    assert {name for name, tube in laid.items() if tube.body == "fork"} == {
        "steerer",
        "left fork leg",
        "right fork leg",
    }


def test_ends_lie_on_the_axes_they_meet(laid, bones):
    top, down, head = laid["top tube"], laid["down tube"], laid["head tube"]
    assert math.dist(top.start, bones.head_top) == pytest.approx(35.0)
    assert math.dist(down.start, bones.head_bottom) == pytest.approx(35.0)
    for point in (top.start, down.start):
        assert np.cross(point - head.start, head.axis) == pytest.approx(np.zeros(3), abs=1e-9)
    assert math.hypot(*top.end[:2]) == pytest.approx(505.0)
    assert np.array_equal(down.end, bones.bottom_bracket)


@pytest.mark.parametrize("name", sorted(NAMES))
def test_joins_lie_within_the_tube_and_its_ends_are_joins(laid, name):
    tube = laid[name]
    assert all(-1e-9 <= at <= tube.length + 1e-9 for at in tube.joins.values())
    assert tube.joins[tube.start_name] == 0.0
    assert tube.joins[tube.end_name] == pytest.approx(tube.length)


def test_joins_of_two_tubes_are_one_place(laid):
    head, seat = laid["head tube"], laid["seat tube"]
    assert head.place(0.0, "top tube") == pytest.approx(laid["top tube"].start)
    assert head.place(0.0, "down tube") == pytest.approx(laid["down tube"].start)
    assert seat.place(0.0, "top tube") == pytest.approx(laid["top tube"].end)
    assert seat.place(0.0, "seat stay")[:2] == pytest.approx(laid["left seat stay"].start[:2])


def test_stays_are_as_far_apart_as_the_file_says(laid):
    assert (laid["left seat stay"].start[2], laid["left seat stay"].end[2]) == (-26.0, -64.0)
    assert (laid["right chainstay"].start[2], laid["right chainstay"].end[2]) == (30.0, 64.0)
    assert (laid["left fork leg"].start[2], laid["right fork leg"].end[2]) == (-36.0, 52.0)
    # 450 mm in side view and 34 mm to the side
    assert laid["left chainstay"].length == pytest.approx(math.hypot(450.0, 34.0))


@pytest.mark.parametrize("name", sorted(NAMES - {"shell"}))
@pytest.mark.parametrize("clock", [0.0, 1.5, 3.0, 7.25, 10.0])
def test_radials_are_unit_vectors_square_to_the_axis(laid, name, clock):
    radial = laid[name].radial(clock)
    assert np.linalg.norm(radial) == pytest.approx(1.0)
    assert radial @ laid[name].axis == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("name", sorted(NAMES - {"shell"}))
def test_three_o_clock_is_the_rider_s_right_and_twelve_in_the_side_view(laid, name):
    tube = laid[name]
    assert tube.radial(3.0)[2] > 0.98
    assert tube.radial(12.0)[2] == pytest.approx(0.0, abs=1e-12)
    assert tube.radial(6.0) == pytest.approx(-tube.radial(12.0))
    assert tube.radial(9.0) == pytest.approx(-tube.radial(3.0))


@pytest.mark.parametrize("name", ["head tube", "seat tube", "steerer", "left fork leg", "right fork leg"])
def test_twelve_o_clock_faces_forward_on_upright_tubes(laid, name):
    assert laid[name].upright
    assert laid[name].radial(12.0)[0] > 0.8


@pytest.mark.parametrize("name", ["top tube", "down tube", "left chainstay", "right seat stay", "stem"])
def test_twelve_o_clock_faces_up_on_the_others(laid, name):
    assert not laid[name].upright
    assert laid[name].radial(12.0)[1] > 0.5


def test_round_the_shell_twelve_is_up_and_three_forward(laid):
    assert laid["shell"].radial(12.0) == pytest.approx([0.0, 1.0, 0.0])
    assert laid["shell"].radial(3.0) == pytest.approx([1.0, 0.0, 0.0])


def test_a_place_counts_into_the_longer_part(laid):
    top, seat = laid["top tube"], laid["seat tube"]
    assert math.dist(top.place(60.0, "head tube"), top.start) == pytest.approx(60.0)
    assert math.dist(top.place(60.0, "seat tube"), top.end) == pytest.approx(60.0)
    assert top.place(60.0, "seat tube")[0] > top.end[0]
    # the top tube meets the seat tube 35 mm under its upper end: the longer part lies below
    assert seat.place(100.0, "top tube")[1] < seat.place(0.0, "top tube")[1]
    assert seat.place(-35.0, "top tube") == pytest.approx(seat.end)
    assert seat.place(540.0, "bottom bracket") == pytest.approx(seat.end)


@pytest.mark.parametrize(
    ("tube", "along", "from_", "low", "high"),
    [
        ("top tube", 600.0, "head tube", "0", "543.9"),
        ("top tube", -1.0, "seat tube", "0", "543.9"),
        ("seat tube", -36.0, "top tube", "-35", "505"),
        ("head tube", 151.0, "top", "0", "150"),
        ("left fork leg", 420.0, "front axle", "0", "401.4"),
    ],
)
def test_a_place_beyond_the_end_is_refused_with_the_range(laid, tube, along, from_, low, high):
    with pytest.raises(FrameFileError) as refused:
        laid[tube].place(along, from_)
    assert str(refused.value) == (
        f"along is {along:g} mm from the {from_}: that is beyond the end of the {tube}; "
        f"it has to be between {low} and {high} mm"
    )


def test_the_range_told_is_allowed(laid):
    for tube, from_, ends in (("top tube", "head tube", (0.0, 543.9)), ("seat tube", "top tube", (-35.0, 505.0))):
        for along in ends:
            assert laid[tube].place(along, from_).shape == (3,)


def test_a_figure_that_is_only_varied_may_go_past_the_end(laid):
    top = laid["top tube"]
    past = top.place(-4.0, "head tube", beyond=10.0)
    assert past == pytest.approx(top.start - 4.0 * top.axis)
    with pytest.raises(FrameFileError):
        top.place(-11.0, "head tube", beyond=10.0)


def test_an_unknown_join_names_the_nearest(laid):
    with pytest.raises(FrameFileError, match=r'^from is "seat tub": the top tube has no such join; did you mean "seat'):
        laid["top tube"].place(50.0, "seat tub")
    with pytest.raises(FrameFileError, match=r"write head tube or seat tube$"):
        laid["top tube"].place(50.0, "moon")


def test_towards_an_end(laid):
    down, head = laid["down tube"], laid["head tube"]
    assert down.towards("bottom bracket") == pytest.approx(down.axis)
    assert down.towards("head tube") == pytest.approx(-down.axis)
    assert head.towards("top")[1] > 0.9
    assert laid["right seat stay"].towards("rear axle")[1] < 0.0
    assert laid["left chainstay"].towards("seat tube")[0] > 0.9


@pytest.mark.parametrize("name", ["top tube", "sideways"])
def test_towards_what_is_no_end_is_refused(laid, name):
    with pytest.raises(FrameFileError, match=f'^facing is "{name}": the seat tube runs from bottom bracket to top'):
        laid["seat tube"].towards(name)


@pytest.mark.parametrize("name", sorted(NAMES - {"shell"}))
def test_outline_and_bore_are_as_wide_as_the_tube(laid, name):
    tube = laid[name]
    side_view = math.dist(tube.start[:2], tube.end[:2])
    assert tube.outline().is_valid
    assert tube.outline().area == pytest.approx(tube.diameter * side_view)
    assert tube.bore().area == pytest.approx((tube.diameter - 2.0 * tube.wall) * side_view)
    assert tube.outline().contains(tube.bore().buffer(-1e-6))


def test_the_shell_is_seen_as_a_ring(laid):
    outline = laid["shell"].outline()
    # a polygon of 64 corners covers 0.16 % less than its circle
    assert outline.area == pytest.approx(math.pi * 20.0**2, rel=2e-3)
    assert outline.centroid.coords[0] == pytest.approx((0.0, 0.0), abs=1e-9)
