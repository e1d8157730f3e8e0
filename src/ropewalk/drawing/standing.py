"""The bike in solids by body, in the order they cover each other, seen from the side and, its cockpit, from above."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np

from ropewalk.bike.mechanism import Placement
from ropewalk.bike.model import Bike, lever_clamp
from ropewalk.bike.tube import Tube
from ropewalk.drawing import hints
from ropewalk.drawing.handlebar import extension, half_bar, stem
from ropewalk.drawing.scene import Shape
from ropewalk.drawing.silhouettes import Places, circle
from ropewalk.drawing.solids import Ball, Barrel, Block, OnBody, Solid, Wires, extent, ring_about, tube_barrel
from ropewalk.workshop.jobplan import JobPlan

#: usual sizes [mm]
HUB, RIM_HEIGHT, SPOKES = 17.0, 17.0, 28
#: a suspension fork's upper legs end so far over the axle when it is pushed in [mm]
LEG_END = 15.0
#: from above, fork legs are shown when a line runs to a place on them so far from the crown [mm]
LOW = 110.0
#: how far behind the head tube the cockpit shows the frame [mm]
BEHIND = 230.0
_ACROSS = np.array([0.0, 0.0, 1.0])

Placed: TypeAlias = Mapping[str, Placement]


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """Something of the bike on its body, as it stands in the zero pose; `ahead` of a folding hinge or behind it."""

    body: str
    solid: Solid
    ahead: bool


@dataclass(frozen=True, slots=True, eq=False)
class Joining:
    """What joins bodies and changes its shape as they move, such as a chain: seen from the side, bodies placed."""

    draw: Callable[[Placed], Iterator[Shape]]
    ahead: bool = False


_Things: TypeAlias = Iterator[OnBody | Joining]


def side_things(job: JobPlan) -> tuple[Standing | Joining, ...]:
    """Return what the side view shows of the bike, far things first."""
    ahead = _bodies_ahead(job.model)
    return tuple(
        thing if isinstance(thing, Joining) else Standing(thing[0], thing[1], thing[0] in ahead) for thing in _side(job)
    )


def cockpit_things(job: JobPlan) -> tuple[Standing, ...]:
    """Return what the view of the cockpit from above shows of the bike, low things first."""
    ahead = _bodies_ahead(job.model)
    return tuple(Standing(body, solid, body in ahead) for body, solid in _above(job))


def _bodies_ahead(bike: Bike) -> frozenset[str]:
    """Return the bodies ahead of a folding hinge; all that steer on a bike that does not fold."""
    return frozenset((bike.tubes["head tube"].body, "fork", "bar", "lower")) - {"frame"}


def _side(job: JobPlan) -> _Things:
    bike, bones = job.model, job.model.skeleton
    rear, front = bike.mounts["rear axle"].body, bike.mounts["front axle"].body
    tandem = bike.frame.chart.boom is not None
    yield from _on("frame", hints.far_crank(bones.bottom_bracket))
    if tandem:
        yield from _on("frame", hints.far_crank(bones.rear_bottom_bracket))
        yield from _on("frame", hints.timing_rings(bike))
        yield Joining(lambda placed: hints.timing_chain(bike))
    yield from _on("bar", half_bar(job, "left"))
    yield from _on("bar", extension(job, "left"))
    yield from _on(rear, _wheel(bike, bones.rear_axle, rotor=_is_disc(job, "rear")))
    yield from _on(front, _wheel(bike, bones.front_axle, rotor=_is_disc(job, "front")))
    yield from _sided(bike, "left", "far tube")
    yield from _tube_levers(job, "left")
    yield from _on(rear, hints.sprockets(bones.rear_axle))
    yield Joining(lambda placed: hints.chain(bike, placed[rear].points(bones.rear_axle)[0]))
    yield "frame", hints.chainring(bones.rear_bottom_bracket)
    yield from _brakes(job, bike)
    yield from _steered(bike)
    yield from _sided(bike, "right", "tube")
    yield from hints.saddle(bike)
    if "rear seat tube" in bike.tubes:
        yield from hints.rear_saddle(bike)
    if bike.frame.travel.pivot is not None:
        yield Joining(lambda placed: hints.shock(bike, placed["rear"]))
    yield from _on("frame", hints.pivot(bike))
    for tube in _middle_tubes(bike):
        yield from _halves(tube, "tube")
    for bracket in (bones.bottom_bracket, bones.rear_bottom_bracket):
        yield "frame", Ball(bracket, bike.tubes["shell"].diameter / 2.0, "tube")
    yield from _derailleurs(job, bike, rear)
    if tandem:
        yield from _on("frame", hints.near_crank(bones.bottom_bracket))
    yield from _on("frame", hints.near_crank(bones.rear_bottom_bracket))
    yield from _tube_levers(job, "right")
    yield from _on("bar", stem(bike))
    yield from _on("bar", extension(job, "right"))
    yield from _on("bar", half_bar(job, "right"))


def _above(job: JobPlan) -> Iterator[OnBody]:
    bike = job.model
    cut = float(bike.skeleton.head_top[0]) - BEHIND
    found = [tube for name, tube in bike.tubes.items() if name in ("down tube", "top tube")]
    # the higher tube covers the lower one
    for place, tube in enumerate(sorted(found, key=lambda one: float(one.start[1]))):
        share = min((tube.start[0] - cut) / (tube.start[0] - tube.end[0]), 1.0)
        end = tube.start + share * (tube.end - tube.start)
        role = "tube" if place == len(found) - 1 else "far tube"
        yield tube.body_at(tube.start), tube_barrel(replace(tube, end=end), role)
    # fork legs, which lines run to, are far below
    low = [station.place for line in job.routing for station in line.stations if station.body in ("fork", "lower")]
    if any(math.dist(place, bike.skeleton.crown) > LOW for place in low):
        for side in ("left", "right"):
            yield from ((leg.body, tube_barrel(leg, "hint")) for leg in _legs(bike, side))
    head = bike.tubes["head tube"]
    yield head.body, tube_barrel(head, "tube")
    for side in ("left", "right"):
        yield from _on("bar", half_bar(job, side))
    for side in ("left", "right"):
        yield from _on("bar", extension(job, side))
    yield from _on("bar", stem(bike))
    yield "bar", Ball(bike.skeleton.steerer_top, 17.0, "metal")


def _on(body: str, solids: Iterable[Solid]) -> Iterator[OnBody]:
    return ((body, solid) for solid in solids)


def _middle_tubes(bike: Bike) -> Iterator[Tube]:
    """Return the tubes of the middle plane, the head tube last."""
    others = ("head tube", "shell", "steerer", "stem", "bar post")
    yield from (
        tube for name, tube in bike.tubes.items() if name not in others and not name.startswith(("left ", "right "))
    )
    yield bike.tubes["head tube"]


def _halves(tube: Tube, role: str) -> Iterator[OnBody]:
    """Return a tube; one with a folding hinge in two parts, and the hinge."""
    if not 0.0 < tube.hinge < tube.length:
        yield tube.body, tube_barrel(tube, role)
        return
    hinge = tube.start + tube.hinge * tube.axis
    radius = tube.diameter / 2.0
    for body, (start, end) in ((tube.body, (hinge, tube.end)), (tube.body_before, (tube.start, hinge))):
        yield body, Barrel(start, end, radius, role)
    for body, reach in ((tube.body, 13.0), (tube.body_before, -13.0)):
        yield body, Barrel(hinge, hinge + reach * tube.axis, radius + 6.0, "metal")


def _sided(bike: Bike, side: str, role: str) -> Iterator[OnBody]:
    """Return stays and fork legs of one side."""
    for name in ("seat stay", "chainstay"):
        tube = bike.tubes.get(f"{side} {name}")
        if tube is not None:
            yield from _halves(tube, role)
    *upper, last = _legs(bike, side)
    yield from ((leg.body, tube_barrel(leg, "metal")) for leg in upper)
    yield last.body, tube_barrel(last, role)


def _legs(bike: Bike, side: str) -> tuple[Tube, ...]:
    """Return a fork leg; of a sprung fork upper and lower, the upper as far down as it stays inside when pushed in."""
    leg, lower = bike.tubes[f"{side} fork leg"], bike.tubes.get(f"{side} lower leg")
    if lower is None:
        return (leg,)
    travel = float(bike.frame.travel.fork or 0.0)
    return replace(leg, end=leg.end - (travel + LEG_END) * leg.axis), lower


def _steered(bike: Bike) -> Iterator[OnBody]:
    """Return headset, spacers or tall post, and fork crown."""
    bones, cockpit = bike.skeleton, bike.frame.cockpit
    axis, half = bones.steering_axis, bike.tubes["head tube"].diameter / 2.0
    cup = bones.head_top - float(cockpit.upper_cup) * axis
    if "bar post" in bike.tubes:
        yield from _halves(bike.tubes["bar post"], "metal")
    elif cockpit.spacers > 1.0:
        yield "bar", Barrel(2.0 * bones.stem_point - bones.steerer_top, cup, 17.0, "metal")
    if cockpit.upper_cup > 1.0:
        yield bike.tubes["head tube"].body, Barrel(cup, bones.head_top, half - 3.0, "metal", half)
    if bike.frame.chart.lower_cup > 1.0:
        yield "fork", Barrel(bones.head_bottom, bones.crown, half, "metal", half - 3.0)
    legs = [bike.tubes[f"{side} fork leg"] for side in ("left", "right")]
    low = 10.0 * axis
    across = Barrel(legs[0].start + low, legs[1].start + low, legs[0].diameter / 2.0 + 3.0, "tube")
    if math.dist(legs[0].start[:2], bones.crown[:2]) < 1.0:
        yield "fork", across
    else:
        crown = bones.crown + low
        middle = Barrel(crown - 6.0 * axis, crown + 14.0 * axis, 20.0, "tube")
        yield "fork", Block(np.concatenate([extent(across), extent(middle)]), "tube")


def _tube_levers(job: JobPlan, side: str) -> Iterator[OnBody]:
    for lever in job.model.frame.lever:
        if lever.on not in ("bar", "extension") and lever.side == side:
            body = lever_clamp(job.model, lever).body
            yield from _on(body, hints.lever(job.model, lever, job.catalogue.lever(lever.part)))


def _wheel(bike: Bike, axle: Places, *, rotor: bool) -> Iterator[Solid]:
    bones = bike.skeleton
    tyre = bones.tyre_width
    yield Wires(_spokes(axle, HUB, bones.bead_radius - RIM_HEIGHT), "spoke")
    yield ring_about(axle, _ACROSS, bones.bead_radius - RIM_HEIGHT / 2.0, RIM_HEIGHT, "rim")
    yield ring_about(axle, _ACROSS, bones.wheel_radius - tyre / 2.0, tyre, "tyre")
    if rotor:
        yield ring_about(axle, _ACROSS, hints.ROTOR - 7.0, 14.0, "hint")
    yield Barrel(axle - 45.0 * _ACROSS, axle + 45.0 * _ACROSS, HUB, "hint")


def _spokes(axle: Places, inner: float, outer: float) -> Places:
    """Return spokes (k, 2, 3) that leave the hub at a tangent, to one side and the other by turns."""
    angles = np.arange(SPOKES) * 2.0 * math.pi / SPOKES
    lean = np.where(np.arange(SPOKES) % 2, 1.0, -1.0) * math.radians(70.0)
    return np.stack([circle(axle, _ACROSS, inner, angles + lean), circle(axle, _ACROSS, outer, angles)], axis=1)


def _is_disc(job: JobPlan, end: str) -> bool:
    return any(line.route.mover.mount == f"{end} disc mount" for line in job.routing)


def _brakes(job: JobPlan, bike: Bike) -> Iterator[OnBody]:
    for line in job.routing:
        mount = bike.mounts.get(line.route.mover.mount)
        if line.route.mover.work in ("brake", "hose") and mount is not None:
            yield from _on(mount.body, hints.brake(mount, line.stations[-1].place))


def _derailleurs(job: JobPlan, bike: Bike, rear: str) -> Iterator[OnBody]:
    names = [line.route.mover.name for line in job.routing]
    if any(name.startswith("rear derailleur") for name in names):
        yield from _on(rear, hints.rear_derailleur(bike))
    if any(name.startswith("front derailleur") for name in names):
        yield "frame", hints.front_derailleur(bike)
