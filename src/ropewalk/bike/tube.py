"""A tube: straight and round between two of the skeleton's joints, and places on it.

A place on a tube is told as a mechanic measures it: mm along the axis from a join, and a clock place round the tube
(3 is the rider's right; 12 is the side that faces up, or forward on upright tubes).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from shapely import Point, Polygon

from ropewalk.bike.vectors import Vector, vector
from ropewalk.bike.wording import listed, nearest, shortened
from ropewalk.errors import FrameFileError
from ropewalk.units import clock_angle

#: lengths that differ by less are the same [mm]
ROUNDING = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Tube:
    """A straight round tube on one body."""

    name: str
    body: str
    start: Vector
    end: Vector
    start_name: str
    end_name: str
    #: outside diameter and wall [mm]
    diameter: float
    wall: float
    #: whether 12 o'clock faces forward instead of up
    upright: bool
    #: where other tubes' axes or the tube's own ends lie: mm from its start
    joins: Mapping[str, float]
    #: distance from its start of a folding hinge, before which it belongs to another body; none where infinite below 0
    hinge: float = -math.inf
    body_before: str = ""

    def body_at(self, place: Vector) -> str:
        """Return the body that the tube belongs to beside a point (3,)."""
        return self.body_before if float((place - self.start) @ self.axis) < self.hinge else self.body

    @property
    def length(self) -> float:
        """Length of the axis [mm]."""
        return math.dist(self.start, self.end)

    @property
    def axis(self) -> Vector:
        """Unit vector from start to end, (3,)."""
        length = self.length
        (a, b, c), (x, y, z) = self.start.tolist(), self.end.tolist()
        return vector((x - a) / length, (y - b) / length, (z - c) / length)

    def radial(self, clock_hours: float) -> Vector:
        """Return the unit vector out of the tube at a clock place, square to its axis.

        Parameters
        ----------
        clock_hours : float
            Place round the tube [h]: 3 is the rider's right, 12 the in-plane side facing up, or forward where the
            tube is upright. On the bottom bracket's shell, which lies across: 12 up, 3 forward.

        Returns
        -------
        ndarray, shape (3,)
        """
        angle = clock_angle(clock_hours)
        cos, sin = math.cos(angle), math.sin(angle)
        x, y, z = self.axis.tolist()
        level = math.hypot(x, y)
        if level < 1e-9:
            return vector(sin, cos, 0.0)
        up_x, up_y = -y / level, x / level
        faces = up_x if self.upright or abs(up_y) < 1e-12 else up_y
        if faces < 0.0:
            up_x, up_y = -up_x, -up_y
        # the third direction, square to the axis and to 12 o'clock, on the rider's right
        return vector(
            cos * up_x - sin * z * x / level,
            cos * up_y - sin * z * y / level,
            sin * level,
        )

    def place(self, along: float, from_: str, *, beyond: float = 0.0) -> Vector:
        """Return the point of the axis `along` mm from a join, counted into the longer part of the tube.

        Parameters
        ----------
        along : float
            Distance from the join [mm]; negative into the shorter part.
        from_ : str
            Name of the join: another tube, or one of the tube's ends.
        beyond : float
            How far past the tube's ends the place may lie [mm]; leave it 0 to check what somebody wrote.

        Returns
        -------
        ndarray, shape (3,)
            The point [mm].

        Raises
        ------
        FrameFileError
            When the tube has no such join, or the place lies beyond the tube's end.
        """
        join, length = self._join(from_), self.length
        sign = 1.0 if join <= length - join else -1.0
        at = join + sign * along
        slack = max(beyond, ROUNDING)
        if not -slack <= at <= length + slack:
            low, high = sorted((-join * sign, (length - join) * sign))
            raise FrameFileError(
                f"along is {along:g} mm from the {from_}: that is beyond the end of the {self.name}; "
                f"it has to be between {_floor(low)} and {_floor(high)} mm"
            )
        share = at / length
        (a, b, c), (x, y, z) = self.start.tolist(), self.end.tolist()
        return vector(a + share * (x - a), b + share * (y - b), c + share * (z - c))

    def towards(self, end_name: str) -> Vector:
        """Return the unit vector along the axis to the end of that name, (3,).

        Raises
        ------
        FrameFileError
            When the tube has no such end.
        """
        length = self.length
        at = {self.start_name: 0.0, self.end_name: length}.get(end_name, self.joins.get(end_name, math.nan))
        if abs(at) < ROUNDING:
            return -self.axis
        if abs(at - length) < ROUNDING:
            return self.axis
        raise FrameFileError(
            f'facing is "{shortened(end_name)}": the {self.name} runs from {self.start_name} to {self.end_name}; '
            "write one of both"
        )

    def outline(self) -> Polygon:
        """Return the outside in side view: a polygon in x and y [mm]."""
        return self._side_view(self.diameter / 2.0)

    def bore(self) -> Polygon:
        """Return the inside in side view, axis end to axis end: a polygon in x and y [mm]."""
        return self._side_view(self.diameter / 2.0 - self.wall)

    def _join(self, name: str) -> float:
        if name in self.joins:
            return self.joins[name]
        near = nearest(name, self.joins)
        hint = f'did you mean "{near}"?' if near else f"write {listed(self.joins)}"
        raise FrameFileError(f'from is "{shortened(name)}": the {self.name} has no such join; {hint}')

    def _side_view(self, half_width: float) -> Polygon:
        (a, b, _), (x, y, _) = self.start.tolist(), self.end.tolist()
        level = math.hypot(x - a, y - b)
        if level < 1e-9:
            return Point(a, b).buffer(half_width, quad_segs=16)
        across, up = -(y - b) / level * half_width, (x - a) / level * half_width
        return Polygon([(a + across, b + up), (x + across, y + up), (x - across, y - up), (a - across, b - up)])


def _floor(value: float) -> str:
    """Return a limit in tenths, cut towards zero so that what is shown is allowed."""
    return f"{math.trunc(value * 10.0 + math.copysign(ROUNDING, value)) / 10.0 + 0.0:g}"
