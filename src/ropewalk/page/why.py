"""The why of a piece: what its lengths are made of, what sets its window, what was found of it."""

from __future__ import annotations

from collections.abc import Sequence

from ropewalk.analysis.findings import Finding
from ropewalk.analysis.pieces import Term
from ropewalk.page.markup import Markup, joined, tag
from ropewalk.workshop.jobplan import PiecePlan
from ropewalk.workshop.makeup import first_cut_terms, target_terms, window_reasons


def why(piece: PiecePlan, findings: Sequence[Finding]) -> Markup:
    """Return how a piece's target and first cut are made up, term by term, with the reasons.

    Parameters
    ----------
    piece : PiecePlan
    findings : sequence of Finding
        Those of this piece.
    """
    rows = [_row(term) for term in target_terms(piece)]
    rows.append(_row(Term("target", piece.target, "the sum"), css="rw-sum"))
    if piece.first_cut is not None:
        rows += [_row(term) for term in first_cut_terms(piece)]
        rows.append(_row(Term("first cut", piece.first_cut, "the sum"), css="rw-sum"))
    caption = tag("caption", f"How the lengths of {piece.tag} are made up", css="rw-unseen")
    table = tag("table", caption, tag("tbody", *rows), css="rw-terms")
    reasons = [tag("p", joined([tag("b", f"{end}: "), f"{reason}."])) for end, reason in window_reasons(piece)]
    found = [tag("p", f"{finding.grade}: {finding.text}. To do: {finding.advice}.") for finding in findings]
    return tag("div", table, tag("div", *reasons, *found, css="rw-reasons"), css="rw-why")


def _row(term: Term, css: str = "") -> Markup:
    note = tag("span", term.note, css="rw-quiet") if term.note else ""
    label = tag("th", term.label, " ", note, attributes='scope="row"')
    return tag("tr", label, tag("td", f"{term.mm:.1f} mm"), css=css)


__all__ = ["why"]
