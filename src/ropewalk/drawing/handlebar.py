"""What the rider holds: bar, extensions, levers, stem and post, seen from any side."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import numpy as np

from ropewalk.bike.bars import BarCurve
from ropewalk.bike.mechanism import Placement
from ropewalk.bike.model import Bike
from ropewalk.drawing import hints
from ropewalk.drawing.scene import Shape
from ropewalk.drawing.silhouettes import Eye, Solid, cylinder, hull, ribbon
from ropewalk.workshop.jobplan import JobPlan

#: usual sizes [mm]
CLAMP, CLAMP_REACH, TAPE, GRIP, GRIP_LENGTH, BASE_GRIP = 31.8, 45.0, 3.0, 31.0, 130.0, 85.0
#: how far from its end an extension is wrapped [mm]
WRAPPED = 130.0
#: an arm pad on an extension's clamp: ahead, back and to each side of it, over it, and how thick [mm]
_PAD = (15.0, 65.0, 36.0, 22.0, 14.0)
_ACROSS = np.array([0.0, 0.0, 1.0])


def half_bar(job: JobPlan, side: str, placed: Placement, eye: Eye) -> Iterator[Shape]:
    """Draw one half of the bar with its tape or grip and its levers."""
    bike = job.model
    curve = bike.bars[side]
    covered = min(_covered(curve), curve.length - CLAMP_REACH)
    clamp = curve.length - CLAMP_REACH
    yield ribbon(eye(_along(bike, curve, placed, 0.0, curve.length)), curve.diameter, "bar", round_ends=True)
    yield ribbon(eye(_along(bike, curve, placed, clamp, curve.length)), CLAMP, "bar")
    width = curve.diameter + 2.0 * TAPE if curve.shape in ("drop", "base") else GRIP
    yield ribbon(eye(_along(bike, curve, placed, 0.0, covered)), width, "tape")
    yield from _levers(job, "bar", side, placed, eye)


def extension(job: JobPlan, side: str, placed: Placement, eye: Eye) -> Iterator[Shape]:
    """Draw one extension of a time-trial bar with bracket, pad and levers; nothing on other bars."""
    bike = job.model
    if bike.extensions is None:
        return
    curve = bike.extensions[side]
    clamp = curve.at(curve.stem)[0]
    foot = clamp * np.array([0.0, 0.0, 1.0])
    if np.linalg.norm(clamp - foot) > 1.0:
        low, high = placed.points(np.stack([foot, clamp]) + bike.skeleton.bar_clamp)[0]
        yield cylinder(low, high, 11.0, eye, "metal")
    yield ribbon(eye(_along(bike, curve, placed, 0.0, curve.length)), curve.diameter, "bar", round_ends=True)
    wrapped = min(WRAPPED, 0.6 * curve.stem)
    yield ribbon(eye(_along(bike, curve, placed, 0.0, wrapped)), curve.diameter + TAPE, "tape", round_ends=True)
    ahead, back, aside, over, thick = _PAD
    corners = np.array(list(itertools.product((-back, ahead), (over, over + thick), (-aside, aside))))
    yield hull(eye(placed.points(corners + clamp + bike.skeleton.bar_clamp)[0]), "tape")
    yield from _levers(job, "extension", side, placed, eye)


def cockpit_middle(bike: Bike, placed: Placement, eye: Eye) -> Iterator[Shape]:
    """Draw the stem, where there is one, with its two clamps."""
    bones = bike.skeleton
    across = placed.directions(_ACROSS)[0]
    low, high, middle, bar = placed.points(
        np.stack([2.0 * bones.stem_point - bones.steerer_top, bones.steerer_top, bones.stem_point, bones.bar_clamp])
    )[0]
    if "stem" in bike.tubes:
        yield cylinder(middle, bar, bike.tubes["stem"].diameter / 2.0, eye, "metal", CLAMP / 2.0 + 2.0)
    yield cylinder(low, high, 18.0, eye, "metal")
    yield cylinder(bar - 22.0 * across, bar + 22.0 * across, CLAMP / 2.0 + 4.0, eye, "metal")


def _along(bike: Bike, curve: BarCurve, placed: Placement, first: float, last: float) -> Solid:
    """Return the centre line between two distances from the end, in its place."""
    path = curve.offset_path(first, last, 12.0, -curve.diameter / 2.0)
    there: Solid = placed.points(path + bike.skeleton.bar_clamp)[0]
    return there


def _levers(job: JobPlan, on: str, side: str, placed: Placement, eye: Eye) -> Iterator[Shape]:
    for lever in job.model.frame.lever:
        if (lever.on, lever.side) == (on, side):
            yield from hints.lever_hint(job.model, lever, job.catalogue.lever(lever.part), placed, eye)


def _covered(curve: BarCurve) -> float:
    """Return how much of half a bar is under tape or grip, from its end [mm]."""
    if curve.shape == "base":
        return BASE_GRIP
    return curve.length - CLAMP_REACH - 12.0 if curve.shape == "drop" else GRIP_LENGTH
