"""Rods followed through their poses: big steps give what small ones give, and jumps are told."""

import numpy as np
import pytest
from rod_cases import directions, turning_loops

from ropewalk.mechanics.elastica import Clamps, relax, relax_from
from ropewalk.mechanics.follow import Sweep, follow

SEEDS = (1, 2, 3, 4)
LOOPS = 100
X, Y, Z = np.eye(3)


def passed(snapped: np.ndarray, home: int) -> np.ndarray:
    """Tell at which poses a rod has snapped over on the way from home."""
    since = np.zeros_like(snapped)
    since[:, home:] = np.logical_or.accumulate(snapped[:, home:], axis=1)
    since[:, home::-1] = np.logical_or.accumulate(snapped[:, home::-1], axis=1)
    return since


@pytest.fixture(scope="module", params=SEEDS)
def sweeps(request: pytest.FixtureRequest) -> tuple[Sweep, Sweep, int]:
    """Follow the same hundred loops in steps of 5 degrees and of 1 degree."""
    clamps, lengths, home = turning_loops(LOOPS, 5.0, seed=request.param)
    finer, _, finer_home = turning_loops(LOOPS, 1.0, seed=request.param)
    return follow(clamps, lengths, home), follow(finer, lengths, finer_home), home


def test_steps_of_five_degrees_give_the_shapes_of_one(sweeps: tuple[Sweep, Sweep, int]) -> None:
    coarse, fine, home = sweeps
    there = fine.rods[:, ::5]
    both = coarse.rods.converged & there.converged
    assert both.sum() > 0.8 * both.size
    apart = np.abs(coarse.rods.tangents - there.tangents).max(axis=(2, 3))
    flagged = passed(coarse.snapped, home)
    silent = both & ~flagged & ~(apart < 1e-3)
    assert not silent.any(), f"loops {np.flatnonzero(silent.any(axis=1))} differ unflagged"
    # Even after a snap-over the same shape is found but for a few.
    assert (both & ~(apart < 1e-3)).any(axis=1).sum() <= 2


def test_the_same_poses_have_a_shape_and_it_is_stable(sweeps: tuple[Sweep, Sweep, int]) -> None:
    coarse, fine, _ = sweeps
    assert (coarse.rods.converged != fine.rods[:, ::5].converged).sum() <= 1
    assert (coarse.rods.stable == coarse.rods.converged).all()
    assert (coarse.rods.lowest_eigenvalue[coarse.rods.converged] > 0.0).all()


def test_the_same_loops_snap_over(sweeps: tuple[Sweep, Sweep, int]) -> None:
    coarse, fine, _ = sweeps
    one, two = coarse.snapped.any(axis=1), fine.snapped.any(axis=1)
    assert two.any()
    assert not two.all()
    assert (one != two).sum() <= 3


def test_poses_without_a_shape_are_those_longer_than_the_rod(sweeps: tuple[Sweep, Sweep, int]) -> None:
    coarse, _, _ = sweeps
    chord, length = coarse.rods.chord, coarse.rods.length
    assert not coarse.rods.converged[chord >= length].any()
    assert coarse.rods.converged[chord < 0.98 * length].mean() > 0.995


def test_energy_between_poses_is_the_work_of_the_clamps(sweeps: tuple[Sweep, Sweep, int]) -> None:
    _, fine, home = sweeps
    rods, clamps = fine.rods, fine.rods.clamps
    moved = np.diff(clamps.end - clamps.start, axis=1)
    turned = np.cross(clamps.end_direction[:, :-1], clamps.end_direction[:, 1:])
    force = 0.5 * (rods.end_force[:, 1:] + rods.end_force[:, :-1])
    moment = 0.5 * (rods.end_moment[:, 1:] + rods.end_moment[:, :-1])
    work = (force * moved).sum(axis=2) + (moment * turned).sum(axis=2)
    gained = np.diff(rods.energy, axis=1)
    plain = ~passed(fine.snapped, 5 * home)[:, 1:] & ~passed(fine.snapped, 5 * home)[:, :-1]
    known = plain & rods.converged[:, 1:] & rods.converged[:, :-1]
    lost = np.abs(gained - work)[known] * np.broadcast_to(rods.length[:, 1:], known.shape)[known]
    assert np.percentile(lost, 99) < 0.02
    # Over a snap-over, energy is lost: less is gained than was put in.
    jumps = fine.snapped[:, 1:] & np.isfinite(gained) & (np.arange(gained.shape[1]) >= 5 * home)
    assert ((gained - work)[jumps] < 1e-9).mean() > 0.9


def test_a_loop_pushed_through_snaps_over_once_and_back_later() -> None:
    # A flat arch, its clamps leaning 0.5 rad up, turned over at one end: it holds on its side until it must go.
    angles = np.radians(np.arange(30.0, -61.0, -3.0))
    first = np.array([np.cos(0.5), np.sin(0.5), 0.0])
    last = np.stack([np.cos(angles), -np.sin(angles), 0.05 * np.ones_like(angles)], axis=1)
    last /= np.linalg.norm(last, axis=1, keepdims=True)
    down = Clamps(np.zeros((1, 1, 3)), first, 180.0 * X, last[None])
    up = Clamps(np.zeros((1, 1, 3)), first, 180.0 * X, last[None, ::-1])
    there = follow(down, np.array([200.0]), 0)
    back = follow(up, np.array([200.0]), 0, tangents=there.rods.tangents[:, -1])
    assert there.rods.converged.all()
    assert back.rods.converged.all()
    forth_and_back = np.abs(there.rods.energy[0] - back.rods.energy[0, ::-1]) * 200.0
    assert forth_and_back[0] < 1e-6
    assert forth_and_back[-1] < 1e-6


def test_the_home_pose_may_differ_from_rod_to_rod() -> None:
    clamps, lengths, home = turning_loops(6, 5.0, seed=5)
    clamps = clamps.spread(np.broadcast_shapes(clamps.shape, (6, 1)))
    homes = np.array([home, home - 2, home + 1, 0, 3, clamps.shape[1] - 1])
    together = follow(clamps, lengths, homes)
    for row in range(6):
        alone = follow(clamps[[row]], lengths[[row]], int(homes[row]))
        assert (alone.rods.converged[0] == together.rods.converged[row]).all()
        known = alone.rods.converged[0]
        assert np.abs(alone.rods.tangents[0] - together.rods.tangents[row])[known].max() < 1e-5
    at_home = clamps[np.arange(6), homes]
    assert together.rods.energy[np.arange(6), homes] == pytest.approx(relax(at_home, lengths).energy, rel=1e-9)


def test_a_rod_that_goes_through_fewer_poses_does_so_as_if_alone() -> None:
    clamps, lengths, home = turning_loops(6, 5.0, seed=5)
    clamps = clamps.spread(np.broadcast_shapes(clamps.shape, (6, 1)))
    homes = np.array([0, 2, home, 0, 1, home])
    counts = np.array([1, 3, home + 1, 2, 5, clamps.shape[1]])
    together = follow(clamps, lengths, homes, count=counts)
    for row, count in enumerate(counts):
        alone = follow(clamps[[row]][:, :count], lengths[[row]], int(homes[row]))
        assert (alone.rods.converged[0] == together.rods.converged[row, :count]).all()
        assert (alone.snapped[0] == together.snapped[row, :count]).all()
        known = alone.rods.converged[0]
        assert known.any() and np.abs(alone.rods.tangents[0] - together.rods.tangents[row, :count])[known].max() < 1e-5
        assert not together.rods.converged[row, count:].any()


def test_a_given_start_is_kept_to() -> None:
    # Clamps in line, pushed together by a third: bows to either side are as good, and the one given is followed.
    poses = np.stack([180.0 * X, 175.0 * X, 170.0 * X])[None]
    clamps = Clamps(np.zeros((1, 1, 3)), X, poses, X)
    free = relax(clamps.spread((1, 3))[:, 0], np.array([240.0]))
    for side in (Y, -Y, Z):
        middle = free.points(3)[0, 1]
        across = middle - middle[0] * X
        across /= np.linalg.norm(across)
        third = np.cross(X, across)
        frame = np.stack([X, side, np.cross(X, side)])
        start = free.tangents @ np.stack([X, across, third]).T @ frame
        sweep = follow(clamps, np.array([240.0]), 0, tangents=start)
        assert sweep.rods.stable.all()
        assert not sweep.snapped.any()
        bow = sweep.rods.points(3)[0, :, 1]
        assert (bow @ side > 0.9 * np.linalg.norm(bow - bow[:, :1] * X, axis=1)).all()


def test_a_free_rod_spins_to_where_the_clamps_lead_it() -> None:
    # In line at home, the rod's bow may lie to any side; as soon as an end is turned it goes to that side's bow, at no
    # cost of energy, which is no snap-over.
    angles = np.radians([0.0, 2.0, 4.0, 6.0])
    for side in directions(np.random.default_rng(2), 6):
        side = side - side[0] * X
        side /= np.linalg.norm(side)
        last = np.cos(angles)[:, None] * X - np.sin(angles)[:, None] * side
        clamps = Clamps(np.zeros((1, 1, 3)), X, 160.0 * X, last[None])
        sweep = follow(clamps, np.array([200.0]), 0)
        assert sweep.rods.stable.all()
        assert not sweep.snapped.any()
        cold = relax(clamps.spread((1, 4))[:, -1], np.array([200.0]))
        assert sweep.rods.energy[0, -1] == pytest.approx(cold.energy[0], rel=1e-6)
        assert sweep.rods.points(3)[0, -1, 1] @ side > 0.0


def test_a_rod_is_taken_up_again_beyond_poses_it_cannot_reach() -> None:
    distances = np.array([150.0, 170.0, 190.0, 205.0, 220.0, 205.0, 190.0, 170.0, 150.0])
    ends = distances[:, None] * X + 20.0 * Y
    lean = np.array([np.cos(0.6), np.sin(0.6), 0.0])
    clamps = Clamps(np.zeros((1, 1, 3)), lean, ends[None], X)
    sweep = follow(clamps, np.array([200.0]), 0)
    assert sweep.rods.converged[0].tolist() == [True, True, True, False, False, False, True, True, True]
    assert sweep.rods.energy[0, 8] == pytest.approx(sweep.rods.energy[0, 0], rel=1e-6)
    assert np.isnan(sweep.rods.least_radius[0, 3:6]).all()


@pytest.mark.parametrize("step", [0.002, 0.01, 0.04])
def test_a_flat_arch_pushed_together_leaves_its_plane_where_it_loses_its_hold(step: float) -> None:
    # In line, a flat bow is stable up to a shortening of 0.371 and then twists aside, gradually.
    shortening = np.arange(0.30, 0.45, step)
    clamps = Clamps(np.zeros((1, 1, 3)), X, (200.0 * (1.0 - shortening))[:, None] * X, X)
    sweep = follow(clamps, np.array([200.0]), 0)
    assert sweep.rods.stable.all()
    assert (sweep.rods.lowest_eigenvalue > 0.0).all()
    points = sweep.rods.points(41)[0]
    flat = points - points.mean(axis=1, keepdims=True)
    thickness = np.linalg.svd(flat, compute_uv=False)[:, 2] / 200.0
    assert thickness[shortening < 0.365].max() < 1e-6
    assert thickness[shortening > 0.38].min() > 0.05
    free = relax(clamps.spread((1, shortening.size))[0], np.array(200.0))
    assert sweep.rods.energy[0] == pytest.approx(free.energy, rel=1e-6)


def test_a_single_pose_is_the_home_pose() -> None:
    clamps, lengths, home = turning_loops(4, 5.0, seed=6)
    clamps = clamps.spread(np.broadcast_shapes(clamps.shape, (4, 1)))
    sweep = follow(clamps[:, home : home + 1], lengths, 0)
    assert sweep.rods.shape == (4, 1)
    assert sweep.rods.energy[:, 0] == pytest.approx(relax(clamps[:, home], lengths).energy)
    assert not sweep.snapped.any()


def test_settling_again_changes_nothing(sweeps: tuple[Sweep, Sweep, int]) -> None:
    coarse, _, _ = sweeps
    again = relax_from(coarse.rods.clamps, coarse.rods.length, coarse.rods.tangents)
    known = coarse.rods.converged
    assert again.stable[known].all()
    off = np.linalg.norm(again.points(9) - coarse.rods.points(9), axis=-1).max(axis=-1) / coarse.rods.length
    assert off[known].max() < 1e-4
    assert np.percentile(off[known], 99) < 1e-6
