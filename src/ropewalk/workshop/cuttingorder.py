"""The order in which pieces are cut: the longest first, so that one cut too short can still serve as a shorter one."""

from __future__ import annotations

from itertools import groupby

from ropewalk.workshop import words
from ropewalk.workshop.jobplan import JobPlan, PiecePlan

#: what stands over the pieces in their order
CUT_SO = "Cut in this order, so that a piece cut too short can still serve as a shorter one."


def cutting_order(job: JobPlan) -> tuple[PiecePlan, ...]:
    """Return the pieces that may be cut, kind of housing by kind, the longest first within each.

    Parameters
    ----------
    job : JobPlan

    Notes
    -----
    Kinds stand in the order in which the lines take them; pieces of one length in the order of the list.
    """
    pieces = [piece for line in job.lines for piece in line.pieces if piece.first_cut is not None]
    kinds = list(dict.fromkeys(piece.housing for piece in pieces))
    return tuple(sorted(pieces, key=lambda piece: (kinds.index(piece.housing), -(piece.first_cut or 0.0))))


def told_order(job: JobPlan) -> list[tuple[str, str]]:
    """Return each kind of housing with its pieces in their order, in words."""
    return [
        (housing, ", ".join(f"{piece.tag} {words.first_cut(piece)}" for piece in pieces))
        for housing, pieces in groupby(cutting_order(job), key=lambda piece: piece.housing)
    ]
