"""How the lengths of a piece are made up, rounded so that what is shown adds up, and what sets its window."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate, pairwise

from ropewalk.analysis.pieces import Term
from ropewalk.workshop.jobplan import PiecePlan


def target_terms(piece: PiecePlan) -> list[Term]:
    """Return what a piece's target is made of, in tenths of a mm that add up to the target's tenths."""
    return shown(piece.terms)


def first_cut_terms(piece: PiecePlan) -> list[Term]:
    """Return what a piece's first cut has over its target; nothing when there is no first cut."""
    if piece.first_cut is None:
        return []
    safe = max(piece.target, piece.target if piece.quantile is None else piece.quantile)
    known = f"its shortest safe length is known to σ {piece.sigma:.1f} mm"
    note = known if round(safe - piece.target, 1) else f"the target covers it; {known}"
    steps = [
        Term("target", piece.target),
        Term("more, as figures are not known exactly", safe - piece.target, note),
        Term("rounded up", piece.first_cut - safe),
    ]
    return shown(steps)[1:]


def window_reasons(piece: PiecePlan) -> list[tuple[str, str]]:
    """Return the ends of a piece's window and what sets each, or that it has none and why."""
    if piece.window is None:
        return [("No window", piece.why_shortest)]
    shortest, longest = piece.window
    return [
        (f"Shortest safe {shortest:.1f} mm", piece.why_shortest),
        (f"Longest tidy {longest:.1f} mm", piece.why_longest),
    ]


def shown(terms: Sequence[Term]) -> list[Term]:
    """Return terms rounded to a tenth so that they add up to their rounded sum.

    Examples
    --------
    >>> [term.mm for term in shown([Term("a", 0.04), Term("b", 0.04), Term("c", 0.04)])]
    [0.0, 0.1, 0.0]
    """
    totals = [round(total, 1) for total in accumulate((term.mm for term in terms), initial=0.0)]
    lengths = (round(later - earlier, 1) + 0.0 for earlier, later in pairwise(totals))
    return [Term(term.label, mm, term.note) for term, mm in zip(terms, lengths, strict=True)]
