"""The bike in solids by body, in the order they cover each other, for a page that moves the bodies itself.

What only the side shows, such as cranks and saddle, is flat: it lies in its body's middle plane.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from ropewalk.bike.mechanism import Placement
from ropewalk.bike.model import Bike, lever_clamp
from ropewalk.bike.tube import Tube
from ropewalk.drawing import hints
from ropewalk.drawing.bikeview import HUB, RIM_HEIGHT, shorter_leg
from ropewalk.drawing.cockpitview import BEHIND
from ropewalk.drawing.handlebar import extension_solids, half_bar_solids, stem_solids
from ropewalk.drawing.scene import Area, Circle, Shape
from ropewalk.drawing.silhouettes import from_the_right, spokes, square_to
from ropewalk.drawing.solids import Barrel, Block, Places, Solid
from ropewalk.workshop.jobplan import JobPlan

#: spokes drawn of a wheel, and points of its rim
SPOKES, RIM_POINTS = 16, 48
_ACROSS = np.array([0.0, 0.0, 1.0])
_STILL = Placement(np.eye(3)[None], np.zeros((1, 3)))


@dataclass(frozen=True, slots=True, eq=False)
class Plate:
    """A flat thing in its body's middle plane: its outline (n, 3)."""

    outline: Places
    role: str


@dataclass(frozen=True, slots=True, eq=False)
class Ring:
    """A closed round rod: its middle line (n, 3) and width [mm]."""

    path: Places
    width: float
    role: str


@dataclass(frozen=True, slots=True, eq=False)
class Ball:
    """What looks round from any side, by its middle (3,) and radius [mm]."""

    centre: Places
    radius: float
    role: str


@dataclass(frozen=True, slots=True, eq=False)
class Wires:
    """Thin straight wires: their ends (k, 2, 3)."""

    ends: Places
    role: str


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """Something of the bike on its body, as it stands in the zero pose; `ahead` of a folding hinge or behind it."""

    body: str
    thing: Solid | Plate | Ring | Ball | Wires
    ahead: bool


def from_the_side(job: JobPlan) -> tuple[Standing, ...]:
    """Return what the side view shows of the bike, far things first."""
    bike = job.model
    ahead = _bodies_ahead(bike)
    return tuple(Standing(body, thing, body in ahead) for body, thing in _side(job, bike))


def from_above(job: JobPlan) -> tuple[Standing, ...]:
    """Return what the view of the cockpit from above shows of the bike, low things first."""
    bike = job.model
    ahead = _bodies_ahead(bike)
    return tuple(Standing(body, thing, body in ahead) for body, thing in _above(job, bike))


_Things = Iterator[tuple[str, Solid | Plate | Ring | Ball | Wires]]


def _bodies_ahead(bike: Bike) -> frozenset[str]:
    """Return the bodies ahead of a folding hinge; all that steer on a bike that does not fold."""
    return frozenset((bike.tubes["head tube"].body, "fork", "bar", "lower")) - {"frame"}


def _side(job: JobPlan, bike: Bike) -> _Things:
    bones = bike.skeleton
    rear, front = bike.mounts["rear axle"].body, bike.mounts["front axle"].body
    yield from _flat("frame", hints.far_crank(bones.bottom_bracket))
    if bike.frame.chart.boom is not None:
        yield from _flat("frame", hints.far_crank(bones.rear_bottom_bracket))
    yield from _on("bar", half_bar_solids(job, "left"))
    yield from _on("bar", extension_solids(job, "left"))
    yield from _wheel(bike, rear, bones.rear_axle)
    yield from _wheel(bike, front, bones.front_axle)
    yield from _sided(bike, "left", "far tube")
    # sprockets go with the rear axle; the chain, which would have to stretch, is left out
    for shape in hints.drive(bike, bones.rear_axle):
        yield from _flat(rear if isinstance(shape, Circle) else "frame", [shape])
    yield from _headset(bike)
    yield from _sided(bike, "right", "tube")
    yield from _flat("post", hints.saddle(bike, _STILL))
    if "rear seat tube" in bike.tubes:
        yield from _flat("frame", hints.rear_saddle(bike))
    others = ("head tube", "shell", "steerer", "stem", "bar post")
    for name, tube in bike.tubes.items():
        if name not in others and not name.startswith(("left ", "right ")):
            yield from _tube(tube, "tube")
    yield from _tube(bike.tubes["head tube"], "tube")
    for bracket in (bones.bottom_bracket, bones.rear_bottom_bracket):
        yield "frame", Ball(bracket, bike.tubes["shell"].diameter / 2.0, "tube")
    yield from _derailleurs(job, bike, rear)
    if bike.frame.chart.boom is not None:
        yield from _flat("frame", hints.near_crank(bones.bottom_bracket))
    yield from _flat("frame", hints.near_crank(bones.rear_bottom_bracket))
    for lever in bike.frame.lever:
        if lever.on not in ("bar", "extension"):
            body = lever_clamp(bike, lever).body
            yield from _on(body, hints.lever_solids(bike, lever, job.catalogue.lever(lever.part)))
    yield from _on("bar", stem_solids(bike))
    yield from _on("bar", extension_solids(job, "right"))
    yield from _on("bar", half_bar_solids(job, "right"))


def _above(job: JobPlan, bike: Bike) -> _Things:
    bones = bike.skeleton
    cut = float(bones.head_top[0]) - BEHIND
    found = [tube for name, tube in bike.tubes.items() if name in ("down tube", "top tube")]
    # the higher tube covers the lower one
    for place, tube in enumerate(sorted(found, key=lambda one: float(one.start[1]))):
        share = min((tube.start[0] - cut) / (tube.start[0] - tube.end[0]), 1.0)
        end = tube.start + share * (tube.end - tube.start)
        role = "tube" if place == len(found) - 1 else "far tube"
        yield tube.body_at(tube.start), Barrel(tube.start, end, tube.diameter / 2.0, role)
    for side in ("left", "right"):
        leg = bike.tubes[f"{side} fork leg"]
        yield leg.body, Barrel(leg.start, leg.end, leg.diameter / 2.0, "hint")
    yield from _tube(bike.tubes["head tube"], "tube")
    for side in ("left", "right"):
        yield from _on("bar", half_bar_solids(job, side))
        yield from _on("bar", extension_solids(job, side))
    yield from _on("bar", stem_solids(bike))
    yield "bar", Ball(bones.steerer_top, 17.0, "metal")


def _on(body: str, things: Iterable[Solid]) -> _Things:
    return ((body, thing) for thing in things)


def _flat(body: str, shapes: Iterable[Shape]) -> _Things:
    """Return filled shapes of the side view as things in the middle plane of a body."""
    for shape in shapes:
        if isinstance(shape, Area):
            yield body, Plate(_in_plane(shape.rings[0]), shape.role)
        elif isinstance(shape, Circle):
            yield body, Ball(_in_plane(shape.centre[None])[0], shape.radius, shape.role)


def _in_plane(points: Places) -> Places:
    return np.column_stack([points, np.zeros(len(points))])


def _tube(tube: Tube, role: str) -> _Things:
    """Return a tube; one with a folding hinge in two parts, and the hinge."""
    radius = tube.diameter / 2.0
    if not 0.0 < tube.hinge < tube.length:
        yield tube.body, Barrel(tube.start, tube.end, radius, role)
        return
    hinge = tube.start + tube.hinge * tube.axis
    for body, (start, end) in ((tube.body, (hinge, tube.end)), (tube.body_before, (tube.start, hinge))):
        yield body, Barrel(start, end, radius, role)
    for body, reach in ((tube.body, 13.0), (tube.body_before, -13.0)):
        yield body, Barrel(hinge, hinge + reach * tube.axis, radius + 6.0, "metal")


def _sided(bike: Bike, side: str, role: str) -> _Things:
    for name in ("seat stay", "chainstay", "fork leg", "lower leg"):
        tube = bike.tubes.get(f"{side} {name}")
        if tube is not None:
            sprung = name == "fork leg" and f"{side} lower leg" in bike.tubes
            shown = shorter_leg(bike, tube) if sprung else tube
            yield from _tube(shown, "metal" if sprung else role)


def _headset(bike: Bike) -> _Things:
    """Return headset, spacers or tall post, and fork crown."""
    bones, cockpit = bike.skeleton, bike.frame.cockpit
    axis, half = bones.steering_axis, bike.tubes["head tube"].diameter / 2.0
    cup = bones.head_top - float(cockpit.upper_cup) * axis
    if "bar post" in bike.tubes:
        yield from _tube(bike.tubes["bar post"], "metal")
    elif cockpit.spacers > 1.0:
        yield "bar", Barrel(2.0 * bones.stem_point - bones.steerer_top, cup, 17.0, "metal")
    if cockpit.upper_cup > 1.0:
        yield bike.tubes["head tube"].body, Barrel(cup, bones.head_top, half - 3.0, "metal", half)
    if bike.frame.chart.lower_cup > 1.0:
        yield "fork", Barrel(bones.head_bottom, bones.crown, half, "metal", half - 3.0)
    legs = [bike.tubes[f"{side} fork leg"] for side in ("left", "right")]
    low = 10.0 * axis
    tops = [leg.start + low for leg in legs]
    rim = legs[0].diameter / 2.0 + 3.0
    if math.dist(legs[0].start[:2], bones.crown[:2]) < 1.0:
        yield "fork", Barrel(tops[0], tops[1], rim, "tube")
    else:
        crown = bones.crown + low
        first, second = square_to(axis)
        about = [crown + along * axis + 20.0 * aside for along in (-6.0, 14.0) for aside in (first, -first, second)]
        yield "fork", Block(np.stack([*tops, *about]), "tube")


def _wheel(bike: Bike, body: str, axle: Places) -> _Things:
    bones = bike.skeleton
    tyre, rim = bones.tyre_width, bones.bead_radius - RIM_HEIGHT
    yield body, Wires(np.stack(spokes(axle, _ACROSS, HUB, rim, SPOKES)), "spoke")
    angles = np.arange(RIM_POINTS) * 2.0 * math.pi / RIM_POINTS
    first, second = square_to(_ACROSS)
    around = np.cos(angles)[:, None] * first + np.sin(angles)[:, None] * second
    yield body, Ring(axle + (rim + RIM_HEIGHT / 2.0) * around, RIM_HEIGHT, "rim")
    yield body, Ring(axle + (bones.wheel_radius - tyre / 2.0) * around, tyre, "tyre")
    yield body, Barrel(axle - 45.0 * _ACROSS, axle + 45.0 * _ACROSS, HUB, "hint")


def _derailleurs(job: JobPlan, bike: Bike, rear: str) -> _Things:
    names = [line.route.mover.name for line in job.routing]
    if any(name.startswith("rear derailleur") for name in names):
        yield from _flat(rear, hints.rear_derailleur(bike, _STILL))
    if any(name.startswith("front derailleur") for name in names):
        yield from _flat("frame", hints.front_derailleur(bike))
    for line in job.routing:
        mount, last = bike.mounts.get(line.route.mover.mount), line.stations[-1]
        if line.route.mover.work in ("brake", "hose") and mount is not None:
            yield from _flat(mount.body, hints.brake(mount, last.place, _STILL, from_the_right))
