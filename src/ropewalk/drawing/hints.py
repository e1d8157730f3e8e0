"""Hints: what the frame file does not describe but a mechanic looks for, drawn lightly at usual sizes.

Levers, saddle and post, cranks, chain, brakes and derailleurs, as solids; what only the side shows, such as cranks and
saddle, lies in the middle plane. None of it enters any length.
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
from ropewalk.bike.tube import Tube
from ropewalk.drawing.scene import Points, Polyline, Shape
from ropewalk.drawing.silhouettes import Places, from_the_right
from ropewalk.drawing.solids import STILL, Ball, Barrel, Block, OnBody, Plate, Ring, Rod, Solid, ring_about, seen

#: usual sizes [mm]
CRANK, PEDAL, CHAINRING, SPROCKET, TIMING = 170.0, 90.0, 84.0, 42.0, 76.0
#: where the right crank points in the picture, from level forward
CRANK_ANGLE = math.radians(-24.0)
POST = 27.2
ROTOR, DRUM = 80.0, 44.0
_ACROSS = np.array([0.0, 0.0, 1.0])

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


def lever(bike: Bike, lever: Lever, part: LeverPart) -> Iterator[Rod]:
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


def saddle(bike: Bike) -> Iterator[OnBody]:
    """Return saddle, post and its collar: on a dropper post's head, or about level with the bar."""
    tube = bike.tubes["seat tube"]
    rise, top = tube.axis, bike.skeleton.seat_top
    collar = tube.diameter / 2.0 + 3.0
    travel = bike.frame.travel.post
    if travel is not None:
        yield from _post(tube, top, top + (float(travel) + POST_COLLAR) * rise, collar + 1.0)
        return
    wanted = float(bike.skeleton.bar_clamp[1]) + 10.0 - 40.0 - float(top[1])
    # small wheels have low frames and long posts
    most = max(230.0, 620.0 - float(np.linalg.norm(top)))
    yield from _post(tube, top, top + min(max(wanted / float(rise[1]), 70.0), most) * rise, collar)


def rear_saddle(bike: Bike) -> Iterator[OnBody]:
    """Return a tandem's rear saddle, at a usual height over its seat tube."""
    tube = bike.tubes["rear seat tube"]
    for _, solid in _post(tube, tube.end, tube.end + 130.0 * tube.axis, tube.diameter / 2.0 + 3.0):
        yield tube.body, solid


def _post(tube: Tube, top: Places, head: Places, collar: float) -> Iterator[OnBody]:
    rise = tube.axis
    yield "post", Barrel(top - 5.0 * rise, head + 18.0 * rise, POST / 2.0, "metal")
    yield tube.body, Barrel(top - 14.0 * rise, top + 2.0 * rise, collar, "metal")
    yield "post", Plate(head + _flat(np.array(_SADDLE, dtype=np.float64)), "tape")


def far_crank(bracket: Places) -> Iterator[Solid]:
    """Return the left crank, which is behind the frame."""
    return _crank(bracket, CRANK_ANGLE + math.pi)


def near_crank(bracket: Places) -> Iterator[Solid]:
    """Return the right crank and the middle of the chainring."""
    yield from _crank(bracket, CRANK_ANGLE)
    yield Ball(bracket, 19.0, "hint")


def _crank(start: Places, angle: float) -> Iterator[Rod]:
    end = start + CRANK * np.array([math.cos(angle), math.sin(angle), 0.0])
    half = np.array([PEDAL / 2.0, 0.0, 0.0])
    yield Rod(np.stack([start, end]), 20.0, "hint")
    yield Rod(np.stack([end - half, end + half]), 18.0, "hint")


def sprockets(axle: Places) -> Iterator[Ball]:
    """Return the rear sprockets, the smallest in front."""
    yield Ball(axle, SPROCKET, "hint")
    yield Ball(axle, 18.0, "hint")


def chainring(bracket: Places) -> Ring:
    """Return the chainring."""
    return ring_about(bracket, _ACROSS, CHAINRING - 6.0, 12.0, "hint")


def chain(bike: Bike, axle: Places) -> Iterator[Polyline]:
    """Draw the runs of the chain in side view, from the rear axle in its place."""
    return _runs(axle, SPROCKET, bike.skeleton.rear_bottom_bracket, CHAINRING)


def timing_rings(bike: Bike) -> Iterator[Ring]:
    """Return the rings of a tandem's chain on the left."""
    for bracket in (bike.skeleton.bottom_bracket, bike.skeleton.rear_bottom_bracket):
        yield ring_about(bracket, _ACROSS, TIMING - 4.0, 8.0, "hint")


def timing_chain(bike: Bike) -> Iterator[Polyline]:
    """Draw the runs of a tandem's chain on the left, from bottom bracket to bottom bracket."""
    return _runs(bike.skeleton.rear_bottom_bracket, TIMING, bike.skeleton.bottom_bracket, TIMING)


def _runs(one: Places, radius: float, other: Places, other_radius: float) -> Iterator[Polyline]:
    """Draw the outer tangents of two circles seen from the side, above and below."""
    gap = other[:2] - one[:2]
    length = float(np.hypot(*gap))
    ahead = gap / length
    sine = (radius - other_radius) / length
    for sign in (1.0, -1.0):
        aside = sign * np.array([-ahead[1], ahead[0]])
        normal = sine * ahead + math.sqrt(1.0 - sine * sine) * aside
        yield Polyline(np.stack([one[:2] + radius * normal, other[:2] + other_radius * normal]), "faint", 6.0)


def brake(mount: Mount, seat: Places) -> Iterator[Solid]:
    """Return a brake at its mount: a caliper, arms to the rim, an arm on a pivot, or a drum at the axle.

    Parameters
    ----------
    mount : Mount
    seat : (3,) array
        Where its housing seats [mm].
    """
    middle = mount.place(0.0, 0.0, 0.0)
    yield Rod(np.stack([middle, seat]), 9.0, "hint")
    if "axle" in mount.name:
        yield Ball(middle, DRUM, "hint")
    elif "disc" in mount.name:
        corners = [mount.place(ahead, up, 0.0) for ahead in (-20.0, 14.0) for up in (-26.0, 26.0)]
        yield Block(np.stack(corners), "hint")
    elif "boss" in mount.name:
        yield Rod(np.stack([mount.place(0.0, -8.0, 0.0), mount.place(0.0, 84.0, 0.0)]), 20.0, "hint")
    else:
        yield Rod(np.stack([mount.place(0.0, 16.0, 0.0), mount.place(0.0, -54.0, 0.0)]), 22.0, "hint")


def rear_derailleur(bike: Bike) -> Iterator[Solid]:
    """Return the cage below the hanger."""
    hanger = bike.mounts["derailleur hanger"].origin * np.array([1.0, 1.0, 0.0])
    upper, lower = hanger + np.array([12.0, -32.0, 0.0]), hanger + np.array([34.0, -92.0, 0.0])
    yield Rod(np.stack([hanger, upper]), 22.0, "hint")
    yield Rod(np.stack([upper, lower]), 16.0, "hint")
    for pulley in (upper, lower):
        yield Ball(pulley, 11.0, "hint")


def front_derailleur(bike: Bike) -> Block:
    """Return the cage over the chainring."""
    base = bike.skeleton.rear_bottom_bracket + (CHAINRING + 6.0) * bike.tubes["seat tube"].axis
    corners = np.array(((-30.0, -4.0), (34.0, -10.0), (40.0, 10.0), (-24.0, 20.0)))
    return Block(base + _flat(corners), "hint")


def shock(bike: Bike, placed: Placement) -> Iterator[Shape]:
    """Draw a shock in side view, from the seat stays, in their place, to the tube ahead of them."""
    stay = bike.tubes["right seat stay"]
    ahead = bike.tubes.get("top tube", bike.tubes["down tube"])
    start = placed.points(stay.start * np.array([1.0, 1.0, 0.0]))[0]
    end = ahead.start + 0.55 * (ahead.end - ahead.start)
    for barrel in (
        Barrel(start, end, 11.0, "hint"),
        Barrel(start + 0.42 * (end - start), end, 20.0, "hint"),
    ):
        yield from seen(barrel, STILL, from_the_right)


def pivot(bike: Bike) -> Iterator[Ball]:
    """Return the pivot of a swing arm, where there is one."""
    if bike.frame.travel.pivot is not None:
        along, up = (float(part) for part in bike.frame.travel.pivot)
        yield Ball(np.array([along, up, 0.0]), 15.0, "metal")


def _flat(points: Points) -> Places:
    """Return points (n, 2) of the side view in the middle plane."""
    return np.column_stack([points, np.zeros(len(points))])
