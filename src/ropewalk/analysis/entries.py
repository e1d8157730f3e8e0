"""Entries: whether a held or bare run meets its stops along their axes."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ropewalk.analysis.findings import Finding
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.vectors import Vector
from ropewalk.routing.course import Course
from ropewalk.routing.spans import PlacedLine
from ropewalk.units import degrees


def judge_entries(line: PlacedLine, catalogue: Catalogue) -> Iterator[Finding]:
    """Return a look for every stop that bare inner, or housing held to a tube, meets off its axis.

    Notes
    -----
    Loops meet their stops along the axis by themselves. What goes inside at a stop is left out: the lean of its port
    is judged there. A moving end's own bend is part of it and in the catalogue.
    """
    limit, route = float(catalogue.settings.findings.entry_angle), line.route
    stations = route.line.station
    for span, shape in zip(route.spans, line.spans, strict=True):
        if span.kind not in ("bare", "strapped") or not isinstance(shape, Course) or len(shape.points) < 2:
            continue
        legs = ((span.start, shape.points[1] - shape.points[0]), (span.end, shape.points[-1] - shape.points[-2]))
        for at, leg in legs:
            if stations[at].type != "stop" or stations[at].part is not None:
                continue
            angle = _angle(leg, line.onward[at])
            if not any(other.covered and at in (other.start, other.end) for other in route.spans):
                # no housing says which way round a stop with bare inner on both sides is
                angle = min(angle, math.pi - angle)
            if angle <= limit:
                continue
            what = "bare inner" if span.kind == "bare" else "housing held to its tube"
            yield Finding(
                "look",
                f"{route.line.name}, {stations[at].name}",
                f"{what} meets it {degrees(angle):.0f}° off its axis: it rubs on the rim and wears",
                "turn the stop (lean, skew), or move the station before or after it into line",
                round(degrees(angle), 1),
                round(degrees(limit), 1),
                "°",
            )


def _angle(first: Vector, second: Vector) -> float:
    size = math.sqrt(float(first @ first) * float(second @ second))
    return math.acos(max(-1.0, min(1.0, float(first @ second) / size))) if size > 0.0 else 0.0
