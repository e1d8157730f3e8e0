"""Whether a frame's tubes and wheels fit each other."""

from __future__ import annotations

import math

from ropewalk.bike.chart import RoundTube
from ropewalk.bike.framefile import Frame
from ropewalk.bike.skeleton import Skeleton, skeleton
from ropewalk.bike.vectors import Vector, vector
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
        size = getattr(sizes, name)
        if size is not None:
            _check_wall(name, size)
    _check_tandem(frame)
    if sizes.top_tube is not None:
        _check_at_seat("top_tube", sizes.top_tube.at_seat, "seat_tube", chart.seat_tube)
    if chart.boom is None:
        _check_at_seat("seat_stay", sizes.seat_stay.at_seat, "seat_tube", chart.seat_tube)
    for name, main in (("top_tube", sizes.top_tube), ("down_tube", sizes.down_tube)):
        if main is not None and main.at_head > chart.head_tube:
            raise ChartError(
                f"tubes.{name}.at_head is {shown_mm(main.at_head)}: the head tube is only "
                f"{shown_mm(chart.head_tube)} long; measure from its nearer end"
            )
    joined = sizes.down_tube.at_head + (sizes.top_tube.at_head if sizes.top_tube is not None else 0.0)
    if sizes.top_tube is not None and joined > chart.head_tube:
        raise ChartError(
            f"tubes.top_tube.at_head and tubes.down_tube.at_head are {shown_mm(joined)} together, more than the head "
            f"tube's {shown_mm(chart.head_tube)}: top and down tube would cross; "
            "measure each from the head tube's nearer end"
        )
    bones = skeleton(frame)
    _check_wheel_room(frame, bones)
    _check_beside_tyre(frame, bones)


def _check_at_seat(name: str, at_seat: float, tube: str, length: float) -> None:
    if at_seat > length:
        place, where = ("chart", "bottom bracket") if tube == "seat_tube" else ("tubes", "rear bottom bracket")
        shown = f"{place}.{tube}" + ("" if place == "chart" else ".length")
        raise ChartError(
            f"tubes.{name} meets the {tube.replace('_', ' ')} at {shown_mm(at_seat)}: that is above its upper end, "
            f"{shown} {shown_mm(length)}; measure both from the {where} along the {tube.replace('_', ' ')}"
        )


def _check_tandem(frame: Frame) -> None:
    """Refuse half a tandem."""
    chart, sizes = frame.chart, frame.tubes
    for name in ("boom_tube", "rear_seat_tube"):
        if chart.boom is not None and getattr(sizes, name) is None:
            raise ChartError(
                f"chart.boom is {shown_mm(chart.boom)} but tubes.{name} is missing: a tandem has one, so write it down"
            )
    for name in ("boom_tube", "rear_seat_tube", "rear_top_tube"):
        if chart.boom is None and getattr(sizes, name) is not None:
            raise ChartError(f"tubes.{name} belongs to a tandem: give chart.boom too, or leave it out")
    if sizes.rear_seat_tube is not None:
        _check_at_seat("seat_stay", sizes.seat_stay.at_seat, "rear_seat_tube", sizes.rear_seat_tube.length_)
        if sizes.rear_top_tube is not None:
            _check_at_seat("rear_top_tube", sizes.rear_top_tube.at_rear, "rear_seat_tube", sizes.rear_seat_tube.length_)
            _check_at_seat("rear_top_tube", sizes.rear_top_tube.at_front, "seat_tube", chart.seat_tube)


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
        "the seat tube's axis": (
            _apart(bones.rear_axle - bones.rear_bottom_bracket, top),
            "check wheel, chainstay and seat_angle",
        ),
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
    up, seat = float(frame.tubes.seat_stay.at_seat), math.radians(frame.chart.seat_angle_deg)
    seat_stay = bones.rear_bottom_bracket + vector(-up * math.cos(seat), up * math.sin(seat), 0.0)
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
