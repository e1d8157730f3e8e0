"""Friction and drag from the pull at both ends: closed forms, and planted figures found within their intervals."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pytest

from ropewalk.analysis.faultfit import Interval, LineFit, fit_line
from ropewalk.analysis.faultreadings import Pair, sort_loads
from ropewalk.mechanics.capstan import Contact

#: the normal figure that holds 19 times in 20, from the tables
NORMAL = 1.959964
#: what a scale errs by in these tests, as a standard deviation [N]
SIGMA = 0.5
#: simulated sets of readings of each kind
COUNT = 5_000
#: what the lever strength test puts on a lever [N]; beyond it nothing is planted
MOST = 450.0


def fitted(pairs: list[Pair], contacts: list[Contact], sigma: float = 1e-6, turn_sigma: float = 0.0) -> LineFit:
    found = fit_line(pairs, contacts, turn_sigma, sigma)
    assert found is not None
    return found


def fitted_drag(found: LineFit) -> Interval:
    assert found.drag is not None
    return found.drag


# Exact readings, by hand.


def test_an_exact_pair_gives_the_capstan_rule_s_own_answer() -> None:
    """By hand: in / out = exp(mu theta), so 72 N in, 30 N out over 360° are 0.8755 / 6.2832 = 0.1393."""
    found = fitted([Pair(72.0, 30.0)], [Contact(2.0 * math.pi)])
    assert found.friction.value == pytest.approx(0.13933, abs=1e-5)
    assert found.friction.high - found.friction.low < 1e-6
    assert found.drag is None


def test_only_the_sum_of_the_turns_matters() -> None:
    parted = fitted([Pair(72.0, 30.0)], [Contact(1.0), Contact(2.5), Contact(2.0 * math.pi - 3.5)])
    assert parted.friction.value == pytest.approx(0.13933, abs=1e-5)


def test_two_exact_loads_give_friction_and_drag() -> None:
    """By hand: (20 + 5) × 2 = 50 and (60 + 5) × 2 = 130, so exp(mu pi) = 2, mu = 0.2206, drag 5 N at the far end."""
    found = fitted([Pair(50.0, 20.0), Pair(130.0, 60.0)], [Contact(math.pi)])
    assert found.friction.value == pytest.approx(0.22064, abs=1e-5)
    assert fitted_drag(found).value == pytest.approx(5.0, abs=1e-4)


def test_a_known_drag_is_taken_off_where_it_sits() -> None:
    """By hand: two quarter turns that each double, a seal of 4 N between: ((30 × 2) + 4) × 2 = 128 N."""
    friction = math.log(2.0) / (math.pi / 2.0)
    found = fitted([Pair(128.0, 30.0)], [Contact(math.pi / 2.0, drag=4.0), Contact(math.pi / 2.0)])
    assert found.friction.value == pytest.approx(friction, rel=1e-6)
    swapped = fitted([Pair(128.0, 30.0)], [Contact(math.pi / 2.0), Contact(math.pi / 2.0, drag=4.0)])
    assert swapped.friction.value < friction - 0.01


# Intervals in closed form.


def test_the_interval_of_one_pair_is_fieller_s() -> None:
    """50 N in, 20 N out, 0.5 N sigma: the slope's ends solve (50 - 20 s)² = z² sigma² (1 + s²), a quadratic in s."""
    share = (NORMAL * SIGMA) ** 2
    ends = np.sort(np.roots([20.0**2 - share, -2.0 * 50.0 * 20.0, 50.0**2 - share]).real)
    found = fitted([Pair(50.0, 20.0)], [Contact(math.pi)], SIGMA).friction
    assert [found.low, found.high] == pytest.approx((np.log(ends) / math.pi).tolist(), rel=1e-5)


def test_the_interval_of_two_loads_is_that_of_a_direction() -> None:
    """Two points with equal errors in both figures: their direction errs by asin(z sigma √2 / distance)."""
    found = fitted([Pair(50.0, 20.0), Pair(130.0, 60.0)], [Contact(math.pi)], SIGMA).friction
    away = math.asin(NORMAL * SIGMA * math.sqrt(2.0) / math.hypot(80.0, 40.0))
    ends = [math.log(math.tan(math.atan(2.0) + side * away)) / math.pi for side in (-1.0, 1.0)]
    assert [found.low, found.high] == pytest.approx(ends, rel=1e-5)


def test_a_turn_that_is_known_to_a_tenth_leaves_friction_known_to_a_tenth() -> None:
    """With exact forces mu theta is known exactly, so to first order mu errs by the turn's own share."""
    found = fitted([Pair(72.0, 30.0)], [Contact(2.0 * math.pi)], 1e-6, 0.02 * math.pi).friction
    assert found.high - found.value == pytest.approx(NORMAL * 0.01 * found.value, rel=0.02)


def test_repeats_that_agree_do_not_average_the_scale_s_error_out() -> None:
    once = fitted([Pair(50.0, 20.0)], [Contact(math.pi)], SIGMA).friction
    often = fitted([Pair(50.0, 20.0)] * 9, [Contact(math.pi)], SIGMA).friction
    assert (often.low, often.high) == pytest.approx((once.low, once.high), rel=1e-9)


def test_scatter_of_few_repeats_widens_by_student_s_factor() -> None:
    """Two repeats 2 N apart at the lever, a perfect scale: their mean errs by 12.706 × 1 N (1 degree of freedom)."""
    found = fitted([Pair(49.0, 20.0), Pair(51.0, 20.0)], [Contact(math.pi)]).friction
    high = math.log((50.0 + 12.7062) / 20.0) / math.pi
    assert found.high == pytest.approx(high, rel=1e-4)


def test_three_loads_off_a_line_are_told_and_widen_the_interval() -> None:
    straight = [Pair(2.0 * end, end) for end in (20.0, 60.0, 100.0)]
    bent = [*straight[:2], Pair(230.0, 100.0)]
    on, off = (fitted(pairs, [Contact(math.pi)], SIGMA) for pairs in (straight, bent))
    assert on.agree and not off.agree
    assert off.friction.high - off.friction.low > 5.0 * (on.friction.high - on.friction.low)


def test_a_lever_s_pull_that_falls_while_the_end_s_rises_is_no_line() -> None:
    assert fit_line([Pair(90.0, 20.0), Pair(80.0, 70.0)], [Contact(math.pi)], 0.0, SIGMA) is None


def test_loads_are_sorted_by_clear_steps_only() -> None:
    """A clear step is a quarter of the load, and five standard deviations of a difference of two readings."""
    near, far = [Pair(60.0, 40.0), Pair(63.0, 42.0)], Pair(95.0, 70.0)
    assert [load.end for load in sort_loads([far, *near], SIGMA)] == [41.0, 70.0]
    assert len(sort_loads([far, *near], 10.0)) == 1


# Planted figures.


@dataclass(frozen=True, slots=True)
class Planted:
    """A wire with its friction, turn and drag, and what it takes at the lever for what comes out at the end."""

    friction: float
    turn: float
    drag: float
    lever: list[float]
    end: list[float]


def planted(random: np.random.Generator, loads: int, most_drag: float) -> Iterator[Planted]:
    """Draw wires with friction 0.05 to 0.3 and turns 90 to 700°, by in = (out + drag) exp(mu theta)."""
    while True:
        friction, turn = random.uniform(0.05, 0.3), math.radians(random.uniform(90.0, 700.0))
        drag = random.uniform(0.0, most_drag)
        end = random.uniform(10.0, 30.0) + np.arange(loads) * random.uniform(25.0, 40.0)
        lever = (end + drag) * math.exp(friction * turn)
        if lever[-1] <= MOST:
            yield Planted(friction, turn, drag, lever.tolist(), end.tolist())


def read(random: np.random.Generator, wire: Planted, repeats: int, scatter: float) -> list[Pair]:
    """Read a wire: the scale errs once for a load at each end, and every reading scatters besides."""
    pairs = []
    for lever, end in zip(wire.lever, wire.end, strict=True):
        wrong = random.normal(0.0, SIGMA, 2)
        strays = random.normal(0.0, scatter, (repeats, 2))
        pairs += [Pair(float(lever + wrong[0] + one[0]), float(end + wrong[1] + one[1])) for one in strays]
    return pairs


@pytest.mark.parametrize(
    ("loads", "repeats", "scatter", "drag", "turn_sigma"),
    [(1, 1, 0.0, 0.0, 0.0), (1, 3, 0.5, 0.0, 0.0), (2, 1, 0.0, 8.0, 0.0), (3, 2, 0.5, 8.0, 0.05)],
    ids=["one pair", "one load read three times", "two loads with a drag", "three loads read twice, turn uncertain"],
)
def test_a_planted_friction_lies_in_its_interval_19_times_in_20(
    loads: int, repeats: int, scatter: float, drag: float, turn_sigma: float
) -> None:
    random = np.random.default_rng(20_260)
    wires = planted(random, loads, drag)
    friction, drags = np.zeros((COUNT, 3)), np.zeros((COUNT, 3))
    for place in range(COUNT):
        wire = next(wires)
        turn = wire.turn + random.normal(0.0, turn_sigma)
        found = fitted(read(random, wire, repeats, scatter), [Contact(turn)], SIGMA, turn_sigma)
        friction[place] = found.friction.low, wire.friction, found.friction.high
        if found.drag is not None:
            drags[place] = found.drag.low, wire.drag, found.drag.high
    below, above = (friction[:, 1] < friction[:, 0]).mean(), (friction[:, 1] > friction[:, 2]).mean()
    assert 1.0 - below - above == pytest.approx(0.95, abs=0.02)
    # missed about as often on either side
    assert max(below, above) < 0.04
    if loads > 1:
        inside = (drags[:, 0] <= drags[:, 1]) & (drags[:, 1] <= drags[:, 2])
        assert inside.mean() == pytest.approx(0.95, abs=0.02)
