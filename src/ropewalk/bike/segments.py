"""Curves made of straight lines and arcs: a pen that draws them, and polylines with rounded corners.

Points and directions are plain triples [mm]; angles are in radians.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

Triple = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Segment:
    """A straight line or an arc."""

    origin: Triple
    #: unit vector along the start, outwards
    tangent: Triple
    length: float
    #: unit vector from the start to the arc's centre; zeros for a line
    bend: Triple = (0.0, 0.0, 0.0)
    curvature: float = 0.0


class Path:
    """A pen that draws lines and arcs one after the other."""

    def __init__(self, point: Triple, heading: Triple) -> None:
        self.point, self.heading = point, heading
        self.segments: list[Segment] = []

    def line(self, length: float) -> None:
        """Go straight on."""
        if length > 1e-9:
            self.segments.append(Segment(self.point, self.heading, length))
            self.point = plus(self.point, self.heading, length)

    def arc(self, radius: float, angle: float, bend: Triple) -> None:
        """Bend through an angle towards `bend`, a unit vector square to the heading."""
        if angle > 1e-9:
            self.segments.append(Segment(self.point, self.heading, radius * angle, bend, 1.0 / radius))
            cos, sin = math.cos(angle), math.sin(angle)
            self.point = plus(plus(self.point, self.heading, radius * sin), bend, radius * (1.0 - cos))
            self.heading = plus(scaled(self.heading, cos), bend, sin)


def headings(points: Sequence[Triple]) -> list[Triple]:
    """Return the unit directions from each point to the next."""
    return [unit_of(less(after, before)) for before, after in pairwise(points)]


def filleted(points: Sequence[Triple], trims: Sequence[float]) -> list[Segment]:
    """Return a polyline with its inner corners rounded by arcs, each taking its trim off the lines beside it."""
    ways = headings(points)
    path = Path(points[0], ways[0])
    used = 0.0
    for i, trim in enumerate(trims):
        turn = turn_between(ways[i], ways[i + 1])
        path.line(math.dist(points[i], points[i + 1]) - used - trim)
        if turn > 1e-7:
            bend = unit_of(plus(ways[i + 1], ways[i], -dot(ways[i], ways[i + 1])))
            path.arc(trim / math.tan(turn / 2.0), turn, bend)
        else:
            path.line(2.0 * trim)
        used = trim
    path.line(math.dist(points[-2], points[-1]) - used)
    return path.segments


def trim_for(before: Triple, after: Triple, radius: float) -> float:
    """Return how much of each line a corner's arc of that radius uses up [mm]."""
    return radius * math.tan(turn_between(before, after) / 2.0)


def turn_between(before: Triple, after: Triple) -> float:
    """Return the angle between two directions [rad]."""
    cross = (
        before[1] * after[2] - before[2] * after[1],
        before[2] * after[0] - before[0] * after[2],
        before[0] * after[1] - before[1] * after[0],
    )
    return math.atan2(math.hypot(*cross), dot(before, after))


def dot(first: Triple, second: Triple) -> float:
    """Return the scalar product."""
    return first[0] * second[0] + first[1] * second[1] + first[2] * second[2]


def less(first: Triple, second: Triple) -> Triple:
    """Return first - second."""
    return (first[0] - second[0], first[1] - second[1], first[2] - second[2])


def plus(first: Triple, second: Triple, factor: float) -> Triple:
    """Return first + factor · second."""
    return (first[0] + factor * second[0], first[1] + factor * second[1], first[2] + factor * second[2])


def scaled(given: Triple, factor: float) -> Triple:
    """Return factor · given."""
    return (given[0] * factor, given[1] * factor, given[2] * factor)


def unit_of(given: Triple) -> Triple:
    """Return the unit vector of a direction."""
    return scaled(given, 1.0 / math.hypot(*given))
