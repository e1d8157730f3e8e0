"""Ways beside the steerer: from a port that turns with the bars or one of the head tube, out into the frame's tubes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ropewalk.bike.model import Bike
from ropewalk.bike.station import Station
from ropewalk.bike.tube import Tube
from ropewalk.mechanics import rounding
from ropewalk.mechanics.corridor import TautPath
from ropewalk.routing import bores
from ropewalk.routing.course import Corner, Course, Points, Vector, Wrap
from ropewalk.routing.inside import bends, slack_in, taut, thickness
from ropewalk.routing.insidecheck import tubes_through
from ropewalk.routing.lines import Route, Span
from ropewalk.routing.shut import why_no_way
from ropewalk.routing.sideways import PORT_PLAY, aside
from ropewalk.routing.stations import PlacedStation

#: how far beside the steerer the search for the opening starts [mm]
_BESIDE = 0.01
#: steering angle to a side over which the least radius is told when the chart gives no lock [rad]
_ASSUMED_LOCK = math.radians(90.0)


def turns_with_bars(bike: Bike, station: Station, ends: Sequence[PlacedStation]) -> bool:
    """Tell whether a span runs from a port that turns with the steerer through the head tube into the frame."""
    if not station.through or station.through[0] != "head tube" or len(station.through) < 2:
        return False
    head, moves = bike.tubes["head tube"].body, bike.mechanism.moves_between
    return moves(ends[0].body, head) and not moves(ends[0].body, "fork") and not moves(ends[1].body, head)


def starts_beside_steerer(bike: Bike, station: Station) -> bool:
    """Tell whether a span runs from a port of the head tube past the steerer into another tube."""
    if len(station.through) < 2 or station.through[0] != "head tube" or station.arc is not None:
        return False
    return "steerer" in bike.tubes


def head_tube_course(
    bike: Bike, route: Route, span: Span, ends: Sequence[PlacedStation], onward: Points, *, radii: bool = True
) -> Course:
    """Return the course of a span from a port of the head tube round the steerer into another tube.

    Parameters and notes as for `headset_wrap`; nothing turns here.
    """
    wrap = headset_wrap(bike, route, span, ends, onward, radii=radii)
    points = wrap.points(0.0)
    if not wrap.reached:
        points = np.stack([ends[0].place, ends[1].place])
        length = math.dist(*points)
        return Course(ends[1].body, points, length, 0.0, 0.0, math.inf, False, wrap.reason, wrap.advice)
    still = wrap.at(0.0)
    return Course(
        ends[1].body,
        points,
        float(still.length[0]),
        wrap.slack,
        float(still.turn[0]),
        float(still.radius[0]),
        corners=wrap.corners,
    )


def headset_wrap(
    bike: Bike, route: Route, span: Span, ends: Sequence[PlacedStation], onward: Points, *, radii: bool = True
) -> Wrap:
    """Return a span wound about the steerer.

    Parameters
    ----------
    bike, route, span
        The bike, the line and its inside span through the head tube.
    ends : sequence of PlacedStation
        The port on stem, steerer or upper cup, and the port of the frame.
    onward : (2, 3) array
        Directions of travel through them.
    radii : bool
        Whether its bends from the opening on are wanted.

    Returns
    -------
    Wrap
        Not reached, with the reason, when the gap beside the steerer or the opening is too small.

    Raises
    ------
    FrameFileError
        When a tube is unknown.

    Notes
    -----
    A port above the head tube that is wider than its bore leads to the bore's edge first, on the side where it is; one
    in the head tube's wall leads straight in. From there the line takes the shortest way beside the steerer to the edge
    of the opening, as side view gives it, and on as any inside span. Straight ahead it passes the steerer on the nearer
    side and stays on that side; bearings are not modelled.
    """
    station = route.line.station[span.start]
    tubes = tubes_through(bike, route.line, station)
    diameter, advised = thickness(route, span)
    entry = _entry(bike, tubes[0], ends[0].place, diameter)
    height = float(route.line.station[span.end].height or 0.0)
    way = _way_out(bike, entry, tubes, ends[1].place, diameter, height, radii=radii)
    lead_out, slack = way.points, 0.0
    if span.covered and not way.reason:
        slack = slack_in(tubes[1:], diameter, advised, lead_out)
        slack += rounding.wall_to_wall_extra(entry.gap, diameter, advised, math.dist(entry.lead_in[-1], lead_out[0]))
    made = Wrap(
        start_body=ends[0].body,
        end_body=ends[1].body,
        axis_point=entry.top,
        axis=entry.axis,
        forward=entry.forward,
        radius=entry.radius,
        lead_in=entry.lead_in,
        lead_out=lead_out,
        start_onward=onward[0],
        end_onward=onward[1],
        angle=_angle_between(entry, lead_out[0], lead_out[-1]),
        corners=way.corners,
        slack=slack,
        least_radius=math.inf,
        reached=not way.reason,
        reason=way.reason,
        advice=way.advice,
    )
    swept = np.linspace(-1.0, 1.0, 37) * _lock(bike)
    return replace(made, least_radius=float(made.at(swept).radius.min()))


@dataclass(frozen=True, slots=True)
class _Entry:
    """Where a line comes down beside the steerer; places and directions as in `Wrap`, the gap's width [mm]."""

    top: Vector
    axis: Vector
    forward: Vector
    radius: float
    gap: float
    lead_in: Points


@dataclass(frozen=True, slots=True)
class _Way:
    """From the opening on: points (n, 3), bends, and why there is no way."""

    points: Points
    corners: tuple[Corner, ...] = ()
    reason: str = ""
    advice: str = ""


def _entry(bike: Bike, head: Tube, port: Vector, diameter: float) -> _Entry:
    """Return how a port leads beside the steerer, from above by the edge of the bore if it is wider."""
    axis, steerer = bike.skeleton.steering_axis, bike.tubes["steerer"]
    bore, radius = head.diameter / 2 - head.wall, steerer.diameter / 2 + diameter / 2
    top = head.start if float((head.end - head.start) @ axis) > 0 else head.end
    down = float((port - top) @ axis)
    square = port - top - down * axis
    far, limit = math.sqrt(float(square @ square)), max(bore - diameter / 2, radius)
    within = far <= limit or down > 0.0
    lead_in = port[None, :] if within else np.stack([port, top + limit / far * square])
    return _Entry(top, axis, bike.skeleton.steering_square, radius, bore - steerer.diameter / 2, lead_in)


def _way_out(
    bike: Bike, entry: _Entry, tubes: Sequence[Tube], last: Vector, diameter: float, height: float, *, radii: bool
) -> _Way:
    """Return the way from the opening of the head tube to a port."""
    head, steerer = tubes[0], bike.tubes["steerer"]
    if entry.gap < diameter:
        reason = (
            f"the gap between steerer ({steerer.diameter:.1f} mm) and head tube "
            f"({head.diameter - 2 * head.wall:.1f} mm inside) is {entry.gap:.1f} mm wide: "
            f"too narrow for a line {diameter:.1f} mm thick"
        )
        return _Way(last[None, :], (), reason, "lead the line another way, or choose a thinner one")
    room = bores.room(bike, tubes, diameter)
    start = _beside(tubes, entry)
    free, path = taut(room, start, last, height + PORT_PLAY)
    if not path.reached:
        return _Way(last[None, :], (), *why_no_way(bike, room, (start, last), height + PORT_PLAY))
    flat = _from_opening(path, head, entry)
    points = aside(room, flat, _through_opening(bike, tubes, last, diameter), float(last[2]))
    return _Way(points, bends(room, free, path, points, radii=radii))


def _lock(bike: Bike) -> float:
    given = bike.frame.chart.lock_deg
    return _ASSUMED_LOCK if given is None else math.radians(given)


def _beside(tubes: Sequence[Tube], entry: _Entry) -> Vector:
    """Return where the side view's path starts: beside the steerer on the side of the next tube, where the line enters.

    No higher than the head tube's upper end, where the room ends.
    """
    down = max(float((entry.lead_in[-1] - entry.top) @ entry.axis), 0.0)
    other = (tubes[1].start + tubes[1].end) / 2 - entry.top
    side = math.copysign(1.0, float(other @ entry.forward))
    return np.asarray(entry.top + (down + _BESIDE) * entry.axis + side * (entry.radius + _BESIDE) * entry.forward)


def _from_opening(path: TautPath, head: Tube, entry: _Entry) -> Points:
    """Return a path in side view from the opening of the head tube on: from its bend there, if it has one."""
    points = path.points
    off = np.abs((points - entry.top[:2]) @ entry.forward[:2])
    bore = head.diameter / 2 - head.wall
    out = next((place for place in range(1, len(points)) if off[place] > bore), len(points) - 1)
    for corner in path.corners:
        if corner.first <= out <= corner.last + 1:
            middle = (corner.first + corner.last) // 2
            return points[middle:]
    share = (bore - off[out - 1]) / max(off[out] - off[out - 1], 1e-9)
    crossing = points[out - 1] + min(max(share, 0.0), 1.0) * (points[out] - points[out - 1])
    return np.concatenate([crossing[None, :], points[out:]])


def _through_opening(bike: Bike, tubes: Sequence[Tube], last: Vector, diameter: float) -> float:
    """Return how far aside the line passes the opening: as near to its other port as the opening lets it."""
    opening = bores.opening_between(bike, tubes[0].name, tubes[1].name)
    width = tubes[1].diameter - 2 * tubes[1].wall
    half = (min(float(opening.size) if opening else width, width) - diameter) / 2
    return float(np.clip(last[2], -half, half))


def _angle_between(entry: _Entry, exit_: Vector, last: Vector) -> float:
    """Return the angle about the axis from the line's entry to its exit [rad], the shorter way round.

    From opposite sides, it goes round on the side of the last port.
    """
    right = np.cross(entry.axis, entry.forward)
    off = np.stack([entry.lead_in[-1], exit_]) - entry.top
    bearings = np.arctan2(off @ right, off @ entry.forward)
    angle = float((bearings[1] - bearings[0] + math.pi) % (2.0 * math.pi) - math.pi)
    if math.pi - abs(angle) > 1e-6:
        return angle
    return math.copysign(math.pi, float(last @ right))
