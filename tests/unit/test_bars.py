"""Bars against their figures and plain geometry: sizes, lengths worked by hand, smoothness, clock places."""

import math

import makers
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ropewalk.bike.bars import bar_curve
from ropewalk.bike.cockpit import DropBar, FlatBar, SweptBar
from ropewalk.errors import FrameFileError

BARS = {
    "drop": DropBar(shape="drop", width=440, reach=75, drop=125),
    "flared drop": DropBar(shape="drop", width=500, reach=70, drop=115, flare=20),
    "rolled drop": DropBar(shape="drop", width=400, reach=80, drop=130, roll=6),
    "flat": FlatBar(shape="flat", width=740),
    "riser": FlatBar(shape="riser", width=780, rise=30, backsweep=8, upsweep=5),
    "straight": FlatBar(shape="flat", width=600, backsweep=0, upsweep=0),
    "swept": SweptBar(shape="swept", width=620, backsweep=60),
    "far swept": SweptBar(shape="swept", width=560, backsweep=85, rise=60, reach=50),
}


@pytest.fixture(name="bar", params=BARS)
def _bar(request):
    return BARS[request.param]


@pytest.mark.parametrize("side", ["left", "right"])
def test_ends_at_the_clamp_and_at_half_the_width(bar, side):
    curve = bar_curve(bar, side)
    sign = 1.0 if side == "right" else -1.0
    end, _ = curve.at(0.0)
    middle, inward = curve.at(curve.length)
    assert middle == pytest.approx(np.zeros(3), abs=1e-9)
    assert inward == pytest.approx([0.0, 0.0, -sign], abs=1e-12)
    if bar.shape == "drop":
        hood = curve.points()[np.argmax(curve.points()[:, 0])]
        assert sign * hood[2] >= bar.width / 2 - 1e-9
    else:
        assert sign * end[2] == pytest.approx(bar.width / 2)


def test_the_curve_is_smooth(bar):
    """Neighbouring points a hundredth of a millimetre apart lie along the tangent: no gap and no corner."""
    curve = bar_curve(bar, "right")
    for along in np.linspace(0.01, curve.length - 0.02, 400):
        here, inward = curve.at(along)
        there, inward_there = curve.at(along + 0.01)
        assert there - here == pytest.approx(0.01 * inward, abs=1e-5)
        assert inward @ inward_there > 1.0 - 1e-6


def test_the_sampled_length_is_the_curve_s(bar):
    curve = bar_curve(bar, "left")
    steps = np.linalg.norm(np.diff(curve.points(), axis=0), axis=1)
    assert steps.sum() == pytest.approx(curve.length, rel=1e-4)


def test_no_bar_is_bent_tighter_than_a_bender_can(bar):
    assert bar_curve(bar, "right").curvatures.max() <= 1.0 / 15.0


def test_halves_are_mirror_images(bar):
    left, right = bar_curve(bar, "left"), bar_curve(bar, "right")
    assert left.length == right.length
    assert left.points() == pytest.approx(right.points() * [1.0, 1.0, -1.0])
    assert right.mirrored().points() == pytest.approx(left.points())
    for clock in (0.0, 3.0, 7.0):
        assert left.radial(123.0, clock) == pytest.approx(right.radial(123.0, clock) * [1.0, 1.0, -1.0])


@pytest.mark.parametrize("name", ["drop", "flared drop"])
def test_a_drop_bar_has_its_reach_drop_and_width(name):
    bar = BARS[name]
    points = bar_curve(bar, "right").points()
    assert points[:, 0].max() == pytest.approx(bar.reach, abs=0.02)
    assert points[0, 1] == pytest.approx(-bar.drop)
    assert points[:, 1].max() == pytest.approx(0.0, abs=1e-9)
    # the hoods: where tops and ramp are still level, before the hook goes down
    assert points[points[:, 1] > -1e-9][:, 2].max() == pytest.approx(bar.width / 2)


def test_flare_splays_the_drops_and_leaves_the_hoods():
    end = bar_curve(BARS["flared drop"], "right").points()[0]
    assert math.degrees(math.atan2(end[2] - 250.0, 115.0)) == pytest.approx(20.0)


def test_a_drop_bar_s_length_by_hand():
    """440 wide, reach 75, drop 125: corner of 0.45 reach = 33.75; ramp 3; upper hook 38.25; lower hook R·82°; drops.

    With ends 60 mm behind the tops and 8° down, R = (125 − 38.25 − 135 tan 8°) cos 8°/(1 − sin 8°) and the drops are
    (135 − R (1 − sin 8°))/cos 8°, by a pocket calculator R = 77.968 and 68.550.
    """
    lower, drops = 77.968, 68.550
    by_hand = (220.0 - 33.75) + 33.75 * 1.570796 + 3.0 + 38.25 * 1.570796 + lower * 1.43117 + drops
    assert bar_curve(BARS["drop"], "right").length == pytest.approx(by_hand, abs=0.02)


def test_drops_point_back_and_a_little_down():
    _, inward = bar_curve(BARS["drop"], "right").at(5.0)
    assert math.degrees(math.atan2(inward[1], inward[0])) == pytest.approx(8.0)


def test_roll_turns_the_whole_bar_up_in_its_clamp():
    plain = bar_curve(DropBar(shape="drop", width=400, reach=80, drop=130), "right").points()
    rolled = bar_curve(BARS["rolled drop"], "right").points()
    angle = math.radians(6.0)
    assert rolled[:, 0] == pytest.approx(plain[:, 0] * math.cos(angle) - plain[:, 1] * math.sin(angle))
    assert rolled[:, 1] == pytest.approx(plain[:, 0] * math.sin(angle) + plain[:, 1] * math.cos(angle))
    assert rolled[:, 0].argmax() == pytest.approx(plain[:, 0].argmax(), abs=5)


def test_a_straight_bar_is_half_its_width_long():
    curve = bar_curve(BARS["straight"], "right")
    assert curve.length == pytest.approx(300.0)
    assert curve.at(100.0)[0] == pytest.approx([0.0, 0.0, 200.0])


def test_sweeps_are_seen_from_above_and_from_the_front():
    _, inward = bar_curve(BARS["riser"], "right").at(50.0)
    outward = -inward
    assert math.degrees(math.atan2(-outward[0], outward[2])) == pytest.approx(8.0)
    assert math.degrees(math.atan2(outward[1], outward[2])) == pytest.approx(5.0)


def test_a_riser_s_grips_start_its_rise_over_the_clamp():
    """The grip's line, followed inwards to the second bend 75 mm from the middle, is 30 mm up."""
    end, inward = bar_curve(BARS["riser"], "right").at(0.0)
    to_bend = (end[2] - 75.0) / -inward[2]
    assert (end + to_bend * inward)[1] == pytest.approx(30.0)


def test_a_swept_bar_runs_ahead_and_sweeps_back_level():
    curve = bar_curve(BARS["swept"], "right")
    points = curve.points()
    assert points[:, 0].max() == pytest.approx(30.0, abs=0.02)
    for along in (0.0, 75.0, 149.9):
        point, inward = curve.at(along)
        assert point[1] == pytest.approx(40.0)
        assert -inward == pytest.approx([-math.sin(math.radians(60.0)), 0.0, math.cos(math.radians(60.0))])


def test_clock_places_at_the_stem(bar):
    for side in ("left", "right"):
        curve = bar_curve(bar, side)
        for clock, way in ((12.0, [0, 1, 0]), (3.0, [1, 0, 0]), (6.0, [0, -1, 0]), (9.0, [-1, 0, 0])):
            assert curve.radial(curve.length, clock) == pytest.approx(way, abs=1e-9)


def test_clock_places_on_the_grips_of_a_flat_bar_stay_up_and_forward():
    for side in ("left", "right"):
        curve = bar_curve(BARS["flat"], side)
        assert curve.radial(60.0, 12.0)[1] > 0.99
        assert curve.radial(60.0, 3.0)[0] > 0.98


def test_clock_places_in_the_hooks_twelve_outside_three_towards_the_middle():
    for side, sign in (("left", -1.0), ("right", 1.0)):
        curve = bar_curve(BARS["drop"], side)
        foremost = 68.550 + 77.968 * 1.43117
        assert curve.radial(foremost, 12.0) == pytest.approx([1.0, 0.0, 0.0], abs=1e-3)
        assert curve.radial(foremost, 3.0) == pytest.approx([0.0, 0.0, -sign], abs=1e-9)


def test_clock_places_do_not_wind_round_the_bar(bar):
    """A rotation-minimising frame: the change of one radial never points along the other."""
    curve = bar_curve(bar, "right")
    for along in np.linspace(1.0, curve.length - 1.0, 60):
        change = curve.radial(along + 0.01, 12.0) - curve.radial(along - 0.01, 12.0)
        assert change @ curve.radial(along, 3.0) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("side", ["left", "right"])
def test_the_cross_at_a_place_is_its_point_tangent_and_radials(bar, side):
    curve = bar_curve(bar, side)
    point, inward, twelve, three = curve.cross_at(111.0)
    assert (point, inward) == (pytest.approx(curve.at(111.0)[0]), pytest.approx(curve.at(111.0)[1]))
    assert twelve == pytest.approx(curve.radial(111.0, 12.0))
    assert three == pytest.approx(curve.radial(111.0, 3.0))


def test_radials_are_square_to_the_bar(bar):
    curve = bar_curve(bar, "left")
    for along in np.linspace(0.0, curve.length, 40):
        _, inward = curve.at(along)
        for clock in (0.0, 2.0, 9.5):
            radial = curve.radial(along, clock)
            assert radial @ inward == pytest.approx(0.0, abs=1e-12)
            assert np.linalg.norm(radial) == pytest.approx(1.0)


def _length(path):
    return float(np.linalg.norm(np.diff(path, axis=0), axis=1).sum())


@pytest.mark.parametrize(("clock", "sign"), [(12.0, 1.0), (6.0, -1.0)])
def test_a_line_outside_the_hook_is_longer_by_its_distance_times_the_turn(clock, sign):
    """Parallel curves: length differs by distance × turn; from the drops to the ramp a bar turns through 172°."""
    bar = BARS["drop"]
    curve = bar_curve(bar, "right")
    ramp = 70.295 + 75.965 * 1.43117 + 62.832 + 1.0
    centre = ramp - 20.0
    path = curve.offset_path(20.0, ramp, clock, 3.0)
    off = bar.diameter / 2.0 + 3.0
    assert _length(path) == pytest.approx(centre + sign * off * math.radians(172.0), abs=0.05)


def test_a_line_inside_the_corner_of_the_tops_is_shorter_by_its_distance_times_a_quarter_turn():
    bar = BARS["drop"]
    curve = bar_curve(bar, "left")
    off = bar.diameter / 2.0 + 2.5
    start = curve.length - 188.0 - 50.265 - 2.0
    path = curve.offset_path(start, curve.length, 3.0, 2.5)
    # 3 o'clock is forward on the tops: the outside of the bar there, the inside of the bend
    assert _length(path) == pytest.approx(curve.length - start - off * math.pi / 2.0, abs=0.05)


def test_a_line_along_the_bar_keeps_its_distance_and_direction(bar):
    curve = bar_curve(bar, "right")
    path = curve.offset_path(30.0, curve.length - 20.0, 5.0, 2.5)
    assert path[0] == pytest.approx(curve.at(30.0)[0] + (bar.diameter / 2 + 2.5) * curve.radial(30.0, 5.0))
    assert path == pytest.approx(curve.offset_path(curve.length - 20.0, 30.0, 5.0, 2.5)[::-1])
    for point in path[::7]:
        _, _, off = curve.locate(point)
        assert off == pytest.approx(bar.diameter / 2 + 2.5)


@settings(max_examples=60, deadline=None)
@given(
    name=st.sampled_from(sorted(BARS)),
    share=st.floats(0.02, 0.98),
    clock=st.floats(0.0, 11.99),
    off=st.floats(1.0, 14.0),
    side=st.sampled_from(["left", "right"]),
)
def test_locating_a_place_beside_the_bar_gives_it_back(name, share, clock, off, side):
    curve = bar_curve(BARS[name], side)
    along = share * curve.length
    place = curve.beside(np.array([along]), np.array([clock]), np.array([off]))[0]
    found = curve.locate(place)
    assert found[0] == pytest.approx(along, abs=1e-6)
    assert math.remainder(found[1] - clock, 12.0) == pytest.approx(0.0, abs=1e-6)
    assert found[2] == pytest.approx(off, abs=1e-9)


@pytest.mark.parametrize("along", [-1.0, 500.0])
def test_a_place_beyond_the_bar_is_refused(along):
    curve = bar_curve(BARS["drop"], "left")
    begins = f"^along is {along:g} mm from the bar end: the left half of the bar is 482 mm long"
    for ask in (lambda: curve.at(along), lambda: curve.radial(along, 3.0), lambda: curve.offset_path(10, along, 3, 2)):
        with pytest.raises(FrameFileError, match=begins):
            ask()


def test_a_figure_that_is_only_varied_may_go_past_the_end():
    curve = bar_curve(BARS["drop"], "left")
    end, inward = curve.at(0.0)
    assert curve.at(-3.0, beyond=5.0)[0] == pytest.approx(end - 3.0 * inward)
    assert curve.radial(-3.0, 2.0, beyond=5.0) == pytest.approx(curve.radial(0.0, 2.0))


@pytest.mark.parametrize(
    ("bar", "begins"),
    [
        (DropBar(shape="drop", width=420, reach=40, drop=180), "cockpit.bar has reach 40 mm and drop 180 mm: no hook"),
        (
            SweptBar(shape="swept", width=450, backsweep=20, grip=250),
            "cockpit.bar.grip is 250 mm: on a bar 450 mm wide with 20° of backsweep it leaves no room for the bend",
        ),
    ],
)
def test_bars_that_cannot_be_bent_are_refused(bar, begins):
    with pytest.raises(FrameFileError) as refused:
        bar_curve(bar, "right")
    assert str(refused.value).startswith(begins)
    assert "\n" not in str(refused.value)


@settings(max_examples=80, deadline=None)
@given(
    width=st.floats(500, 800),
    backsweep=st.floats(20, 90),
    reach=st.floats(0, 80),
    rise=st.floats(-40, 100),
    grip=st.floats(100, 150),
)
def test_swept_bars_keep_their_figures(width, backsweep, reach, rise, grip):
    bar = SweptBar(shape="swept", width=width, backsweep=backsweep, reach=reach, rise=rise, grip=grip)
    curve = bar_curve(bar, "right")
    points = curve.points()
    assert points[0, 2] == pytest.approx(width / 2)
    assert points[0, 1] == pytest.approx(rise, abs=1e-6)
    assert points[:, 0].max() == pytest.approx(reach, abs=0.05)
    assert curve.at(0.0)[1] == pytest.approx(curve.at(grip - 0.01)[1])


def test_a_small_change_of_a_figure_is_a_small_change_of_the_bar(bar):
    for name in type(bar).model_fields:
        value = getattr(bar, name)
        if not isinstance(value, float):
            continue
        moved = bar_curve(bar.model_copy(update={name: value + 1e-3}), "right")
        plain = bar_curve(bar, "right")
        assert abs(moved.length - plain.length) < 0.02
        assert math.dist(moved.at(100.0)[0], plain.at(100.0)[0]) < 0.02


def test_the_bar_of_a_frame_file_is_read():
    assert bar_curve(makers.frame().cockpit.bar, "left").shape == "drop"
