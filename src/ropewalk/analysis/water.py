"""Water: low points of a line, where what has got in stands and rusts the inner."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ropewalk.analysis.findings import Finding, Grade
from ropewalk.analysis.insides import straight_ahead
from ropewalk.analysis.loopgrid import CURVE_POINTS
from ropewalk.analysis.loops import Array, LoopWindow
from ropewalk.bike.parts import Catalogue
from ropewalk.routing.course import Loop
from ropewalk.routing.spans import PlacedLine


@dataclass(frozen=True, slots=True)
class LowPoint:
    """A place where water stands: how deep [mm], and in which span."""

    depth: float
    span: int


def low_points(line: PlacedLine, loops: Mapping[int, LoopWindow]) -> tuple[LowPoint, ...]:
    """Return where water stands in a line straight ahead, housing at its target: the deepest place of each covered run.

    Depths up to the catalogue's limit are told too; a hose is closed and has none.
    """
    if line.route.line.work == "hose":
        return ()
    return tuple(low for run in _runs(line) for low in _low_points(line, run, loops))


def judge_water(line: PlacedLine, loops: Mapping[int, LoopWindow], catalogue: Catalogue) -> Iterator[Finding]:
    """Return what water stands in a line: its deepest low point.

    Notes
    -----
    Straight ahead, at target lengths. It is a look where bare inner leads water down into that housing from above, and
    a note elsewhere. A hose is full of its own fluid and closed.
    """
    route = line.route
    if route.line.work == "hose":
        return
    found = [(low, run) for run in _runs(line) for low in _low_points(line, run, loops)]
    limit = float(catalogue.settings.findings.low_point)
    if not found:
        return
    low, run = max(found, key=lambda one: one[0].depth)
    if low.depth <= limit:
        return
    stations, span = route.line.station, route.spans[low.span]
    led = _led_in(line, run)
    between = f"between {stations[span.start].name} and {stations[span.end].name}"
    text = f"water can stand {low.depth:.0f} mm deep in the {route.line.name} {between}"
    grade: Grade = "note" if led is None else "look"
    if led is None:
        advice = "grease or dry it out at every service; a line that only falls, or a low end that is open, drains"
    else:
        text += f"; bare inner leads it in from above at {stations[led].name}"
        advice = (
            "put a sealed end where the wire comes in, or lead the line so that it only falls or its low end is open"
        )
    yield Finding(grade, route.line.name, text, advice, round(low.depth, 1), round(limit, 1), "mm", alike=led is None)


def _runs(line: PlacedLine) -> list[tuple[int, ...]]:
    """Return the runs of spans through which housing or a liner goes on without a gap."""
    route = line.route
    lined = [(place,) for place, span in enumerate(route.spans) if span.kind == "inside" and not span.covered]
    return [piece.spans for piece in route.pieces] + lined


def _low_points(line: PlacedLine, run: Sequence[int], loops: Mapping[int, LoopWindow]) -> Iterator[LowPoint]:
    curves = [_points(line, span, loops) for span in run]
    if any(curve is None for curve in curves):
        return
    parts = [np.asarray(curve) for curve in curves]
    heights = np.concatenate([part[:, 1] for part in parts])
    spans = np.concatenate([np.full(len(part), span) for part, span in zip(parts, run, strict=True)])
    rise = np.minimum(np.maximum.accumulate(heights), np.maximum.accumulate(heights[::-1])[::-1]) - heights
    deepest = int(rise.argmax())
    if rise[deepest] > 0.0:
        yield LowPoint(float(rise[deepest]), int(spans[deepest]))


def _points(line: PlacedLine, place: int, loops: Mapping[int, LoopWindow]) -> Array | None:
    """Return the path of a span straight ahead (n, 3) [mm], or None where it has no shape."""
    shape = line.spans[place]
    if not isinstance(shape, Loop):
        return straight_ahead(shape) if shape.reached else None
    loop = loops[place]
    rods = loop.sweep[[loop.case.home]]
    return np.asarray(rods.points(CURVE_POINTS)[0]) if bool(rods.converged[0]) else None


def _led_in(line: PlacedLine, run: Sequence[int]) -> int | None:
    """Return the station at which bare inner comes down into a run, or None."""
    route = line.route
    for beside, at in ((run[0] - 1, route.spans[run[0]].start), (run[-1] + 1, route.spans[run[-1]].end)):
        if not 0 <= beside < len(route.spans) or route.spans[beside].kind != "bare":
            continue
        other = route.spans[beside].start if route.spans[beside].end == at else route.spans[beside].end
        if line.stations[other].place[1] > line.stations[at].place[1]:
            return at
    return None
