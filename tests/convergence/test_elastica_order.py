"""The error of the rod falls faster than any power of the node count."""

import json
from pathlib import Path

import numpy as np
import pytest
from rod_cases import random_pairs

from ropewalk.mechanics.elastica import Clamps, relax, relax_from, stationary_planar
from ropewalk.mechanics.lobatto import interpolation, lobatto_grid

TABLE = json.loads((Path(__file__).parents[1] / "exact" / "elastica_table.json").read_text(encoding="utf-8"))
COUNTS = (10, 14, 18, 22, 26, 30, 34)


def errors_by_count(shortening: str) -> np.ndarray:
    """Give the greatest distance from the closed form, for a rod of unit length, at each node count."""
    case = next(c for c in TABLE["in_line"] if c["shortening"] == shortening)
    wanted = np.array([[float(x), float(y), 0.0] for x, y in case["points"]])
    angles = np.array(case["angles"], dtype=float)
    x = np.array([1.0, 0.0, 0.0])
    errors = []
    for count in COUNTS:
        angle = np.interp(lobatto_grid(count).nodes, np.linspace(0.0, 1.0, 17), angles)
        start = np.column_stack([np.cos(angle), np.sin(angle), 0.0 * angle])
        clamps = Clamps(np.zeros(3), x, wanted[-1], x)
        rods = stationary_planar(clamps, np.array(1.0), np.array([0.0, 0.0, 1.0]), tangents=start)
        assert rods.converged
        errors.append(np.linalg.norm(rods.points(17) - wanted, axis=1).max())
    return np.array(errors)


@pytest.mark.parametrize("shortening", ["0.05", "0.2", "0.35", "0.6"])
def test_every_four_nodes_gain_about_a_digit(shortening: str) -> None:
    errors = errors_by_count(shortening)
    falling = errors[:-1] > 1e-12
    gains = errors[:-1][falling] / errors[1:][falling]
    assert gains.min() > 3.0
    assert 10.0 ** np.log10(gains).mean() > 6.0


@pytest.mark.parametrize("shortening", ["0.1", "0.2", "0.35"])
def test_the_error_falls_geometrically_not_as_a_power(shortening: str) -> None:
    errors = errors_by_count(shortening)
    counts = np.array(COUNTS)[errors > 1e-12]
    digits = np.log10(errors[errors > 1e-12])
    left = []
    for places in (counts, np.log(counts)):
        _, residuals, *_ = np.polyfit(places, digits, 1, full=True)
        left.append(residuals[0])
    assert left[0] < 0.5 * left[1]
    # The power that would explain the last step is beyond any fixed order in use.
    assert -np.diff(digits)[-1] / np.diff(np.log10(counts))[-1] > 12.0


def test_shapes_in_space_converge_as_fast() -> None:
    clamps, length = random_pairs(200)
    finest = relax(clamps, length, nodes=48)
    reference = finest.points(33)
    median = []
    for count in (16, 20, 24, 28):
        start = np.matmul(interpolation(lobatto_grid(48), lobatto_grid(count).nodes), finest.tangents)
        rods = relax_from(clamps, length, start)
        assert rods.stable.sum() >= 198
        off = np.linalg.norm(rods.points(33) - reference, axis=2).max(axis=1) / length
        median.append(np.median(off[rods.stable]))
    gains = np.array(median[:-1]) / np.array(median[1:])
    assert gains.min() > 8.0


def test_least_radius_and_energy_need_fewer_nodes_than_the_shape() -> None:
    clamps, length = random_pairs(200)
    fine, coarse = relax(clamps, length, nodes=48), relax(clamps, length, nodes=21)
    both = fine.stable & coarse.stable
    radius = np.abs(coarse.least_radius / fine.least_radius - 1.0)[both]
    energy = np.abs(coarse.energy / fine.energy - 1.0)[both]
    assert np.percentile(radius, 95) < 1e-4
    assert np.percentile(energy, 95) < 1e-6
