"""Inside spans: the taut path of a line through the bores of the tubes it runs in."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely import Geometry
from shapely.geometry import Point, Polygon

from ropewalk.bike.model import Bike
from ropewalk.bike.tubes import Tube
from ropewalk.errors import FrameFileError
from ropewalk.mechanics import corridor, curves, rounding
from ropewalk.routing.course import Course, Points
from ropewalk.routing.lines import Route, Span
from ropewalk.routing.stations import PlacedStation, where


def inside_course(bike: Bike, route: Route, span: Span, ends: Sequence[PlacedStation], onward: Points) -> Course:
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

    Returns
    -------
    Course
        Its shortest length is the taut path in side view with the sideways offset between its ends counted in; not
        reached when the tubes are not joined by openings.

    Raises
    ------
    FrameFileError
        When it runs through a tube that the bike does not have.
    """
    station = route.line.station[span.start]
    tubes = [_tube(bike, route, span, name) for name in station.through]
    diameter, advised = _thickness(route, span)
    first, last = ends[0].place, ends[1].place
    if len(tubes) == 1:
        # a straight tube's bore is convex: the taut path is the straight line
        points = np.stack([first, last])
        return _reached(ends[0].body, points, onward, math.inf, _slack(span, tubes, diameter, advised, points))
    bores = [tube.bore() for tube in tubes]
    room = corridor.shrunk(corridor.corridor(bores, _openings(bike, station.through, diameter)), diameter / 2)
    # an end may lie in the wall, or on it by as much as the line stands off its tube
    reach = max(tubes[0].wall, tubes[-1].wall) + diameter
    path = corridor.taut_path(room, first[:2], last[:2], reach=reach)
    if not path.reached:
        points = np.stack([first, last])
        return Course(ends[0].body, points, math.dist(first, last), 0.0, 0.0, math.inf, reached=False)
    points = _lifted(path.points, float(first[2]), float(last[2]))
    radius = min(rounding.corner_radii(room, path), default=math.inf)
    return _reached(ends[0].body, points, onward, radius, _slack(span, tubes, diameter, advised, points))


def _reached(body: str, points: Points, onward: Points, radius: float, slack: float) -> Course:
    """Return the course along a path, its turns at both ends counted in."""
    with_ends = np.concatenate([[points[0] - onward[0]], points, [points[-1] + onward[1]]])
    return Course(body, points, float(curves.arc_length(points)), slack, float(curves.turn(with_ends)), radius)


def _slack(span: Span, tubes: Sequence[Tube], diameter: float, advised: float, points: Points) -> float:
    """Return the most extra length housing can take between the walls; a wire in its liner stays taut."""
    if not span.covered:
        return 0.0
    free_width = min(tube.diameter - 2 * tube.wall for tube in tubes)
    return rounding.wall_to_wall_extra(free_width, diameter, advised, float(curves.arc_length(points)))


def _tube(bike: Bike, route: Route, span: Span, name: str) -> Tube:
    if name not in bike.tubes:
        known = ", ".join(bike.tubes)
        raise FrameFileError(
            f'{where(route.line, route.line.station[span.start])}: through names "{name}": write {known}'
        )
    return bike.tubes[name]


def _thickness(route: Route, span: Span) -> tuple[float, float]:
    """Return the diameter of what lies inside and its advised radius [mm]."""
    housing = route.housing_of(span)
    if housing is not None:
        return float(housing.outside), float(housing.advised_radius)
    assert route.liner is not None
    return float(route.liner.outside), float(route.liner.advised_radius)


def _openings(bike: Bike, through: Sequence[str], diameter: float) -> list[Geometry]:
    """Return the openings the file names between the tubes run through, if wide enough: across the joint, as wide."""
    found = []
    for opening in bike.frame.opening:
        first, second = opening.between
        named = first in through and second in through and first in bike.tubes and second in bike.tubes
        if named and float(opening.size) >= diameter:
            found.append(_opening(bike.tubes[first], bike.tubes[second], float(opening.size)))
    return found


def _opening(first: Tube, second: Tube, size: float) -> Geometry:
    """Return the free way between two tubes: a strip along both axes from where they meet, as wide as the opening."""
    meet = _meeting(first, second)
    strips = []
    for tube in (first, second):
        ends = [tube.start[:2], tube.end[:2]]
        middle = ends[0] + (ends[1] - ends[0]) / 2
        away = (middle - meet) / math.dist(middle, meet)
        far = meet + away * max(first.diameter, second.diameter)
        strips.append(Polygon(_strip(meet, far, size)))
    return shapely.union_all([*strips, Point(meet).buffer(size / 2)])


def _strip(start: Points, end: Points, width: float) -> Points:
    along = (end - start) / math.dist(start, end)
    across = np.array([-along[1], along[0]]) * width / 2
    return np.stack([start + across, end + across, end - across, start - across])


def _meeting(first: Tube, second: Tube) -> Points:
    """Return where two tubes' axes meet in side view."""
    a, b = first.axis[:2], second.axis[:2]
    gap = second.start[:2] - first.start[:2]
    cross = a[0] * b[1] - a[1] * b[0]
    if abs(cross) < 1e-6:
        return np.asarray((first.end[:2] + second.start[:2]) / 2)
    return np.asarray(first.start[:2] + (gap[0] * b[1] - gap[1] * b[0]) / cross * a)


def _lifted(points: Points, first: float, last: float) -> Points:
    """Return a path in side view with the sideways offset spread evenly along it."""
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
    share = along / along[-1] if along[-1] > 0 else along
    return np.column_stack([points, first + share * (last - first)])
