"""What follows from a dry fit as plain data: its part of the JSON object, and cells for the spreadsheet."""

from __future__ import annotations

from typing import Any

from ropewalk.workshop import dryfitwords
from ropewalk.workshop.fitted import FittedInner, FittedJob, FittedPiece

#: columns of the spreadsheet after a dry fit
FITTED_COLUMNS = ("as_cut_mm", "fit", "do", "new_target_mm", "trim_mm", "new_cut_mm")


def fitted_as_json_object(fitted: FittedJob) -> dict[str, Any]:
    """Return what follows from a dry fit as an object of plain values, ready for JSON; lengths in mm.

    Parameters
    ----------
    fitted : FittedJob

    Notes
    -----
    Null where a figure has no meaning: ``as_cut_mm`` and ``fit`` of a piece not yet cut, ``chance`` where nothing was
    found, ``trim_mm`` and ``at_once_mm`` but of a piece to trim, ``cut_mm`` but of one to cut or to make again.
    """
    return {
        "pieces": [_piece(piece) for piece in fitted.pieces],
        "inners": [_inner(inner) for inner in fitted.inners],
    }


def _piece(piece: FittedPiece) -> dict[str, Any]:
    return {
        "tag": piece.tag,
        "as_cut_mm": piece.as_cut,
        "fit": piece.fit,
        "do": piece.do,
        "result": dryfitwords.result(piece),
        "target_mm": piece.target,
        "sigma_mm": round(piece.sigma, 2),
        "trim_mm": piece.trim,
        "at_once_mm": piece.at_once,
        "cut_mm": piece.cut,
        "chance": None if piece.chance is None else round(piece.chance, 5),
        "serves": piece.serves,
        "reasons": list(piece.reasons),
    }


def _inner(inner: FittedInner) -> dict[str, Any]:
    return {
        "line": inner.line,
        "name": inner.name,
        "kind": inner.kind,
        "need_mm": round(inner.need, 1),
        "stock_mm": inner.stock,
        "reaches": inner.reaches,
        "take_mm": inner.take,
    }


def fitted_cells(piece: FittedPiece | None) -> dict[str, Any]:
    """Return the spreadsheet's cells of one piece; none for a piece that must not be cut."""
    if piece is None:
        return {}
    values = (piece.as_cut, piece.fit, piece.do, piece.target, piece.trim, piece.cut)
    return {key: "" if value is None else value for key, value in zip(FITTED_COLUMNS, values, strict=True)}
