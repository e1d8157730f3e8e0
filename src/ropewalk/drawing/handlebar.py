"""What the rider holds: bar, extensions, levers and stem, as solids on the bar's body."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import numpy as np

from ropewalk.bike.bars import BarCurve
from ropewalk.bike.model import Bike
from ropewalk.drawing import hints
from ropewalk.drawing.silhouettes import Places
from ropewalk.drawing.solids import Barrel, Block, Rod, Solid
from ropewalk.workshop.jobplan import JobPlan

#: usual sizes [mm]
CLAMP, CLAMP_REACH, TAPE, GRIP, GRIP_LENGTH, BASE_GRIP = 31.8, 45.0, 3.0, 31.0, 130.0, 85.0
#: how far from its end an extension is wrapped [mm]
WRAPPED = 130.0
#: an arm pad on an extension's clamp: ahead, back and to each side of it, over it, and how thick [mm]
_PAD = (15.0, 65.0, 36.0, 22.0, 14.0)
_ACROSS = np.array([0.0, 0.0, 1.0])


def half_bar(job: JobPlan, side: str) -> Iterator[Solid]:
    """Return one half of the bar with its tape or grip and its levers."""
    bike = job.model
    curve = bike.bars[side]
    covered = min(_covered(curve), curve.length - CLAMP_REACH)
    clamp = curve.length - CLAMP_REACH
    yield Rod(_along(bike, curve, 0.0, curve.length), curve.diameter, "bar")
    yield Rod(_along(bike, curve, clamp, curve.length), CLAMP, "bar", round_ends=False)
    width = curve.diameter + 2.0 * TAPE if curve.shape in ("drop", "base") else GRIP
    yield Rod(_along(bike, curve, 0.0, covered), width, "tape", round_ends=False)
    yield from _levers(job, "bar", side)


def extension(job: JobPlan, side: str) -> Iterator[Solid]:
    """Return one extension of a time-trial bar with bracket, pad and levers; nothing on other bars."""
    bike = job.model
    if bike.extensions is None:
        return
    curve = bike.extensions[side]
    clamp = curve.at(curve.stem)[0]
    foot = clamp * np.array([0.0, 0.0, 1.0])
    origin = bike.skeleton.bar_clamp
    if np.linalg.norm(clamp - foot) > 1.0:
        yield Barrel(foot + origin, clamp + origin, 11.0, "metal")
    yield Rod(_along(bike, curve, 0.0, curve.length), curve.diameter, "bar")
    wrapped = min(WRAPPED, 0.6 * curve.stem)
    yield Rod(_along(bike, curve, 0.0, wrapped), curve.diameter + TAPE, "tape")
    ahead, back, aside, over, thick = _PAD
    corners = np.array(list(itertools.product((-back, ahead), (over, over + thick), (-aside, aside))))
    yield Block(corners + clamp + origin, "tape")
    yield from _levers(job, "extension", side)


def stem(bike: Bike) -> Iterator[Solid]:
    """Return the stem, where there is one, with its two clamps."""
    bones = bike.skeleton
    if "stem" in bike.tubes:
        radius = bike.tubes["stem"].diameter / 2.0
        yield Barrel(bones.stem_point, bones.bar_clamp, radius, "metal", CLAMP / 2.0 + 2.0)
    yield Barrel(2.0 * bones.stem_point - bones.steerer_top, bones.steerer_top, 18.0, "metal")
    yield Barrel(bones.bar_clamp - 22.0 * _ACROSS, bones.bar_clamp + 22.0 * _ACROSS, CLAMP / 2.0 + 4.0, "metal")


def _along(bike: Bike, curve: BarCurve, first: float, last: float) -> Places:
    """Return the centre line between two distances from the end."""
    return curve.offset_path(first, last, 12.0, -curve.diameter / 2.0) + bike.skeleton.bar_clamp


def _levers(job: JobPlan, on: str, side: str) -> Iterator[Solid]:
    for lever in job.model.frame.lever:
        if (lever.on, lever.side) == (on, side):
            yield from hints.lever(job.model, lever, job.catalogue.lever(lever.part))


def _covered(curve: BarCurve) -> float:
    """Return how much of half a bar is under tape or grip, from its end [mm]."""
    if curve.shape == "base":
        return BASE_GRIP
    return curve.length - CLAMP_REACH - 12.0 if curve.shape == "drop" else GRIP_LENGTH
