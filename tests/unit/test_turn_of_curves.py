"""Total turn of curves against closed forms: polyline, arc, helix, elastica; stretch of wire against quadrature."""

from __future__ import annotations

import math

import mpmath
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from ropewalk.mechanics.capstan import Contact, pull_needed, pull_through, release_through
from ropewalk.mechanics.curves import turn
from ropewalk.mechanics.elastica import Clamps, relax
from ropewalk.mechanics.wire import stretch, stretch_decaying


def test_a_polyline_turns_by_the_sum_of_its_corners() -> None:
    """A square's three inner corners: 270°; a step up out of the plane and back adds its own two right angles."""
    square = np.array([[0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0], [0, 0, 0]], dtype=float)
    assert float(turn(square)) == pytest.approx(1.5 * math.pi, abs=1e-12)
    stair = np.array([[0, 0, 0], [1, 0, 0], [1, 0, 1], [2, 0, 1]], dtype=float)
    assert float(turn(stair)) == pytest.approx(math.pi, abs=1e-12)


@pytest.mark.parametrize("degrees", [30.0, 180.0, 540.0])
def test_an_arc_turns_by_its_angle(degrees: float) -> None:
    """A polygon inscribed in an arc turns by its angle less one step; steps go to nothing."""
    steps = 3_000
    angle = np.linspace(0.0, math.radians(degrees), steps + 1)
    arc = 40.0 * np.column_stack([np.cos(angle), np.sin(angle), np.zeros_like(angle)])
    assert float(turn(arc)) == pytest.approx(math.radians(degrees) * (1.0 - 1.0 / steps), abs=1e-6)


@pytest.mark.parametrize(("radius", "rise"), [(14.3, 0.0), (14.3, 30.0), (40.0, 5.0)])
def test_a_helix_turns_by_its_curvature_times_its_length(radius: float, rise: float) -> None:
    """Curvature r / (r² + c²) with c the rise per radian, length sqrt(r² + c²) a radian (differential geometry)."""
    steps = 20_000
    angle = np.linspace(0.0, 3.0 * math.pi, steps + 1)
    helix = np.column_stack([radius * np.cos(angle), radius * np.sin(angle), rise * angle])
    whole = radius / math.hypot(radius, rise) * 3.0 * math.pi
    assert float(turn(helix)) == pytest.approx(whole * (1.0 - 1.0 / steps), abs=1e-6)


def test_an_elastica_turns_by_what_its_bends_add_up_to() -> None:
    """A rod between two right-angled clamps bends one way only, so it turns by the quarter circle between them."""
    clamps = Clamps(
        np.array([[0.0, 0.0, 0.0]]),
        np.array([[1.0, 0.0, 0.0]]),
        np.array([[100.0, 100.0, 0.0]]),
        np.array([[0.0, 1.0, 0.0]]),
    )
    rods = relax(clamps, np.array([155.0]), nodes=40)
    assert float(rods.turn[0]) == pytest.approx(math.pi / 2.0, abs=1e-6)


def bowed() -> tuple[Clamps, float, float]:
    """Return clamps in line, the length of a rod between them, and its turn by elliptic integrals (mpmath).

    Euler's bowed column with built-in ends: chord over length is 2 E(m)/K(m) - 1; its tangent swings by alpha four
    times, with sin(alpha/2)² = m.
    """
    length, chord = 200.0, 150.0
    m = mpmath.findroot(lambda m: 2 * mpmath.ellipe(m) / mpmath.ellipk(m) - 1 - chord / length, 0.2)
    along = np.array([[1.0, 0.0, 0.0]])
    clamps = Clamps(np.zeros((1, 3)), along, chord * along, along)
    return clamps, length, float(8 * mpmath.asin(mpmath.sqrt(m)))


def test_an_elastica_that_bends_both_ways_turns_by_the_sizes_of_its_bends() -> None:
    clamps, length, whole = bowed()
    rods = relax(clamps, np.array([length]), nodes=40)
    assert float(rods.turn[0]) == pytest.approx(whole, abs=1e-6)


def test_points_of_an_elastica_turn_as_it_does_with_ever_smaller_steps() -> None:
    """The corners between legs leave half a leg's bend off at either end: the error halves as the steps do."""
    clamps, length, whole = bowed()
    rods = relax(clamps, np.array([length]), nodes=40)
    coarse, fine = (whole - float(turn(rods.points(count))[0]) for count in (16_001, 32_001))
    assert 0.0 < fine < coarse < 1e-3
    assert 2.0 * fine - coarse == pytest.approx(0.0, abs=1e-6)


# Tension and stretch.


def test_drags_count_where_they_sit() -> None:
    """Worked by hand: 100 N through a quarter turn at 0.2, 5 N of drag, half a turn at 0.1, 3 N of drag.

    exp(-0.2 · 1.5708) = exp(-0.1 · 3.1416) = 0.73040: 73.040 N, less 5 is 68.040 N; 49.697 N, less 3 is 46.697 N.
    The other order: 73.040 less 3 is 70.040 N, times 0.73040 is 51.157 N, less 5 is 46.157 N.
    """
    first = [Contact(math.pi / 2, 0.2, 5.0), Contact(math.pi, 0.1, 3.0)]
    other = [Contact(math.pi / 2, 0.2, 3.0), Contact(math.pi, 0.1, 5.0)]
    assert pull_through(100.0, first) == pytest.approx((68.040, 46.697), abs=1e-3)
    assert pull_through(100.0, other)[-1] == pytest.approx(46.157, abs=1e-3)


def test_the_stretch_of_a_decaying_line_is_its_integral() -> None:
    """Against scipy's quadrature of T0 exp(-mu theta s / L) / EA over the length."""
    for exponent in (0.0, 1e-6, 0.4, 2.0, -0.7):
        whole, _ = quad(lambda s, x=exponent: 480.0 * math.exp(-x * s / 900.0) / 1.9e5, 0.0, 900.0, epsabs=1e-13)
        assert stretch_decaying(480.0, exponent, 900.0, 1.9e5) == pytest.approx(whole, abs=1e-9)
    assert stretch_decaying(480.0, 0.0, 900.0, 1.9e5) == pytest.approx(stretch(480.0, 900.0, 1.9e5), rel=1e-12)


@given(
    st.lists(st.floats(0.0, 6.0), min_size=1, max_size=6),
    st.floats(0.0, 0.5),
    st.floats(5.0, 80.0),
)
def test_pulled_and_let_back_a_wire_stands_apart_by_its_turn(
    turns: list[float], friction: float, spring: float
) -> None:
    """S e^{+x} - S e^{-x}: nothing without friction, more with more turn."""
    row = [Contact(angle, friction) for angle in turns]
    apart = pull_needed(spring, row)[0] - release_through(spring, row)[0]
    assert apart == pytest.approx(2.0 * spring * math.sinh(friction * sum(turns)), rel=1e-9, abs=1e-9)
    more = [*row, Contact(1.0, friction)]
    assert pull_needed(spring, more)[0] - release_through(spring, more)[0] >= apart
