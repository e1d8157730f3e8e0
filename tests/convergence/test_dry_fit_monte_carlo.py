"""What a dry fit tells against bikes drawn from the stated tolerances: those on which the same would be found.

On every drawn bike the shortest safe lengths are looked for anew, without the program's derivatives. Of the bikes on
which a piece is tight at a lock, or fits, at some length, mean and spread are held against the program's; the new first
cut has to be long enough on nearly all of them.
"""

from __future__ import annotations

import dataclasses
import functools

import numpy as np
import pytest
from drawn_bikes import DrawnLoops, draw_lines, loop_lengths, loops_of, piece_lengths, shortest_lengths
from numpy.typing import NDArray
from planned import planned
from scipy.stats import binom

from ropewalk.analysis.fitted import Told, drawn, kept, together
from ropewalk.bike.fitfile import DryFit
from ropewalk.bike.parts import catalogue
from ropewalk.bike.poses import STEER
from ropewalk.workshop.dryfit import fit_dry
from ropewalk.workshop.jobplan import JobPlan

SEED, DRAWN = 4096, 800
#: bikes with two pieces of one loop each that share chart and cockpit, these pieces, and the share of the drawn bikes
#: on which one is found tight
BIKES = ("touring", "road")
TRIED, OTHER, TIGHT = "C1", "D1", 0.3
#: how far means and deviations may lie apart, as a share of the planned deviation, beside the scatter of the draws
APART = 0.15

Lengths = dict[str, NDArray[np.float64]]


@functools.cache
def drawn_lengths(bike: str) -> Lengths:
    """Return what both pieces need on every drawn bike, and what the tried one needs with the bars to each side."""
    job = planned(bike)
    bikes = draw_lines(job, catalogue(), DRAWN, SEED)
    keys = {tag: key for key in job.loops for tag in (TRIED, OTHER) if key in keys_of(job, tag)}
    loops = {key: loop_lengths(job, bikes, key)[0] for key in keys.values()}
    found = {tag: length for tag, length in piece_lengths(job, bikes, loops).items() if tag in keys}
    key = keys[TRIED]
    whole = loops_of(job, bikes, key, advised=job.loops[key].keeps_advised)
    rest = found[TRIED] - loops[key]
    for side, sign in (("left", -1.0), ("right", 1.0)):
        found[side] = rest + shortest_lengths(_turned(whole, sign))
    return found


def keys_of(job: JobPlan, tag: str) -> list[tuple[int, int]]:
    return [
        (place, span)
        for place, line in enumerate(job.routing)
        for piece in line.route.pieces
        if piece.tag == tag
        for span in piece.spans
    ]


def _turned(loops: DrawnLoops, sign: float) -> DrawnLoops:
    """Return drawn loops in their poses with the bars turned to one side."""
    there = np.flatnonzero(sign * loops.poses[:, STEER] > 0.0)
    return dataclasses.replace(
        loops,
        poses=loops.poses[there],
        clamps=loops.clamps[:, there],
        required=loops.required[there],
        tangents=loops.tangents[:, there].copy(),
        slope=loops.slope[there],
    )


@pytest.mark.parametrize("bike", BIKES)
@pytest.mark.parametrize("side", ["left", "right"])
def test_a_piece_tight_at_a_lock(bike: str, side: str) -> None:
    lengths = drawn_lengths(bike)
    as_cut = float(round(np.quantile(lengths[side], 1.0 - TIGHT)))
    same = lengths[side] > as_cut
    _hold_against(bike, Told(TRIED, as_cut, (side,)), same)  # type: ignore[arg-type]
    after = fit_dry(planned(bike), _found(as_cut, f"tight at {side} lock"))
    again, other = after.piece(TRIED), after.piece(OTHER)
    assert again is not None and again.cut is not None and other is not None and other.cut is not None
    # one in a hundred may be too short; of so few bikes, what one piece in a thousand exceeds by chance
    most = binom.ppf(0.999, same.sum(), 0.01)
    assert (lengths[TRIED][same] > again.cut).sum() <= most
    assert (lengths[OTHER][same] > other.cut).sum() <= most
    # and they are no longer than that asks for
    for tag, cut in ((TRIED, again.cut), (OTHER, other.cut)):
        assert cut - 5.0 <= np.quantile(lengths[tag][same], 0.99) + APART * 10.0 + 3.0


@pytest.mark.parametrize("bike", BIKES)
def test_a_piece_that_fits(bike: str) -> None:
    lengths = drawn_lengths(bike)
    as_cut = float(round(np.quantile(lengths[TRIED], TIGHT)))
    same = lengths[TRIED] <= as_cut
    _hold_against(bike, Told(TRIED, as_cut), same)
    other = fit_dry(planned(bike), _found(as_cut, "fine")).piece(OTHER)
    assert other is not None and other.cut is not None and other.cut < other.planned_cut
    assert (lengths[OTHER][same] > other.cut).sum() <= binom.ppf(0.999, same.sum(), 0.01)


def _hold_against(bike: str, told: Told, same: NDArray[np.bool_]) -> None:
    """Hold how often it is found, and what both pieces then need, against the drawn bikes on which it is."""
    lengths = drawn_lengths(bike)
    pieces = together(planned(bike).demands)
    before = drawn(pieces)
    left = kept(pieces, [told], before)
    assert left is not None
    # a share of the bikes drawn scatters by its binomial deviation
    assert left.chance == pytest.approx(same.mean(), abs=0.04 + 3 * np.sqrt(TIGHT * (1 - TIGHT) / DRAWN))
    for tag in (TRIED, OTHER):
        expected, need = lengths[tag][same], pieces.needed(tag, left.draws)
        sigma = pieces.needed(tag, before).std()
        scatter = 3 * expected.std() / np.sqrt(same.sum())
        assert need.mean() == pytest.approx(expected.mean(), abs=APART * sigma + scatter)
        assert need.std() == pytest.approx(expected.std(), abs=APART * sigma + scatter)
        # it has told something: the mean has moved by more than it may lie apart
        assert abs(expected.mean() - lengths[tag].mean()) > APART * sigma


def _found(as_cut: float, fit: str) -> DryFit:
    return DryFit.model_validate({"format": 1, "piece": [{"tag": TRIED, "as_cut": as_cut, "fit": fit}]})
