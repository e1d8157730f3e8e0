"""Findings on a dry fit: what can hardly be, what contradicts the plan, what a piece cut too short still serves for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from ropewalk.analysis.findings import Finding
from ropewalk.analysis.fitted import Side, Together, Told, turned
from ropewalk.analysis.loops import Array
from ropewalk.analysis.uncertainty import PieceDemand
from ropewalk.bike.deviations import KnownFigure
from ropewalk.bike.poses import pose_words
from ropewalk.workshop import dryfitwords
from ropewalk.workshop.fitted import FittedPiece
from ropewalk.workshop.jobplan import JobPlan

#: what is found of a piece is doubted when it was less likely than this: beyond three standard deviations
DOUBTED = 0.00135
#: a lock is not expected to ask for most when it did so on fewer than this share of bikes
UNEXPECTED = 0.05
#: nor is it worth telling where it asks for less by no more than this [mm]
SLIGHT = 3.0


def judge_fit(
    job: JobPlan,
    pieces: Sequence[FittedPiece],
    told: Mapping[str, tuple[PieceDemand | None, Told | None]],
    drawn: Together,
    before: Array,
) -> Iterator[Finding]:
    """Return findings on pieces after a dry fit.

    Parameters
    ----------
    job : JobPlan
    pieces : sequence of FittedPiece
    told : mapping of str to (PieceDemand or None, Told or None)
        What is asked of each piece, and what was found of it.
    drawn : Together
    before : (r, N) array
        Draws from before anything was tried.
    """
    for piece in pieces:
        demand, found = told[piece.tag]
        if demand is None or found is None:
            continue
        if piece.chance is not None and piece.chance < DOUBTED:
            most = _weightiest(demand, found)
            yield dryfitwords.doubted(piece, piece.chance, None if most is None else dryfitwords.figure(job, most))
        if found.tight in (("left",), ("right",)):
            yield from _other_side(piece, demand, found.tight[0], drawn, before)
        planned = job.piece(piece.tag)
        if piece.fit == "fine" and planned is not None and planned.window is not None and piece.as_cut is not None:
            longest = planned.window[1] + piece.target - piece.planned_target
            if piece.as_cut > max(longest, piece.planned_cut):
                yield dryfitwords.untidy(piece, longest)
        other = next((other for other in pieces if other.tag == piece.serves), None)
        if other is not None:
            yield dryfitwords.serves(piece, other)


def _other_side(
    piece: FittedPiece, demand: PieceDemand, side: Side, drawn: Together, before: Array
) -> Iterator[Finding]:
    most, there = drawn.needed(piece.tag, before), drawn.needed(piece.tag, before, side)
    if float((there >= most - 1e-6).mean()) >= UNEXPECTED:
        return
    less = float((most - there).mean()) if np.isfinite(there).all() else None
    if less is not None and less < SLIGHT:
        return
    moving = [(length, poses) for length, poses in zip(demand.lengths, demand.poses, strict=True) if len(poses) > 1]
    spread = max(moving, key=lambda loop: float(np.ptp(loop[0])), default=None)
    governing = "straight ahead" if spread is None else f"at {pose_words(spread[1][int(spread[0].argmax())])}"
    yield dryfitwords.other_side(piece, side, governing.replace("at straight", "straight"), less)


def _weightiest(demand: PieceDemand, found: Told) -> KnownFigure | None:
    """Return the figure of the frame file that a piece's length rests most on, in the poses that matter."""
    side: Side = found.tight[0] if len(found.tight) == 1 else "any"
    form = demand.fixed.copy()
    for length, change, poses in zip(demand.lengths, demand.changes, demand.poses, strict=True):
        there = np.flatnonzero(turned(poses, side))
        rows = there if there.size else np.arange(len(length))
        form += change[rows[length[rows].argmax()]]
    weight = np.abs(form * demand.sigmas)[: len(demand.figures)]
    return demand.figures[int(weight.argmax())] if weight.size and weight.max() > 0 else None
