"""Inside spans: the taut path of a line through the bores of the tubes it runs in, or the guide tube that leads it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry import LineString, Point

from ropewalk.bike.model import Bike
from ropewalk.bike.tube import Tube
from ropewalk.mechanics import corridor, curves, rounding
from ropewalk.mechanics.corridor import TautPath
from ropewalk.routing import bores
from ropewalk.routing.course import Corner, Course, Points
from ropewalk.routing.insidecheck import tubes_through
from ropewalk.routing.lines import Route, Span
from ropewalk.routing.shut import why_no_way
from ropewalk.routing.sideways import PORT_PLAY, aside
from ropewalk.routing.stations import PlacedStation
from ropewalk.units import radians

#: a bend touches what is nearer to it than this [mm]
_TOUCH = 0.1


def inside_course(
    bike: Bike,
    route: Route,
    span: Span,
    ends: Sequence[PlacedStation],
    onward: Points,
    *,
    radii: bool = True,
) -> Course:
    """Return the course of an inside span.

    Parameters
    ----------
    bike : Bike
        The built bike.
    route : Route
        The line; its housing or liner sets the diameter.
    span : Span
        The inside span.
    ends : sequence of PlacedStation
        The stations it enters and leaves at.
    onward : (2, 3) array
        Directions of travel through them.
    radii : bool
        Whether its bends are wanted; their radii take twenty times as long as its length.

    Returns
    -------
    Course
        Its shortest length is the taut path in side view with the sideways offset between its ends counted in; not
        reached, with the reason, when a joint is shut or something stands in the way.

    Raises
    ------
    FrameFileError
        When it runs through a tube that the bike does not have.

    Notes
    -----
    The tubes are seen from the side; an obstacle is passed above or below, never beside it. A soft sleeve over the
    housing gives way and does not count. A station with arc and turn starts a formed guide tube of that length.
    """
    station = route.line.station[span.start]
    if station.arc is not None and station.turn_deg is not None:
        return _guide_tube(route, span, ends)
    tubes = tubes_through(bike, route.line, station)
    diameter, advised = thickness(route, span)
    room = bores.room(bike, tubes, diameter)
    first, last = ends[0].place, ends[1].place
    points = np.stack([first, last])
    if len(tubes) == 1 and (room.blocked is None or not shapely.intersects(room.blocked, LineString(points[:, :2]))):
        # a straight tube's bore is convex: the taut path is the straight line
        return _reached(ends[0].body, points, onward, (), _slack(span, tubes, diameter, advised, points))
    free, path = taut(room, first, last, _stand_off(route, span))
    if not path.reached:
        reason, advice = why_no_way(bike, room, (first, last), _stand_off(route, span))
        return Course(
            ends[0].body, points, math.dist(first, last), 0.0, 0.0, math.inf, False, reason=reason, advice=advice
        )
    points = aside(room, path.points, float(first[2]), float(last[2]))
    corners = bends(room, free, path, points, radii=radii)
    return _reached(ends[0].body, points, onward, corners, _slack(span, tubes, diameter, advised, points))


def taut(room: bores.Room, first: Points, last: Points, stand_off: float) -> tuple[corridor.Corridor, TautPath]:
    """Return the free room with its ports and the taut path in it."""
    reach = max(room.tubes[0].wall, room.tubes[-1].wall) + room.diameter / 2 + stand_off
    free = corridor.with_ends(room.free, (first[:2], last[:2]), reach, room.blocked)
    return free, corridor.taut_path(free, first[:2], last[:2])


def _stand_off(route: Route, span: Span) -> float:
    """Return how far the ends of a span may stand off their tubes' walls [mm]."""
    heights = (route.line.station[place].height for place in (span.start, span.end))
    return max(0.0 if height is None else float(height) for height in heights) + PORT_PLAY


def _guide_tube(route: Route, span: Span, ends: Sequence[PlacedStation]) -> Course:
    """Return the course of a formed guide tube: its own length, turn and radius."""
    station = route.line.station[span.start]
    assert station.arc is not None
    assert station.turn_deg is not None
    turn = radians(station.turn_deg)
    radius = float(station.radius) if station.radius is not None else station.arc / turn if turn > 0 else math.inf
    points = np.stack([ends[0].place, ends[1].place])
    corner = Corner(points.mean(axis=0), radius, turn, "the guide tube")
    corners = (corner,) if turn > 0 else ()
    return Course(ends[0].body, points, float(station.arc), 0.0, turn, radius, corners=corners)


def _reached(body: str, points: Points, onward: Points, corners: tuple[Corner, ...], slack: float) -> Course:
    """Return the course along a path, its turns at both ends counted in."""
    with_ends = np.concatenate([[points[0] - onward[0]], points, [points[-1] + onward[1]]])
    return Course(
        body,
        points,
        float(curves.arc_length(points)),
        slack,
        float(curves.turn(with_ends)),
        min((corner.radius for corner in corners), default=math.inf),
        corners=corners,
    )


def _slack(span: Span, tubes: Sequence[Tube], diameter: float, advised: float, points: Points) -> float:
    """Return the most extra length housing can take between the walls; a wire in its liner stays taut."""
    if not span.covered:
        return 0.0
    return slack_in(tubes, diameter, advised, points)


def slack_in(tubes: Sequence[Tube], diameter: float, advised: float, points: Points) -> float:
    """Return the most extra length of a path that housing of an advised radius hides between the walls [mm]."""
    free_width = min(tube.diameter - 2 * tube.wall for tube in tubes if not bores.across(tube))
    return rounding.wall_to_wall_extra(free_width, diameter, advised, float(curves.arc_length(points)))


def thickness(route: Route, span: Span) -> tuple[float, float]:
    """Return the diameter of what lies inside and its advised radius [mm]."""
    housing = route.housing_of(span)
    if housing is not None:
        return float(housing.outside), float(housing.advised_radius)
    assert route.liner is not None
    return float(route.liner.outside), float(route.liner.advised_radius)


def bends(
    room: bores.Room, free: corridor.Corridor, path: TautPath, points: Points, *, radii: bool
) -> tuple[Corner, ...]:
    """Return the bends of a path between its ends if asked for; that at the lip of a port belongs to the port."""
    if not radii:
        return ()
    walls = shapely.get_coordinates(room.free)
    found = []
    for place, corner in enumerate(path.corners):
        vertices = path.points[corner.first : corner.last + 1]
        middle = vertices[len(vertices) // 2]
        if np.hypot(*(walls - middle).T).min() > 1e-6:
            continue
        radius = rounding.largest_corner_radius(free, path, place)
        # as good as straight
        radius = radius if radius < 0.99 * rounding.LARGEST_RADIUS else math.inf
        side = points[int(np.hypot(*(points[:, :2] - middle).T).argmin()), 2]
        found.append(Corner(np.array([*middle, side]), radius, abs(corner.turn), _bent_round(room, middle)))
    return tuple(found)


def _bent_round(room: bores.Room, place: Points) -> str:
    """Return what a path bends round at a place in side view, in words."""
    spot, touching = Point(place), room.diameter / 2 + _TOUCH
    standing = [(float(shapely.distance(thing.core, spot)) - thing.half, thing.name) for thing in room.standing]
    nearest = min(standing, default=(math.inf, ""))
    if nearest[0] <= touching:
        return f"the {nearest[1]}"
    pairs = list(pairwise(room.tubes))
    if not pairs:
        return f"the wall of the {room.tubes[0].name}"

    def far(pair: tuple[Tube, Tube]) -> float:
        off = sum(float(shapely.distance(tube.bore(), spot)) for tube in pair)
        return math.dist(bores.meeting(*pair), place) + off

    first, second = min(pairs, key=far)
    return f"the joint of {first.name} and {second.name}"
