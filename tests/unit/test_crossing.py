"""Crossings against lengths known in closed form, from either side, and where one side has no shape."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.special import ellipe, ellipk

from ropewalk.analysis.crossing import CLOSE_ENOUGH, Rows, crossings
from ropewalk.mechanics.elastica import Clamps, Rods, relax

Array = NDArray[np.float64]
X, Y, _ = np.eye(3)
CHORD = 200.0


def in_line(count: int) -> Clamps:
    rows = np.ones((count, 1))
    return Clamps(0.0 * rows * X, rows * X, CHORD * rows * X, rows * X)


def shapes(clamps: Clamps, lengths: Array) -> Array:
    return relax(clamps, lengths).tangents


def test_a_turn_is_crossed_where_the_elastica_turns_so_far() -> None:
    """In line, the rod turns by 4 alpha at chord / (2 E / K - 1) with k = sin(alpha / 2)."""
    limits = np.radians([40.0, 90.0, 150.0])
    modulus = np.sin(limits / 8.0)
    expected = CHORD / (2.0 * ellipe(modulus**2) / ellipk(modulus**2) - 1.0)
    clamps, good, bad = in_line(3), np.full(3, 201.0), np.full(3, 260.0)

    def below(rods: Rods, at: Rows) -> Array:
        return np.asarray(limits[at] - rods.turn)

    found = crossings(clamps, good, shapes(clamps, good), bad, below)
    assert found.length == pytest.approx(expected, abs=2 * CLOSE_ENOUGH)
    # the side on which the limit is kept
    assert (found.rods.turn <= limits + 1e-9).all()


def test_a_crossing_is_found_from_the_longer_side_too() -> None:
    limit = math.radians(90.0)
    modulus = math.sin(limit / 8.0)
    expected = CHORD / (2.0 * float(ellipe(modulus**2)) / float(ellipk(modulus**2)) - 1.0)
    clamps, good = in_line(1), np.array([260.0])
    found = crossings(clamps, good, shapes(clamps, good), np.array([201.0]), lambda rods, _at: rods.turn - limit)
    assert found.length[0] == pytest.approx(expected, abs=2 * CLOSE_ENOUGH)
    assert found.rods.turn[0] >= limit - 1e-9


def test_a_bad_side_without_a_shape_is_halved_towards() -> None:
    """No shape is shorter than the chord: a figure that is good wherever there is one is good down to there."""
    clamps, good = in_line(1), np.array([240.0])

    def anything(rods: Rods, _at: Rows) -> Array:
        return np.where(rods.converged, 1.0, np.nan)

    found = crossings(clamps, good, shapes(clamps, good), np.array([CHORD - 20.0]), anything)
    assert CHORD < found.length[0] < CHORD + 0.1
    assert found.rods.converged.all()


def test_rows_keep_their_own_figure() -> None:
    clamps, good = in_line(2), np.array([250.0, 250.0])
    wanted = np.array([222.0, 231.0])
    found = crossings(
        clamps, good, shapes(clamps, good), np.array([205.0, 205.0]), lambda rods, at: rods.length - wanted[at]
    )
    assert found.length == pytest.approx(wanted, abs=CLOSE_ENOUGH)
    assert (found.length >= wanted).all()


def test_a_crossing_is_found_close_enough_on_a_bent_figure() -> None:
    """A figure that is flat for long and then steep, on which plain false position creeps."""
    clamps, good = in_line(1), np.array([260.0])
    found = crossings(
        clamps,
        good,
        shapes(clamps, good),
        np.array([201.0]),
        lambda rods, _at: np.expm1((rods.length - 210.0) / 15.0),
    )
    assert found.length[0] == pytest.approx(210.0, abs=0.1)
