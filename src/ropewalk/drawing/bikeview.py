"""The bike from the rider's right, in any pose: wheels, tubes, fork, saddle, drive, bar; far things first."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np

from ropewalk.bike.mechanism import Placement
from ropewalk.bike.model import Bike, lever_clamp
from ropewalk.bike.tube import Tube
from ropewalk.drawing import hints
from ropewalk.drawing.handlebar import cockpit_middle, extension, half_bar
from ropewalk.drawing.scene import Area, Circle, Polyline, Shape
from ropewalk.drawing.silhouettes import Solid, cylinder, from_the_right, hull, spokes, tube_area, wheel_ring
from ropewalk.workshop.jobplan import JobPlan

#: usual sizes [mm]
HUB, RIM_HEIGHT, SPOKES = 17.0, 17.0, 28
#: a suspension fork's upper legs end so far over the axle when it is pushed in [mm]
LEG_END = 15.0
#: bodies ahead of a folding frame's hinge
_AHEAD = ("front half", "fork", "bar", "lower")
_ACROSS = np.array([0.0, 0.0, 1.0])

Placed = Mapping[str, Placement]


def bike_shapes(job: JobPlan, placed: Placed, travelled: Placed) -> Iterator[Shape]:
    """Draw everything but the lines.

    Parameters
    ----------
    job : JobPlan
    placed : mapping of str to Placement
        Where each body is.
    travelled : mapping of str to Placement
        Where it is with the bars straight and the bike unfolded, for the ground under both wheels.
    """
    bike = job.model
    yield _ground(bike, travelled)
    parts = list(_parts(job, bike, placed))
    ahead = bike.tubes["head tube"].body
    if ahead != "frame" and not np.allclose(placed[ahead].rotation, np.eye(3)):
        # folded, the front half lies beside the rear one: all of it nearer, or all of it behind
        nearer = float(placed["fork"].points(bike.skeleton.front_axle)[0, 2]) > 0.0
        parts.sort(key=lambda part: part[0] is nearer)
    yield from (shape for _, shape in parts)


def _parts(job: JobPlan, bike: Bike, placed: Placed) -> Iterator[tuple[bool, Shape]]:
    """Return each shape with whether it belongs to what is ahead of a folding hinge."""
    bones, eye = bike.skeleton, from_the_right
    rear, front = bike.mounts["rear axle"].body, bike.mounts["front axle"].body
    yield from _of(hints.far_crank(bones.bottom_bracket), ahead=False)
    if bike.frame.chart.boom is not None:
        yield from _of(hints.far_crank(bones.rear_bottom_bracket), ahead=False)
        yield from _of(hints.timing(bike), ahead=False)
    yield from _of(half_bar(job, "left", placed["bar"], eye), ahead=True)
    yield from _of(extension(job, "left", placed["bar"], eye), ahead=True)
    yield from _of(_wheel(bike, bones.rear_axle, placed[rear], rotor=_is_disc(job, "rear")), ahead=False)
    yield from _of(_wheel(bike, bones.front_axle, placed[front], rotor=_is_disc(job, "front")), ahead=True)
    yield from _sided(bike, placed, "left", "far tube")
    yield from _of(_tube_levers(job, "left", placed), ahead=False)
    yield from _of(hints.drive(bike, placed[rear].points(bones.rear_axle)[0]), ahead=False)
    yield from _brakes(job, bike, placed)
    yield from _of(_steered(bike, placed), ahead=True)
    yield from _sided(bike, placed, "right", "tube")
    yield from _of(hints.saddle(bike, placed["post"]), ahead=False)
    if "rear seat tube" in bike.tubes:
        yield from _of(hints.rear_saddle(bike), ahead=False)
    if bike.frame.travel.pivot is not None:
        yield from _of(hints.shock(bike, placed["rear"]), ahead=False)
    for tube in _middle_tubes(bike):
        yield from _halves(tube, placed, "tube")
    for bracket in (bones.bottom_bracket, bones.rear_bottom_bracket):
        yield False, Circle(bracket[:2], bike.tubes["shell"].diameter / 2.0, "tube")
    yield from _of(_derailleurs(job, bike, placed[rear]), ahead=False)
    if bike.frame.chart.boom is not None:
        yield from _of(hints.near_crank(bones.bottom_bracket), ahead=False)
    yield from _of(hints.near_crank(bones.rear_bottom_bracket), ahead=False)
    yield from _of(_tube_levers(job, "right", placed), ahead=False)
    yield from _of(cockpit_middle(bike, placed["bar"], eye), ahead=True)
    yield from _of(extension(job, "right", placed["bar"], eye), ahead=True)
    yield from _of(half_bar(job, "right", placed["bar"], eye), ahead=True)


def _of(shapes: Iterator[Shape], *, ahead: bool) -> Iterator[tuple[bool, Shape]]:
    return ((ahead, shape) for shape in shapes)


def _ground(bike: Bike, travelled: Placed) -> Polyline:
    """Return the ground: level as the chart has it, or under both wheels where springs have given way."""
    bones = bike.skeleton
    rear = travelled[bike.mounts["rear axle"].body].points(bones.rear_axle)[0, :2]
    front = travelled[bike.mounts["front axle"].body].points(bones.front_axle)[0, :2]
    about = bones.wheel_radius + 60.0
    if np.allclose(rear, bones.rear_axle[:2]) and np.allclose(front, bones.front_axle[:2]):
        ends = [[rear[0] - about, bones.ground], [front[0] + about, bones.ground]]
        return Polyline(np.array(ends), "ground")
    along = (front - rear) / math.dist(front, rear)
    down = bones.wheel_radius * np.array([along[1], -along[0]])
    return Polyline(np.stack([rear + down - about * along, front + down + about * along]), "ground")


def _middle_tubes(bike: Bike) -> Iterator[Tube]:
    """Return the tubes of the middle plane, the head tube last."""
    others = ("head tube", "shell", "steerer", "stem", "bar post")
    yield from (
        tube for name, tube in bike.tubes.items() if name not in others and not name.startswith(("left ", "right "))
    )
    yield bike.tubes["head tube"]


def _halves(tube: Tube, placed: Placed, role: str) -> Iterator[tuple[bool, Shape]]:
    """Draw a tube; one with a folding hinge in two parts, and the hinge."""
    eye = from_the_right
    if not 0.0 < tube.hinge < tube.length:
        yield tube.body in _AHEAD, tube_area(tube, placed[tube.body], eye, role)
        return
    hinge = tube.start + tube.hinge * tube.axis
    radius = tube.diameter / 2.0
    for body, ends in ((tube.body, (hinge, tube.end)), (tube.body_before, (tube.start, hinge))):
        start, end = placed[body].points(np.stack(ends))[0]
        yield body in _AHEAD, cylinder(start, end, radius, eye, role)
    for body, reach in ((tube.body, 13.0), (tube.body_before, -13.0)):
        start, end = placed[body].points(np.stack([hinge, hinge + reach * tube.axis]))[0]
        yield body in _AHEAD, cylinder(start, end, radius + 6.0, eye, "metal")


def _sided(bike: Bike, placed: Placed, side: str, role: str) -> Iterator[tuple[bool, Shape]]:
    """Draw stays and fork legs of one side."""
    for name in ("seat stay", "chainstay", "fork leg", "lower leg"):
        tube = bike.tubes.get(f"{side} {name}")
        if tube is not None:
            sprung = name == "fork leg" and f"{side} lower leg" in bike.tubes
            shown = shorter_leg(bike, tube) if sprung else tube
            yield tube.body in _AHEAD, tube_area(shown, placed[tube.body], from_the_right, "metal" if sprung else role)


def shorter_leg(bike: Bike, leg: Tube) -> Tube:
    """Return the upper leg of a suspension fork as far down as it reaches, so that it stays inside when pushed in."""
    travel = float(bike.frame.travel.fork or 0.0)
    return replace(leg, end=leg.end - (travel + LEG_END) * leg.axis)


def _steered(bike: Bike, placed: Placed) -> Iterator[Shape]:
    """Draw headset, spacers or tall post, and fork crown."""
    bones, eye, cockpit = bike.skeleton, from_the_right, bike.frame.cockpit
    axis, half = bones.steering_axis, bike.tubes["head tube"].diameter / 2.0
    head, fork = placed[bike.tubes["head tube"].body], placed["fork"]
    stem_low = 2.0 * bones.stem_point - bones.steerer_top
    cup = bones.head_top - float(cockpit.upper_cup) * axis

    def between(body: Placement, start: Solid, end: Solid, radius: float, last: float | None = None) -> Area:
        first, second = body.points(np.stack([start, end]))[0]
        return cylinder(first, second, radius, eye, "metal", last)

    if "bar post" in bike.tubes:
        yield from (shape for _, shape in _halves(bike.tubes["bar post"], placed, "metal"))
    elif cockpit.spacers > 1.0:
        yield between(placed["bar"], stem_low, cup, 17.0)
    if cockpit.upper_cup > 1.0:
        yield between(head, cup, bones.head_top, half - 3.0, half)
    if bike.frame.chart.lower_cup > 1.0:
        yield between(fork, bones.head_bottom, bones.crown, half, half - 3.0)
    legs = [bike.tubes[f"{side} fork leg"] for side in ("left", "right")]
    low = 10.0 * axis
    crown, left, right = fork.points(np.stack([bones.crown + low, *(leg.start + low for leg in legs)]))[0]
    across = cylinder(left, right, legs[0].diameter / 2.0 + 3.0, eye, "tube")
    if math.dist(legs[0].start[:2], bones.crown[:2]) < 1.0:
        yield across
    else:
        middle = cylinder(crown - 6.0 * axis, crown + 14.0 * axis, 20.0, eye, "tube")
        yield hull(np.concatenate([across.rings[0], middle.rings[0]]), "tube")


def _tube_levers(job: JobPlan, side: str, placed: Placed) -> Iterator[Shape]:
    for lever in job.model.frame.lever:
        if lever.on not in ("bar", "extension") and lever.side == side:
            body = lever_clamp(job.model, lever).body
            part = job.catalogue.lever(lever.part)
            yield from hints.lever_hint(job.model, lever, part, placed[body], from_the_right)


def _wheel(bike: Bike, axle: Solid, placed: Placement, *, rotor: bool) -> Iterator[Shape]:
    bones, eye = bike.skeleton, from_the_right
    centre, axis = placed.points(axle)[0], placed.directions(_ACROSS)[0]
    tyre = bones.tyre_width
    for spoke in spokes(centre, axis, HUB, bones.bead_radius - RIM_HEIGHT, SPOKES):
        yield Polyline(eye(spoke), "spoke")
    yield wheel_ring(centre, axis, bones.bead_radius - RIM_HEIGHT / 2.0, RIM_HEIGHT, eye, "rim")
    yield wheel_ring(centre, axis, bones.wheel_radius - tyre / 2.0, tyre, eye, "tyre")
    if rotor:
        yield wheel_ring(centre, axis, hints.ROTOR - 7.0, 14.0, eye, "hint")
    yield cylinder(centre - 45.0 * axis, centre + 45.0 * axis, HUB, eye, "hint")


def _is_disc(job: JobPlan, end: str) -> bool:
    return any(line.route.mover.mount == f"{end} disc mount" for line in job.routing)


def _brakes(job: JobPlan, bike: Bike, placed: Placed) -> Iterator[tuple[bool, Shape]]:
    for line in job.routing:
        mount, last = bike.mounts.get(line.route.mover.mount), line.stations[-1]
        if line.route.mover.work in ("brake", "hose") and mount is not None:
            seat = placed[last.body].points(last.place)[0]
            yield from _of(hints.brake(mount, seat, placed[mount.body], from_the_right), ahead=mount.body in _AHEAD)


def _derailleurs(job: JobPlan, bike: Bike, rear: Placement) -> Iterator[Shape]:
    names = [line.route.mover.name for line in job.routing]
    if any(name.startswith("rear derailleur") for name in names):
        yield from hints.rear_derailleur(bike, rear)
    if any(name.startswith("front derailleur") for name in names):
        yield from hints.front_derailleur(bike)
