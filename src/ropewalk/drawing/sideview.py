"""The side view: the bike from the rider's right at a steering angle, with every line in place."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ropewalk.bike.bars import BarCurve
from ropewalk.bike.mechanism import Placement
from ropewalk.bike.model import Bike
from ropewalk.bike.poses import poses
from ropewalk.drawing import hints
from ropewalk.drawing.lineshapes import by_depth, span_shape, station_marks, tags_wanted
from ropewalk.drawing.scene import Area, Box, Circle, Polyline, Shape, View, bounds
from ropewalk.drawing.silhouettes import (
    Eye,
    Solid,
    circle,
    cylinder,
    from_the_right,
    ribbon,
    spokes,
    tube_area,
    wheel_ring,
)
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.posed import posed_lines

NAME = "side"
#: usual sizes [mm]
HUB, RIM_HEIGHT, SPOKES = 17.0, 17.0, 28
CLAMP, CLAMP_REACH, TAPE, GRIP, GRIP_LENGTH = 31.8, 45.0, 3.0, 31.0, 130.0
#: free room about the bike [mm]
ROOM = 25.0
#: how far levers stand out from the bar, upwards and forward [mm]
LEVER_UP, LEVER_OUT = 35.0, 75.0
_ACROSS = np.array([0.0, 0.0, 1.0])


def side_view(job: JobPlan, steer: float, *, steady: bool = False) -> View:
    """Return the bike from the rider's right.

    Parameters
    ----------
    job : JobPlan
    steer : float
        Steering angle, positive to the rider's right [rad].
    steady : bool
        Whether the box about it has room for every steering angle, so that the scale stays while the bars turn.

    Returns
    -------
    View
        Its points are x and y of the bike's axes [mm].

    Raises
    ------
    ChoiceError
        When the bars do not turn that far.
    """
    posed = posed_lines(job, {"steer": steer})
    bike = job.model
    turned = {body: bike.mechanism.placement(body, {"steer": steer}) for body in ("frame", "fork", "bar")}
    spans = by_depth(((place, span) for place, line in enumerate(posed) for span in line.spans), axis=2)
    lines = tuple(span_shape(job, place, span, from_the_right) for place, span in spans)
    backdrop = tuple(_bike(job, bike, turned))
    return View(
        NAME,
        backdrop,
        lines,
        tuple(station_marks(posed, from_the_right)),
        tuple(tags_wanted(job, spans, from_the_right)),
        _room(bounds((*backdrop, *lines)), _swept(bike) if steady else None),
    )


def _room(now: Box, ever: Box | None) -> Box:
    """Return the box about what is seen, and about what may be seen as the bars turn."""
    if ever is None:
        return Box(now.left - ROOM, now.bottom - ROOM / 2.0, now.right + ROOM, now.top + ROOM)
    left, right = min(now.left, ever.left - ROOM), max(now.right, ever.right + ROOM)
    return Box(left, now.bottom - ROOM / 2.0, right, max(now.top + ROOM / 2.0, ever.top + ROOM))


def _swept(bike: Bike) -> Box:
    """Return the box about bar, levers and wheels at every steering angle."""
    bones = bike.skeleton
    sweep = poses(bike.frame)
    angles = np.linspace(-sweep.lock, sweep.lock, 25)
    ring = circle(bones.front_axle, _ACROSS, bones.wheel_radius)
    wheel = bike.mechanism.placement("fork", {"steer": angles}).points(ring)
    half = [curve.points() + bones.bar_clamp for curve in bike.bars.values()]
    bar = bike.mechanism.placement("bar", {"steer": angles}).points(np.concatenate(half))
    rear = float(bones.rear_axle[0]) - bones.wheel_radius
    seen = np.concatenate([wheel.reshape(-1, 3), bar.reshape(-1, 3)])
    right = max(float(seen[:, 0].max()), float(bar[..., 0].max()) + LEVER_OUT)
    return Box(rear, bones.ground, right, float(bar[..., 1].max()) + LEVER_UP)


def _bike(job: JobPlan, bike: Bike, turned: dict[str, Placement]) -> Iterator[Shape]:
    """Draw everything but the lines, the far things first."""
    bones, eye = bike.skeleton, from_the_right
    about = bones.wheel_radius + 60.0
    ground = [[bones.rear_axle[0] - about, bones.ground], [bones.front_axle[0] + about, bones.ground]]
    yield Polyline(np.array(ground), "ground")
    yield from hints.far_crank()
    yield from half_bar(job, "left", turned["bar"], eye)
    yield from _wheel(bike, bones.rear_axle, turned["frame"], rotor=_is_disc(job, "rear"))
    yield from _wheel(bike, bones.front_axle, turned["fork"], rotor=_is_disc(job, "front"))
    yield from _tubes(bike, turned, "left", "far tube")
    yield from hints.drive(bike)
    yield from _brakes(job, bike, turned)
    yield from _steered(bike, turned)
    yield from _tubes(bike, turned, "right", "tube")
    yield from hints.saddle(bike)
    for name in ("seat tube", "down tube", "top tube", "head tube"):
        yield tube_area(bike.tubes[name], turned["frame"], eye, "tube")
    yield Circle(bones.bottom_bracket[:2], bike.tubes["shell"].diameter / 2.0, "tube")
    yield from _derailleurs(job, bike)
    yield from hints.near_crank()
    yield from cockpit_middle(bike, turned["bar"], eye)
    yield from half_bar(job, "right", turned["bar"], eye)


def half_bar(job: JobPlan, side: str, placed: Placement, eye: Eye) -> Iterator[Shape]:
    """Draw one half of the bar with its tape or grip and its levers."""
    bike = job.model
    curve = bike.bars[side]

    def along(first: float, last: float) -> Solid:
        path = curve.offset_path(first, last, 12.0, -curve.diameter / 2.0)
        there: Solid = placed.points(path + bike.skeleton.bar_clamp)[0]
        return there

    covered = min(_covered(curve), curve.length - CLAMP_REACH)
    yield ribbon(eye(along(0.0, curve.length)), curve.diameter, "bar", round_ends=True)
    yield ribbon(eye(along(curve.length - CLAMP_REACH, curve.length)), CLAMP, "bar")
    width = curve.diameter + 2.0 * TAPE if curve.shape == "drop" else GRIP
    yield ribbon(eye(along(0.0, covered)), width, "tape")
    for lever in bike.frame.lever:
        if lever.side == side:
            yield from hints.lever_hint(bike, lever, job.catalogue.lever(lever.part), placed, eye)


def _covered(curve: BarCurve) -> float:
    """Return how much of half a bar is under tape or grip, from its end [mm]."""
    return curve.length - CLAMP_REACH - 12.0 if curve.shape == "drop" else GRIP_LENGTH


def cockpit_middle(bike: Bike, placed: Placement, eye: Eye) -> Iterator[Shape]:
    """Draw the stem with its two clamps."""
    bones = bike.skeleton
    across = placed.directions(_ACROSS)[0]
    low, high, middle, bar = placed.points(
        np.stack([2.0 * bones.stem_point - bones.steerer_top, bones.steerer_top, bones.stem_point, bones.bar_clamp])
    )[0]
    yield cylinder(middle, bar, bike.tubes["stem"].diameter / 2.0, eye, "metal", CLAMP / 2.0 + 2.0)
    yield cylinder(low, high, 18.0, eye, "metal")
    yield cylinder(bar - 22.0 * across, bar + 22.0 * across, CLAMP / 2.0 + 4.0, eye, "metal")


def _steered(bike: Bike, turned: dict[str, Placement]) -> Iterator[Shape]:
    """Draw headset, spacers and fork crown on the steering axis, which does not move."""
    bones, eye = bike.skeleton, from_the_right
    axis = bones.steering_axis
    half = bike.tubes["head tube"].diameter / 2.0
    stem_low = 2.0 * bones.stem_point - bones.steerer_top
    yield cylinder(bones.head_top - bike.frame.cockpit.upper_cup * axis, bones.head_top, half - 3.0, eye, "metal", half)
    if bike.frame.cockpit.spacers > 1.0:
        yield cylinder(stem_low, bones.head_top - bike.frame.cockpit.upper_cup * axis, 17.0, eye, "metal")
    if bike.frame.chart.lower_cup > 1.0:
        yield cylinder(bones.head_bottom, bones.crown, half, eye, "metal", half - 3.0)
    legs = [bike.tubes[f"{side} fork leg"] for side in ("left", "right")]
    across = turned["fork"].directions(_ACROSS)[0]
    spread = float(np.linalg.norm(legs[1].start - legs[0].start)) / 2.0
    middle = bones.crown + 10.0 * axis
    yield cylinder(middle - spread * across, middle + spread * across, legs[0].diameter / 2.0 + 3.0, eye, "tube")


def _tubes(bike: Bike, turned: dict[str, Placement], side: str, role: str) -> Iterator[Area]:
    """Draw stays and fork leg of one side."""
    for name in ("seat stay", "chainstay", "fork leg"):
        tube = bike.tubes[f"{side} {name}"]
        yield tube_area(tube, turned[tube.body], from_the_right, role)


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


def _brakes(job: JobPlan, bike: Bike, turned: dict[str, Placement]) -> Iterator[Shape]:
    for line in job.routing:
        if line.route.mover.work in ("brake", "hose"):
            mount = bike.mounts[line.route.mover.mount]
            if mount.name in ("fork crown", "brake bridge", "front disc mount", "rear disc mount"):
                yield from hints.brake(mount, line.stations[-1].place, turned[mount.body], from_the_right)


def _derailleurs(job: JobPlan, bike: Bike) -> Iterator[Shape]:
    names = [line.route.mover.name for line in job.routing]
    if any(name.startswith("rear derailleur") for name in names):
        yield from hints.rear_derailleur(bike)
    if any(name.startswith("front derailleur") for name in names):
        yield from hints.front_derailleur(bike)
