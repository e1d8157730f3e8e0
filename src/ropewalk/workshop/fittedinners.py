"""Inners after the dry fit: whether the one chosen from the first cuts still reaches when pieces were made longer."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ropewalk.analysis.findings import Finding
from ropewalk.workshop import words
from ropewalk.workshop.fitted import FittedInner, FittedPiece
from ropewalk.workshop.jobplan import InnerPlan, JobPlan, LinePlan, PiecePlan

#: what is told of every inner
CHOSEN_BEFORE = (
    "The inner is chosen before, from the first cuts, and trimmed last of all, when every piece has its length."
)


def fitted_inners(job: JobPlan, pieces: Sequence[FittedPiece]) -> Iterator[FittedInner]:
    """Return every inner of a job with what it needs now.

    Parameters
    ----------
    job : JobPlan
    pieces : sequence of FittedPiece

    Notes
    -----
    What an inner needs on the bench was counted with housing at its first cut; a piece that was cut counts as it is,
    one that is to be made, or made again, as it will be cut.
    """
    found = {piece.tag: piece for piece in pieces}
    for line in job.lines:
        for (name, inner), own in zip(words.named_inners(line), _housings(line), strict=True):
            more = sum(_longer(found[piece.tag]) for piece in own if piece.tag in found)
            yield _now(job, line.name, name, inner, inner.need + more)


def _housings(line: LinePlan) -> list[tuple[PiecePlan, ...]]:
    """Return the housing that each inner of a line runs through; nothing for a hose."""
    if len(line.inners) < 2:
        return [line.pieces for _ in line.inners]
    border = next(inline.before for inline in line.inlines if inline.splits)
    at = next(place for place, piece in enumerate(line.pieces) if piece.tag == border) + 1
    return [line.pieces[:at], line.pieces[at:]]


def _longer(piece: FittedPiece) -> float:
    length = piece.cut if piece.cut is not None else piece.as_cut
    return 0.0 if length is None else length - piece.planned_cut


def _now(job: JobPlan, line: str, name: str, inner: InnerPlan, need: float) -> FittedInner:
    stocks = [(float(length), float(length - length.spread)) for length in job.catalogue.inner(inner.kind).stock]
    take = next((length for length, surely in stocks if surely >= need), None)
    surely = next((surely for length, surely in stocks if length == inner.stock), 0.0)
    short = 0.0 if inner.stock is None else max(need - surely, 0.0)
    reaches = inner.stock is not None and short == 0.0
    return FittedInner(line, name, inner.kind, need, inner.stock, reaches, take, short)


def judge_inners(inners: Sequence[FittedInner]) -> Iterator[Finding]:
    """Return findings on inners that were long enough and are not any more."""
    for inner in inners:
        if inner.reaches or inner.stock is None:
            continue
        yield Finding(
            "look",
            inner.line,
            f"with housing as it is cut now its {inner.name} needs {inner.need:.0f} mm on the bench, tail and working "
            f"length counted: the one of {words.millimetres(inner.stock)}, as surely as it is that long, is "
            f"{inner.short:.0f} mm short",
            "no stock length is long enough: join two with a splitter, or shorten the route"
            if inner.take is None
            else f"take the one of {words.millimetres(inner.take)}",
        )
