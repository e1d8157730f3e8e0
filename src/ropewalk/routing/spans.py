"""Spans on a built bike: loops as clamps on their two bodies, everything else as a course of known length."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ropewalk.bike.bars import BarCurve
from ropewalk.bike.framefile import Line
from ropewalk.bike.model import Bike
from ropewalk.bike.station import Station
from ropewalk.errors import FrameFileError
from ropewalk.mechanics import curves
from ropewalk.routing.course import Course, Loop, Points, Wrap
from ropewalk.routing.headset import head_tube_course, headset_wrap, starts_beside_steerer, turns_with_bars
from ropewalk.routing.inside import inside_course
from ropewalk.routing.insidecheck import check_inside
from ropewalk.routing.lines import Piece, Route
from ropewalk.routing.stations import PlacedStation, Vector, place_station, where
from ropewalk.units import clock_angle, radians

#: points along a strapped run on the bar, per mm
_STRAPPED_STEP = 3.0
#: one hour on the clock [rad]
_HOUR = clock_angle(1.0)


@dataclass(frozen=True, slots=True)
class PlacedLine:
    """A route on a built bike.

    Attributes
    ----------
    route : Route
    stations : tuple of PlacedStation
    onward : (n, 3) array
        Unit direction of travel through each station, from lever to work, in its body's axes.
    spans : tuple of Loop, Course or Wrap
    """

    route: Route
    stations: tuple[PlacedStation, ...]
    onward: Points
    spans: tuple[Loop | Course | Wrap, ...]


def place_line(bike: Bike, route: Route, *, beyond: float = 0.0) -> PlacedLine:
    """Place a route's stations on a bike and work out its spans.

    Parameters
    ----------
    bike : Bike
        The built bike; its frame's own line gives the figures of the stations.
    route : Route
        The line, taken apart.
    beyond : float
        How far a station may lie past its tube's or bar's end [mm]: 0 for what people write, some for a bike whose
        figures are moved by their errors.

    Raises
    ------
    FrameFileError
        When a station cannot be placed, or a span cannot run between its stations.
    """
    line = bike.frame.line[route.place]
    stations = tuple(place_station(bike, line, station, route.side, beyond) for station in line.station)
    onward = np.stack([onward_through(line, place, placed) for place, placed in enumerate(stations)])
    for span in route.spans:
        if span.kind == "inside" and beyond == 0.0:
            check_inside(bike, route, span, (stations[span.start], stations[span.end]), onward[[span.start, span.end]])
    spans = tuple(shape_span(bike, route, place, stations, onward) for place in range(len(route.spans)))
    return PlacedLine(route, stations, onward, spans)


def shape_span(
    bike: Bike,
    route: Route,
    place: int,
    stations: Sequence[PlacedStation],
    onward: Points,
    *,
    radii: bool = True,
) -> Loop | Course | Wrap:
    """Return what one span of a route is between its placed stations.

    Parameters
    ----------
    bike : Bike
    route : Route
    place : int
        Which of its spans.
    stations : sequence of PlacedStation
        All stations of the line.
    onward : (n, 3) array
        Directions of travel through them.
    radii : bool
        Whether the bends of an inside span are wanted: their radii take far longer than its length.

    Raises
    ------
    FrameFileError
        When it cannot run between its stations.
    """
    span, station = route.spans[place], bike.frame.line[route.place].station[route.spans[place].start]
    ends = (stations[span.start], stations[span.end])
    if span.kind == "loop":
        return _loop(route, span.start, stations, onward)
    if span.kind == "inside" and turns_with_bars(bike, station, ends):
        return headset_wrap(bike, route, span, ends, onward[[span.start, span.end]], radii=radii)
    if _moves(bike, ends[0].body, ends[1].body):
        raise FrameFileError(_torn(route, span.start, span.kind))
    if span.kind == "strapped":
        return _strapped(bike, route, span.start, stations)
    if span.kind == "rigid":
        return _rigid(station, ends)
    if span.kind == "inside" and starts_beside_steerer(bike, station):
        return head_tube_course(bike, route, span, ends, onward[[span.start, span.end]], radii=radii)
    if span.kind == "inside":
        return inside_course(bike, route, span, ends, onward[[span.start, span.end]], radii=radii)
    return _bare(route, span.start, stations, onward)


def spans_about(route: Route, station: int) -> list[int]:
    """Return the spans that change when a station moves: those beside it, and those of a bare run through it."""
    touched = set()
    for place, span in enumerate(route.spans):
        first, last = (span.start, span.end) if span.kind != "bare" else _bare_run(route, span.start)
        if first <= station <= last:
            touched.add(place)
    return sorted(touched)


def _moves(bike: Bike, first: str, second: str) -> bool:
    return bike.mechanism.moves_between(first, second)


def _torn(route: Route, start: int, kind: str) -> str:
    first, second = route.line.station[start], route.line.station[start + 1]
    what = "bare inner" if kind == "bare" else f"a span that is {kind}"
    return (
        f'{where(route.line, first)}: {what} cannot run to "{second.name}": the two move against each other; '
        "let housing bridge them with a loop"
    )


def onward_through(line: Line, place: int, placed: PlacedStation) -> Vector:
    """Return the direction of travel (3,) through a station of a line, from the direction it is described by."""
    station, direction = line.station[place], placed.direction
    before = line.station[place - 1] if place else None
    if station.type in ("lever", "clip", "guide"):
        return direction
    if station.type == "port":
        return -direction if station.then == "inside" else direction
    arrives = before is not None and is_covered(before)
    leaves = is_covered(station)
    return -direction if arrives and not leaves else direction


def is_covered(station: Station) -> bool:
    """Return whether housing runs from this station to the next."""
    return station.then in ("loop", "strapped") or (station.then == "inside" and station.carries == "housing")


def seat_depths(route: Route) -> dict[tuple[int, int], float]:
    """Return how far the mouth lies from the seat [mm] by (station, side): side 1 leaving, -1 arriving."""
    depths: dict[tuple[int, int], float] = {}
    for piece in route.pieces:
        depths[piece.start, 1] = piece.start_ferrule.floor + piece.start_ferrule.insertion
        depths[piece.end, -1] = piece.end_ferrule.floor + piece.end_ferrule.insertion
    return depths


def _loop(route: Route, start: int, stations: Sequence[PlacedStation], onward: Points) -> Loop:
    depths = seat_depths(route)
    end = start + 1
    return Loop(
        stations[start].body,
        stations[end].body,
        stations[start].place + depths.get((start, 1), 0.0) * onward[start],
        onward[start],
        stations[end].place - depths.get((end, -1), 0.0) * onward[end],
        onward[end],
    )


def _course(body: str, points: Points, *, slack: float = 0.0) -> Course:
    return Course(
        body,
        points,
        float(curves.arc_length(points)),
        slack,
        float(curves.turn(points)),
        float(curves.least_radius(points)) if len(points) > 2 else math.inf,
    )


def _strapped(bike: Bike, route: Route, start: int, stations: Sequence[PlacedStation]) -> Course:
    """Return the course of housing held to a tube (straight) or to the bar (along its curve)."""
    ends = (stations[start], stations[start + 1])
    depths = seat_depths(route)
    depth = (depths.get((start, 1), 0.0), depths.get((start + 1, -1), 0.0))
    descriptions = route.line.station[start : start + 2]
    lever = next(lever for lever in bike.frame.lever if lever.name == route.line.lever)
    first, last = (lever.on if station.type == "lever" else str(station.on) for station in descriptions)
    curve = bike.curve(first, route.side)
    if curve is not None and first == last:
        return _along_bar(curve, bike.skeleton.bar_clamp, ends, depth)
    if "extension" in (first, last):
        raise FrameFileError(
            f'{where(route.line, descriptions[0])}: strapped housing cannot run to "{descriptions[1].name}": one is '
            f"on the {first}, the other on the {last}; clip it where it leaves the extension, and go on with a loop"
        )
    gap = ends[1].place - ends[0].place
    length = math.sqrt(float(gap @ gap))
    if length <= sum(depth):
        raise FrameFileError(
            f'{where(route.line, descriptions[0])}: "{descriptions[1].name}" is {length:.0f} mm away: '
            "too near for the ferrules between them"
        )
    unit = gap / length
    return _course(ends[0].body, np.stack([ends[0].place + depth[0] * unit, ends[1].place - depth[1] * unit]))


def _along_bar(curve: BarCurve, origin: Vector, ends: Sequence[PlacedStation], depth: tuple[float, float]) -> Course:
    """Return the course along a bar or extension, winding from where it leaves the lever to where it leaves that.

    What starts or ends within the tube has no clear place round it: the nearer to its axis, the more it goes straight
    there instead of winding, so that no small change makes it jump.
    """
    first = curve.locate(ends[0].place + depth[0] * ends[0].direction - origin)
    # a stop's direction is that of the housing from its seat, back the way it comes
    last = curve.locate(ends[1].place + depth[1] * ends[1].direction - origin)
    share = np.linspace(0.0, 1.0, max(int(abs(last[0] - first[0]) / _STRAPPED_STEP), 8) + 1)
    swing = (last[1] - first[1] + 6.0) % 12.0 - 6.0
    angle = (first[1] + share * swing) * _HOUR
    wound = (first[2] + share * (last[2] - first[2])) * np.exp(1j * angle)
    ends_off = [off * np.exp(1j * clock * _HOUR) for _, clock, off in (first, last)]
    straight = (1.0 - share) * ends_off[0] + share * ends_off[1]
    on_wall = min(first[2], last[2], curve.diameter / 2.0) / (curve.diameter / 2.0)
    weight = on_wall * on_wall * (3.0 - 2.0 * on_wall)
    off = weight * wound + (1.0 - weight) * straight
    points = curve.beside(first[0] + share * (last[0] - first[0]), np.angle(off) / _HOUR, np.abs(off))
    return _course(ends[0].body, points + origin)


def _rigid(station: Station, ends: Sequence[PlacedStation]) -> Course:
    assert station.arc is not None and station.turn_deg is not None
    turn = radians(station.turn_deg)
    radius = float(station.radius) if station.radius is not None else station.arc / turn if turn > 0 else math.inf
    points = np.stack([ends[0].place, ends[1].place])
    return Course(ends[0].body, points, float(station.arc), 0.0, turn, radius)


def _bare(route: Route, start: int, stations: Sequence[PlacedStation], onward: Points) -> Course:
    """Return the course of one bare span: straight, with half of the bend over a guide at either end.

    The guide's station is where the middle of the bend touches it, so the corner of the two straight parts lies
    beyond it by R (1/cos(turn/2) - 1); the corners are found by going round until they stand still.
    """
    first, last = _bare_run(route, start)
    places = np.stack([stations[place].place for place in range(first, last + 1)])
    for place in range(first, last):
        if np.array_equal(stations[place].place, stations[place + 1].place):
            raise FrameFileError(
                f"{where(route.line, route.line.station[place + 1])}: it lies in the same place as "
                f'"{stations[place].name}": measure both again'
            )
    corners, turns = _corners(route, first, last, places)
    here = start - first
    radii = [_guide_radius(route, first + place) for place in (here, here + 1)]
    trims = [radius * math.tan(turns[place] / 2) for radius, place in zip(radii, (here, here + 1), strict=True)]
    gap = corners[here + 1] - corners[here]
    straight = math.sqrt(float(gap @ gap)) - sum(trims)
    if straight < 0:
        raise FrameFileError(
            f"{where(route.line, route.line.station[start])}: the bends over its guides overlap: make radius smaller"
        )
    arcs = sum(radius * turns[place] / 2 for radius, place in zip(radii, (here, here + 1), strict=True))
    unit = gap / math.sqrt(float(gap @ gap))
    ends = turns[here + 1] if start + 1 < last else _angle(onward[last], unit) if _seated(route, last) else 0.0
    begins = _angle(onward[first], unit) if start == first and _seated(route, first) else 0.0
    points = np.concatenate(
        [
            _bend(corners, here, radii[0], np.linspace(0.0, 0.5, 7)),
            _bend(corners, here + 1, radii[1], np.linspace(-0.5, 0.0, 7)),
        ]
    )
    least = min((radius for radius in radii if radius > 0), default=math.inf)
    return Course(stations[start].body, points, straight + arcs, 0.0, begins + ends, least)


def _bend(corners: Points, place: int, radius: float, shares: Points) -> Points:
    """Return points of the bend at a corner, at shares of its turn from its middle; the corner itself where none is."""
    if radius == 0.0:
        return corners[[place]]
    arriving, leaving = corners[place] - corners[place - 1], corners[place + 1] - corners[place]
    arriving = arriving / math.sqrt(float(arriving @ arriving))
    leaving = leaving / math.sqrt(float(leaving @ leaving))
    turn, inward, along = _angle(arriving, leaving), leaving - arriving, leaving + arriving
    size = math.sqrt(float(inward @ inward))
    if size < 1e-9 or turn > math.pi - 1e-6:
        return corners[[place]]
    inward, along = inward / size, along / math.sqrt(float(along @ along))
    centre = corners[place] + inward * radius / math.cos(turn / 2)
    angle = shares[:, np.newaxis] * turn
    return np.asarray(centre + radius * (np.sin(angle) * along - np.cos(angle) * inward))


def _bare_run(route: Route, start: int) -> tuple[int, int]:
    first, last = start, start + 1
    while route.line.station[first].type == "guide":
        first -= 1
    while route.line.station[last].type == "guide":
        last += 1
    return first, last


def _guide_radius(route: Route, place: int) -> float:
    station = route.line.station[place]
    return float(station.radius) if station.type == "guide" and station.radius is not None else 0.0


def _seated(route: Route, place: int) -> bool:
    """Return whether a wire bends about the axis of this station; the moving end's own turn is in the catalogue."""
    return route.line.station[place].type in ("stop", "lever", "port")


def _corners(route: Route, first: int, last: int, places: Points) -> tuple[Points, list[float]]:
    corners, turns = places.copy(), [0.0] * len(places)
    for _ in range(40):
        before = corners.copy()
        for place in range(1, len(places) - 1):
            arriving = corners[place] - corners[place - 1]
            leaving = corners[place + 1] - corners[place]
            arriving = arriving / math.sqrt(float(arriving @ arriving))
            leaving = leaving / math.sqrt(float(leaving @ leaving))
            turns[place] = _angle(arriving, leaving)
            inward = leaving - arriving
            size = math.sqrt(float(inward @ inward))
            if size < 1e-12:
                corners[place] = places[place]
                continue
            beyond = _guide_radius(route, first + place) * (1.0 / math.cos(turns[place] / 2) - 1.0)
            corners[place] = places[place] - beyond * inward / size
        if float(np.abs(corners - before).max()) < 1e-9:
            return corners, turns
    raise FrameFileError(
        f"{where(route.line, route.line.station[first])}: the bare inner finds no way round its guides: "
        "measure their places again, or make radius smaller"
    )


def _angle(first: Vector, second: Vector) -> float:
    (a, b, c), (x, y, z) = first.tolist(), second.tolist()
    return math.atan2(math.hypot(b * z - c * y, c * x - a * z, a * y - b * x), a * x + b * y + c * z)


def fixed_terms(piece: Piece) -> tuple[tuple[str, float], ...]:
    """Return what a piece's ends add to its length between the mouths: label and mm."""
    return (
        ("in the ferrule at its start", float(piece.start_ferrule.insertion)),
        ("in the ferrule at its end", float(piece.end_ferrule.insertion)),
    )
