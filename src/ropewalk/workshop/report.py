"""A job plan as plain data: the JSON object, stable between releases, and rows for a spreadsheet."""

from __future__ import annotations

import csv
import io
import math
from itertools import groupby
from typing import Any

from ropewalk.analysis.findings import Finding, ordered
from ropewalk.units import degrees
from ropewalk.workshop.cuttingorder import cutting_order
from ropewalk.workshop.fitreport import FITTED_COLUMNS, fitted_as_json_object, fitted_cells
from ropewalk.workshop.fitted import FittedJob
from ropewalk.workshop.jobplan import HandsPlan, InnerPlan, JobPlan, LinePlan, LinerPlan, PiecePlan

#: columns of the spreadsheet
COLUMNS = (
    "line", "work", "hand", "item", "tag", "from", "to", "material", "first_cut_mm", "target_mm", "shortest_mm",
    "longest_mm", "sigma_mm", "least_radius_mm", "turn_deg", "start_end", "far_end",
)  # fmt: skip
#: what the spreadsheet calls liners by their use
_ITEMS = {"liner": "liner", "guide": "guide liner", "sleeve": "sleeve"}


def as_json_object(job: JobPlan, *, order: bool = False, fitted: FittedJob | None = None) -> dict[str, Any]:
    """Return a job plan as an object of plain values, ready for JSON; lengths in mm, angles in degrees.

    Parameters
    ----------
    job : JobPlan
    order : bool
        Whether each line shall hold its order of work, and the job its cutting order.
    fitted : FittedJob, optional
        What follows from a dry fit.

    Notes
    -----
    Keys that only some jobs have: ``lower_inner`` of a line with a splitter, ``setting_mm`` of a line with an exact
    setting, ``routing`` of a line whose routing has a name, ``order`` of a line, ``cutting_order`` (tags, each kind of
    housing longest first) and ``hands`` when asked for, ``fitted`` after a dry fit. Findings of the dry fit stand among
    the others.
    """
    return {
        "format": 1,
        "bike": job.bike,
        "lines": [_line(line, order=order) for line in job.lines],
        "parts": [{"item": part.item, "count": part.count} for part in job.parts],
        "findings": [_finding(finding) for finding in all_findings(job, fitted)],
        "cautions": list(job.cautions),
        **({"cutting_order": _cutting_order(job)} if order else {}),
        **({} if fitted is None else {"fitted": fitted_as_json_object(fitted)}),
        **({} if job.hands is None else {"hands": _hands(job.hands)}),
    }


def all_findings(job: JobPlan, fitted: FittedJob | None) -> tuple[Finding, ...]:
    """Return the findings of a plan and, after a dry fit, of that; the gravest first."""
    return job.findings if fitted is None else ordered([*fitted.findings, *job.findings])


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "grade": finding.grade,
        "where": finding.where,
        "text": f"{finding.text}; {finding.advice}",
        "value": finding.value,
        "limit": finding.limit,
        "unit": finding.unit,
    }


def _cutting_order(job: JobPlan) -> list[dict[str, Any]]:
    kinds = groupby(cutting_order(job), key=lambda piece: piece.housing)
    return [{"housing": housing, "tags": [piece.tag for piece in pieces]} for housing, pieces in kinds]


def _line(line: LinePlan, *, order: bool) -> dict[str, Any]:
    return {
        "name": line.name,
        "hand": line.hand,
        "work": line.work,
        **({} if line.routing is None else {"routing": line.routing}),
        "pieces": [_piece(piece) for piece in line.pieces],
        "inner": None if line.inner is None else _inner(line.inner),
        **({} if line.lower_inner is None else {"lower_inner": _inner(line.lower_inner)}),
        "liners": [_liner(liner) for liner in line.liners],
        "turn_deg": _tenth(degrees(line.turn)),
        "efficiency": None
        if line.efficiency is None
        else {condition: round(value, 4) for condition, value in line.efficiency.items()},
        "release_reserve_mu": None
        if line.release_reserve is None or not math.isfinite(line.release_reserve)
        else round(line.release_reserve, 4),
        **({} if line.setting is None else {"setting_mm": _tenth(line.setting.length)}),
        **({"order": list(line.order)} if order else {}),
    }


def _piece(piece: PiecePlan) -> dict[str, Any]:
    return {
        "tag": piece.tag,
        "from": piece.start,
        "to": piece.end,
        "housing": piece.housing,
        "window_mm": None if piece.window is None else [_tenth(piece.window[0]), _tenth(piece.window[1])],
        "target_mm": _tenth(piece.target),
        "first_cut_mm": None if piece.first_cut is None else _tenth(piece.first_cut),
        "sigma_mm": round(piece.sigma, 2),
        "least_radius_mm": None if piece.least_radius is None else _tenth(piece.least_radius),
        "least_radius_at": {name: _tenth(value) for name, value in piece.least_radius_pose.items()},
        "turn_deg": _tenth(degrees(piece.turn)),
        "why_shortest": piece.why_shortest,
        "why_longest": piece.why_longest,
        "ends": list(piece.ends),
    }


def _inner(inner: InnerPlan) -> dict[str, Any]:
    return {
        "path_mm": _tenth(inner.path),
        "need_mm": _tenth(inner.need),
        "stock_mm": None if inner.stock is None else _tenth(inner.stock),
        "tail_mm": _tenth(inner.tail),
    }


def _liner(liner: LinerPlan) -> dict[str, Any]:
    return {
        "from": liner.start,
        "to": liner.end,
        "cut_mm": _tenth(liner.cut),
        "kind": liner.kind,
        "use": liner.use,
    }


def _hands(hands: HandsPlan) -> dict[str, Any]:
    return {
        "asked": hands.asked,
        "already": hands.already,
        "moved": list(hands.moved),
        "levers": [{"side": side, "part": part} for side, part in hands.levers],
        "changes": [
            {
                "line": change.line,
                "what": change.what,
                "before_mm": None if change.before is None else _tenth(change.before),
                "after_mm": None if change.after is None else _tenth(change.after),
                "target_mm": None if change.target is None else [_tenth(target) for target in change.target],
            }
            for change in hands.changes
        ],
        "caution": hands.caution,
    }


def _tenth(value: float) -> float:
    return round(float(value), 1) + 0.0


def as_csv(job: JobPlan, fitted: FittedJob | None = None) -> str:
    """Return a job plan as rows for a spreadsheet: one row a piece, inner, liner and part; dot decimals, LF line ends.

    After a dry fit a piece's row has what was found and what to do too, in columns of their own. A cell that a
    spreadsheet would take for a formula gets an apostrophe before it.
    """
    out = io.StringIO()
    columns = COLUMNS if fitted is None else (*COLUMNS, *FITTED_COLUMNS)
    writer = csv.DictWriter(out, columns, lineterminator="\n", restval="")
    writer.writeheader()
    for line in job.lines:
        head = {"line": line.name, "work": line.work, "hand": line.hand or ""}
        for piece in line.pieces:
            cells = {} if fitted is None else fitted_cells(fitted.piece(piece.tag))
            writer.writerow(guarded(head | _piece_row(piece) | cells))
        for item, inner in zip(("inner", "lower inner"), line.inners, strict=False):
            writer.writerow(guarded(head | {"item": item} | _inner_row(inner)))
        for liner in line.liners:
            row = {"item": _ITEMS[liner.use], "from": liner.start, "to": liner.end, "material": liner.kind}
            writer.writerow(guarded(head | row | {"first_cut_mm": _tenth(liner.cut)}))
    return out.getvalue()


def _inner_row(inner: InnerPlan) -> dict[str, Any]:
    figures = _inner(inner)
    return {
        "material": inner.kind,
        "first_cut_mm": "" if figures["stock_mm"] is None else figures["stock_mm"],
        "target_mm": figures["path_mm"],
        "shortest_mm": figures["need_mm"],
    }


def _piece_row(piece: PiecePlan) -> dict[str, Any]:
    row = _piece(piece)
    window = row["window_mm"] or ("", "")
    return {
        "item": "housing",
        "tag": row["tag"],
        "from": row["from"],
        "to": row["to"],
        "material": row["housing"],
        "first_cut_mm": "" if row["first_cut_mm"] is None else row["first_cut_mm"],
        "target_mm": row["target_mm"],
        "shortest_mm": window[0],
        "longest_mm": window[1],
        "sigma_mm": row["sigma_mm"],
        "least_radius_mm": "" if row["least_radius_mm"] is None else row["least_radius_mm"],
        "turn_deg": row["turn_deg"],
        "start_end": row["ends"][0],
        "far_end": row["ends"][1],
    }


def guarded(row: dict[str, Any]) -> dict[str, Any]:
    """Return a row of a spreadsheet with an apostrophe before every cell that would be taken for a formula."""
    return {key: f"'{value}" if isinstance(value, str) and value[:1] in "=+-@\t\r" and value else value
            for key, value in row.items()}  # fmt: skip
