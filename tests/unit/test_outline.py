"""The outline of a hole: against the slot rule, against two cylinders intersected by marching, and at its limits."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import fsolve

from ropewalk.mechanics.outline import RodInWall, hole_outline, passage

Array = NDArray[np.float64]


def rod(
    lean: float, skew: float = 0.0, *, tube: float = 38.0, wall: float = 1.2, thick: float = 7.0, height: float = 0.0
):
    return RodInWall(tube, wall, thick, math.radians(lean), math.radians(skew), height)


# The slot rule, diameter / sin(lean), common practice of the trade: the figures for a sleeve of 7 mm.


@pytest.mark.parametrize(("lean", "length"), [(20.0, 20.5), (30.0, 14.0), (45.0, 9.9)])
@pytest.mark.parametrize("tube", [28.6, 38.0, 1e4])
def test_a_rod_straight_outward_follows_the_slot_rule(lean: float, length: float, tube: float) -> None:
    hole = hole_outline(rod(lean, tube=tube))
    assert hole.length == pytest.approx(length, abs=0.05)
    assert hole.chord == pytest.approx(7.0, abs=1e-3)


@pytest.mark.parametrize("skew", [20.0, -50.0])
def test_a_skewed_hole_becomes_that_of_a_flat_wall_as_the_tube_grows(skew: float) -> None:
    # In a flat wall the hole is an ellipse: d / sin(angle to the wall) along the rod's trace, d across it.
    lean, turn = math.radians(30.0), math.radians(skew)
    to_wall = math.asin(math.sin(lean) * math.cos(turn))
    trace = math.atan2(math.sin(lean) * math.sin(turn), math.cos(lean))
    long, short = 3.5 / math.sin(to_wall), 3.5
    flat_length = 2.0 * math.hypot(long * math.cos(trace), short * math.sin(trace))
    flat_width = 2.0 * math.hypot(long * math.sin(trace), short * math.cos(trace))
    errors = []
    for tube in (1e3, 1e4, 1e5):
        hole = hole_outline(rod(30.0, skew, tube=tube), count=2880)
        errors.append(max(abs(hole.length - flat_length), abs(hole.width - flat_width)))
    assert errors[0] > 3.0 * errors[1] > 9.0 * errors[2]
    assert errors[2] < 2e-3


# Two cylinders intersected without any formula of the outline's: Newton steps on their implicit surfaces.


def march(one: RodInWall, radius: float, step: float) -> Array:
    """Follow the curve of intersection of the rod with a cylinder about the tube's axis, once round."""
    along = one.direction
    through = np.array([0.0, one.tube_diameter / 2.0 + one.height, 0.0])
    half = one.rod_diameter / 2.0

    def surfaces(point: Array) -> Array:
        gap = point - through
        away = gap - (gap @ along) * along
        return np.array([point[1] ** 2 + point[2] ** 2 - radius**2, away @ away - half**2])

    def slopes(point: Array) -> Array:
        gap = point - through
        return np.array([[0.0, 2.0 * point[1], 2.0 * point[2]], 2.0 * (gap - (gap @ along) * along)])

    def onto(point: Array, heading: Array) -> Array:
        return fsolve(lambda p: np.append(surfaces(p), (p - point) @ heading), point, xtol=1e-12)

    # where the rod's axis leaves the cylinder, then off to the rod's side
    across = along - along[0] * np.array([1.0, 0.0, 0.0])
    a, b, c = across @ across, through @ across, through @ through - radius**2
    centre = through + (-b + math.sqrt(b * b - a * c)) / a * along
    aside = np.cross(along, centre * [0.0, 1.0, 1.0])
    start = onto(centre + half * aside / np.linalg.norm(aside), np.cross(along, aside))
    points = [start]
    while len(points) < 20_000:
        heading = np.cross(*slopes(points[-1]))
        heading /= np.linalg.norm(heading)
        points.append(onto(points[-1] + step * heading, heading))
        if len(points) > 8 and np.linalg.norm(points[-1] - start) < 0.75 * step:
            return np.array(points)
    raise AssertionError("the curve does not close")


def apart(one: Array, two: Array) -> float:
    """Return the greatest distance of the points of one closed curve from the legs of another."""
    legs = np.roll(two, -1, axis=0) - two
    gap = one[:, None, :] - two[None, :, :]
    share = np.clip(np.einsum("ijk,jk->ij", gap, legs) / np.einsum("jk,jk->j", legs, legs), 0.0, 1.0)
    return float(np.linalg.norm(gap - share[..., None] * legs, axis=-1).min(axis=1).max())


@pytest.mark.parametrize(
    "case",
    [
        rod(25.0),
        rod(20.0, 15.0, tube=31.8),
        rod(40.0, -35.0, tube=44.0, wall=1.5),
        rod(90.0, tube=24.0, wall=2.0),
        rod(22.0, 10.0, tube=22.0, wall=1.0, thick=5.5, height=2.0),
        rod(60.0, tube=16.0, wall=1.0, thick=12.0),
    ],
    ids=repr,
)
def test_it_is_where_two_cylinders_meet(case: RodInWall) -> None:
    hole = hole_outline(case)
    for curve, radius in ((hole.outer, case.tube_diameter / 2.0), (hole.inner, case.tube_diameter / 2.0 - case.wall)):
        marched = march(case, radius, 0.1)
        assert apart(marched, curve) < 0.05
        assert apart(curve, marched) < 0.05
    assert hole.length == pytest.approx(float(np.ptp(march(case, case.tube_diameter / 2.0, 0.1)[:, 0])), abs=0.05)


def test_the_share_is_what_points_strewn_in_the_wall_say() -> None:
    case = rod(30.0, 20.0, tube=31.8)
    hole = hole_outline(case)
    # an even grid over the wall's section, at many places along the tube: which points lie in the rod
    radius = np.sqrt(np.linspace((31.8 / 2 - 1.2) ** 2, (31.8 / 2) ** 2, 40))
    angle = np.linspace(-math.pi / 2, math.pi / 2, 1801) + case.skew
    y, z = np.outer(radius, np.cos(angle)), np.outer(radius, np.sin(angle))
    best = 0.0
    for x in np.linspace(-15.0, 15.0, 301):
        gap = np.stack([np.full_like(y, x), y - 31.8 / 2, z], axis=-1)
        away = np.linalg.norm(np.cross(gap, case.direction), axis=-1)
        best = max(best, float((away < 3.5).mean()) / 2.0)
    assert hole.share == pytest.approx(best, rel=0.02)


def test_a_radial_hole_takes_its_chord_from_the_section() -> None:
    # A thin wall loses the arc over the hole's chord: asin(d/D)/π of the circumference.
    hole = hole_outline(rod(90.0, wall=0.01))
    assert hole.share == pytest.approx(math.asin(7.0 / 38.0) / math.pi, rel=2e-3)
    assert hole.share_at == pytest.approx(0.0, abs=0.1)


def test_seen_along_a_square_rod_the_hole_is_a_circle() -> None:
    hole = hole_outline(rod(90.0))
    assert np.hypot(hole.outer[:, 0], hole.outer[:, 2]) == pytest.approx(np.full(len(hole.outer), 3.5))
    assert hole.length == pytest.approx(7.0)


@settings(max_examples=60, deadline=None)
@given(st.floats(5.0, 90.0), st.floats(-40.0, 40.0), st.floats(3.0, 9.0), st.floats(0.0, 3.0))
def test_every_point_lies_on_both_surfaces_and_flat_keeps_lengths(
    lean: float, skew: float, thick: float, height: float
) -> None:
    case = rod(lean, skew, tube=44.0, thick=thick, height=height)
    if passage(case) != "through":
        return
    hole = hole_outline(case, count=1440)
    gap = hole.outer - [0.0, 22.0 + height, 0.0]
    assert np.linalg.norm(np.cross(gap, case.direction), axis=1) == pytest.approx(np.full(1440, thick / 2.0), abs=1e-8)
    assert np.hypot(hole.outer[:, 1], hole.outer[:, 2]) == pytest.approx(np.full(1440, 22.0))
    # rolling flat keeps lengths on the surface
    rolled = np.hypot(*(np.roll(hole.flat, -1, axis=0) - hole.flat).T).sum()
    inspace = np.linalg.norm(np.roll(hole.outer, -1, axis=0) - hole.outer, axis=1).sum()
    assert rolled == pytest.approx(inspace, rel=1e-4)
    assert hole.through_length >= hole.length - 1e-9
    assert 0.0 < hole.share < 0.5


def test_skew_to_either_side_is_a_mirror_image() -> None:
    left, right = hole_outline(rod(25.0, 30.0)), hole_outline(rod(25.0, -30.0))
    assert (left.length, left.width, left.share) == pytest.approx((right.length, right.width, right.share))
    assert left.flat[:, 1].mean() == pytest.approx(-right.flat[:, 1].mean())


@pytest.mark.parametrize(
    ("case", "why"),
    [
        (rod(0.0), "along"),
        (rod(0.5), "along"),
        (rod(-25.0), "inward"),
        (rod(25.0, 120.0), "inward"),
        (rod(60.0, 80.0), "beside"),
        (rod(90.0, height=60.0, skew=20.0), "beside"),
        (rod(45.0, thick=35.6), "too thick"),
        (rod(90.0, thick=38.0), "too thick"),
    ],
    ids=repr,
)
def test_a_rod_that_makes_no_hole_says_why(case: RodInWall, why: str) -> None:
    assert passage(case) == why
    with pytest.raises(ValueError, match=f"no hole through the wall: {why}"):
        hole_outline(case)


def test_a_rod_just_thinner_than_the_bore_still_makes_one() -> None:
    assert passage(rod(45.0, thick=35.5)) == "through"
    assert hole_outline(rod(45.0, thick=35.5)).chord == pytest.approx(35.5, abs=1e-3)


@pytest.mark.parametrize("change", [{"thick": 0.0}, {"wall": 19.0}, {"wall": 0.0}, {"lean": math.nan}])
def test_sizes_that_are_none_are_refused(change: dict[str, float]) -> None:
    with pytest.raises(ValueError, match=r"finite|have to be over 0"):
        rod(**{"lean": 25.0, **change})
