"""Tubes: straight round tubes between the skeleton's joints, and places on them.

A place on a tube is told as a mechanic measures it: mm along the axis from a join, and a clock place round the tube
(3 is the rider's right; 12 is the side that faces up, or forward on upright tubes).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from shapely import Point, Polygon

from ropewalk.bike.chart import RoundTube, Stay
from ropewalk.bike.framefile import Frame
from ropewalk.bike.skeleton import Skeleton
from ropewalk.bike.vectors import Vector, vector
from ropewalk.bike.wording import listed, nearest, shortened
from ropewalk.errors import FrameFileError
from ropewalk.units import clock_angle

#: steerer of 1 1/8 in and its usual wall [mm] (common practice)
STEERER = (28.6, 2.3)
#: a stem's outside diameter and wall between its clamps [mm] (common practice)
STEM = (32.0, 2.5)
#: usual width of a threaded bottom bracket shell [mm] (common practice)
SHELL_WIDTH = 68.0
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


def tubes(frame: Frame, skeleton: Skeleton) -> Mapping[str, Tube]:
    """Lay the frame's tubes over its skeleton.

    Parameters
    ----------
    frame : Frame
        The frame file; its tubes and chart are used.
    skeleton : Skeleton
        The frame's skeleton.

    Returns
    -------
    mapping of str to Tube
        head tube, top tube, down tube, seat tube, shell, steerer, stem, and left and right seat stay, chainstay and
        fork leg, by name.

    Notes
    -----
    Tubes are straight and end on the axes they meet; bent or shaped tubes are told by their chord.
    """
    made = _main_tubes(frame, skeleton) + _steered(frame, skeleton) + _stays(frame, skeleton)
    return {tube.name: tube for tube in made}


def _main_tubes(frame: Frame, bones: Skeleton) -> list[Tube]:
    sizes = frame.tubes
    head, seat = float(frame.chart.head_tube), float(frame.chart.seat_tube)
    top_at, down_at = float(sizes.top_tube.at_head), head - sizes.down_tube.at_head
    seat_at, stay_at = float(sizes.top_tube.at_seat), float(sizes.seat_stay.at_seat)
    top_start = _between(bones.head_top, bones.head_bottom, top_at / head)
    top_end = _between(bones.bottom_bracket, bones.seat_top, seat_at / seat)
    down_start = _between(bones.head_top, bones.head_bottom, down_at / head)
    top, down = math.dist(top_start, top_end), math.dist(down_start, bones.bottom_bracket)
    half = SHELL_WIDTH / 2.0
    head_joins = {"top": 0.0, "top tube": top_at, "down tube": down_at, "bottom": head}
    seat_joins = {
        "bottom bracket": 0.0,
        "down tube": 0.0,
        "chainstay": 0.0,
        "top tube": seat_at,
        "seat stay": stay_at,
        "top": seat,
    }
    return [
        _tube("head tube", "frame", bones.head_top, bones.head_bottom, head_joins, sizes.head_tube, "top", "bottom"),
        _tube("top tube", "frame", top_start, top_end, {"head tube": 0.0, "seat tube": top}, sizes.top_tube),
        _tube(
            "down tube",
            "frame",
            down_start,
            bones.bottom_bracket,
            {"head tube": 0.0, "bottom bracket": down, "seat tube": down},
            sizes.down_tube,
        ),
        _tube("seat tube", "frame", bones.bottom_bracket, bones.seat_top, seat_joins, sizes.seat_tube, end_name="top"),
        _tube(
            "shell",
            "frame",
            vector(0.0, 0.0, -half),
            vector(0.0, 0.0, half),
            {"left": 0.0, "bottom bracket": half, "right": SHELL_WIDTH},
            sizes.shell,
            end_name="right",
        ),
    ]


def _steered(frame: Frame, bones: Skeleton) -> list[Tube]:
    """Return steerer, stem and fork legs."""
    crown, top = bones.crown, bones.steerer_top
    long, stem_at = math.dist(crown, top), math.dist(crown, bones.stem_point)
    lower = float(frame.chart.lower_cup)
    joins = {
        "fork crown": 0.0,
        "head tube bottom": lower,
        "head tube top": lower + frame.chart.head_tube,
        "stem": stem_at,
        "top": long,
    }
    stem = {"steerer": 0.0, "bar": float(frame.cockpit.stem)}
    steered = [
        Tube("steerer", "fork", crown, top, "fork crown", "top", *STEERER, True, joins),
        Tube("stem", "bar", bones.stem_point, bones.bar_clamp, "steerer", "bar", *STEM, False, stem),
    ]
    return steered + _pair(
        "fork leg", "fork", crown, bones.front_axle, frame.tubes.fork_leg, ("fork crown",), ("front axle",)
    )


def _stays(frame: Frame, bones: Skeleton) -> list[Tube]:
    sizes = frame.tubes
    seat = _between(bones.bottom_bracket, bones.seat_top, sizes.seat_stay.at_seat / frame.chart.seat_tube)
    return _pair(
        "seat stay", "frame", seat, bones.rear_axle, sizes.seat_stay, ("seat tube",), ("rear axle", "chainstay")
    ) + _pair(
        "chainstay",
        "frame",
        bones.bottom_bracket,
        bones.rear_axle,
        sizes.chainstay,
        ("bottom bracket", "seat tube"),
        ("rear axle", "seat stay"),
    )


def _pair(
    name: str, body: str, near: Vector, axle: Vector, size: Stay, starts: tuple[str, ...], ends: tuple[str, ...]
) -> list[Tube]:
    """Return the left and the right one of a pair of stays or fork legs."""
    (a, b, _), (x, y, _) = near.tolist(), axle.tolist()
    length = math.dist((a, b, size.spread_near), (x, y, size.spread_axle))
    joins = dict.fromkeys(starts, 0.0) | dict.fromkeys(ends, length)
    upright = body == "fork"
    pair = []
    for side, sign in (("left", -1.0), ("right", 1.0)):
        start, end = vector(a, b, sign * size.spread_near), vector(x, y, sign * size.spread_axle)
        pair.append(
            Tube(
                name=f"{side} {name}",
                body=body,
                start=start,
                end=end,
                start_name=starts[0],
                end_name=ends[0],
                diameter=float(size.diameter),
                wall=float(size.wall),
                upright=upright,
                joins=joins,
            )
        )
    return pair


def _tube(
    name: str,
    body: str,
    start: Vector,
    end: Vector,
    joins: dict[str, float],
    size: RoundTube,
    start_name: str | None = None,
    end_name: str | None = None,
) -> Tube:
    """Return a tube of the frame; its ends are its first and second join unless they are named."""
    names = list(joins)
    return Tube(
        name=name,
        body=body,
        start=start,
        end=end,
        start_name=start_name or names[0],
        end_name=end_name or names[1],
        diameter=float(size.diameter),
        wall=float(size.wall),
        upright=name in ("head tube", "seat tube"),
        joins=joins,
    )


def _between(first: Vector, second: Vector, share: float) -> Vector:
    (a, b, c), (x, y, z) = first.tolist(), second.tolist()
    return vector(a + share * (x - a), b + share * (y - b), c + share * (z - c))


def _floor(value: float) -> str:
    """Return a limit in tenths, cut towards zero so that what is shown is allowed."""
    return f"{math.trunc(value * 10.0 + math.copysign(ROUNDING, value)) / 10.0 + 0.0:g}"
