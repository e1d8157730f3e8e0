"""What walkers believe of a step, and how they guess the next."""

import numpy as np
import pytest

from ropewalk.mechanics.elastica import Clamps
from ropewalk.mechanics.elastica_ends import Ends
from ropewalk.mechanics.follow_path import Path, rods_at
from ropewalk.mechanics.follow_walkers import apart, excess, fading, jumped, strain


def ends(energy: list[float]) -> Ends:
    nothing = np.zeros((len(energy), 3))
    return Ends(np.array(energy), nothing, nothing, nothing)


def test_energy_must_be_the_work_done() -> None:
    before, work = ends([20.0, 20.0, 20.0, 20.0]), np.array([1.0, 1.0, 1.0, 0.0])
    share = excess(ends([21.0, 21.01, 18.0, np.nan]), before, work)
    assert share[0] == pytest.approx(0.0, abs=1e-9)
    assert share[1] < 1.0
    assert share[2] > 10.0
    assert share[3] == np.inf


def test_a_step_is_strained_by_the_angle_or_by_the_energy() -> None:
    angle, share = np.array([0.01, 0.2, 0.2, 0.01]), np.array([0.1, 0.1, 0.1, 3.0])
    known = np.array([True, True, False, True])
    assert (strain(angle, share, known) < 1.0).tolist() == [True, False, True, False]


def test_a_jump_moves_the_rod_and_loses_energy_or_swings_it_round() -> None:
    angle, share = np.array([0.05, 0.5, 0.5, 1.5]), np.array([9.0, 9.0, 0.1, 0.1])
    assert jumped(angle, share).tolist() == [False, True, False, True]


def test_a_rod_fades_where_its_firmness_falls_to_little() -> None:
    before, after = np.array([2.0, 2.0, 1.0, 0.5, 0.1]), np.array([2.0, 1.5, 0.3, 0.45, 0.1])
    assert fading(before, after).tolist() == [False, False, True, False, True]


def test_shapes_are_apart_by_the_largest_angle_between_tangents() -> None:
    angle = np.array([0.0, 0.3, -0.2])
    one = np.stack([np.cos(angle), np.sin(angle), 0.0 * angle], axis=1)[None]
    two = np.tile(np.array([1.0, 0.0, 0.0]), (1, 3, 1))
    assert apart(one, two) == pytest.approx([0.3])


def steered(step_deg: float) -> Clamps:
    """Turn the end of a rod about z in even steps."""
    angle = np.radians(np.arange(0.0, 41.0, step_deg))
    turned = np.stack([np.cos(angle), np.sin(angle), 0.0 * angle], axis=1)
    place = np.array([100.0, 0.0, 0.0]) + 50.0 * turned
    return Clamps(np.zeros((1, 1, 3)), np.array([0.0, 0.0, 1.0]), place[None], turned[None]).spread((1, angle.size))


def test_between_poses_the_clamps_keep_to_their_circle() -> None:
    path, finer = (Path.of(steered(step), np.array([300.0]), 16) for step in (5.0, 1.25))
    places = np.arange(0.0, 8.01, 0.25)
    row = np.zeros(places.size, dtype=np.intp)
    rods = rods_at(path, row, places)
    wanted = finer.rods[np.arange(places.size)]
    assert np.abs(rods.reach - wanted.reach).max() < 2e-6
    assert np.abs(rods.last - wanted.last).max() < 1e-5
    assert np.abs(np.linalg.norm(rods.last, axis=1) - 1.0).max() < 1e-12


def test_between_poses_passed_unevenly_the_clamps_go_straight() -> None:
    clamps = steered(5.0)
    uneven = clamps[:, [0, 1, 5, 6, 8]]
    path = Path.of(uneven, np.array([300.0]), 16)
    rods = rods_at(path, np.array([0, 0]), np.array([1.5, 2.0]))
    middle = 0.5 * (uneven.end[0, 1] + uneven.end[0, 2]) / 300.0
    assert rods.reach[0] == pytest.approx(middle)
    assert rods.reach[1] == pytest.approx(uneven.end[0, 2] / 300.0)
