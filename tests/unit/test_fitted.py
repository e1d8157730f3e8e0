"""Draws that go with what was found: against scipy's truncated and multivariate normal distributions."""

from __future__ import annotations

import numpy as np
import pytest
from makers import steered
from scipy.stats import norm, truncnorm

from ropewalk.analysis.fitted import Told, drawn, kept, less, together, turned
from ropewalk.analysis.uncertainty import PieceDemand
from ropewalk.bike.deviations import KnownFigure

#: draws of a mean or a standard deviation scatter by less than this share of the standard deviation, led ones too
SCATTER = 0.05


def figure(name: str, sigma: float) -> KnownFigure:
    return KnownFigure(("chart", name), 100.0, 1.96 * sigma, "mm")


def straight(rest: float, **sigmas: float) -> PieceDemand:
    """Return a piece without loops that grows by as much as each of some figures does."""
    known = tuple(figure(name, sigma) for name, sigma in sigmas.items())
    own = np.array([one.sigma for one in known])
    return PieceDemand(known, own, (), (), (), np.ones(len(known)), rest)


def looped(lengths: list[float], steer_deg: list[float], each: float = 3.0) -> PieceDemand:
    """Return a piece of one loop: its poses ask for these lengths, each with an error of its own."""
    known = tuple(figure(f"pose {angle}", each) for angle in steer_deg)
    count = len(lengths)
    return PieceDemand(
        known,
        np.full(count, each),
        (np.array(lengths),),
        (np.eye(count),),
        (steered(steer_deg),),
        np.zeros(count),
        0.0,
    )


@pytest.mark.parametrize("above", [-1.0, 0.5, 2.3, 3.4])
def test_a_tight_piece_is_a_truncated_normal(above: float) -> None:
    """Beyond two standard deviations too few draws are left, and they are led there in steps."""
    pieces = together({"A1": straight(500.0, stack=3.0, reach=4.0)})
    found = kept(pieces, [Told("A1", 500.0 + 5.0 * above, ("any",))], drawn(pieces))
    assert found is not None
    expected = truncnorm(above, np.inf, loc=500.0, scale=5.0)
    need = pieces.needed("A1", found.draws)
    assert need.min() >= 500.0 + 5.0 * above
    assert need.mean() == pytest.approx(expected.mean(), abs=SCATTER * 5.0)
    assert need.std() == pytest.approx(expected.std(), abs=SCATTER * 5.0)
    assert np.quantile(need, 0.99) == pytest.approx(expected.ppf(0.99), abs=3 * SCATTER * 5.0)
    assert found.chance == pytest.approx(norm.sf(above), rel=0.15)


def test_a_piece_that_fits_is_cut_off_above() -> None:
    pieces = together({"A1": straight(500.0, stack=5.0)})
    found = kept(pieces, [Told("A1", 498.0)], drawn(pieces))
    assert found is not None
    expected = truncnorm(-np.inf, -0.4, loc=500.0, scale=5.0)
    need = pieces.needed("A1", found.draws)
    assert need.max() <= 498.0
    assert (need.mean(), need.std()) == pytest.approx((expected.mean(), expected.std()), abs=SCATTER * 5.0)


@pytest.mark.parametrize("above", [1.0, 3.0])
def test_what_one_piece_tells_of_another_follows_from_what_they_share(above: float) -> None:
    """By the regression of two normal lengths: the mean moves by correlation times the other's, in deviations."""
    pieces = together({"A1": straight(500.0, stack=4.0, reach=3.0), "B1": straight(300.0, stack=4.0, drop=2.0)})
    found = kept(pieces, [Told("A1", 500.0 + 5.0 * above, ("any",))], drawn(pieces))
    assert found is not None
    slope, sigma = 16.0 / 25.0, np.sqrt(20.0)
    tight = truncnorm(above, np.inf, loc=0.0, scale=5.0)
    need = pieces.needed("B1", found.draws)
    assert need.mean() == pytest.approx(300.0 + slope * tight.mean(), abs=SCATTER * sigma)
    left = np.sqrt(20.0 - slope**2 * 25.0 + slope**2 * tight.var())
    assert need.std() == pytest.approx(left, abs=SCATTER * sigma)


def test_pieces_that_share_nothing_tell_nothing_of_each_other() -> None:
    pieces = together({"A1": straight(500.0, stack=4.0), "B1": straight(300.0, drop=4.0)})
    found = kept(pieces, [Told("A1", 510.0, ("any",))], drawn(pieces))
    assert found is not None
    assert pieces.needed("B1", found.draws).mean() == pytest.approx(300.0, abs=SCATTER * 4.0)


def test_a_figure_of_the_same_name_is_one_and_what_is_a_pieces_own_is_not() -> None:
    own = straight(500.0, stack=4.0)
    apart = PieceDemand((), own.sigmas, (), (), (), own.fixed, own.rest)
    shared, alone = together({"A1": own, "B1": own}), together({"A1": apart, "B1": apart})
    both = shared.needed("A1", drawn(shared)), shared.needed("B1", drawn(shared))
    assert both[0] == pytest.approx(both[1])
    assert np.corrcoef(alone.needed("A1", drawn(alone)), alone.needed("B1", drawn(alone)))[0, 1] == pytest.approx(
        0.0, abs=0.03
    )


def test_a_lock_is_told_by_its_own_poses() -> None:
    """Poses with errors of their own: what is found at the left says nothing of the right, and the most governs."""
    demand = looped([300.0, 310.0], [-40.0, 40.0])
    pieces = together({"A1": demand})
    before = drawn(pieces)
    left, right = pieces.needed("A1", before, "left"), pieces.needed("A1", before, "right")
    assert (left.mean(), right.mean()) == pytest.approx((300.0, 310.0), abs=0.1)
    assert pieces.needed("A1", before) == pytest.approx(np.maximum(left, right))
    found = kept(pieces, [Told("A1", 303.0, ("left",))], before)
    assert found is not None
    expected = truncnorm(1.0, np.inf, loc=300.0, scale=3.0).mean()
    assert pieces.needed("A1", found.draws, "left").mean() == pytest.approx(expected, abs=0.15)
    assert pieces.needed("A1", found.draws, "right").mean() == pytest.approx(310.0, abs=0.15)
    both = kept(pieces, [Told("A1", 303.0, ("left", "right"))], before)
    assert both is not None and both.chance == pytest.approx(norm.sf(1.0) * norm.sf(-7 / 3), rel=0.1)


def test_sides_are_the_riders() -> None:
    poses = steered([-30.0, 0.0, 30.0])
    assert turned(poses, "left").tolist() == [True, False, False]
    assert turned(poses, "right").tolist() == [False, False, True]
    assert turned(poses, "any").all()


def test_nothing_is_tight_at_a_lock_where_nothing_moves() -> None:
    pieces = together({"A1": looped([300.0], [0.0]), "B1": straight(200.0, stack=2.0)})
    before = drawn(pieces)
    assert np.isneginf(pieces.needed("A1", before, "left")).all()
    assert np.isneginf(pieces.needed("B1", before, "right")).all()
    assert kept(pieces, [Told("A1", 250.0, ("left",))], before) is None


def test_what_cannot_be_of_one_bike_is_given_up() -> None:
    same = straight(500.0, stack=4.0)
    pieces = together({"A1": same, "B1": same})
    assert kept(pieces, [Told("A1", 502.0, ("any",)), Told("B1", 498.0)], drawn(pieces)) is None


def test_a_part_in_the_place_of_housing_takes_its_length_and_adds_its_error() -> None:
    pieces = together({"A2": less(straight(500.0, stack=4.0), 120.0, 3.0)})
    need = pieces.needed("A2", drawn(pieces))
    assert (need.mean(), need.std()) == pytest.approx((380.0, 5.0), abs=0.1)


def test_the_same_draws_every_time() -> None:
    pieces = together({"A1": straight(500.0, stack=4.0)})
    told = [Told("A1", 512.0, ("any",))]
    first, second = kept(pieces, told, drawn(pieces)), kept(pieces, told, drawn(pieces))
    assert first is not None and second is not None
    assert np.array_equal(first.draws, second.draws)
