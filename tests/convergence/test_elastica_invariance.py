"""The shape of a rod does not depend on where it is looked at from: rotation, mirror, scale, reversal, batch."""

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from rod_cases import directions, random_pairs
from scipy.spatial.transform import Rotation

from ropewalk.mechanics.elastica import Clamps, Rods, relax, relax_from

seeds = st.integers(min_value=0, max_value=2**31)


def pair(seed: int) -> tuple[Clamps, np.ndarray]:
    """Draw one clamp pair whose rod is far from giving way and from a second shape as low."""
    clamps, length = random_pairs(1, seed=seed)
    return clamps.spread((1,)), length


def the_only_shape(rods: Rods) -> bool:
    """Tell whether the rod is firm; soft ones magnify rounding."""
    return bool(rods.stable[0] and rods.lowest_eigenvalue[0] > 1.0)


def same(one: np.ndarray, two: np.ndarray, limit: float = 1e-6) -> bool:
    return bool(np.abs(one - two).max() <= limit * np.abs(two).max())


@settings(max_examples=40, deadline=None)
@given(seed=seeds, turn=seeds)
def test_rotated_clamps_give_the_rotated_rod(seed: int, turn: int) -> None:
    clamps, length = pair(seed)
    rods = relax(clamps, length)
    assume(the_only_shape(rods))
    matrix = Rotation.random(rng=np.random.default_rng(turn)).as_matrix()
    moved = Clamps(*(a @ matrix.T for a in (clamps.start, clamps.start_direction, clamps.end, clamps.end_direction)))
    again = relax_from(moved, length, rods.tangents @ matrix.T)
    cold = relax(moved, length)
    for found in (again, cold):
        assume(found is again or abs(found.energy[0] / rods.energy[0] - 1.0) < 1e-3)
        assert same(found.points(17), rods.points(17) @ matrix.T)
        assert same(found.end_force, rods.end_force @ matrix.T, 1e-5)
        assert same(found.least_radius, rods.least_radius)


@settings(max_examples=25, deadline=None)
@given(seed=seeds)
def test_mirrored_clamps_give_the_mirrored_rod(seed: int) -> None:
    clamps, length = pair(seed)
    rods = relax(clamps, length)
    assume(the_only_shape(rods))
    mirror = np.array([1.0, 1.0, -1.0])
    moved = Clamps(*(a * mirror for a in (clamps.start, clamps.start_direction, clamps.end, clamps.end_direction)))
    found = relax(moved, length)
    assume(abs(found.energy[0] / rods.energy[0] - 1.0) < 1e-3)
    assert same(found.points(17), rods.points(17) * mirror)
    assert same(found.turn, rods.turn)


@settings(max_examples=25, deadline=None)
@given(seed=seeds, factor=st.floats(min_value=0.01, max_value=100.0), shift=seeds)
def test_a_rod_of_another_size_elsewhere_is_similar(seed: int, factor: float, shift: int) -> None:
    clamps, length = pair(seed)
    rods = relax(clamps, length)
    assume(the_only_shape(rods))
    away = 300.0 * directions(np.random.default_rng(shift), 1)[0]
    moved = Clamps(
        factor * clamps.start + away, clamps.start_direction, factor * clamps.end + away, clamps.end_direction
    )
    found = relax(moved, factor * length)
    assert same(found.points(17) - away, factor * rods.points(17))
    assert same(found.energy, rods.energy / factor)
    assert same(found.end_force, rods.end_force / factor**2, 1e-5)
    assert same(found.end_moment, rods.end_moment / factor, 1e-5)
    assert same(found.least_radius, factor * rods.least_radius)


@settings(max_examples=25, deadline=None)
@given(seed=seeds)
def test_walked_from_the_other_end_the_rod_is_the_same(seed: int) -> None:
    clamps, length = pair(seed)
    rods = relax(clamps, length)
    assume(the_only_shape(rods))
    back = Clamps(clamps.end, -clamps.end_direction, clamps.start, -clamps.start_direction)
    found = relax(back, length)
    assume(abs(found.energy[0] / rods.energy[0] - 1.0) < 1e-3)
    assert same(found.points(17), rods.points(17)[:, ::-1])
    assert same(found.end_force, -rods.end_force, 1e-5)
    assert same(found.end_moment, rods.start_moment, 1e-5)
    assert np.abs(found.least_radius_at + rods.least_radius_at - 1.0) < 1e-3


def test_a_batch_equals_its_rows() -> None:
    clamps, length = random_pairs(60)
    clamps = clamps.spread((60,))
    batch = relax(clamps, length)
    for row in range(60):
        one = relax(clamps[row], length[row])
        assert one.shape == ()
        assert bool(one.stable) == bool(batch.stable[row])
        assert np.abs(one.points(17) - batch.points(17)[row]).max() < 1e-7 * length[row]
        assert abs(one.least_radius / batch.least_radius[row] - 1.0) < 1e-7


def test_any_batch_shape_is_kept_and_broadcast() -> None:
    clamps, length = random_pairs(6)
    grid = Clamps(*(a if a.ndim == 1 else a.reshape(2, 3, 3) for a in vars_of(clamps)))
    rods = relax(grid, np.array([[1.0], [1.2]]) * length.reshape(2, 3)[:1])
    assert rods.shape == (2, 3)
    assert rods.tangents.shape == (2, 3, 21, 3)
    assert rods.points(5).shape == (2, 3, 5, 3)
    assert rods.curvature(5).shape == (2, 3, 5)
    assert rods[1].shape == (3,)
    assert rods[:, 2].end_force.shape == (2, 3)


def vars_of(clamps: Clamps) -> tuple[np.ndarray, ...]:
    return clamps.start, clamps.start_direction, clamps.end, clamps.end_direction


def test_a_row_that_cannot_be_leaves_the_others_alone() -> None:
    clamps, length = random_pairs(8)
    good = relax(clamps, length)
    spoilt = length.copy()
    spoilt[[1, 4, 6]] = [50.0, np.nan, -3.0]
    rods = relax(clamps, spoilt)
    assert rods.converged.tolist() == [True, False, True, True, False, True, False, True]
    assert np.isnan(rods.energy[[1, 4, 6]]).all()
    assert np.isnan(rods.points(5)[[1, 4, 6]]).all()
    kept = [0, 2, 3, 5, 7]
    assert np.abs(rods.points(9)[kept] - good.points(9)[kept]).max() < 1e-6
