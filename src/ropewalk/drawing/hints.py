"""Hints: what the frame file does not describe but a mechanic looks for, drawn lightly at usual sizes.

Levers, saddle and post, cranks, chain, brakes and derailleurs. None of it enters any length.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from ropewalk.bike.framefile import Lever
from ropewalk.bike.mechanism import Placement
from ropewalk.bike.model import Bike, lever_clamp
from ropewalk.bike.mounts import POST_COLLAR, Mount
from ropewalk.bike.rows import Lever as LeverPart
from ropewalk.drawing.scene import Area, Circle, Points, Polyline, Shape, shifted
from ropewalk.drawing.silhouettes import Eye, Solid, cylinder, from_the_right, hull, ribbon, wheel_ring
from ropewalk.drawing.solids import Places, Rod, silhouette

#: usual sizes [mm]
CRANK, PEDAL, CHAINRING, SPROCKET, TIMING = 170.0, 90.0, 84.0, 42.0, 76.0
CHAINLINE = 45.0
#: where the right crank points in the picture, from level forward
CRANK_ANGLE = math.radians(-24.0)
POST = 27.2
ROTOR, DRUM = 80.0, 44.0

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
_BAR_END_BLADE = ((0, 0, 0), (-20, 0, -4), (-34, 0, -22), (-24, 4, -58), (4, 6, -92))
_EXTENSION_POD = ((6, 0, 0), (-34, 0, 0), (-60, 0, -14), (-92, 0, -30))
_TUBE_LEVER = ((0, 0, 12), (-16, 14, 16), (-46, 38, 18))

# The saddle from the side, from the top of its post: forward, up [mm].
_SADDLE = (
    (150, 30), (153, 38), (140, 44), (90, 44), (30, 46), (-40, 54), (-100, 64), (-126, 64),
    (-130, 54), (-120, 34), (-80, 22), (-30, 20), (40, 26), (110, 28),
)  # fmt: skip


def lever_hint(bike: Bike, lever: Lever, part: LeverPart, placed: Placement, eye: Eye) -> Iterator[Shape]:
    """Draw a lever or shifter where its clamp is, on its placed body."""
    return (silhouette(solid, placed, eye) for solid in lever_solids(bike, lever, part))


def lever_solids(bike: Bike, lever: Lever, part: LeverPart) -> Iterator[Rod]:
    """Return what a lever or shifter is drawn from, where its clamp is."""
    clamp = lever_clamp(bike, lever)

    def carried(outline: tuple[tuple[float, float, float], ...]) -> Places:
        return np.stack([clamp.place(*place) for place in outline])

    stops = bool(set(part.exits) & {"brake", "hose"})
    plugged = part.sits_on in ("bar end", "base bar", "extension")
    if lever.on not in ("bar", "extension"):
        yield Rod(carried(_TUBE_LEVER), 8.0, "lever")
        yield Rod(carried(((-0.5, 0, 10), (0.5, 0, 10))), 24.0, "lever")
    elif plugged:
        shifter = _EXTENSION_POD if lever.on == "extension" else _BAR_END_POD
        yield Rod(carried(_BAR_END_BLADE if stops else shifter), 10.0, "lever")
    elif part.sits_on == "drop bar" and stops:
        yield Rod(carried(_HOOD_BLADE), 9.0, "lever")
        # seen edge on, a flat outline would vanish: a hood is some 26 mm thick
        yield Rod(carried(_HOOD), 13.0, "lever", filled=True)
    elif stops:
        yield Rod(carried(_FLAT_BLADE), 9.0, "lever")
        yield Rod(carried(_FLAT_BODY), 15.0, "lever")
    else:
        yield Rod(carried(_FLAT_POD), 24.0, "lever")


def saddle(bike: Bike, placed: Placement) -> Iterator[Shape]:
    """Draw saddle and post in side view: on a dropper post's placed head, or about level with the bar."""
    rise = bike.tubes["seat tube"].axis
    top = bike.skeleton.seat_top
    collar = bike.tubes["seat tube"].diameter / 2.0 + 3.0
    travel = bike.frame.travel.post
    if travel is not None:
        head = top + (float(travel) + POST_COLLAR) * rise
        yield from _post(top, placed.points(head)[0], rise, collar + 1.0)
        return
    wanted = float(bike.skeleton.bar_clamp[1]) + 10.0 - 40.0 - float(top[1])
    # small wheels have low frames and long posts
    most = max(230.0, 620.0 - float(np.linalg.norm(top)))
    yield from _post(top, top + min(max(wanted / float(rise[1]), 70.0), most) * rise, rise, collar)


def rear_saddle(bike: Bike) -> Iterator[Shape]:
    """Draw a tandem's rear saddle, at a usual height over its seat tube."""
    tube = bike.tubes["rear seat tube"]
    yield from _post(tube.end, tube.end + 130.0 * tube.axis, tube.axis, tube.diameter / 2.0 + 3.0)


def _post(top: Solid, head: Solid, rise: Solid, collar: float) -> Iterator[Shape]:
    eye = from_the_right
    yield cylinder(top - 5.0 * rise, head + 18.0 * rise, POST / 2.0, eye, "metal")
    yield cylinder(top - 14.0 * rise, top + 2.0 * rise, collar, eye, "metal")
    yield Area((head[:2] + np.array(_SADDLE, dtype=np.float64),), "tape")


def far_crank(bracket: Solid) -> Iterator[Shape]:
    """Draw the left crank, which is behind the frame."""
    yield from _crank(bracket[:2], CRANK_ANGLE + math.pi)


def timing(bike: Bike) -> Iterator[Shape]:
    """Draw a tandem's chain on the left, from bottom bracket to bottom bracket."""
    front, rear = bike.skeleton.bottom_bracket[:2], bike.skeleton.rear_bottom_bracket[:2]
    for centre in (front, rear):
        yield from _ring(centre, TIMING, 8.0)
    for sign in (1.0, -1.0):
        yield Polyline(_tangent(rear, TIMING, front, TIMING, sign), "faint", 6.0)


def drive(bike: Bike, axle: Solid) -> Iterator[Shape]:
    """Draw chain, sprocket and chainring in side view, from the rear axle in its place."""
    rear, front = axle[:2], bike.skeleton.rear_bottom_bracket[:2]
    yield Circle(rear, SPROCKET, "hint")
    yield Circle(rear, 18.0, "hint")
    for sign in (1.0, -1.0):
        yield Polyline(_tangent(rear, SPROCKET, front, CHAINRING, sign), "faint", 6.0)
    yield from _ring(front, CHAINRING, 12.0)


def near_crank(bracket: Solid) -> Iterator[Shape]:
    """Draw the right crank and the middle of the chainring."""
    yield from _crank(bracket[:2], CRANK_ANGLE)
    yield Circle(bracket[:2], 19.0, "hint")


def _ring(centre: Points, radius: float, width: float) -> Iterator[Shape]:
    middle = np.array([centre[0], centre[1], 0.0])
    yield wheel_ring(middle, np.array([0.0, 0.0, 1.0]), radius - width / 2.0, width, from_the_right, "hint")


def _crank(start: Points, angle: float) -> Iterator[Shape]:
    end = start + CRANK * np.array([math.cos(angle), math.sin(angle)])
    yield ribbon(np.stack([start, end]), 20.0, "hint", round_ends=True)
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
    """Draw a brake at its mount, in its place: a caliper, arms to the rim, an arm on a pivot, or a drum at the axle.

    Parameters
    ----------
    mount : Mount
    seat : (3,) array
        Where its housing seats, in its place [mm].
    placed : Placement
        Of the mount's body.
    eye : Eye
    """

    def seen(*places: Solid) -> Points:
        return eye(placed.points(np.stack(places))[0])

    middle = seen(mount.place(0.0, 0.0, 0.0))
    yield ribbon(np.concatenate([middle, eye(seat[None])]), 9.0, "hint", round_ends=True)
    if "axle" in mount.name:
        yield Circle(middle[0], DRUM, "hint")
    elif "disc" in mount.name:
        yield hull(seen(*(mount.place(ahead, up, 0.0) for ahead in (-20.0, 14.0) for up in (-26.0, 26.0))), "hint")
    elif "boss" in mount.name:
        yield ribbon(seen(mount.place(0.0, -8.0, 0.0), mount.place(0.0, 84.0, 0.0)), 20.0, "hint", round_ends=True)
    else:
        yield ribbon(seen(mount.place(0.0, 16.0, 0.0), mount.place(0.0, -54.0, 0.0)), 22.0, "hint", round_ends=True)


def rear_derailleur(bike: Bike, placed: Placement) -> Iterator[Shape]:
    """Draw the cage below the hanger, in its place."""
    hanger = placed.points(bike.mounts["derailleur hanger"].origin)[0, :2]
    upper, lower = shifted(hanger, 12.0, -32.0), shifted(hanger, 34.0, -92.0)
    yield ribbon(np.stack([hanger, upper]), 22.0, "hint", round_ends=True)
    yield ribbon(np.stack([upper, lower]), 16.0, "hint", round_ends=True)
    for pulley in (upper, lower):
        yield Circle(pulley, 11.0, "hint")


def front_derailleur(bike: Bike) -> Iterator[Shape]:
    """Draw the cage over the chainring."""
    bones = bike.skeleton
    base = bones.rear_bottom_bracket[:2] + (CHAINRING + 6.0) * bike.tubes["seat tube"].axis[:2]
    corners = ((-30.0, -4.0), (34.0, -10.0), (40.0, 10.0), (-24.0, 20.0))
    yield hull(np.stack([shifted(base, ahead, up) for ahead, up in corners]), "hint")


def shock(bike: Bike, placed: Placement) -> Iterator[Shape]:
    """Draw the pivot of a swing arm, and a shock from the seat stays, in their place, to the tube ahead of them."""
    stay = bike.tubes["right seat stay"]
    ahead = bike.tubes.get("top tube", bike.tubes["down tube"])
    start = placed.points(stay.start * np.array([1.0, 1.0, 0.0]))[0]
    end = ahead.start + 0.55 * (ahead.end - ahead.start)
    yield cylinder(start, end, 11.0, from_the_right, "hint")
    yield cylinder(start + 0.42 * (end - start), end, 20.0, from_the_right, "hint")
    assert bike.frame.travel.pivot is not None
    yield Circle(np.array([float(part) for part in bike.frame.travel.pivot]), 15.0, "metal")
