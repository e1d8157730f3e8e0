"""Hints: what the frame file does not describe but a mechanic looks for, drawn lightly at usual sizes.

Levers, saddle and post, cranks, chain, brakes and derailleurs. None of it enters any length.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from ropewalk.bike.framefile import Lever
from ropewalk.bike.mechanism import Placement
from ropewalk.bike.model import Bike, LeverClamp, lever_clamp
from ropewalk.bike.mounts import Mount
from ropewalk.bike.rows import Lever as LeverPart
from ropewalk.drawing.scene import Area, Circle, Points, Polyline, Shape, shifted
from ropewalk.drawing.silhouettes import Eye, Solid, cylinder, hull, ribbon, wheel_ring

#: usual sizes [mm]
CRANK, PEDAL, CHAINRING, SPROCKET = 170.0, 90.0, 84.0, 42.0
CHAINLINE = 45.0
#: where the right crank points in the picture, from level forward
CRANK_ANGLE = math.radians(-24.0)
POST = 27.2
ROTOR = 80.0

# Outlines in a lever's own axes: (inward, forward, up) from the middle of its clamp [mm].
_HOOD = (
    (-12, 8, 0),
    (-8, 34, 0),
    (2, 58, 0),
    (14, 78, 0),
    (30, 86, 0),
    (38, 76, 0),
    (36, 56, 0),
    (32, 30, 0),
    (26, 8, 0),
)
_HOOD_BLADE = ((8, 66, 0), (-14, 68, 0), (-46, 58, 0), (-78, 50, 0), (-100, 54, 0))
_FLAT_BODY = ((34, 24, -4), (14, 30, -4), (-12, 26, -4))
_FLAT_BLADE = ((-8, 28, -4), (-30, 44, -5), (-70, 46, -6), (-112, 50, -8))
_FLAT_POD = ((22, 8, -22), (-8, 10, -24))
_BAR_END_POD = ((0, 0, 0), (-38, 0, 0), (-62, 10, 0), (-96, 34, 0))

# The saddle from the side, from the top of its post: forward, up [mm].
_SADDLE = (
    (150, 30), (153, 38), (140, 44), (90, 44), (30, 46), (-40, 54), (-100, 64), (-126, 64),
    (-130, 54), (-120, 34), (-80, 22), (-30, 20), (40, 26), (110, 28),
)  # fmt: skip


def lever_hint(bike: Bike, lever: Lever, part: LeverPart, placed: Placement, eye: Eye) -> Iterator[Shape]:
    """Draw a lever or shifter where its clamp is; nothing for one that does not sit on the bar."""
    if part.sits_on == "down tube":
        return
    clamp = lever_clamp(bike, lever)

    def carried(outline: tuple[tuple[float, float, float], ...]) -> Points:
        return eye(placed.points(np.stack([_from(clamp, place) for place in outline]))[0])

    if part.sits_on == "drop bar":
        yield ribbon(carried(_HOOD_BLADE), 9.0, "lever", round_ends=True)
        # seen edge on, a flat outline would vanish: a hood is some 26 mm thick
        yield _thick(carried(_HOOD), 13.0)
    elif part.sits_on == "bar end":
        yield ribbon(carried(_BAR_END_POD), 11.0, "lever", round_ends=True)
    elif set(part.exits) & {"brake", "hose"}:
        yield ribbon(carried(_FLAT_BLADE), 9.0, "lever", round_ends=True)
        yield ribbon(carried(_FLAT_BODY), 15.0, "lever", round_ends=True)
    else:
        yield ribbon(carried(_FLAT_POD), 24.0, "lever", round_ends=True)


def _from(clamp: LeverClamp, place: tuple[float, float, float]) -> Solid:
    return clamp.place(*place)


def _thick(outline: Points, by: float) -> Area:
    closed = np.concatenate([outline, outline[:2]])
    return Area(ribbon(closed, by, "lever", round_ends=True).rings[:1], "lever")


def saddle(bike: Bike) -> Iterator[Shape]:
    """Draw saddle and post in side view, the saddle about level with the bar."""
    bones = bike.skeleton
    top = bones.seat_top
    rise = top / np.linalg.norm(top)
    wanted = float(bones.bar_clamp[1]) + 10.0 - 40.0 - float(top[1])
    post = min(max(wanted / float(rise[1]), 70.0), 230.0)
    head = top + post * rise
    yield cylinder(top - 5.0 * rise, head + 18.0 * rise, POST / 2.0, lambda points: points[:, :2], "metal")
    collar = bike.tubes["seat tube"].diameter / 2.0 + 3.0
    yield cylinder(top - 14.0 * rise, top + 2.0 * rise, collar, lambda points: points[:, :2], "metal")
    yield Area((head[:2] + np.array(_SADDLE, dtype=np.float64),), "tape")


def far_crank() -> Iterator[Shape]:
    """Draw the left crank, which is behind the frame."""
    yield from _crank(CRANK_ANGLE + math.pi)


def drive(bike: Bike) -> Iterator[Shape]:
    """Draw chain, sprocket and chainring in side view."""
    rear = bike.skeleton.rear_axle[:2]
    front = np.zeros(2)
    yield Circle(rear, SPROCKET, "hint")
    yield Circle(rear, 18.0, "hint")
    for sign in (1.0, -1.0):
        yield Polyline(_tangent(rear, SPROCKET, front, CHAINRING, sign), "faint", 6.0)
    yield from _ring(front, CHAINRING, 12.0)


def near_crank() -> Iterator[Shape]:
    """Draw the right crank and the middle of the chainring."""
    yield from _crank(CRANK_ANGLE)
    yield Circle(np.zeros(2), 19.0, "hint")


def _ring(centre: Points, radius: float, width: float) -> Iterator[Shape]:
    middle = np.array([centre[0], centre[1], 0.0])
    yield wheel_ring(
        middle, np.array([0.0, 0.0, 1.0]), radius - width / 2.0, width, lambda points: points[:, :2], "hint"
    )


def _crank(angle: float) -> Iterator[Shape]:
    end = CRANK * np.array([math.cos(angle), math.sin(angle)])
    yield ribbon(np.stack([np.zeros(2), end]), 20.0, "hint", round_ends=True)
    yield ribbon(np.stack([shifted(end, -PEDAL / 2, 0.0), shifted(end, PEDAL / 2, 0.0)]), 18.0, "hint", round_ends=True)


def _tangent(one: Points, radius: float, other: Points, other_radius: float, sign: float) -> Points:
    """Return the outer tangent (2, 2) of two circles, above or below."""
    gap = other - one
    length = float(np.hypot(*gap))
    ahead = gap / length
    aside = sign * np.array([-ahead[1], ahead[0]])
    sine = (radius - other_radius) / length
    normal = sine * ahead + math.sqrt(1.0 - sine * sine) * aside
    return np.stack([one + radius * normal, other + other_radius * normal])


def brake(mount: Mount, seat: Solid, placed: Placement, eye: Eye) -> Iterator[Shape]:
    """Draw a brake at its mount: an arm to where its housing seats, arms down to the rim or a caliper's body."""

    def seen(*places: Solid) -> Points:
        return eye(placed.points(np.stack(places))[0])

    middle = mount.place(0.0, 0.0, 0.0)
    yield ribbon(seen(middle, seat), 9.0, "hint", round_ends=True)
    if "disc" in mount.name:
        yield hull(seen(*(mount.place(ahead, up, 0.0) for ahead in (-20.0, 14.0) for up in (-26.0, 26.0))), "hint")
    else:
        yield ribbon(seen(mount.place(0.0, 16.0, 0.0), mount.place(0.0, -54.0, 0.0)), 22.0, "hint", round_ends=True)


def rear_derailleur(bike: Bike) -> Iterator[Shape]:
    """Draw the cage below the hanger."""
    hanger = bike.mounts["derailleur hanger"].origin[:2]
    upper, lower = shifted(hanger, 12.0, -32.0), shifted(hanger, 34.0, -92.0)
    yield ribbon(np.stack([hanger, upper]), 22.0, "hint", round_ends=True)
    yield ribbon(np.stack([upper, lower]), 16.0, "hint", round_ends=True)
    for pulley in (upper, lower):
        yield Circle(pulley, 11.0, "hint")


def front_derailleur(bike: Bike) -> Iterator[Shape]:
    """Draw the cage over the chainring."""
    seat = bike.tubes["seat tube"].axis[:2]
    base = (CHAINRING + 6.0) * seat
    yield hull(
        np.stack(
            [
                shifted(base, -30.0, -4.0),
                shifted(base, 34.0, -10.0),
                shifted(base, 40.0, 10.0),
                shifted(base, -24.0, 20.0),
            ]
        ),
        "hint",
    )
