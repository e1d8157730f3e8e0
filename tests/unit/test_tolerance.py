"""How surely a length is known: against the normal distribution and Clark's most of two, and against loops moved."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from makers import loop_case
from numpy.typing import NDArray
from scipy.stats import norm

from ropewalk.analysis.loops import LoopWindow
from ropewalk.analysis.tolerance import Spread, rounded_up, sensitivities, spread
from ropewalk.analysis.window import windows
from ropewalk.mechanics.elastica import Clamps

Array = NDArray[np.float64]
#: the 99 % point of a standard normal figure
Z99 = float(norm.ppf(0.99))


def of(lengths: list[list[float]], changes: list[list[list[float]]], sigmas: list[float], fixed: list[float]) -> Spread:
    return spread(
        [np.array(length) for length in lengths],
        [np.array(change) for change in changes],
        np.array(sigmas),
        np.array(fixed),
        0.01,
    )


def test_one_pose_and_one_figure_are_a_normal_distribution() -> None:
    found = of([[100.0]], [[[2.0]]], [1.5], [0.0])
    assert found.sigma == pytest.approx(3.0, rel=0.01)
    assert found.quantile == pytest.approx(100.0 + 3.0 * Z99, abs=0.1)
    assert found.mean_shift == pytest.approx(0.0, abs=0.01)


def test_independent_figures_add_as_squares() -> None:
    found = of([[100.0]], [[[3.0, 4.0]]], [1.0, 1.0], [0.0, 0.0])
    assert found.sigma == pytest.approx(5.0, rel=0.01)
    assert found.quantile == pytest.approx(100.0 + 5.0 * Z99, abs=0.2)


def test_what_is_no_loop_counts_too() -> None:
    assert of([], [], [0.5], [4.0]).quantile == pytest.approx(2.0 * Z99, abs=0.1)


def test_one_figure_that_lengthens_a_loop_and_shortens_the_rest_does_not_count_twice() -> None:
    """A clip between two spans: what one gains the other loses."""
    found = of([[100.0]], [[[1.0]]], [2.0], [-1.0])
    assert found.sigma == pytest.approx(0.0, abs=1e-6)
    assert found.quantile == pytest.approx(100.0, abs=1e-6)


def test_nothing_uncertain_leaves_the_length_as_it_is() -> None:
    found = of([[100.0, 90.0]], [[[0.0], [0.0]]], [1.0], [0.0])
    assert (found.sigma, found.quantile, found.mean_shift) == pytest.approx((0.0, 100.0, 0.0), abs=1e-9)


@pytest.mark.parametrize("correlation", [0.0, 0.5, -1.0])
def test_two_poses_alike_shift_the_mean_as_clark_found(correlation: float) -> None:
    """The most of two normal figures of one mean and spread: mean shift s sqrt((1 - r) / pi).

    C. E. Clark, The greatest of a finite set of random variables, Operations Research 9 (1961) 145-162, equations
    for two variables (from memory; they agree with the integral).
    """
    sigma = 4.0
    second = [correlation, math.sqrt(1.0 - correlation**2)]
    found = of([[100.0, 100.0]], [[[1.0, 0.0], second]], [sigma, sigma], [0.0, 0.0])
    shift = sigma * math.sqrt((1.0 - correlation) / math.pi)
    assert found.mean_shift == pytest.approx(shift, rel=0.02)
    assert found.sigma == pytest.approx(math.sqrt(sigma**2 - shift**2), rel=0.02)


def test_two_poses_apart_shift_the_mean_as_clark_found() -> None:
    """Means 100 and 97, spreads 4 and 6, independent."""
    apart, first, second = 3.0, 4.0, 6.0
    found = of([[100.0, 97.0]], [[[1.0, 0.0], [0.0, 1.0]]], [first, second], [0.0, 0.0])
    theta = math.hypot(first, second)
    alpha = apart / theta
    mean = 100.0 * norm.cdf(alpha) + 97.0 * norm.cdf(-alpha) + theta * norm.pdf(alpha)
    square = (
        (100.0**2 + first**2) * norm.cdf(alpha)
        + (97.0**2 + second**2) * norm.cdf(-alpha)
        + (100.0 + 97.0) * theta * norm.pdf(alpha)
    )
    assert found.mean_shift == pytest.approx(mean - 100.0, rel=0.03)
    assert found.sigma == pytest.approx(math.sqrt(square - mean**2), rel=0.02)


def test_the_99_per_cent_point_of_two_independent_poses() -> None:
    """Both stay below it with 0.99, so each with the root of that."""
    found = of([[100.0, 100.0]], [[[1.0, 0.0], [0.0, 1.0]]], [4.0, 4.0], [0.0, 0.0])
    assert found.quantile == pytest.approx(100.0 + 4.0 * norm.ppf(math.sqrt(0.99)), abs=0.15)


def test_loops_of_one_piece_add_up() -> None:
    found = of([[100.0], [50.0]], [[[1.0, 0.0]], [[0.0, 1.0]]], [3.0, 4.0], [0.0, 0.0])
    assert found.sigma == pytest.approx(5.0, rel=0.01)
    assert found.quantile == pytest.approx(150.0 + 5.0 * Z99, abs=0.2)


def test_the_same_question_has_the_same_answer() -> None:
    ask = ([[100.0, 99.0]], [[[1.0, 0.2], [0.5, 0.1]]], [2.0, 3.0], [0.1, 0.2])
    assert of(*ask) == of(*ask)


@pytest.mark.parametrize(
    ("length", "step", "up"), [(301.2, 5, 305), (300, 5, 300), (300.0 + 1e-12, 5, 300), (0.1, 5, 5), (301.2, 1, 302)]
)
def test_rounding_up(length: float, step: float, up: float) -> None:
    assert rounded_up(length, step) == up


X, Y = np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])
#: a loop that leaves upwards and comes down again, askew, and one that is straight when it is shortest
BENT = (np.zeros(3), (Y + 0.2 * X) / np.linalg.norm(Y + 0.2 * X), np.array([150.0, 20.0, 60.0]), -Y)
STRAIGHT = (np.zeros(3), X, np.array([150.0, 0.0, 0.0]), X)


def window_of(ends: tuple[Array, Array, Array, Array]) -> LoopWindow:
    def clamps(poses: Array) -> Clamps:
        return Clamps(*(np.tile(end / (1.0 if place % 2 == 0 else np.linalg.norm(end)), (len(poses), 1))
                        for place, end in enumerate(ends)))  # fmt: skip

    return windows([loop_case([0.0], clamps, 40.0, 40.0, trim=3.0, turn_allowance=1.0)])[0]


def gradient_of(ends: tuple[Array, Array, Array, Array]) -> Array:
    found = sensitivities([window_of(ends)])[0]
    assert found is not None
    return found.gradient[0]


def shortest_of(ends: tuple[Array, Array, Array, Array]) -> float:
    shortest = window_of(ends).shortest
    assert shortest is not None
    return shortest.length


def test_a_straight_loop_changes_with_its_chord_only() -> None:
    assert gradient_of(STRAIGHT) == pytest.approx([-1, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0], abs=1e-9)


def test_a_bent_loop_does_not_change_when_all_of_it_is_moved() -> None:
    found = gradient_of(BENT)
    assert found[:3] == pytest.approx(-found[6:9])


def test_a_bent_loop_does_not_change_when_all_of_it_is_turned() -> None:
    """Turning everything about any axis changes nothing: the moments of the four gradients cancel."""
    found = gradient_of(BENT)
    moments = [np.cross(end, found[3 * place : 3 * place + 3]) for place, end in enumerate(BENT)]
    assert np.sum(moments, axis=0) == pytest.approx(np.zeros(3), abs=0.02 * np.abs(moments).max())


@pytest.mark.parametrize("which", range(12))
def test_a_bent_loop_changes_as_found_anew(which: int) -> None:
    """Against windows of the loop with one figure of its ends a step up and down."""
    place, axis = divmod(which, 3)
    step = 1.0 if place % 2 == 0 else 0.02

    def moved(by: float) -> tuple[Array, Array, Array, Array]:
        ends = [end.copy() for end in BENT]
        ends[place][axis] += by
        return tuple(ends)  # type: ignore[return-value]

    change = (shortest_of(moved(step)) - shortest_of(moved(-step))) / (2 * step)
    assert gradient_of(BENT)[which] == pytest.approx(change, abs=0.02 if place % 2 == 0 else 1.5)


def test_a_loop_without_a_window_has_no_sensitivity() -> None:
    window = window_of(BENT)
    assert sensitivities([dataclasses.replace(window, demand=None)]) == [None]
