"""The widest arc round a corner against geometry worked out by hand."""

import math

import numpy as np
import pytest
from scipy.optimize import brentq
from shapely import affinity
from shapely.geometry import LineString, Point, box

from ropewalk.mechanics.corridor import shrunk, taut_path
from ropewalk.mechanics.rounding import corner_radii, largest_corner_radius, wall_to_wall_extra


def right_angle(first, second, long=400.0):
    """Two channels of given widths at a right angle; the inner corner is at (0, 0)."""
    room = box(-long, -first, second, 0).union(box(0, -first, second, long))
    return room, taut_path(room, (-long, 0), (0, long))


@pytest.mark.parametrize(("first", "second"), [(10, 10), (10, 20), (30, 8), (5, 5)])
def test_a_right_angled_elbow_takes_the_sum_and_the_root(first, second):
    # Tangent to both outer walls and through the inner corner: (R - a)^2 + (R - b)^2 = R^2.
    room, path = right_angle(first, second)
    (radius,) = corner_radii(room, path)
    assert radius == pytest.approx(first + second + math.sqrt(2 * first * second), rel=0.005)


@pytest.mark.parametrize("turn_deg", [20, 45, 90, 120])
def test_an_elbow_of_any_turn_takes_width_over_one_less_cosine(turn_deg):
    # Equal widths w: R (1 - cos(turn/2)) = w.
    width, turn = 8.0, math.radians(turn_deg)
    end = 1500 * np.array([math.cos(turn), math.sin(turn)])
    # The channel lies to the right of the corner line, so its inner corner is the origin.
    right = [(-1500.0, 0.0), (0.0, 0.0), tuple(end)]
    room = LineString(right).buffer(-width, single_sided=True, join_style="mitre", mitre_limit=10.0)
    path = taut_path(room, (-1500, 0), tuple(end))
    (radius,) = corner_radii(room, path)
    assert path.turn == pytest.approx(turn, abs=1e-6)
    assert radius == pytest.approx(width / (1 - math.cos(turn / 2)), rel=0.005)


def test_unequal_widths_at_any_turn_agree_with_a_root():
    first, second, turn = 6.0, 14.0, math.radians(60)
    end = 900 * np.array([math.cos(turn), math.sin(turn)])
    leg = affinity.rotate(box(-200, -second, 900, 0), 60, origin=(0, 0))
    upper = affinity.rotate(box(-200, -1e3, 1e3, 1e3), 60, origin=(0, 0))
    room = box(-900, -first, 100, 0).union(leg).intersection(upper)
    # Keep only what lies right of both inner walls and inside both outer walls.
    outer = affinity.rotate(box(-1e3, -second, 1e3, 1e3), 60, origin=(0, 0))
    inner = box(-1e3, 0, 1e3, 1e3).intersection(affinity.rotate(box(-1e3, 0, 1e3, 1e3), 60, origin=(0, 0)))
    room = box(-900, -first, 1e3, 1e3).intersection(outer).difference(inner)
    path = taut_path(room, (-900, 0), tuple(end))
    (radius,) = corner_radii(room, path)
    n1, n2 = np.array([0.0, -1.0]), np.array([math.sin(turn), -math.cos(turn)])

    def surplus(trial):
        centre = np.linalg.solve(np.stack([n1, n2]), [first - trial, second - trial])
        return np.hypot(*centre) - trial

    assert radius == pytest.approx(brentq(surplus, 20, 500), rel=0.005)


def test_a_short_leg_limits_the_radius():
    # Legs of 12 from the corner: the arc ends where they end, R tan(turn/2) <= 12 less the swing.
    room, path = right_angle(10, 10, long=12.0)
    (short,) = corner_radii(room, path)
    (free,) = corner_radii(*right_angle(10, 10))
    assert short < free
    # The arc may spread over the width of the legs, from one end to the other: it cannot exceed leg and width.
    assert short <= 12 + 10 + 0.1


def test_a_corridor_with_no_play_has_no_arc_but_its_rounding():
    elbow = box(0, 0, 300, 30).union(box(270, 0, 300, 200))
    # A line that fills the channel rounds the inner corner on half its diameter and no wider.
    room = shrunk(elbow, 14.999)
    path = taut_path(room, (20, 15), (285, 180))
    assert path.reached
    (radius,) = corner_radii(room, path)
    assert radius == pytest.approx(14.999, rel=0.02)


def test_a_bend_keeps_its_own_radius():
    # A quarter ring, free between radius 60 and 62 for the centre of the line: no wider than its widest arc.
    ring = Point(0, 0).buffer(62, quad_segs=48).difference(Point(0, 0).buffer(60, quad_segs=48))
    room = ring.intersection(box(0, 0, 100, 100)).union(box(-100, 60, 0, 62)).union(box(60, -100, 62, 0))
    path = taut_path(room, (-100, 60), (60, -100))
    (radius,) = corner_radii(room, path)
    # R (1 - cos 45) - 60 (1 - cos 45) <= 2, as for an elbow.
    assert 60 <= radius <= 60 + 2 / (1 - math.cos(math.pi / 4)) + 0.1


def test_a_second_chamber_behind_the_outer_wall_does_not_count():
    room, path = right_angle(10, 10)
    wall = box(-400, -12, 12, -10).union(box(10, -12, 12, 400))
    beyond = box(-400, -300, 300, 400).difference(wall).union(room).difference(box(-400, 0, 0, 400))
    joined = beyond.union(box(-395, -13, -390, -9))
    (radius,) = corner_radii(joined, path)
    assert radius < 60


def test_each_corner_of_a_dog_leg_has_its_own_radius():
    leg = box(0, 0, 400, 10).union(box(390, 0, 410, 400)).union(box(390, 390, 800, 400))
    path = taut_path(leg, (0, 5), (800, 395))
    radii = corner_radii(leg, path)
    assert len(radii) == 2
    assert radii[0] == pytest.approx(radii[1], rel=0.01)  # the corridor is the same seen from either end
    assert largest_corner_radius(leg, path, 1) == radii[1]
    assert all(radius > 10 * (2 + math.sqrt(2)) for radius in radii)


def snake_extra(swing, radius):
    """Extra length over length of arcs of a radius that swing exactly so far to either side."""
    slope = math.acos(1 - swing / radius)
    return slope / math.sin(slope) - 1


@pytest.mark.parametrize("ratio", [0.02, 0.01, 0.001])
def test_slack_from_wall_to_wall_agrees_with_arcs(ratio):
    radius, diameter = 50.0, 5.0
    extra = wall_to_wall_extra(diameter + 2 * ratio * radius, diameter, radius, 1000.0)
    assert extra == pytest.approx(1000.0 * snake_extra(ratio * radius, radius), rel=0.5 * ratio)


def test_a_line_as_thick_as_its_corridor_hides_no_slack():
    assert wall_to_wall_extra(5.0, 5.0, 50.0, 600.0) == 0.0
    assert wall_to_wall_extra(4.0, 5.0, 50.0, 600.0) == 0.0
