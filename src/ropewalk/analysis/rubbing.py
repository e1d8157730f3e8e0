"""Rubbing: what loops touch at their target lengths, in which pose, and by how much."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ropewalk.analysis.clearance import Clearance
from ropewalk.analysis.findings import Finding
from ropewalk.analysis.loopgrid import CURVE_POINTS
from ropewalk.analysis.loops import Array, LoopWindow
from ropewalk.bike.mechanism import ROOT
from ropewalk.bike.model import Bike
from ropewalk.bike.poses import COORDINATES, FOLD, FORK, REAR, STEER, Poses, pose_words
from ropewalk.routing.course import Loop

#: free distances that differ by less are the same [mm]
ROUNDING = 0.05


def judge_rubbing(bike: Bike, shape: Loop, loop: LoopWindow, sweep: Poses, where: str) -> Iterator[Finding]:
    """Return findings on what one loop touches; each thing once, in the pose where it presses most.

    Parameters
    ----------
    bike : Bike
    shape : Loop
        The loop's ends.
    loop : LoopWindow
        What was found of it.
    sweep : Poses
        The bike's.
    where : str
        What it is called in findings.

    Notes
    -----
    Things move too where the loop stays: what moves neither of its ends is swept against every pose of it. The fifth of
    the loop next to either end is held and left out, and so is a bike that is being folded.
    """
    clearance, case = loop.case.clearance, loop.case
    if not isinstance(clearance, Clearance):
        return
    good = np.flatnonzero(loop.sweep.converged & (case.poses[:, FOLD] <= 1e-9))
    if not good.size:
        return
    others = _others(bike, shape, sweep)
    curves = np.repeat(loop.sweep[good].points(CURVE_POINTS), len(others), axis=0)
    poses = (case.poses[good][:, np.newaxis] + others).reshape(-1, case.poses.shape[1])
    for thing in clearance.obstacles:
        free = clearance.free_of(thing, curves, poses)
        worst = int(free.argmin())
        if free[worst] >= -ROUNDING:
            continue
        at = f" at {pose_words(poses[worst])}" if len(poses) > 1 else ""
        yield Finding(
            thing.grade,
            where,
            f"from {case.name} the loop rubs {thing.name}{at}: unhindered it would pass {-free[worst]:.1f} mm inside",
            thing.advice,
            round(float(free[worst]), 1),
            0.0,
            "mm",
            alike=thing.grade == "note",
        )


def _others(bike: Bike, shape: Loop, sweep: Poses) -> Array:
    """Return the poses (M, 5) of what moves neither end of a loop, all else at 0; the zero pose among them."""
    moving = {
        name for body in (shape.start_body, shape.end_body) for name in bike.mechanism.coordinates_between(ROOT, body)
    }
    free = np.array([name not in moving and at in (STEER, FORK, REAR) for at, name in enumerate(COORDINATES)])
    unfolded = sweep.values[sweep.values[:, FOLD] <= 1e-9]
    return np.asarray(np.unique(unfolded * free, axis=0))
