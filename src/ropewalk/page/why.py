"""The why of a piece: what its lengths are made of, what sets its window, what was found of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import accumulate, pairwise

from ropewalk.analysis.findings import Finding
from ropewalk.analysis.pieces import Term
from ropewalk.page.markup import Markup, joined, tag
from ropewalk.workshop.jobplan import PiecePlan


def why(piece: PiecePlan, findings: Sequence[Finding]) -> Markup:
    """Return how a piece's target and first cut are made up, term by term, with the reasons.

    Parameters
    ----------
    piece : PiecePlan
    findings : sequence of Finding
        Those of this piece.
    """
    rows = [_row(term) for term in _shown(_target_terms(piece))]
    rows.append(_row(Term("target", piece.target, "the sum"), css="rw-sum"))
    if piece.first_cut is not None:
        rows += [_row(term) for term in _beyond_target(piece, piece.first_cut)]
        rows.append(_row(Term("first cut", piece.first_cut, "the sum"), css="rw-sum"))
    caption = tag("caption", f"How the lengths of {piece.tag} are made up", css="rw-unseen")
    table = tag("table", caption, tag("tbody", *rows), css="rw-terms")
    reasons = [tag("p", reason) for reason in _reasons(piece)]
    found = [tag("p", f"{finding.grade}: {finding.text}. To do: {finding.advice}.") for finding in findings]
    return tag("div", table, tag("div", *reasons, *found, css="rw-reasons"), css="rw-why")


def _target_terms(piece: PiecePlan) -> list[Term]:
    """Return terms that add up to the target; a target that had to give way has one more."""
    unlisted = piece.target - sum(term.mm for term in piece.terms)
    return [*piece.terms, Term("less, to stay tidy", unlisted)] if abs(unlisted) > 0.05 else list(piece.terms)


def _beyond_target(piece: PiecePlan, first_cut: float) -> list[Term]:
    """Return what the first cut has over the target."""
    safe = max(piece.target, piece.target if piece.quantile is None else piece.quantile)
    known = f"its shortest safe length is known to σ {piece.sigma:.1f} mm"
    note = known if round(safe - piece.target, 1) else f"the target covers it; {known}"
    steps = [
        Term("", piece.target),
        Term("more, as figures are not known exactly", safe - piece.target, note),
        Term("rounded up", first_cut - safe),
    ]
    return _shown(steps)[1:]


def _shown(terms: Sequence[Term]) -> list[Term]:
    """Return terms rounded to a tenth so that they add up to their rounded sum."""
    totals = [round(total, 1) for total in accumulate((term.mm for term in terms), initial=0.0)]
    lengths = (round(later - earlier, 1) + 0.0 for earlier, later in pairwise(totals))
    return [Term(term.label, mm, term.note) for term, mm in zip(terms, lengths, strict=True)]


def _row(term: Term, css: str = "") -> Markup:
    note = tag("span", term.note, css="rw-quiet") if term.note else ""
    label = tag("th", term.label, " ", note, attributes='scope="row"')
    return tag("tr", label, tag("td", f"{term.mm:.1f} mm"), css=css)


def _reasons(piece: PiecePlan) -> Iterable[Markup]:
    if piece.window is None:
        yield joined([tag("b", "No window: "), f"{piece.why_shortest}."])
        return
    shortest, longest = piece.window
    yield joined([tag("b", f"Shortest safe {shortest:.1f} mm: "), f"{piece.why_shortest}."])
    yield joined([tag("b", f"Longest tidy {longest:.1f} mm: "), f"{piece.why_longest}."])


__all__ = ["why"]
