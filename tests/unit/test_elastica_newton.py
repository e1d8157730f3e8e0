"""The rod's derivatives against differences of its energy, and its verdicts against eigenvalues of the library."""

import numpy as np
import pytest
from rod_cases import directions, random_pairs

from ropewalk.mechanics.elastica import relax
from ropewalk.mechanics.elastica_newton import GAP_WEIGHT, energy, linearise, newton_step, retract
from ropewalk.mechanics.elastica_stability import (
    FIRM,
    firmness,
    imbalance,
    is_minimum,
    lowest_value,
    negative_pivots,
    reduced,
    spin_axis,
    weakest,
)
from ropewalk.mechanics.lobatto import lobatto_grid

GRID = lobatto_grid(11)


def anywhere(count: int, seed: int = 4) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Draw tangents, forces and reaches that belong to no equilibrium."""
    draw = np.random.default_rng(seed)
    tangents = directions(draw, count * 11).reshape(count, 11, 3)
    return tangents, 20.0 * draw.normal(size=(count, 3)), 0.3 * draw.normal(size=(count, 3))


def lagrangian(tangents: np.ndarray, force: np.ndarray, reach: np.ndarray) -> np.ndarray:
    gap = GRID.weights @ tangents - reach
    return energy(GRID, tangents) - (force * gap).sum(axis=1) + 0.5 * GAP_WEIGHT * (gap**2).sum(axis=1)


def geodesic(tangents: np.ndarray, frames: np.ndarray, step: np.ndarray, by: float) -> np.ndarray:
    """Turn every inner tangent along its great circle."""
    moved = tangents.copy()
    turn = np.einsum("bid,bidc->bic", step, frames)
    angle = np.linalg.norm(turn, axis=2, keepdims=True)
    moved[:, 1:-1] = np.cos(by * angle) * tangents[:, 1:-1] + np.sin(by * angle) * turn / angle
    return moved


def test_gradient_and_hessian_are_the_slopes_of_the_energy_on_the_spheres() -> None:
    tangents, force, reach = anywhere(8)
    at = linearise(GRID, tangents, force, reach)
    # The weighted gap enters the Hessian by its first derivatives only: take it where there is no gap.
    reach = reach + at.gap
    at = linearise(GRID, tangents, force, reach)
    step = np.random.default_rng(1).normal(size=at.frames.shape[:3])
    ahead, here, back = (lagrangian(geodesic(tangents, at.frames, step, by), force, reach) for by in (1e-4, 0.0, -1e-4))
    flat = step.reshape(8, -1)
    slope = ((at.gradient - np.einsum("bmc,bc->bm", at.constraint, force)) * flat).sum(axis=1)
    assert (ahead - back) / 2e-4 == pytest.approx(slope, rel=1e-5, abs=1e-3)
    bend = np.einsum("bm,bmk,bk->b", flat, at.hessian, flat)
    assert (ahead - 2.0 * here + back) / 1e-8 == pytest.approx(bend, rel=1e-4, abs=1e-1)


def test_frames_are_square_to_the_tangents_and_to_each_other() -> None:
    tangents, force, reach = anywhere(20)
    tangents[0, 3], tangents[1, 4] = [0.0, 0.0, 1.0], [0.0, 0.0, -1.0]
    frames = linearise(GRID, tangents, force, reach).frames
    grams = np.einsum("bidc,biec->bide", frames, frames)
    assert np.abs(grams - np.eye(2)).max() < 1e-13
    assert np.abs(np.einsum("bidc,bic->bid", frames, tangents[:, 1:-1])).max() < 1e-13


def test_a_step_solves_the_bordered_system() -> None:
    tangents, force, reach = anywhere(6)
    at = linearise(GRID, tangents, force, reach)
    hessian = at.hessian.copy()
    shift = np.full(6, 400.0)
    move = newton_step(GRID, at, shift)
    spread = np.repeat(GRID.weights[1:-1], 2)
    for row in range(6):
        a = at.constraint[row]
        lifted = hessian[row] + np.diag(shift[row] * spread) - GAP_WEIGHT * a @ a.T
        system = np.block([[lifted, -a], [a.T, np.zeros((3, 3))]])
        wanted = np.linalg.solve(system, -np.concatenate([at.gradient[row], at.gap[row]]))
        assert move.turns[row].reshape(-1) == pytest.approx(wanted[:-3], rel=1e-6, abs=1e-8)
        assert move.force[row] == pytest.approx(wanted[-3:], rel=1e-6, abs=1e-6)


def test_retracted_tangents_are_unit_and_the_clamped_ones_stay() -> None:
    tangents, force, reach = anywhere(5)
    at = linearise(GRID, tangents, force, reach)
    moved = retract(tangents, at.frames, np.full(at.frames.shape[:3], 0.4))
    assert np.abs(np.linalg.norm(moved, axis=2) - 1.0).max() < 1e-14
    assert (moved[:, [0, -1]] == tangents[:, [0, -1]]).all()
    assert (moved[:, 1:-1] != tangents[:, 1:-1]).any()


@pytest.mark.parametrize("count", [5, 60])
def test_pivots_count_negative_eigenvalues(count: int) -> None:
    draw = np.random.default_rng(count)
    matrices = draw.normal(size=(count, 14, 14))
    matrices = matrices + matrices.transpose(0, 2, 1) + draw.uniform(-8.0, 20.0, count)[:, None, None] * np.eye(14)
    wanted = (np.linalg.eigvalsh(matrices) < 0.0).sum(axis=1)
    assert len(set(wanted.tolist())) >= 3
    assert (negative_pivots(matrices) == wanted).all()


def test_a_pivot_of_nothing_is_no_trouble() -> None:
    matrices = np.tile(np.array([[0.0, 1.0], [1.0, 0.0]]), (40, 1, 1))
    assert (negative_pivots(matrices) > 0).all()


def test_minima_are_those_without_a_way_down_that_keeps_the_constraint() -> None:
    tangents, force, reach = anywhere(300)
    at = linearise(GRID, tangents, force, reach)
    shift = np.random.default_rng(2).uniform(0.0, 2000.0, 300)
    told = is_minimum(at, newton_step(GRID, at, shift))
    lowest = []
    for hessian, constraint in zip(at.hessian, at.constraint, strict=True):
        free = np.linalg.svd(constraint.T)[2][3:]
        lowest.append(np.linalg.eigvalsh(free @ hessian @ free.T)[0])
    assert 60 < told.sum() < 240
    assert (told == (np.array(lowest) > 0.0)).all()


def test_lowest_eigenvalue_and_mode_are_those_of_the_free_steps() -> None:
    tangents, force, reach = anywhere(20)
    at = linearise(GRID, tangents, force, reach)
    within = reduced(GRID, at)
    values, mode = weakest(within)
    scale = 1.0 / np.sqrt(np.repeat(GRID.weights[1:-1], 2))
    for row in range(20):
        hessian = at.hessian[row] * scale[:, None] * scale
        free = np.linalg.svd((at.constraint[row] * scale[:, None]).T)[2][3:]
        wanted = np.linalg.eigvalsh(free @ hessian @ free.T)
        assert values[row] == pytest.approx(wanted[:2], rel=1e-7, abs=1e-5)
        assert within.matrix[row] @ mode[row] == pytest.approx(values[row, 0] * mode[row], abs=1e-3 * abs(wanted[0]))
    assert lowest_value(GRID, at) == pytest.approx(values[:, 0])


@pytest.mark.parametrize("nodes", [12, 21, 36])
def test_firmness_is_the_lowest_eigenvalue_where_it_is_small(nodes: int) -> None:
    clamps, length = random_pairs(150)
    # Lengths of several chords bring soft shapes in.
    rods = relax(clamps, length * 2.0, nodes=nodes)
    soft = relax(clamps, length, nodes=nodes)
    for found in (rods, soft):
        reach = (found.clamps.end - found.clamps.start) / found.length[:, None]
        force = found.end_force * found.length[:, None] ** 2
        firm = firmness(lobatto_grid(nodes), found.tangents, force, reach)
        assert firm == pytest.approx(np.minimum(found.lowest_eigenvalue, FIRM), rel=1e-6)


def test_imbalance_is_nothing_at_rest_and_grows_with_the_push() -> None:
    clamps, length = random_pairs(30)
    rods = relax(clamps, length)
    grid = lobatto_grid(21)
    reach = (rods.clamps.end - rods.clamps.start) / length[:, None]
    force = rods.end_force * length[:, None] ** 2
    assert imbalance(grid, rods.tangents, force, reach).max() < 1e-9
    assert imbalance(grid, rods.tangents, 1.01 * force, reach).min() > 1e-4
    pushed = rods.tangents + 1e-3 * np.random.default_rng(0).normal(size=rods.tangents.shape)
    pushed /= np.linalg.norm(pushed, axis=2, keepdims=True)
    assert imbalance(grid, pushed, force, reach).min() > 1e-3


def test_rods_spin_freely_only_in_line() -> None:
    x, y = np.eye(3)[:2]
    first = np.array([x, x, -x, y, x])
    last = np.array([x, -x, x, x, x + 1e-3 * y])
    reach = np.tile(0.7 * x, (5, 1))
    assert spin_axis(first, last, reach).any(axis=1).tolist() == [True, True, True, False, False]
    # A ring closed smoothly has no chord and spins about its tangent.
    ring = spin_axis(x[None], x[None], np.zeros((1, 3)))
    assert ring[0].tolist() == x.tolist()
