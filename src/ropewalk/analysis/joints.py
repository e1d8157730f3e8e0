"""Joints of housing: whether a piece is long enough for its ferrules, and an adjuster for what they settle."""

from __future__ import annotations

from collections.abc import Iterator

from ropewalk.analysis.findings import Finding
from ropewalk.analysis.pieces import PieceStudy
from ropewalk.bike.parts import Catalogue
from ropewalk.routing.lines import Route


def judge_ferrules(study: PieceStudy, where: str, catalogue: Catalogue) -> Iterator[Finding]:
    """Return the stop for a piece shorter than what its two ferrules hold and a little between them."""
    piece = study.piece
    inside = float(piece.start_ferrule.insertion + piece.end_ferrule.insertion)
    least = inside + float(catalogue.settings.findings.between_ferrules)
    if study.target >= least:
        return
    yield Finding(
        "stop",
        where,
        f"a piece of {study.target:.0f} mm is too short for its own ferrules, which hold {inside:.0f} mm of it",
        "move its stations apart, or leave the piece out and let the inner run bare",
        round(study.target, 1),
        round(least, 1),
        "mm",
    )


def judge_adjuster(route: Route, settling: float, catalogue: Catalogue) -> Iterator[Finding]:
    """Return a look where a line's joints are likely to settle by more than its adjuster takes up.

    Parameters
    ----------
    route : Route
    settling : float
        What its joints are likely to give when first pulled hard [mm].
    catalogue : Catalogue

    Notes
    -----
    An adjuster in the housing counts with its own travel. Without one a barrel adjuster at the lever, the brake or the
    derailleur is assumed, as nearly all have one.
    """
    if route.inner is None:
        return
    own = [
        (piece.inline.part.name, float(piece.inline.part.travel))
        for piece in route.pieces
        if piece.inline is not None and piece.inline.part.travel is not None
    ]
    travel = sum(reach for _, reach in own) if own else float(catalogue.settings.findings.barrel_travel)
    if settling <= travel:
        return
    what = f"the {own[0][0]}" if own else "a barrel adjuster at lever or work, as is assumed,"
    yield Finding(
        "look",
        route.line.name,
        f"its joints may settle by {settling:.1f} mm, more than the {travel:.0f} mm that {what} takes up",
        "pull the line hard several times and clamp the inner again before it is trimmed; fewer pieces settle less",
        round(settling, 1),
        round(travel, 1),
        "mm",
    )
