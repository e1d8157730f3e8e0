"""Inside the tubes: ways that are shut, runs that rattle, lines that cross."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

import numpy as np

from ropewalk.analysis.findings import Finding
from ropewalk.analysis.loops import Array
from ropewalk.bike.model import Bike
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.tube import Tube
from ropewalk.mechanics import curves
from ropewalk.routing.course import Loop, Way, Wrap
from ropewalk.routing.spans import PlacedLine
from ropewalk.units import degrees

#: steps along a path, and along what two lines share of a tube [mm]
_STEP, _SHARED = 2.0, 5.0
#: lines have to share this much of a tube to cross in it [mm]
_LEAST_SHARED = 20.0


def judge_way(line: PlacedLine, place: int, where: str) -> Iterator[Finding]:
    """Return the stop for an inside span that no way leads through."""
    shape, station = line.spans[place], line.route.line.station[line.route.spans[place].start]
    if isinstance(shape, Loop) or shape.reached:
        return
    reason = shape.reason or "the tubes are shut at their joints"
    yield Finding(
        "stop",
        where,
        f"no way leads inside from {station.name} through {', '.join(station.through)}: {reason}",
        shape.advice
        or "name the opening between them in the frame file (opening: which tubes, what size), if there is one",
    )


def straight_ahead(way: Way) -> Array:
    """Return the path of a span that is no loop, with the bars straight ahead (n, 3) [mm]."""
    return way.points(0.0) if isinstance(way, Wrap) else way.points


def judge_headset(line: PlacedLine, lock: float) -> Iterator[Finding]:
    """Return a look for a line beside the steerer that turning to the lock winds up tighter than its kink radius.

    Parameters
    ----------
    line : PlacedLine
    lock : float
        Largest steering angle to a side [rad].
    """
    route = line.route
    for span, shape in zip(route.spans, line.spans, strict=True):
        passing = route.housing_of(span) or route.liner
        if not isinstance(shape, Wrap) or not shape.reached or passing is None:
            continue
        kept = shape.lock_kept(float(passing.kink_radius), lock)
        least = min(kept)
        if least >= lock - 1e-9:
            continue
        side = "left" if kept[0] <= kept[1] else "right"
        yield Finding(
            "look",
            route.line.name,
            f"beside the steerer it is bent below its kink radius of {passing.kink_radius:.0f} mm "
            + (f"when the bars turn more than {degrees(least):.0f}° {side}" if least > 0.0 else "even straight ahead"),
            "fit a limiter that stops the bars before that, and write its angle as lock under chart",
            round(degrees(least), 1),
            round(degrees(lock), 1),
            "°",
        )


def judge_rattle(line: PlacedLine, catalogue: Catalogue) -> Iterator[Finding]:
    """Return a look for the longest inside run of housing that neither a sleeve nor a guide tube keeps quiet."""
    limit, route = float(catalogue.settings.findings.unsupported), line.route
    stations = route.line.station
    runs = [
        (shape.length, span)
        for span, shape in zip(route.spans, line.spans, strict=True)
        if span.kind == "inside"
        and span.covered
        and not isinstance(shape, Loop)
        and shape.reached
        and stations[span.start].sleeve is None
        and stations[span.start].arc is None
    ]
    length, span = max(runs, key=lambda run: run[0], default=(0.0, None))
    if span is None or length <= limit:
        return
    yield Finding(
        "look",
        route.line.name,
        f"inside from {stations[span.start].name} to {stations[span.end].name} {length:.0f} mm of it are held by "
        "nothing: it will rattle",
        "draw a sleeve over it (sleeve in the frame file), or lead it through a guide tube",
        round(length, 1),
        round(limit, 1),
        "mm",
    )


def judge_crossings(bike: Bike, lines: Sequence[PlacedLine]) -> Iterator[Finding]:
    """Return a look for every two lines that change sides within a tube, nearer to each other than both are thick.

    Notes
    -----
    Both follow their taut paths. Seen along the tube, the way from one to the other turns by more than a right angle
    between where they come together and where they part.
    """
    inside = [(line, name, path) for line in lines for name, path in _paths(bike, line)]
    for (first, one, path), (second, other, crossing) in itertools.combinations(inside, 2):
        if one != other or first is second:
            continue
        gap = _least_gap(path, crossing)
        limit = _thickness(first, one) + _thickness(second, one)
        if gap is None or gap >= limit:
            continue
        yield Finding(
            "look",
            f"{first.route.line.name} and {second.route.line.name}",
            f"they cross inside the {one}, {gap:.0f} mm from each other: they rub and rattle, and one holds the other "
            "when it is drawn",
            "change over their ports at one end, or thread them in the other order",
            round(gap, 1),
            round(limit, 1),
            "mm",
        )


def _paths(bike: Bike, line: PlacedLine) -> Iterator[tuple[str, Array]]:
    """Return a line's way through each tube it runs in: mm along the axis, and up and right of it, (n, 3)."""
    for span, shape in zip(line.route.spans, line.spans, strict=True):
        if span.kind != "inside" or isinstance(shape, Loop) or not shape.reached:
            continue
        points = curves.resample(straight_ahead(shape), max(int(shape.length / _STEP), 2))
        for name in line.route.line.station[span.start].through:
            own = _along_tube(bike.tubes[name], points)
            if len(own) > 1:
                yield name, own


def _along_tube(tube: Tube, points: Array) -> Array:
    axes = np.stack([tube.axis, tube.radial(12.0), tube.radial(3.0)])
    own = (points - tube.start) @ axes.T
    within = (own[:, 0] >= 0) & (own[:, 0] <= tube.length) & (np.hypot(own[:, 1], own[:, 2]) <= tube.diameter / 2 + 1)
    kept = own[within]
    return np.asarray(kept[np.argsort(kept[:, 0], kind="stable")])


def _least_gap(first: Array, second: Array) -> float | None:
    """Return how near two ways through a tube come if they change sides in it, or None."""
    low, high = max(first[0, 0], second[0, 0]), min(first[-1, 0], second[-1, 0])
    if high - low < _LEAST_SHARED:
        return None
    along = np.linspace(low, high, int((high - low) / _SHARED) + 2)
    gap = np.stack(
        [np.interp(along, second[:, 0], second[:, at]) - np.interp(along, first[:, 0], first[:, at]) for at in (1, 2)]
    )
    if float(gap[:, 0] @ gap[:, -1]) >= 0.0:
        return None
    # the nearest place lies on one of the straight parts between neighbouring samples
    start, step = gap[:, :-1], np.diff(gap, axis=1)
    share = np.clip(-(start * step).sum(axis=0) / np.maximum((step * step).sum(axis=0), 1e-12), 0.0, 1.0)
    return float(np.linalg.norm(start + share * step, axis=0).min())


def _thickness(line: PlacedLine, tube: str) -> float:
    """Return the diameter of what a line has inside a tube [mm]."""
    route = line.route
    for span in route.spans:
        if span.kind == "inside" and tube in route.line.station[span.start].through:
            passing = route.housing_of(span) or route.liner
            return float(passing.outside) if passing is not None else 0.0
    return 0.0
