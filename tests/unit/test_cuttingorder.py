"""The cutting order: every piece once, by kind of housing, the longest first."""

from __future__ import annotations

import itertools

import pytest
from planned import FLEET, planned
from sample_job import sample_job

from ropewalk.workshop.cuttingorder import cutting_order, told_order


@pytest.mark.parametrize("bike", FLEET)
def test_each_kind_is_cut_longest_first(bike: str) -> None:
    job = planned(bike)
    order = cutting_order(job)
    pieces = [piece for line in job.lines for piece in line.pieces if piece.first_cut is not None]
    assert sorted(piece.tag for piece in order) == sorted(piece.tag for piece in pieces)
    for first, second in itertools.pairwise(order):
        if first.housing == second.housing:
            assert first.first_cut >= second.first_cut  # type: ignore[operator]
    kinds = [piece.housing for piece in order]
    assert [kind for at, kind in enumerate(kinds) if kind not in kinds[:at]] == [kind for kind, _ in told_order(job)]
    # a kind is not left and taken up again
    assert sum(one != other for one, other in itertools.pairwise(kinds)) == len(set(kinds)) - 1


def test_what_must_not_be_cut_is_left_out() -> None:
    job = sample_job()
    stopped = [piece.tag for line in job.lines for piece in line.pieces if piece.first_cut is None]
    assert stopped
    assert not {piece.tag for piece in cutting_order(job)} & set(stopped)
