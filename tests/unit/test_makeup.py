"""How lengths are made up as shown: tenths that add up, the first cut's surplus, reasons of a window."""

from __future__ import annotations

import pytest
from planned import BIKES, planned
from sample_job import sample_piece

from ropewalk.analysis.pieces import Term
from ropewalk.workshop.makeup import first_cut_terms, shown, target_terms, window_reasons


def test_shown_tenths_add_up_to_the_shown_sum() -> None:
    terms = [Term(str(number), 1.04 + 0.01 * number) for number in range(9)]
    assert sum(term.mm for term in shown(terms)) == pytest.approx(round(sum(term.mm for term in terms), 1))
    for term, told in zip(terms, shown(terms), strict=True):
        assert told.mm == pytest.approx(term.mm, abs=0.1)
        assert (told.label, told.note) == (term.label, term.note)


@pytest.mark.parametrize("bike", BIKES)
def test_a_piece_s_terms_add_up_to_target_and_first_cut(bike: str) -> None:
    for line in planned(bike).lines:
        for piece in line.pieces:
            target = sum(term.mm for term in target_terms(piece))
            assert target == pytest.approx(round(piece.target, 1))
            more = sum(term.mm for term in first_cut_terms(piece))
            assert target + more == pytest.approx(piece.first_cut, abs=0.051)


def test_a_first_cut_s_surplus_is_told_in_two_steps() -> None:
    piece = sample_piece("A1", "lever", "caliper", target=721.3, quantile=727.1, first_cut=730.0, sigma=3.1)
    more, up = first_cut_terms(piece)
    assert (more.mm, up.mm) == (pytest.approx(5.8), pytest.approx(2.9))
    assert "3.1 mm" in more.note


def test_a_target_that_covers_what_is_not_known_says_so() -> None:
    piece = sample_piece("A1", "lever", "caliper", target=721.3, quantile=718.0, first_cut=725.0)
    more, up = first_cut_terms(piece)
    assert (more.mm, up.mm) == (0.0, pytest.approx(3.7))
    assert "the target covers it" in more.note


def test_without_a_first_cut_there_is_nothing_to_tell() -> None:
    assert first_cut_terms(sample_piece("A1", "lever", "caliper", first_cut=None, quantile=None, window=None)) == []


def test_both_ends_of_a_window_carry_their_reason() -> None:
    piece = sample_piece("A1", "lever", "caliper", window=(711.2, 752.4))
    assert window_reasons(piece) == [
        ("Shortest safe 711.2 mm", piece.why_shortest),
        ("Longest tidy 752.4 mm", piece.why_longest),
    ]
    ((told, why),) = window_reasons(sample_piece("A1", "lever", "caliper", window=None, why_shortest="too tight"))
    assert (told, why) == ("No window", "too tight")
