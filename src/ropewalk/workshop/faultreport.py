"""The fault finder's answer for programs."""

from __future__ import annotations

import math
from typing import Any

from ropewalk.analysis.faultfit import Interval
from ropewalk.units import degrees
from ropewalk.workshop.fault import FaultPlan


def fault_as_json_object(found: FaultPlan) -> dict[str, Any]:
    """Return the answer as an object of plain values, its keys stable between releases.

    Notes
    -----
    - ``format`` (1), ``bike``, ``line``, ``work``, ``at`` (the pose in words), ``turn_deg`` between the scales;
    - ``readings``: ``lever_N``, ``end_N`` (lists), ``scale_N``, ``part_moves_N``, ``part_returns_N`` (null: not read);
    - ``verdict`` (wire, end, part, several, nothing or unclear), ``faults``, ``suspects`` (lists of wire, end, part);
    - ``friction_mu`` and ``drag_N`` (null with one load): ``value``, ``low``, ``high``: a 95 % interval, its ends null
      where the readings set no bound;
    - ``expected_mu``: ``value`` and ``sigma`` for new, worn and corroded; ``looks_like`` (list of those);
    - ``part``: ``state``, ``spring_N``, ``stick_N`` (intervals or null); null where nothing was read on it;
    - ``release``: ``state`` (releases, stops, unclear), ``reserve_mu``, ``arrives_N``, ``needed_N``, ``spring_N``,
      ``measured``; null where no spring or no need of the lever is known;
    - ``text``: ``verdict``, ``reasons``, ``next``, ``how``; ``limits`` and ``cautions`` (lists of sentences).
    """
    diagnosis, readings = found.diagnosis, found.readings
    line, part, release = diagnosis.line, diagnosis.part, diagnosis.release
    return {
        "format": 1,
        "bike": found.bike,
        "line": found.line,
        "work": found.work,
        "at": found.pose,
        "turn_deg": round(degrees(found.turn), 1),
        "readings": {
            "lever_N": list(readings.lever),
            "end_N": list(readings.end),
            "scale_N": readings.scale,
            "part_moves_N": readings.part_moves,
            "part_returns_N": readings.part_returns,
        },
        "verdict": diagnosis.verdict,
        "faults": list(diagnosis.faults),
        "suspects": list(diagnosis.suspects),
        "friction_mu": _interval(line.judged, 4),
        "drag_N": _interval(line.fit.drag, 2),
        "expected_mu": {
            name: {"value": round(figure.value, 4), "sigma": round(figure.sigma, 4)}
            for name, figure in line.expected.items()
        },
        "looks_like": list(line.looks_like),
        "part": None
        if part is None
        else {"state": part.state, "spring_N": _interval(part.spring, 2), "stick_N": _interval(part.stick, 2)},
        "release": None
        if release is None
        else {
            "state": release.state,
            "reserve_mu": _finite(release.reserve, 4),
            "arrives_N": round(release.arrives, 2),
            "needed_N": round(release.needed, 2),
            "spring_N": round(release.spring, 2),
            "measured": release.measured,
        },
        "text": {
            "verdict": found.verdict,
            "reasons": list(found.reasons),
            "next": list(found.following),
            "how": list(found.how),
        },
        "limits": list(found.limits),
        "cautions": list(found.cautions),
    }


def _interval(figure: Interval | None, digits: int) -> dict[str, float | None] | None:
    if figure is None:
        return None
    return {name: _finite(getattr(figure, name), digits) for name in ("value", "low", "high")}


def _finite(value: float, digits: int) -> float | None:
    return round(value, digits) if math.isfinite(value) else None
