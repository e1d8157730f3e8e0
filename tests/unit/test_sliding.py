"""Held and sliding spans against brute force over every way to share a length, and balanced shares against scipy."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from makers import loop_case
from numpy.typing import NDArray
from scipy.optimize import minimize

from ropewalk.analysis.loopgrid import LoopGrid, follow_grids
from ropewalk.analysis.loops import LoopCase
from ropewalk.analysis.sliding import Interval, Springs, common, slack_of, split, springs_of, together
from ropewalk.bike.poses import STEER
from ropewalk.mechanics.elastica import Clamps, Rods, relax_from

Array = NDArray[np.float64]

# Windows: whole millimetres, so that every way to share a length can be tried.

#: (shortest, longest) of one span in each of three poses; some are empty
SPAN = st.lists(st.tuples(st.integers(0, 6), st.integers(-1, 5)), min_size=3, max_size=3).map(
    lambda pairs: [(low, low + room) for low, room in pairs]
)
GROUP = st.lists(SPAN, min_size=1, max_size=3)


def intervals(group: list[list[tuple[int, int]]]) -> list[Interval]:
    return [Interval(*np.array(span, dtype=float).T) for span in group]


def feasible(group: list[list[tuple[int, int]]]) -> set[int]:
    """Return the lengths for which every pose has a way to share them: every split tried."""
    per_pose = [
        {sum(shares) for shares in itertools.product(*(range(span[pose][0], span[pose][1] + 1) for span in group))}
        for pose in range(3)
    ]
    return set.intersection(*per_pose)


@given(group=GROUP)
@settings(deadline=None, max_examples=300)
def test_a_group_may_measure_what_some_split_allows_in_every_pose(group: list[list[tuple[int, int]]]) -> None:
    # a span that no length serves in some pose has no window; such spans never reach the algebra
    if any(low > high for span in group for low, high in span):
        return
    found, lengths = common(intervals(group)), feasible(group)
    if not lengths:
        assert found.window is None
        return
    assert found.window == (min(lengths), max(lengths))
    assert lengths == set(range(min(lengths), max(lengths) + 1))
    # the poses named are those that set the ends
    assert sum(span[found.low_at][0] for span in group) == min(lengths)
    assert sum(span[found.high_at][1] for span in group) == max(lengths)


@given(groups=st.lists(GROUP, min_size=1, max_size=3))
@settings(deadline=None, max_examples=200)
def test_a_piece_is_the_sum_of_groups_that_each_keep_one_length_in_all_poses(
    groups: list[list[list[tuple[int, int]]]],
) -> None:
    if any(low > high for group in groups for span in group for low, high in span):
        return
    lengths = {sum(parts) for parts in itertools.product(*(feasible(group) for group in groups))}
    found = together([intervals(group) for group in groups])
    assert found == ((min(lengths), max(lengths)) if lengths else None)


@given(group=GROUP)
@settings(deadline=None, max_examples=100)
def test_letting_housing_slide_never_takes_a_length_away(group: list[list[tuple[int, int]]]) -> None:
    """Held, every span keeps one length through all poses; what serves then serves sliding too."""
    held = together([intervals([span]) for span in group])
    if held is not None:
        sliding = common(intervals(group)).window
        assert sliding is not None
        assert sliding[0] <= held[0] and held[1] <= sliding[1]


# Shares: made-up springs whose energies are known.

GRID = np.linspace(80.0, 320.0, 25)


def quartic(rest: float, stiffness: float, fourth: float) -> Springs:
    """Return a span whose energy is stiffness/2 · (L − rest)² + fourth/4 · (L − rest)⁴ in one pose."""
    away = GRID[:, np.newaxis] - rest
    none = np.zeros_like(away)
    energy = stiffness / 2 * away**2 + fourth / 4 * away**4
    return Springs(GRID, energy, stiffness * away + fourth * away**3, none, none, np.zeros(1))


SPRING = st.tuples(st.floats(130.0, 260.0), st.floats(0.5, 4.0), st.floats(0.0, 2e-4))


@given(springs=st.lists(SPRING, min_size=2, max_size=4), more=st.floats(-10.0, 10.0))
@settings(deadline=None, max_examples=60)
def test_springs_share_a_length_as_a_minimiser_of_their_energy_does(
    springs: list[tuple[float, float, float]], more: float
) -> None:
    """Against scipy's SLSQP on the same energies: shares, and end forces alike."""
    total = sum(rest for rest, _, _ in springs) + more * len(springs)
    start = [np.array([total / len(springs)])] * len(springs)
    found = np.array([share[0] for share in split([quartic(*spring) for spring in springs], total, start)])
    rest, stiffness, fourth = np.array(springs).T

    def energy(shares: Array) -> float:
        away = shares - rest
        return float((stiffness / 2 * away**2 + fourth / 4 * away**4).sum())

    best = minimize(
        energy,
        rest + more,
        method="SLSQP",
        constraints={"type": "eq", "fun": lambda shares: shares.sum() - total},
        options={"ftol": 1e-14, "maxiter": 500},
    )
    assert found.sum() == pytest.approx(total)
    assert found == pytest.approx(best.x, abs=0.2)
    force = stiffness * (found - rest) + fourth * (found - rest) ** 3
    assert np.ptp(force) < 0.2 * (stiffness + 3.0 * fourth * (found - rest) ** 2).max()


@pytest.mark.parametrize("total", [250.0, 330.0])
def test_housing_with_slack_in_a_tube_takes_what_costs_nothing(total: float) -> None:
    """A spring that rests at 180 mm and a tube of 100 to 120 mm: the tube takes the rest, as far as it goes."""
    tube = slack_of(np.array([100.0]), 20.0, np.zeros(1), math.inf)
    spring, slack = split([quartic(180.0, 1.0, 0.0), tube], total, [np.array([total - 110.0]), np.array([110.0])])
    expected = min(max(total - 180.0, 100.0), 120.0)
    assert slack[0] == pytest.approx(expected, abs=0.02)
    assert spring[0] + slack[0] == pytest.approx(total)


def test_a_span_alone_has_it_all() -> None:
    (share,) = split([quartic(180.0, 1.0, 0.0)], 200.0, [np.array([150.0])])
    assert share.tolist() == [200.0]


# Shares of real loops: one opens as the bars turn right, the other as they turn left.

X, Y = np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])
STEER_DEG = (-60.0, -40.0, -20.0, 0.0, 20.0, 40.0, 60.0)


def opening(side: float, chord: float, arriving: Array, *, slides: bool = True) -> LoopCase:
    """Return a loop that leaves upwards and whose far end moves away by 1 mm for every degree to one side."""

    def clamps(poses: Array) -> Clamps:
        rows = np.ones((len(poses), 1))
        reach = chord + side * np.degrees(poses[:, [STEER]])
        return Clamps(0.0 * rows * X, rows * Y, reach * X + 20.0 * rows * Y, rows * arriving)

    return loop_case(STEER_DEG, clamps, 30.0, 30.0, slides=slides)


@pytest.fixture(scope="module", name="grids")
def _grids() -> tuple[LoopGrid, LoopGrid, LoopGrid]:
    first, second, third = follow_grids([opening(1.0, 180.0, -Y), opening(-1.0, 150.0, X), opening(-0.5, 130.0, -Y)])
    return first, second, third


def rods_at(grid: LoopGrid, lengths: Array) -> Rods:
    shaped = grid.rods.converged & grid.rods.stable
    near = np.where(shaped, np.abs(grid.lengths[:, np.newaxis] - lengths), np.inf).argmin(axis=0)
    case = grid.case
    return relax_from(case.clamps(case.poses), lengths, grid.rods.tangents[near, np.arange(len(case.poses))])


def forces(grid: LoopGrid, lengths: Array) -> Array:
    """Return by how much energy changes with length in each pose (P,), by central differences of settled rods."""
    return np.asarray(rods_at(grid, lengths + 0.1).energy - rods_at(grid, lengths - 0.1).energy) / 0.2


def test_a_loop_s_springs_have_the_slopes_of_settled_rods(grids: tuple[LoopGrid, LoopGrid, LoopGrid]) -> None:
    places = np.arange(len(STEER_DEG))
    for grid in grids:
        springs = springs_of(grid, places)
        for row in range(len(grid.lengths) - 6, len(grid.lengths), 2):
            shaped = np.isfinite(springs.energy[row])
            assert shaped.all()
            found = forces(grid, np.full(len(places), grid.lengths[row]))
            assert springs.slope[row] == pytest.approx(found, rel=1e-2, abs=1e-7)


@pytest.mark.parametrize("which", [(0, 1), (0, 2), (0, 1, 2)])
@pytest.mark.parametrize("beyond", [40.0, 90.0])
def test_loops_share_a_length_so_that_none_pushes_the_other(
    grids: tuple[LoopGrid, LoopGrid, LoopGrid], which: tuple[int, ...], beyond: float
) -> None:
    """In every pose the shares add up, end forces are alike, and scipy finds no better shares of the rods' energy."""
    picked = [grids[at] for at in which]
    total = float(np.sum([grid.chord for grid in picked], axis=0).max()) + beyond * len(picked)
    start = [grid.chord + (total - np.sum([g.chord for g in picked], axis=0)) / len(picked) for grid in picked]
    places = np.arange(len(STEER_DEG))
    shares = split([springs_of(grid, places) for grid in picked], total, start)
    assert np.sum(shares, axis=0) == pytest.approx(np.full(len(places), total))
    found = np.array([forces(grid, share) for grid, share in zip(picked, shares, strict=True)])
    energy = np.sum([rods_at(grid, share).energy for grid, share in zip(picked, shares, strict=True)], axis=0)
    # how much force a millimetre of another share makes
    steps = [forces(grid, share + 1.0) - forces(grid, share - 1.0) for grid, share in zip(picked, shares, strict=True)]
    assert (np.ptp(found, axis=0) <= np.abs(steps).max(axis=0)).all()
    for pose in places:

        def together_(free: Array, pose: int = int(pose)) -> float:
            lengths = [*free, total - free.sum()]
            return float(
                sum(
                    rods_at(grid, np.where(places == pose, length, share)).energy[pose]
                    for grid, length, share in zip(picked, lengths, shares, strict=True)
                )
            )

        guess = [share[pose] for share in shares[:-1]]
        best = minimize(together_, guess, method="Nelder-Mead", options={"xatol": 0.05, "maxiter": 60})
        assert energy[pose] <= best.fun * (1.0 + 1e-3)
        # three may give each other a lot for next to no energy
        if len(picked) == 2:
            assert best.x == pytest.approx(guess, abs=1.0)


def test_where_housing_slides_a_loop_may_be_shorter_than_its_longest_chord(
    grids: tuple[LoopGrid, LoopGrid, LoopGrid],
) -> None:
    """Its longest chord is met in another pose: the lengths followed begin at the shortest; held, at the longest."""
    for grid in grids:
        assert grid.lengths[0] == pytest.approx(grid.chord.min(), rel=1e-3)
        assert np.diff(grid.lengths).min() > 0.0
        # no shape can be shorter than its chord
        shaped = grid.rods.converged & grid.rods.stable
        assert not shaped[grid.lengths[:, np.newaxis] < grid.chord].any()
        assert shaped[:, grid.chord.argmin()].mean() > 0.9
    (held,) = follow_grids([opening(1.0, 180.0, -Y, slides=False)])
    assert held.lengths[0] == pytest.approx(held.chord.max(), rel=1e-3)
