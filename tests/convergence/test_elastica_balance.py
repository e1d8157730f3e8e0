"""Statics the rod must obey whatever its shape: forces and moments are derivatives of its energy, and they balance."""

import numpy as np
import pytest
from rod_cases import random_pairs
from scipy.spatial.transform import Rotation

from ropewalk.mechanics.elastica import Clamps, Rods, relax, relax_from

COUNT = 60


@pytest.fixture(scope="module")
def rods() -> Rods:
    found = relax(*random_pairs(COUNT), nodes=36)
    return found[found.stable & (found.lowest_eigenvalue > 2.0)]


def energies(clamps: Clamps, rods: Rods) -> np.ndarray:
    found = relax_from(clamps, rods.length, rods.tangents)
    assert found.converged.all()
    return found.energy


@pytest.mark.parametrize("axis", np.eye(3))
def test_end_force_is_the_slope_of_energy_as_the_end_moves(rods: Rods, axis: np.ndarray) -> None:
    step = 1e-4 * rods.length[:, None] * axis
    c = rods.clamps
    higher = energies(Clamps(c.start, c.start_direction, c.end + step, c.end_direction), rods)
    lower = energies(Clamps(c.start, c.start_direction, c.end - step, c.end_direction), rods)
    slope = (higher - lower) / (2e-4 * rods.length)
    assert slope * rods.length**2 == pytest.approx(rods.end_force @ axis * rods.length**2, rel=1e-4, abs=1e-3)


@pytest.mark.parametrize("axis", np.eye(3))
@pytest.mark.parametrize("which", ["start", "end"])
def test_moments_are_slopes_of_energy_as_the_clamps_turn(rods: Rods, which: str, axis: np.ndarray) -> None:
    c = rods.clamps
    sides = []
    for angle in (1e-4, -1e-4):
        matrix = Rotation.from_rotvec(angle * axis).as_matrix()
        first = c.start_direction @ matrix.T if which == "start" else c.start_direction
        last = c.end_direction @ matrix.T if which == "end" else c.end_direction
        sides.append(energies(Clamps(c.start, first, c.end, last), rods))
    moment = rods.start_moment if which == "start" else rods.end_moment
    slope = (sides[0] - sides[1]) / 2e-4
    assert slope * rods.length == pytest.approx(moment @ axis * rods.length, rel=1e-4, abs=1e-3)


def test_the_whole_rod_is_in_balance(rods: Rods) -> None:
    arm = rods.clamps.end - rods.clamps.start
    left = rods.start_moment + rods.end_moment + np.cross(arm, rods.end_force)
    assert np.abs(left * rods.length[:, None]).max() < 1e-5


def test_every_part_of_the_rod_is_in_balance(rods: Rods) -> None:
    # The moment the outer part exerts is tangent cross change of tangent; it grows by the force times its arm.
    fine = rods.points(201)
    chords = np.diff(fine, axis=1)
    tangents = chords / np.linalg.norm(chords, axis=2, keepdims=True)
    step = rods.length[:, None] / 200.0
    moment = np.cross(tangents[:, :-1], np.diff(tangents, axis=1)) / step[:, :, None]
    arm = rods.clamps.end[:, None, :] - fine[:, 1:-1]
    wanted = rods.end_moment[:, None, :] + np.cross(arm, rods.end_force[:, None, :])
    scale = np.abs(wanted).max(axis=(1, 2))
    assert (np.abs(moment - wanted).max(axis=(1, 2)) < 5e-3 * scale).all()


def test_curvature_is_that_of_the_curve(rods: Rods) -> None:
    fine = rods.points(401)
    one, two = np.diff(fine, axis=1)[:, :-1], np.diff(fine, axis=1)[:, 1:]
    across = np.linalg.norm(np.cross(one, two), axis=2)
    sizes = np.linalg.norm(one, axis=2) * np.linalg.norm(two, axis=2) * np.linalg.norm(one + two, axis=2)
    wanted = 2.0 * across / sizes
    found = rods.curvature(401)[:, 1:-1]
    assert (np.abs(found - wanted).max(axis=1) < 5e-3 * wanted.max(axis=1)).all()
    assert 1.0 / rods.least_radius == pytest.approx(rods.curvature(2001).max(axis=1), rel=1e-4)
    # Where the least radius is said to be, the curvature is the greatest there is.
    there = np.array(
        [
            np.interp(p, np.linspace(0, 1, 2001), k)
            for p, k in zip(rods.least_radius_at, rods.curvature(2001), strict=True)
        ]
    )
    assert 1.0 / rods.least_radius == pytest.approx(there, rel=1e-4)


def test_turn_is_the_integral_of_curvature(rods: Rods) -> None:
    dense = rods.curvature(4001)
    integral = np.trapezoid(dense, dx=1.0 / 4000.0, axis=1) * rods.length
    assert rods.turn == pytest.approx(integral, abs=2e-3)


def test_energy_is_half_the_integral_of_squared_curvature(rods: Rods) -> None:
    dense = rods.curvature(4001)
    integral = 0.5 * np.trapezoid(dense**2, dx=1.0 / 4000.0, axis=1) * rods.length
    assert rods.energy == pytest.approx(integral, rel=1e-4)


def test_pull_is_positive_when_taut_and_negative_when_pushed() -> None:
    x = np.array([1.0, 0.0, 0.0])
    lean = np.array([np.cos(0.4), np.sin(0.4), 0.0])
    taut = relax(Clamps(np.zeros(3), lean, 200.0 * x, x), np.array(201.0))
    slack = relax(Clamps(np.zeros(3), x, 200.0 * x, x), np.array(240.0))
    assert taut.stable
    assert taut.pull > 0.0
    assert slack.stable
    assert slack.pull < 0.0
    # Pushed together in line, a clamped rod carries a little over its buckling force, 4 pi² over length squared.
    assert slack.pull * 240.0**2 == pytest.approx(-4.0 * np.pi**2, rel=0.15)


def test_a_shape_that_is_stable_lies_below_its_neighbours(rods: Rods) -> None:
    # Push every rod a little to random sides and let it settle: it comes back to the same energy, never a lower one.
    draw = np.random.default_rng(3)
    pushed = rods.tangents + 0.1 * draw.normal(size=rods.tangents.shape)
    again = relax_from(rods.clamps, rods.length, pushed)
    assert again.stable.all()
    assert again.energy == pytest.approx(rods.energy, rel=1e-8)
