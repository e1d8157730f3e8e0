"""Comparisons as plain data: the JSON object, stable between releases, and rows for a spreadsheet."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from ropewalk.analysis.causes import Figured
from ropewalk.analysis.weighing import weighed_reserve
from ropewalk.analysis.wireline import CONDITIONS
from ropewalk.units import degrees
from ropewalk.workshop.candidate import Candidate
from ropewalk.workshop.compare import Comparison
from ropewalk.workshop.jobplan import PiecePlan
from ropewalk.workshop.ranking import Standing
from ropewalk.workshop.report import guarded

#: columns of the spreadsheet: one row a routing
COLUMNS = (
    "line", "option", "file", "by", "condition", "rank", "tied_with", "why", "housing", "housing_mm", "first_cuts_mm",
    "windows_mm", "turn_deg", "least_radius_mm", "efficiency_new", "efficiency_worn", "efficiency_corroded",
    "efficiency_sigma", "release_reserve_mu", "release_sigma", "release", "lost_motion_mm", "lost_motion_sigma_mm",
    "lost_share_of_pull", "hysteresis_mm", "step_mm", "hysteresis_share_of_step", "steering_mm", "low_points_mm",
    "stops", "looks", "notes",
)  # fmt: skip


def compared_as_json_object(comparisons: Sequence[Comparison]) -> dict[str, Any]:
    """Return comparisons as an object of plain values, ready for JSON; lengths in mm, forces in N, angles in degrees.

    Parameters
    ----------
    comparisons : sequence of Comparison
        One or more, of one bike.

    Notes
    -----
    Keys, the same in every release of format 1; null stands for a figure that does not exist:

    - ``format`` (1), ``bike``, ``comparisons``, ``limits`` and ``cautions`` (lists of sentences).
    - Of a comparison: ``line``, ``work``, ``by``, ``condition``, ``hand_force_N``, ``ranked_by`` (a sentence),
      ``options`` (the best first, those without a rank last) and ``differences``.
    - Of an option: ``name``, ``file``, ``rank`` (null where it cannot be ranked), ``tied_with`` (names), ``why``,
      ``pieces``, ``housing_mm`` (all housing at its target), ``turn_deg`` (straight ahead), ``least_radius_mm`` and
      ``least_radius_at``, ``efficiency``, ``least_efficiency`` (worst pose while riding), ``release``,
      ``lost_motion``, ``shifting``, ``low_points``, ``parts`` (``item``, ``count``) and ``findings`` (as in the cut
      list's object).
    - Of a piece: ``tag``, ``from``, ``to``, ``housing``, ``window_mm``, ``target_mm``, ``first_cut_mm``, ``sigma_mm``,
      ``ends``, as in the cut list's object.
    - ``efficiency`` and ``least_efficiency``: ``new``, ``worn``, ``corroded``, each ``value`` and ``sigma``.
    - ``release``: ``reserve_mu`` and ``sigma`` (null where nothing stops it), ``at`` (a pose), ``spring_N``,
      ``needed_N``, ``arrives_N`` (by condition ``value`` and ``sigma``), ``shares`` (``stretch``, ``share`` of the
      turn), ``text``.
    - ``lost_motion``: by condition ``value`` and ``sigma`` (mm), ``share_of_pull``, ``left_mm``.
    - ``shifting``: ``step_mm``, ``step`` (its name), ``hysteresis_mm`` (by condition ``value`` and ``sigma``),
      ``share_of_step`` (by condition), ``steering_mm``.
    - Of a low point: ``from``, ``to``, ``depth_mm``.
    - Of a difference: ``first`` (the one ahead), ``second``, ``value`` (first less second), ``sigma``, ``unit``
      (``1``, ``mm``, or ``log`` for the natural logarithm of the ratio of two efficiencies), ``tie``.
    """
    first = comparisons[0]
    return {
        "format": 1,
        "bike": first.bike,
        "comparisons": [
            {
                "line": one.line,
                "work": one.work,
                "by": one.by,
                "condition": one.condition,
                "hand_force_N": _round(one.hand_force, 1),
                "ranked_by": one.ranked_by,
                "options": [
                    _option(candidate, standing)
                    for candidate, standing in zip(one.candidates, one.standings, strict=True)
                ],
                "differences": [
                    {
                        "first": apart.first,
                        "second": apart.second,
                        "value": _round(apart.value, 5),
                        "sigma": _round(apart.sigma, 5),
                        "unit": apart.unit,
                        "tie": apart.tie,
                    }
                    for apart in one.differences
                ],
            }
            for one in comparisons
        ],
        "limits": list(first.limits),
        "cautions": list(first.cautions),
    }


def _option(one: Candidate, standing: Standing) -> dict[str, Any]:
    friction, tightest = one.plan.friction, one.tightest
    return {
        "name": one.name,
        "file": one.file,
        "rank": standing.rank,
        "tied_with": list(standing.tied),
        "why": standing.why,
        "pieces": [_piece(piece) for piece in one.plan.pieces],
        "housing_mm": _round(one.housing, 1),
        "turn_deg": _round(degrees(one.plan.turn), 1),
        "least_radius_mm": None if tightest is None else _round(tightest.least_radius, 1),
        "least_radius_at": {}
        if tightest is None
        else {name: _round(value, 1) for name, value in tightest.least_radius_pose.items()},
        "efficiency": None if friction is None else _figured(friction.efficiency, 4),
        "least_efficiency": None if friction is None else _figured(friction.least_efficiency, 4),
        "release": _release(one),
        "lost_motion": _lost(one) or None,
        "shifting": _shifting(one),
        "low_points": [{"from": low.start, "to": low.end, "depth_mm": _round(low.depth, 1)} for low in one.low_points],
        "parts": [{"item": part.item, "count": part.count} for part in one.parts],
        "findings": [
            {
                "grade": finding.grade,
                "where": finding.where,
                "text": f"{finding.text}; {finding.advice}",
                "value": finding.value,
                "limit": finding.limit,
                "unit": finding.unit,
            }
            for finding in one.findings
        ],
    }


def _piece(piece: PiecePlan) -> dict[str, Any]:
    return {
        "tag": piece.tag,
        "from": piece.start,
        "to": piece.end,
        "housing": piece.housing,
        "window_mm": None if piece.window is None else [_round(end, 1) for end in piece.window],
        "target_mm": _round(piece.target, 1),
        "first_cut_mm": None if piece.first_cut is None else _round(piece.first_cut, 1),
        "sigma_mm": _round(piece.sigma, 2),
        "ends": list(piece.ends),
    }


def _release(one: Candidate) -> dict[str, Any] | None:
    friction, wire = one.plan.friction, one.wire
    release = None if friction is None else friction.release
    if friction is None or wire is None or release is None:
        return None
    weighed = weighed_reserve(wire, release.pose)
    return {
        "reserve_mu": _round(release.reserve, 4),
        "sigma": _round(weighed.sigma, 4) if weighed is not None and math.isfinite(release.reserve) else None,
        "at": {name: _round(value, 1) for name, value in one.release_at.items()},
        "spring_N": _round(release.spring, 1),
        "needed_N": _round(release.needed, 1),
        "arrives_N": _figured(release.arrives, 2),
        "shares": [
            {"stretch": stretch.label, "share": _round(float(share), 4)}
            for stretch, share in zip(friction.stretches, release.shares, strict=True)
        ],
        "text": one.release,
    }


def _lost(one: Candidate) -> dict[str, Any]:
    return {
        name: {
            "value": _round(one.lost[name].value, 2),
            "sigma": _round(one.lost[name].sigma, 2),
            "share_of_pull": None if lost.share is None else _round(lost.share, 4),
            "left_mm": None if lost.left is None else _round(lost.left, 2),
        }
        for name, lost in one.plan.lost.items()
    }


def _shifting(one: Candidate) -> dict[str, Any] | None:
    shifting = one.plan.shifting
    if shifting is None:
        return None
    step = shifting.step
    return {
        "step": shifting.name,
        "step_mm": None if step is None else _round(step, 2),
        "hysteresis_mm": _figured(shifting.hysteresis, 3),
        "share_of_step": {
            name: None if step is None else _round(found.value / step, 4) for name, found in shifting.hysteresis.items()
        },
        "steering_mm": _round(shifting.steering, 3),
    }


def _figured(figures: Mapping[str, Figured], digits: int) -> dict[str, Any]:
    return {
        name: {"value": _round(figures[name].value, digits), "sigma": _round(figures[name].sigma, digits)}
        for name in CONDITIONS
    }


def _round(value: float | None, digits: int) -> float | None:
    return None if value is None or not math.isfinite(value) else round(float(value), digits) + 0.0


def compared_as_csv(comparisons: Sequence[Comparison]) -> str:
    """Return comparisons as rows for a spreadsheet: one row a routing; dot decimals, LF line ends.

    A cell that a spreadsheet would take for a formula gets an apostrophe before it. Lists stand in one cell with
    semicolons between them; hysteresis, lost motion and sigma of the efficiency are those of the condition.
    """
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, lineterminator="\n", restval="")
    writer.writeheader()
    for comparison in comparisons:
        for row in _rows(comparison):
            writer.writerow(guarded({key: "" if value is None else value for key, value in row.items()}))
    return out.getvalue()


def _rows(comparison: Comparison) -> Iterator[dict[str, Any]]:
    for one, standing in zip(comparison.candidates, comparison.standings, strict=True):
        told = _option(one, standing)
        counts = {grade: sum(finding.grade == grade for finding in one.findings) for grade in ("stop", "look", "note")}
        yield {
            "line": comparison.line,
            "option": one.name,
            "file": one.file,
            "by": comparison.by,
            "condition": comparison.condition,
            "rank": standing.rank,
            "tied_with": "; ".join(standing.tied),
            "why": standing.why,
            "housing": "; ".join(one.housings),
            "housing_mm": told["housing_mm"],
            "first_cuts_mm": "; ".join(f"{piece['first_cut_mm']}" for piece in told["pieces"] if piece["first_cut_mm"]),
            "windows_mm": "; ".join(
                f"{piece['window_mm'][0]} to {piece['window_mm'][1]}" for piece in told["pieces"] if piece["window_mm"]
            ),
            "turn_deg": told["turn_deg"],
            "least_radius_mm": told["least_radius_mm"],
            **_friction_cells(told, comparison.condition),
            "low_points_mm": "; ".join(f"{low['depth_mm']}" for low in told["low_points"]),
            "stops": counts["stop"],
            "looks": counts["look"],
            "notes": counts["note"],
        }


def _friction_cells(told: Mapping[str, Any], condition: str) -> dict[str, Any]:
    cells: dict[str, Any] = {}
    if told["efficiency"] is not None:
        cells |= {f"efficiency_{name}": told["efficiency"][name]["value"] for name in CONDITIONS}
        cells["efficiency_sigma"] = told["efficiency"][condition]["sigma"]
    if told["release"] is not None:
        cells |= {"release_reserve_mu": told["release"]["reserve_mu"], "release_sigma": told["release"]["sigma"]}
        cells["release"] = told["release"]["text"]
    if told["lost_motion"] is not None:
        lost = told["lost_motion"][condition]
        cells |= {"lost_motion_mm": lost["value"], "lost_motion_sigma_mm": lost["sigma"]}
        cells["lost_share_of_pull"] = lost["share_of_pull"]
    if told["shifting"] is not None:
        shifting = told["shifting"]
        cells |= {"hysteresis_mm": shifting["hysteresis_mm"][condition]["value"], "step_mm": shifting["step_mm"]}
        cells |= {"hysteresis_share_of_step": shifting["share_of_step"][condition]}
        cells["steering_mm"] = shifting["steering_mm"]
    return cells
