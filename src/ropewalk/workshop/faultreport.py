"""The fault finder's answer for programs."""

from __future__ import annotations

import math
from typing import Any

from ropewalk.analysis.faultfinding import LineCheck
from ropewalk.analysis.faultfit import Interval
from ropewalk.units import degrees
from ropewalk.workshop.fault import FaultPlan


def fault_as_json_object(found: FaultPlan) -> dict[str, Any]:
    """Return the answer as an object of plain values, ready for JSON; forces in N, angles in degrees.

    Notes
    -----
    Keys, the same in every release of format 1; null stands for a figure that does not exist. An *interval* holds
    ``value``, ``low`` and ``high``, 0 at least: the true figure lies within 19 times in 20; ``high`` is null where the
    readings set no bound.

    - ``format`` (1), ``bike``, ``line``, ``work``, ``at`` (the pose it was read in: ``steer_deg``), ``turn_deg`` (of
      the wire between the scales), ``limits`` and ``cautions`` (lists of sentences).
    - ``readings``: ``lever_N`` and ``end_N`` (lists), ``scale_N`` (what the scale may be wrong by, 19 times in 20),
      ``part_moves_N``, ``part_returns_N`` (null where not read).
    - ``verdict``: wire, end, part, several, nothing or unclear; ``faults`` and ``suspects``: lists of wire, end, part.
    - ``wire``: ``state`` (sound, wire, end, wire and end, wire or end, unclear), ``hindrance`` (why the readings say no
      more: one load, near loads, coarse, between, scatter, odd drag, or null), ``loads`` (how many clearly different
      ones), ``friction_mu`` (interval; what the condition is told from), ``expected_mu`` (new, worn, corroded, each
      ``value`` and ``sigma``), ``looks_like`` (list of those), ``drag_N`` (interval, as felt at the far end; null with
      one load), ``known_drag_N`` (of known seals and adjusters), ``drag_if_new_N`` (what would explain the readings if
      the wire were like new).
    - ``part``: ``state`` (sound, sticks, weak, sticks and weak, sticks or weak, unclear), ``spring_N`` and ``stick_N``
      (intervals, or null unless both were read); null where nothing was read on it.
    - ``release``: ``state`` (releases, stops, unclear), ``arrives_N`` (interval), ``needed_N``, ``spring_N``,
      ``spring_read`` (whether it was read, or is the catalogue's least), ``reserve_mu`` (the friction at which it
      stops; null where none stops it); null where no spring or no need of the lever is known.
    - ``text``: ``verdict`` (a sentence or two), ``reasons``, ``next`` and ``how`` (lists of sentences).
    """
    diagnosis, readings = found.diagnosis, found.readings
    line, part, release = diagnosis.line, diagnosis.part, diagnosis.release
    return {
        "format": 1,
        "bike": found.bike,
        "line": found.line,
        "work": found.work,
        "at": {name: round(value, 1) + 0.0 for name, value in found.pose.items()},
        "turn_deg": round(degrees(line.turn), 1),
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
        "wire": _wire(line),
        "part": None
        if part is None
        else {"state": part.state, "spring_N": _interval(part.spring, 2), "stick_N": _interval(part.stick, 2)},
        "release": None
        if release is None
        else {
            "state": release.state,
            "arrives_N": _interval(release.arrives, 2),
            "needed_N": round(release.needed, 2),
            "spring_N": round(release.spring, 2),
            "spring_read": release.measured,
            "reserve_mu": _finite(release.reserve, 4),
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


def _wire(line: LineCheck) -> dict[str, Any]:
    return {
        "state": line.state,
        "hindrance": line.hindrance,
        "loads": len(line.fit.loads),
        "friction_mu": _interval(line.judged, 4),
        "expected_mu": {
            name: {"value": round(figure.value, 4), "sigma": round(figure.sigma, 4)}
            for name, figure in line.expected.items()
        },
        "looks_like": list(line.looks_like),
        "drag_N": _interval(line.fit.drag, 2),
        "known_drag_N": round(line.known_drag, 2),
        "drag_if_new_N": round(line.drag_if_new, 2),
    }


def _interval(figure: Interval | None, digits: int) -> dict[str, float | None] | None:
    if figure is None:
        return None
    return {name: _finite(getattr(figure.possible, name), digits) for name in ("value", "low", "high")}


def _finite(value: float, digits: int) -> float | None:
    return round(value, digits) + 0.0 if math.isfinite(value) else None
