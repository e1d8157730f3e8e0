"""Taut paths in corridors worked out by hand, and outlines joined only through their openings."""

import math

import numpy as np
import pytest
from shapely.geometry import MultiPolygon, Point, Polygon, box

from ropewalk.mechanics.corridor import corridor, shrunk, taut_path

LENGTH_TOLERANCE = 0.1
TURN_TOLERANCE = math.radians(0.1)


def through(*places):
    """Length and total turn of the broken line through places."""
    steps = np.diff(np.array(places, dtype=float), axis=0)
    headings = np.arctan2(steps[:, 1], steps[:, 0])
    turns = (np.diff(headings) + math.pi) % (2 * math.pi) - math.pi
    return np.hypot(*steps.T).sum(), np.abs(turns).sum()


def assert_path(path, places):
    length, turn = through(*places)
    assert path.reached
    assert path.length == pytest.approx(length, abs=LENGTH_TOLERANCE)
    assert path.turn == pytest.approx(turn, abs=TURN_TOLERANCE)


def test_a_straight_channel_is_crossed_straight():
    path = taut_path(box(0, 0, 600, 30), (0, 5), (600, 25))
    assert path.points.tolist() == [[0, 5], [600, 25]]
    assert path.length == pytest.approx(math.hypot(600, 20), rel=1e-12)
    assert path.turn == 0.0
    assert path.corners == ()


def test_an_elbow_is_rounded_at_its_inner_corner():
    elbow = box(0, 0, 300, 30).union(box(270, 0, 300, 200))
    assert_path(taut_path(elbow, (0, 15), (285, 200)), [(0, 15), (270, 30), (285, 200)])


def test_a_shrunk_elbow_is_rounded_on_a_circle_of_half_the_diameter():
    elbow = box(0, 0, 300, 30).union(box(270, 0, 300, 200))
    half = 5.0
    # Start and end lie on the tangents of the circle: the exact path is a straight, a quarter circle, a straight.
    path = taut_path(elbow, (20, 30 - half), (270 + half, 180), half_diameter=half)
    assert path.length == pytest.approx(250 + half * math.pi / 2 + 150, abs=LENGTH_TOLERANCE)
    assert path.turn == pytest.approx(math.pi / 2, abs=TURN_TOLERANCE)
    (corner,) = path.corners
    assert corner.turn == pytest.approx(math.pi / 2, abs=TURN_TOLERANCE)


def test_a_dog_leg_is_cut_at_both_inner_corners():
    leg = box(0, 0, 100, 10).union(box(90, 0, 100, 60)).union(box(90, 50, 200, 60))
    path = taut_path(leg, (0, 5), (200, 55))
    assert_path(path, [(0, 5), (90, 10), (100, 50), (200, 55)])
    first, second = path.corners
    assert first.turn > 0 > second.turn


@pytest.mark.parametrize(
    ("place", "way"),
    [((0, 12.0), "above"), ((0, -12.0), "below"), ((0, 0.5), "above")],
)
def test_an_obstacle_is_passed_on_the_shorter_side(place, way):
    room = box(-200, -40, 200, 40).difference(Point(0, 0).buffer(10.0, quad_segs=64))
    path = taut_path(room, (-200, place[1]), (200, place[1]))
    distance, radius = math.hypot(200, place[1]), 10.0
    if abs(place[1]) > radius:
        assert path.points.shape == (2, 2)
        return
    lean = 2 * math.asin(radius / distance) - 2 * math.atan2(place[1], 200)
    straight = math.sqrt(distance**2 - radius**2)
    assert path.length == pytest.approx(2 * straight + radius * lean, abs=LENGTH_TOLERANCE)
    assert path.turn == pytest.approx(lean, abs=TURN_TOLERANCE)
    assert (path.points[1:-1, 1].mean() > 0) == (way == "above")


def test_a_shrunk_obstacle_grows():
    room = box(-200, -40, 200, 40).difference(Point(0, 0).buffer(10.0, quad_segs=64))
    path = taut_path(room, (-150, 0.0), (150, 0.0), half_diameter=2.5)
    lean = 2 * math.asin(12.5 / 150)
    assert path.length == pytest.approx(2 * math.sqrt(150**2 - 12.5**2) + 12.5 * lean, abs=LENGTH_TOLERANCE)
    assert path.turn == pytest.approx(lean, abs=TURN_TOLERANCE)


UPRIGHT = box(-20, -100, 20, 300)
UPPER = box(-400, 200, 5, 230)
LOWER = Polygon([(-400, -200), (-400, -170), (0, 30), (0, 0)])
UPPER_OPENING = box(-25, 210, -15, 222)
LOWER_OPENING = box(-26, 0, -14, 12)


def test_three_channels_meet_through_their_openings():
    room = corridor([UPRIGHT, UPPER, LOWER], [UPPER_OPENING, LOWER_OPENING])
    path = taut_path(room, (-400, 225), (-400, -180))
    # In through the lower edge of the upper opening, out through the upper edge of the lower one.
    assert_path(path, [(-400, 225), (-20, 210), (-20, 12), (-400, -180)])
    line = np.array([[-400, 225], [-20, 210], [-20, 12], [-400, -180]], dtype=float)
    for place in line[1:3]:
        assert np.hypot(*(path.points - place).T).min() < LENGTH_TOLERANCE


def test_overlapping_channels_without_opening_stay_apart():
    room = corridor([UPRIGHT, UPPER, LOWER], [UPPER_OPENING])
    assert isinstance(room, MultiPolygon)
    path = taut_path(room, (-400, 225), (-400, -180))
    assert not path.reached
    assert path.points.shape == (0, 2)
    assert path.length == math.inf
    assert taut_path(room, (-400, 225), (0, -90)).reached


def test_the_room_where_two_overlap_belongs_to_the_first():
    room = corridor([UPRIGHT, UPPER], [])
    assert taut_path(room, (0, 0), (0, 215)).reached
    assert not taut_path(room, (-300, 215), (0, 215)).reached
    turned = corridor([UPPER, UPRIGHT], [])
    assert taut_path(turned, (-300, 215), (0, 215)).reached
    assert not taut_path(turned, (0, 0), (0, 215)).reached


def test_outlines_that_only_touch_stay_apart_until_opened():
    left, right = box(0, 0, 50, 20), box(50, 0, 100, 20)
    assert not taut_path(corridor([left, right], []), (5, 10), (95, 10)).reached
    opened = corridor([left, right], [box(48, 5, 52, 9)])
    assert_path(taut_path(opened, (5, 10), (95, 10)), [(5, 10), (50, 9), (95, 10)])


def test_an_opening_bridges_the_wall_between_outlines_that_do_not_touch():
    left, right = box(0, 0, 48, 20), box(52, 0, 100, 20)
    room = corridor([left, right], [box(47, 5, 53, 15)])
    assert_path(taut_path(room, (5, 10), (95, 10)), [(5, 10), (95, 10)])


@pytest.mark.parametrize(("half_diameter", "reached"), [(0.0, True), (4.9, True), (5.1, False)])
def test_a_line_passes_openings_wider_than_itself_only(half_diameter, reached):
    room = corridor([box(0, 0, 50, 30), box(50, 0, 100, 30)], [box(45, 10, 55, 20)])
    assert taut_path(room, (15, 15), (85, 15), half_diameter=half_diameter).reached is reached


def test_an_end_outside_is_not_reached_without_reach():
    room = shrunk(box(0, 0, 200, 30), 2.5)
    assert not taut_path(room, (50, 30), (110, 6)).reached
    path = taut_path(room, (50, 30), (110, 6), reach=2.5)
    assert_path(path, [(50, 30), (110, 6)])
    # Leaving along the wall, the line turns off its tangent where the fan joins the room.
    grazing = taut_path(room, (50, 30), (190, 27.5), reach=2.5)
    assert 0 < grazing.turn < math.radians(20)
    assert grazing.length < math.hypot(140, 2.5) + 0.5


def test_too_thick_a_line_finds_no_room():
    path = taut_path(box(0, 0, 100, 10), (5, 5), (95, 5), half_diameter=6.0)
    assert not path.reached


def test_ends_that_fall_together_have_no_length():
    path = taut_path(box(0, 0, 100, 10), (5, 5), (5, 5))
    assert path.reached
    assert path.length == 0.0
    assert path.turn == 0.0


def test_a_finely_drawn_bend_turns_as_much_as_a_coarse_one():
    # A quarter ring of inner radius 60: the taut path lies on the inner wall.
    for segments in (16, 64, 256):
        ring = Point(0, 0).buffer(90, quad_segs=segments).difference(Point(0, 0).buffer(60, quad_segs=segments))
        room = ring.intersection(box(0, 0, 100, 100)).union(box(-100, 60, 0, 90)).union(box(60, -100, 90, 0))
        path = taut_path(room, (-100, 60), (60, -100))
        assert path.turn == pytest.approx(math.pi / 2, abs=TURN_TOLERANCE)
        assert path.length == pytest.approx(200 + 60 * math.pi / 2, abs=LENGTH_TOLERANCE)
