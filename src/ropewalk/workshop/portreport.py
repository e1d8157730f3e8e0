"""A list of ports as plain data: one JSON object, stable between releases."""

from __future__ import annotations

import math
from typing import Any

from ropewalk.analysis.portbends import Bend
from ropewalk.analysis.portchecks import Check
from ropewalk.analysis.ports import PortStudy
from ropewalk.mechanics.outline import Hole
from ropewalk.units import degrees
from ropewalk.workshop.portplan import PortPlan, PortsPlan, RunPlan

#: points of a template's curve
TEMPLATE_POINTS = 72


def ports_as_json_object(plan: PortsPlan) -> dict[str, Any]:
    """Return a list of ports as an object of plain values, ready for JSON; lengths in mm, angles in degrees.

    Notes
    -----
    Keys: ``format`` (1), ``bike``, ``ports``, ``runs``, ``findings`` and ``cautions`` as in a cut list.

    A port: ``line``, ``station``, ``type``; its place ``tube``, ``from``, ``along_mm``, ``clock``, ``facing``,
    ``from_head_mm`` (null away from the head tube); ``lean_deg``, ``skew_deg``; ``passes``, ``passes_mm``,
    ``sleeve_mm`` (null without one), ``hole_mm`` (as given, or null), ``wanted_mm``; ``passage`` (through, or why a
    straight drill makes no hole: along, inward, beside, too thick, open end); ``outline`` (null without a hole);
    ``welds``, each ``to``, ``towards``, ``distance_mm`` and ``is_end`` (true for the end of the tube's axis instead of
    a weld); ``inside`` and ``outside``, each ``span``, ``angle_deg``, ``radius_mm`` (null where it is straight or bends
    over the edge) and ``at`` (the pose, in words), or null; ``water`` with ``wall_up_deg``, ``mouth_up_deg``,
    ``from_top_deg`` (null on an upright tube), ``above_lowest_mm``; and ``checks``, each ``figure``, ``value``,
    ``low``, ``high``, ``unit``, ``grade`` (null where kept), ``reason``.

    An outline: ``diameter_mm`` of the drill, ``length_mm``, ``width_mm`` (round the tube), ``chord_mm`` (straight),
    ``through_length_mm`` (outer and inner edge together), ``area_share``, and ``template_mm``, points of its edge
    rolled flat: along the tube towards ``facing``, and round it the way the clock goes, from where the line's centre
    meets the wall.

    A run: ``line``, ``from``, ``to``, ``through``, ``carries`` (housing, hose or liner), ``what``, ``length_mm``,
    ``slack_mm``, ``least_radius_mm`` (null where straight), ``guide_mm``, ``sleeve_mm``, ``liner_mm`` (null without
    one), ``order``. Its figures are null where no way leads through.
    """
    return {
        "format": 1,
        "bike": plan.bike,
        "ports": [_port(port) for port in plan.ports],
        "runs": [_run(run) for run in plan.runs],
        "findings": [
            {
                "grade": finding.grade,
                "where": finding.where,
                "text": f"{finding.text}; {finding.advice}",
                "value": finding.value,
                "limit": finding.limit,
                "unit": finding.unit,
            }
            for finding in plan.findings
        ],
        "cautions": list(plan.cautions),
    }


def _port(port: PortPlan) -> dict[str, Any]:
    study = port.study
    return {
        "line": study.line,
        "station": study.station,
        "type": study.type,
        "tube": study.tube.name,
        "from": study.from_,
        "along_mm": _tenth(study.along),
        "clock": round(study.clock, 2),
        "facing": study.facing,
        "from_head_mm": None if study.from_head is None else _tenth(study.from_head),
        "lean_deg": _tenth(degrees(study.lean)),
        "skew_deg": _tenth(degrees(study.skew)),
        "passes": study.passing.name,
        "passes_mm": _tenth(study.passing.outside),
        "sleeve_mm": None if study.sleeve is None else _tenth(study.sleeve.outside),
        "hole_mm": None if study.hole is None else _tenth(study.hole),
        "wanted_mm": _tenth(study.wanted),
        "passage": study.passage,
        "outline": None if study.outline is None else _outline(study.outline, study.diameter),
        "welds": [
            {"to": weld.to, "towards": weld.side, "distance_mm": _tenth(weld.distance), "is_end": weld.is_end}
            for weld in study.welds
        ],
        "inside": _bend(study.inside),
        "outside": _bend(study.outside),
        "water": _water(study),
        "checks": [_check(check) for check in port.checks],
    }


def _outline(hole: Hole, diameter: float) -> dict[str, Any]:
    step = max(1, len(hole.flat) // TEMPLATE_POINTS)
    return {
        "diameter_mm": _tenth(diameter),
        "length_mm": round(hole.length, 2),
        "width_mm": round(hole.width, 2),
        "chord_mm": round(hole.chord, 2),
        "through_length_mm": round(hole.through_length, 2),
        "area_share": round(hole.share, 4),
        "template_mm": [
            [round(float(along), 2) + 0.0, round(float(around), 2) + 0.0] for along, around in hole.flat[::step]
        ],
    }


def _bend(bend: Bend | None) -> dict[str, Any] | None:
    if bend is None:
        return None
    straight = bend.radius is None or not math.isfinite(bend.radius)
    return {
        "span": bend.kind,
        "angle_deg": _tenth(degrees(bend.angle)),
        "radius_mm": None if straight or bend.radius is None else _tenth(bend.radius),
        "at": bend.when,
    }


def _water(study: PortStudy) -> dict[str, Any]:
    water = study.water
    return {
        "wall_up_deg": _tenth(degrees(water.face)),
        "mouth_up_deg": _tenth(degrees(water.mouth)),
        "from_top_deg": _tenth(degrees(water.from_top)) if math.isfinite(water.from_top) else None,
        "above_lowest_mm": _tenth(water.above_lowest),
    }


def _check(check: Check) -> dict[str, Any]:
    return {
        "figure": check.figure,
        "value": check.value,
        "low": None if check.low is None else round(check.low, 3),
        "high": None if check.high is None else round(check.high, 3),
        "unit": check.unit,
        "grade": check.grade,
        "reason": check.reason,
    }


def _run(plan: RunPlan) -> dict[str, Any]:
    run = plan.run
    figures: dict[str, float | None] = dict.fromkeys(
        ("length_mm", "slack_mm", "least_radius_mm", "guide_mm", "sleeve_mm", "liner_mm")
    )
    if run.reached:
        cuts = {f"{use}_mm": plan.cut(use) for use in ("guide", "sleeve", "liner")}
        figures |= {
            "length_mm": _tenth(run.length),
            "slack_mm": _tenth(run.slack),
            "least_radius_mm": _tenth(run.least_radius) if math.isfinite(run.least_radius) else None,
            **{key: None if cut is None else _tenth(cut) for key, cut in cuts.items()},
        }
    return {
        "line": run.line,
        "from": run.start,
        "to": run.end,
        "through": list(run.through),
        "carries": run.carries,
        "what": run.passing.name,
        **figures,
        "order": list(plan.order),
    }


def _tenth(value: float) -> float:
    return round(float(value), 1) + 0.0
