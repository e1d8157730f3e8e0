"""The rod at the limits of what can be asked: too short, taut, long, in line, closed, not finite."""

import numpy as np
import pytest
from rod_cases import directions, random_pairs

from ropewalk.mechanics.elastica import PLANNING_NODES, Clamps, relax, relax_from, stationary_planar
from ropewalk.mechanics.elastica_starts import end_bend, hermite_tangents, taut_tangents
from ropewalk.mechanics.lobatto import lobatto_grid

X, Y, Z = np.eye(3)


def leaning(count: int, lean: float, seed: int = 7) -> tuple[np.ndarray, np.ndarray]:
    """Draw directions that lean off x by up to a given share."""
    draw = np.random.default_rng(seed)
    pair = [X + lean * directions(draw, count) for _ in range(2)]
    first, last = (v / np.linalg.norm(v, axis=1, keepdims=True) for v in pair)
    return first, last


@pytest.mark.parametrize("length", [100.0, 99.0, 0.0, -5.0, np.nan, np.inf])
def test_a_length_that_cannot_be_is_told_and_not_raised(length: float) -> None:
    rods = relax(Clamps(np.zeros(3), X, 100.0 * X, Y), np.array(length))
    assert not rods.converged
    assert not rods.stable
    assert rods.residual == np.inf
    for measure in (rods.energy, rods.turn, rods.least_radius, rods.least_radius_at, rods.pull, rods.lowest_eigenvalue):
        assert np.isnan(measure)
    assert np.isnan(rods.points(3)).all()
    assert np.isnan(rods.curvature(3)).all()


@pytest.mark.parametrize("spoil", ["start", "start_direction", "end", "end_direction"])
def test_clamps_that_are_not_finite_or_have_no_direction_are_told(spoil: str) -> None:
    fine = {"start": 0.0 * X, "start_direction": X, "end": 90.0 * X, "end_direction": Y}
    assert relax(Clamps(**fine), np.array(120.0)).stable
    assert not relax(Clamps(**fine | {spoil: np.array([np.nan, 0.0, 0.0])}), np.array(120.0)).converged
    if spoil.endswith("direction"):
        assert not relax(Clamps(**fine | {spoil: 0.0 * X}), np.array(120.0)).converged


def test_directions_need_not_be_unit() -> None:
    one = relax(Clamps(np.zeros(3), X, 90.0 * X + 9.0 * Y, X), np.array(120.0))
    two = relax(Clamps(np.zeros(3), 3.0 * X, 90.0 * X + 9.0 * Y, 0.2 * X), np.array(120.0))
    assert two.energy == pytest.approx(float(one.energy))


@pytest.mark.parametrize("share", [1.0005, 1.002, 1.02])
@pytest.mark.parametrize("lean", [0.02, 0.1])
def test_short_rods_between_nearly_straight_clamps_have_a_shape(lean: float, share: float) -> None:
    first, last = leaning(100, lean)
    rods = relax(Clamps(np.zeros(3), first, 200.0 * X, last), np.full(100, 200.0 * share))
    assert rods.stable.all()
    fine = relax(rods.clamps, rods.length, nodes=40)
    assert rods.least_radius == pytest.approx(fine.least_radius, rel=0.02)


@pytest.mark.parametrize("share", [1.8, 2.5, 5.0])
def test_long_rods_have_a_shape(share: float) -> None:
    clamps, _ = random_pairs(200)
    length = share * np.linalg.norm(clamps.end, axis=1)
    rods = relax(clamps, length)
    assert rods.stable.all()
    fine = relax(clamps, length, nodes=40)
    assert rods.energy == pytest.approx(fine.energy, rel=1e-3)


def test_a_rod_too_taut_for_its_nodes_is_told_and_more_nodes_find_it() -> None:
    clamps = Clamps(np.zeros(3), Y, 200.0 * X, Z)
    assert not relax(clamps, np.array(201.0)).converged
    fine = relax(clamps, np.array(201.0), nodes=64)
    assert fine.stable
    assert fine.pull > 0.0
    # Separatrix of the pendulum: the rod leaves each clamp square with radius b / sqrt(2), b following from the length.
    bend = 1.0 / (2.0 * 4.0 * np.sin(np.pi / 8.0) ** 2)
    assert fine.least_radius == pytest.approx(bend / np.sqrt(2.0), rel=0.02)
    assert fine.pull == pytest.approx(1.0 / bend**2, rel=0.05)


@pytest.mark.parametrize("lean", [0.0, 1e-9, 1e-7, 1e-5, 1e-4, 1e-3, 1e-2, 5e-2])
def test_rods_nearly_free_to_spin_come_to_rest(lean: float) -> None:
    count = 40
    first, last = leaning(count, lean)
    shortening = np.linspace(0.002, 0.6, count)
    rods = relax(Clamps(np.zeros(3), first, (200.0 * (1.0 - shortening))[:, None] * X, last), np.full(count, 200.0))
    assert rods.stable.all()
    assert rods.residual.max() < 2e-6
    # The lean changes the energy by no more than its own size times the moments.
    straight = relax(Clamps(np.zeros(3), X, rods.clamps.end, X), rods.length)
    assert np.abs(rods.energy - straight.energy).max() * 200.0 <= 1e-6 + 60.0 * lean


def test_a_slight_lean_says_to_which_side_the_rod_bows() -> None:
    for side in directions(np.random.default_rng(5), 10):
        side = side - side[0] * X
        side /= np.linalg.norm(side)
        up, down = X + 1e-3 * side, X - 1e-3 * side
        rods = relax(Clamps(np.zeros(3), up, 190.0 * X, down), np.array(200.0))
        assert rods.stable
        assert rods.points(3)[1] @ side > 0.999 * np.linalg.norm(rods.points(3)[1] - 95.0 * X)


def test_clamps_that_look_at_each_other_or_away_have_a_shape() -> None:
    lengths = np.array([105.0, 130.0, 180.0, 250.0])
    for first, last in ((X, -X), (-X, X), (-X, -X)):
        rods = relax(Clamps(np.zeros(3), first, 100.0 * X, last), lengths)
        assert rods.stable.all()


def test_a_closed_rod_is_a_circle() -> None:
    rods = relax(Clamps(np.zeros(3), X, np.zeros(3), X), np.array(300.0))
    assert rods.stable
    radius = 300.0 / (2.0 * np.pi)
    assert rods.least_radius == pytest.approx(radius, rel=1e-6)
    assert rods.turn == pytest.approx(2.0 * np.pi, rel=1e-4)
    assert rods.energy == pytest.approx(np.pi / radius, rel=1e-9)
    centre = rods.points(9)[:-1].mean(axis=0)
    assert np.linalg.norm(rods.points(33) - centre, axis=1) == pytest.approx(np.full(33, radius), rel=1e-6)


def test_an_arc_between_its_own_tangents_stays_an_arc() -> None:
    # Curvature and length of a circle's arc minimise the energy between their clamps: the force is nothing.
    for angle in (0.3, 1.0, 2.0):
        end = 80.0 * np.array([np.sin(angle), 1.0 - np.cos(angle), 0.0])
        rods = relax(Clamps(np.zeros(3), X, end, np.array([np.cos(angle), np.sin(angle), 0.0])), np.array(80.0 * angle))
        assert rods.stable
        assert rods.least_radius == pytest.approx(80.0, rel=1e-6)
        assert np.abs(rods.end_force).max() * (80.0 * angle) ** 2 < 1e-5
        assert rods.end_moment == pytest.approx([0.0, 0.0, 1.0 / 80.0], abs=1e-9)
        assert rods.start_moment == pytest.approx([0.0, 0.0, -1.0 / 80.0], abs=1e-9)


def test_relax_from_keeps_to_the_branch_it_is_given() -> None:
    # A planar S between parallel clamps set apart has two mirror images as neighbours: bows over and under.
    clamps = Clamps(np.zeros(3), X, 80.0 * X, X)
    up = stationary_planar(clamps, np.array(100.0), Z)
    mirror = up.tangents * np.array([1.0, -1.0, 1.0])
    for start in (up.tangents, mirror):
        kept = relax_from(clamps, np.array(100.0), start)
        assert kept.stable
        assert np.abs(kept.tangents - start).max() < 1e-6


def test_relax_from_settles_far_starts_and_rejects_those_that_are_none() -> None:
    clamps, length = random_pairs(20)
    noise = np.random.default_rng(1).normal(size=(20, PLANNING_NODES, 3))
    rods = relax_from(clamps, length, noise)
    assert rods.stable.all()
    noise[3, 4, 1] = np.nan
    again = relax_from(clamps, length, noise)
    assert not again.converged[3]
    assert again.converged.sum() == 19


def test_the_hermite_start_has_the_length_asked_for_and_the_clamps_directions() -> None:
    clamps, length = random_pairs(50)
    reach = clamps.end / length[:, None]
    tangents = hermite_tangents(lobatto_grid(40), clamps.start_direction, clamps.end_direction, reach)
    assert np.abs(np.linalg.norm(tangents, axis=2) - 1.0).max() < 1e-12
    assert np.abs(tangents[:, 0] - clamps.start_direction).max() < 1e-12
    assert np.abs(tangents[:, -1] - clamps.end_direction).max() < 1e-12
    # Of a curve of that length the tangents add up to the way to the end.
    gap = lobatto_grid(40).weights @ tangents - reach
    assert np.median(np.linalg.norm(gap, axis=1)) < 0.05


def test_a_taut_start_is_the_separatrix() -> None:
    lean = np.array([[np.cos(0.5), np.sin(0.5), 0.0]])
    reach = np.array([[0.99, 0.0, 0.0]])
    bend = end_bend(lean, X[None], reach)
    assert bend == pytest.approx(0.01 / (4.0 * np.sin(0.125) ** 2))
    grid = lobatto_grid(40)
    tangents = taut_tangents(grid, lean, X[None], reach)
    angle = np.arctan2(tangents[0, :, 1], tangents[0, :, 0])
    wanted = np.tan(0.125) * np.exp(-grid.nodes / bend)
    assert np.tan(angle[:-1] / 4.0) == pytest.approx(wanted[:-1], abs=1e-12)
    assert grid.weights @ tangents[0, :, 0] == pytest.approx(0.99, abs=1e-4)


def test_selecting_and_spreading_clamps() -> None:
    clamps, length = random_pairs(12)
    spread = clamps.spread((12,))
    assert spread.start.shape == (12, 3)
    assert spread[3].end.tolist() == clamps.end[3].tolist()
    assert spread.reshape(3, 4).shape == (3, 4)
    assert (spread.reshape(3, 4)[1, 2].end == clamps.end[6]).all()
    with pytest.raises(ValueError, match="broadcast"):
        relax(clamps, length[:5])
