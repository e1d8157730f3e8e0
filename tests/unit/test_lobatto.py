"""Lobatto grids against printed nodes, polynomials and smooth functions."""

import numpy as np
import pytest

from ropewalk.mechanics.lobatto import accumulation, interpolation, lobatto_grid

# Abramowitz & Stegun, Handbook of Mathematical Functions, table 25.6, on [-1, 1]; from memory.
PRINTED = {
    3: ([0.0, 1.0], [1.33333333, 0.33333333]),
    4: ([0.44721360, 1.0], [0.83333333, 0.16666667]),
    5: ([0.0, 0.65465367, 1.0], [0.71111111, 0.54444444, 0.10000000]),
    6: ([0.28523152, 0.76505532, 1.0], [0.55485838, 0.37847496, 0.06666667]),
}


@pytest.mark.parametrize("count", PRINTED)
def test_nodes_and_weights_are_those_printed(count: int) -> None:
    grid = lobatto_grid(count)
    places, weights = PRINTED[count]
    half = len(places)
    assert 2.0 * grid.nodes[-half:] - 1.0 == pytest.approx(places, abs=6e-9)
    assert 2.0 * grid.weights[-half:] == pytest.approx(weights, abs=6e-9)


@pytest.mark.parametrize("count", [2, 3, 7, 12, 21, 40])
def test_quadrature_is_exact_to_degree_2n_minus_3_and_no_further(count: int) -> None:
    grid = lobatto_grid(count)
    for degree in range(2 * count - 2):
        assert grid.weights @ grid.nodes**degree == pytest.approx(1.0 / (degree + 1), rel=1e-12)
    if count <= 12:
        # The missed part is positive, and beyond some degree smaller than rounding.
        beyond = 2 * count - 2
        assert grid.weights @ (2.0 * grid.nodes - 1.0) ** beyond - 1.0 / (beyond + 1) > 1e-9


@pytest.mark.parametrize("count", [3, 6, 13, 21])
def test_derivative_interpolation_and_accumulation_are_exact_for_polynomials(count: int) -> None:
    grid = lobatto_grid(count)
    rising = np.polynomial.Polynomial(np.random.default_rng(count).normal(size=count))
    places = np.linspace(0.0, 1.0, 29)
    values = rising(grid.nodes)
    assert grid.derivative @ values == pytest.approx(rising.deriv()(grid.nodes), rel=1e-8, abs=1e-8)
    assert interpolation(grid, places) @ values == pytest.approx(rising(places), rel=1e-11, abs=1e-11)
    assert accumulation(grid, places) @ values == pytest.approx(rising.integ()(places), rel=1e-11, abs=1e-11)


def test_interpolation_on_a_node_gives_its_value() -> None:
    grid = lobatto_grid(9)
    assert interpolation(grid, grid.nodes) == pytest.approx(np.eye(9), abs=1e-15)


def test_accumulation_over_the_whole_is_the_quadrature() -> None:
    for count in (5, 21, 48):
        grid = lobatto_grid(count)
        assert accumulation(grid, np.array([0.0, 1.0])) == pytest.approx(
            np.stack([np.zeros(count), grid.weights]), abs=1e-14
        )


def test_stiffness_is_the_integral_of_squared_slopes() -> None:
    grid = lobatto_grid(16)
    wave = np.sin(2.0 * grid.nodes)
    # The integral of (2 cos 2s)² from 0 to 1 is 2 + sin(4) / 2.
    assert wave @ grid.stiffness @ wave == pytest.approx(2.0 + np.sin(4.0) / 2.0, rel=1e-12)
    assert np.abs(grid.stiffness @ np.ones(16)).max() < 1e-10
    assert (grid.stiffness == grid.stiffness.T).all()


def test_grids_are_shared_and_cannot_be_spoilt() -> None:
    assert lobatto_grid(12) is lobatto_grid(12)
    with pytest.raises(ValueError, match="read-only"):
        lobatto_grid(12).weights[0] = 1.0


def test_a_grid_of_one_node_is_refused() -> None:
    with pytest.raises(ValueError, match="at least 2 nodes, not 1"):
        lobatto_grid(1)
