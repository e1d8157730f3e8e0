"""The tubes of a frame, laid over its skeleton: main tubes, a tandem's rear half, steerer, stem and legs, stays."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from ropewalk.bike.chart import RoundTube
from ropewalk.bike.framefile import Frame
from ropewalk.bike.skeleton import Skeleton
from ropewalk.bike.tube import Tube
from ropewalk.bike.vectors import Vector, vector

#: steerer of 1 1/8 in and its usual wall [mm] (common practice)
STEERER = (28.6, 2.3)
#: a stem's outside diameter and wall between its clamps [mm] (common practice)
STEM = (32.0, 2.5)
#: a folding bike's tall post between headset and stem, and a quill up to a height [mm] (common practice)
BAR_POST, QUILL, QUILL_HEIGHT = (34.0, 2.0), (25.4, 2.0), 200.0
#: usual width of a threaded bottom bracket shell [mm] (common practice)
SHELL_WIDTH = 68.0


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
        By name: head tube, top tube, down tube, seat tube, shell, steerer, stem, and left and right seat stay,
        chainstay and fork leg; of a suspension fork the lower legs; of a tall post the bar post; of a tandem boom tube,
        rear seat tube and rear top tube.

    Notes
    -----
    Tubes are straight and end on the axes they meet; bent or shaped tubes are told by their chord.
    """
    made = _main_tubes(frame, skeleton) + _tandem(frame, skeleton) + _steered(frame, skeleton)
    made += _rear(frame, skeleton)
    return _hinged(frame, {tube.name: tube for tube in made})


def _main_tubes(frame: Frame, bones: Skeleton) -> list[Tube]:
    sizes = frame.tubes
    head, seat = float(frame.chart.head_tube), float(frame.chart.seat_tube)
    down_at, stay_at = head - sizes.down_tube.at_head, float(sizes.seat_stay.at_seat)
    down_start = _between(bones.head_top, bones.head_bottom, down_at / head)
    down = math.dist(down_start, bones.bottom_bracket)
    half = SHELL_WIDTH / 2.0
    head_joins = {"top": 0.0, "down tube": down_at, "bottom": head}
    seat_joins = {"bottom bracket": 0.0, "down tube": 0.0, "top": seat}
    if frame.chart.boom is None:
        seat_joins |= {"chainstay": 0.0, "seat stay": stay_at}
    else:
        seat_joins |= {"boom tube": 0.0}
    found = []
    if sizes.top_tube is not None:
        top_at, seat_at = float(sizes.top_tube.at_head), float(sizes.top_tube.at_seat)
        top_start = _between(bones.head_top, bones.head_bottom, top_at / head)
        top_end = _between(bones.bottom_bracket, bones.seat_top, seat_at / seat)
        top = math.dist(top_start, top_end)
        head_joins["top tube"], seat_joins["top tube"] = top_at, seat_at
        found.append(
            _tube("top tube", "frame", top_start, top_end, {"head tube": 0.0, "seat tube": top}, sizes.top_tube)
        )
    down_joins = {"head tube": 0.0, "bottom bracket": down, "seat tube": down}
    shell_joins = {"left": 0.0, "bottom bracket": half, "right": SHELL_WIDTH}
    left, right = vector(0.0, 0.0, -half), vector(0.0, 0.0, half)
    return [
        *found,
        _tube("head tube", "frame", bones.head_top, bones.head_bottom, head_joins, sizes.head_tube, "top", "bottom"),
        _tube("down tube", "frame", down_start, bones.bottom_bracket, down_joins, sizes.down_tube),
        _tube("seat tube", "frame", bones.bottom_bracket, bones.seat_top, seat_joins, sizes.seat_tube, end_name="top"),
        _tube("shell", "frame", left, right, shell_joins, sizes.shell, end_name="right"),
    ]


def _tandem(frame: Frame, bones: Skeleton) -> list[Tube]:
    """Return what a tandem has besides: boom tube, rear seat tube, rear top tube."""
    sizes, chart = frame.tubes, frame.chart
    if chart.boom is None or sizes.boom_tube is None or sizes.rear_seat_tube is None:
        return []
    front, rear, boom = bones.bottom_bracket, bones.rear_bottom_bracket, float(chart.boom)
    high, seat = float(sizes.rear_seat_tube.length_), math.radians(chart.seat_angle_deg)
    rear_top = rear + vector(-high * math.cos(seat), high * math.sin(seat), 0.0)
    joins = {
        "rear bottom bracket": 0.0,
        "boom tube": 0.0,
        "chainstay": 0.0,
        "seat stay": float(sizes.seat_stay.at_seat),
        "top": high,
    }
    found = [
        _tube("boom tube", "frame", front, rear, {"bottom bracket": 0.0, "rear bottom bracket": boom}, sizes.boom_tube)
    ]
    if sizes.rear_top_tube is not None:
        at_front, at_rear = float(sizes.rear_top_tube.at_front), float(sizes.rear_top_tube.at_rear)
        start = _between(front, bones.seat_top, at_front / chart.seat_tube)
        end = _between(rear, rear_top, at_rear / high)
        along = {"seat tube": 0.0, "rear seat tube": math.dist(start, end)}
        joins["rear top tube"] = at_rear
        found.append(_tube("rear top tube", "frame", start, end, along, sizes.rear_top_tube))
    found.append(_tube("rear seat tube", "frame", rear, rear_top, joins, sizes.rear_seat_tube, end_name="top"))
    return found


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
    steered = [Tube("steerer", "fork", crown, top, "fork crown", "top", *STEERER, True, joins)]
    if frame.cockpit.post > 0.0:
        foot = bones.head_top - float(frame.cockpit.upper_cup) * bones.steering_axis
        on_post = {"headset": 0.0, "stem": math.dist(foot, bones.stem_point), "top": math.dist(foot, top)}
        size = QUILL if frame.cockpit.post <= QUILL_HEIGHT else BAR_POST
        steered.append(Tube("bar post", "bar", foot, top, "headset", "top", *size, True, on_post))
    if frame.cockpit.stem > 0.0:
        steered.append(Tube("stem", "bar", bones.stem_point, bones.bar_clamp, "steerer", "bar", *STEM, False, stem))
    return steered + _fork_legs(frame, bones)


def _fork_legs(frame: Frame, bones: Skeleton) -> list[Tube]:
    leg, low, axle = frame.tubes.fork_leg, frame.tubes.lower_leg, bones.front_axle
    if low is None:
        return _pair(
            "fork leg",
            "fork",
            bones.crown,
            axle,
            leg,
            (leg.spread_near, leg.spread_axle),
            ("fork crown",),
            ("front axle",),
        )
    # telescoping legs are parallel to the steering axis, in line with the axle
    crown = bones.crown + float(frame.chart.fork_offset) * bones.steering_square
    spread = (leg.spread_axle, leg.spread_axle)
    top = axle - float(low.height) * bones.steering_axis
    return _pair("fork leg", "fork", crown, axle, leg, spread, ("fork crown",), ("front axle",)) + _pair(
        "lower leg", "lower", top, axle, low, spread, ("top",), ("front axle",)
    )


def _rear(frame: Frame, bones: Skeleton) -> list[Tube]:
    """Return seat stays and chainstays; those of a swing arm start at its pivot."""
    sizes, chart, bracket = frame.tubes, frame.chart, bones.rear_bottom_bracket
    seat_tube = "seat tube" if chart.boom is None else "rear seat tube"
    seat = math.radians(chart.seat_angle_deg)
    up = float(sizes.seat_stay.at_seat)
    near = bracket + vector(-up * math.cos(seat), up * math.sin(seat), 0.0)
    body: str
    starts: tuple[str, ...]
    body, start, starts = (
        "frame",
        bracket,
        ("bottom bracket", "seat tube") if chart.boom is None else ("rear bottom bracket", seat_tube),
    )
    if frame.travel.rear is not None and frame.travel.pivot is not None:
        forward, high = frame.travel.pivot
        body, start, starts = "rear", vector(float(forward), float(high), 0.0), ("pivot",)
    stay, chainstay = sizes.seat_stay, sizes.chainstay
    return _pair(
        "seat stay",
        body,
        near,
        bones.rear_axle,
        stay,
        (stay.spread_near, stay.spread_axle),
        (seat_tube,),
        ("rear axle", "chainstay"),
    ) + _pair(
        "chainstay",
        body,
        start,
        bones.rear_axle,
        chainstay,
        (chainstay.spread_near, chainstay.spread_axle),
        starts,
        ("rear axle", "seat stay"),
    )


def _hinged(frame: Frame, found: dict[str, Tube]) -> dict[str, Tube]:
    """Give tubes on either side of a hinge their own bodies, and the head tube that of a folding frame's front half."""
    for fold in frame.fold:
        place = found[fold.on].place(float(fold.along), fold.from_, beyond=1e3)
        front = fold.moves == "front half"
        before, beyond = ("front half", "frame") if front else ("fork", "bar")
        for name in (fold.on,) if front else ("steerer", "bar post"):
            if name in found:
                at = float((place - found[name].start) @ found[name].axis)
                found[name] = replace(found[name], hinge=at, body_before=before, body=beyond)
        if front:
            found["head tube"] = replace(found["head tube"], body=before)
    return found


def _pair(
    name: str,
    body: str,
    near: Vector,
    axle: Vector,
    size: RoundTube,
    spread: tuple[float, float],
    starts: tuple[str, ...],
    ends: tuple[str, ...],
) -> list[Tube]:
    """Return the left and the right one of a pair of stays or fork legs."""
    (a, b, _), (x, y, _) = near.tolist(), axle.tolist()
    length = math.dist((a, b, spread[0]), (x, y, spread[1]))
    joins = dict.fromkeys(starts, 0.0) | dict.fromkeys(ends, length)
    pair = []
    for side, sign in (("left", -1.0), ("right", 1.0)):
        start, end = vector(a, b, sign * spread[0]), vector(x, y, sign * spread[1])
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
                upright=body in ("fork", "lower"),
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
        upright=name in ("head tube", "seat tube", "rear seat tube"),
        joins=joins,
    )


def _between(first: Vector, second: Vector, share: float) -> Vector:
    (a, b, c), (x, y, z) = first.tolist(), second.tolist()
    return vector(a + share * (x - a), b + share * (y - b), c + share * (z - c))
