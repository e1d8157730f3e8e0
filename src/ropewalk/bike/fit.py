"""Whether a frame's tubes and wheels fit each other."""

from __future__ import annotations

import math

from ropewalk.bike.chart import RoundTube
from ropewalk.bike.framefile import Frame
from ropewalk.bike.skeleton import Skeleton, skeleton
from ropewalk.bike.vectors import Vector
from ropewalk.errors import ChartError


def check_tubes(frame: Frame) -> None:
    """Refuse tubes that cannot be built as written.

    Parameters
    ----------
    frame : Frame
        The frame file; its chart and tubes are used.

    Raises
    ------
    ChartError
        In one line: which figure is at fault, its value, its limit, and what to do.
    """
    chart, sizes = frame.chart, frame.tubes
    for name in type(sizes).model_fields:
        _check_wall(name, getattr(sizes, name))
    for name, at_seat in (("top_tube", sizes.top_tube.at_seat), ("seat_stay", sizes.seat_stay.at_seat)):
        if at_seat > chart.seat_tube:
            raise ChartError(
                f"tubes.{name}.at_seat is {shown_mm(at_seat)}: that is above the seat tube's upper end, "
                f"chart.seat_tube {shown_mm(chart.seat_tube)}; measure both from the bottom bracket along the seat tube"
            )
    for name, at_head in (("top_tube", sizes.top_tube.at_head), ("down_tube", sizes.down_tube.at_head)):
        if at_head > chart.head_tube:
            raise ChartError(
                f"tubes.{name}.at_head is {shown_mm(at_head)}: the head tube is only {shown_mm(chart.head_tube)} long; "
                "measure from its nearer end"
            )
    joined = sizes.top_tube.at_head + sizes.down_tube.at_head
    if joined > chart.head_tube:
        raise ChartError(
            f"tubes.top_tube.at_head and tubes.down_tube.at_head are {shown_mm(joined)} together, more than the head "
            f"tube's {shown_mm(chart.head_tube)}: top and down tube would cross; "
            "measure each from the head tube's nearer end"
        )
    bones = skeleton(frame)
    _check_wheel_room(frame, bones)
    _check_beside_tyre(frame, bones)


def _check_wall(name: str, size: RoundTube) -> None:
    if 2.0 * size.wall >= size.diameter:
        raise ChartError(
            f"tubes.{name}.wall is {shown_mm(size.wall)}: a tube of {shown_mm(size.diameter)} would have no bore; "
            "measure wall and diameter again"
        )


def _check_wheel_room(frame: Frame, bones: Skeleton) -> None:
    """Refuse a tyre that reaches the crown, or the axis of seat or down tube."""
    top = bones.seat_top * (1.0 / frame.chart.seat_tube)
    head = bones.head_bottom + frame.tubes.down_tube.at_head * -bones.steering_axis
    crown = math.dist(bones.crown, bones.front_axle)
    rooms = {
        "the crown": (crown, "check wheel and fork"),
        "the seat tube's axis": (_apart(bones.rear_axle, top), "check wheel, chainstay and seat_angle"),
        "the down tube's axis": (_apart(bones.front_axle, head), "check wheel, reach and fork"),
    }
    for what, (room, hint) in rooms.items():
        if bones.wheel_radius >= room:
            raise ChartError(
                f"chart.wheel is {frame.chart.wheel}: its tyre reaches {shown_mm(bones.wheel_radius)} from the axle, "
                f"but {what} is {shown_mm(room)} from it; {hint}"
            )


def _apart(point: Vector, through: Vector) -> float:
    """Return how far a point lies from the line from the bottom bracket through another, in side view [mm]."""
    return abs(float(point[0] * through[1] - point[1] * through[0])) / math.hypot(through[0], through[1])


def _check_beside_tyre(frame: Frame, bones: Skeleton) -> None:
    """Refuse stays and fork legs whose axes run through the tyre."""
    half = bones.tyre_width / 2.0
    # the tyre is widest half its width in from its tread
    widest = bones.wheel_radius - half
    seat_stay = bones.seat_top * (frame.tubes.seat_stay.at_seat / frame.chart.seat_tube)
    lengths = {
        "fork_leg": math.dist(bones.crown, bones.front_axle),
        "chainstay": float(frame.chart.chainstay),
        "seat_stay": math.dist(bones.rear_axle, seat_stay),
    }
    for name, length in lengths.items():
        size = getattr(frame.tubes, name)
        apart = size.spread_axle + min(widest / length, 1.0) * (size.spread_near - size.spread_axle)
        if apart <= half:
            raise ChartError(
                f"tubes.{name}: its axis passes the tyre {shown_mm(apart)} from the middle plane, but the tyre reaches "
                f"{shown_mm(half)} (chart.wheel {frame.chart.wheel}); check spread_near and spread_axle"
            )


def shown_mm(value: float) -> str:
    """Return a length as messages show it, to a tenth.

    Examples
    --------
    >>> shown_mm(591.196)
    '591.2 mm'
    """
    return f"{round(value, 1):g} mm"
