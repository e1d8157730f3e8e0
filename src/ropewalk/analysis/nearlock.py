"""Buckling near the lock: how much of its stability a loop has left as the bars come to their stop.

A clamped loop gives way sideways, or snaps over, where the least eigenvalue of the second variation of its energy falls
to nothing. Measured for unit length and stiffness it is 4 π² in a straight rod free of load, clamped at both ends: the
loop's own value over that is its share of stability. Close to a snap-over its square falls in proportion to the
steering left: in loops tried here it was 0.1 some 2° of steering before they snapped and 0.2 some 5°. So a loop that
keeps less than 0.2 at the lock is left with no more than a roughly measured lock, a built-in curl or a touch uses up.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from ropewalk.analysis.findings import Finding
from ropewalk.analysis.loops import Array, LoopWindow, Mask
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.poses import FOLD, STEER, pose_words
from ropewalk.units import degrees

#: least eigenvalue of a straight, unloaded rod clamped at both ends, of unit length and stiffness
STRAIGHT_ROD = 4.0 * math.pi**2


def near_lock(loop: LoopWindow, width: float) -> Mask:
    """Return which poses of a loop's sweep (P,) lie within a width [rad] of the lock; none if it does not steer."""
    poses = loop.case.poses
    if poses[:, STEER].max() - poses[:, STEER].min() <= 0.0:
        return np.zeros(len(poses), dtype=bool)
    lock = float(loop.case.high[STEER])
    return np.asarray((np.abs(poses[:, STEER]) >= lock - width - 1e-9) & (poses[:, FOLD] <= 1e-9))


def stability(loop: LoopWindow, near: Mask) -> Array:
    """Return the share of a straight rod's stability that a loop has at its target in poses (P,); 0 without a shape."""
    share = loop.sweep[near].lowest_eigenvalue / STRAIGHT_ROD
    return np.asarray(np.where(np.isfinite(share) & ~loop.snapped[near], share, 0.0))


def judge_stability(loop: LoopWindow, where: str, catalogue: Catalogue) -> Iterator[Finding]:
    """Return findings on a loop that snaps over, or comes near to buckling at the lock."""
    limits = catalogue.settings.findings
    lock = degrees(float(loop.case.high[STEER]))
    if loop.snapped.any():
        snaps = loop.case.poses[loop.snapped]
        pose = snaps[int(np.abs(snaps[:, STEER]).argmin())]
        yield Finding(
            "look",
            where,
            f"from {loop.case.name} the loop snaps over to another shape at {pose_words(pose)}",
            "guide it with a clip, or route it so that it bends one way only",
            round(degrees(abs(pose[STEER])), 1),
            round(lock, 1),
            "°",
        )
        return
    near = near_lock(loop, float(limits.near_lock))
    if not near.any():
        return
    share = stability(loop, near)
    worst = int(share.argmin())
    if share[worst] >= limits.least_stability:
        return
    yield Finding(
        "look",
        where,
        f"from {loop.case.name} the loop comes near to buckling at {pose_words(loop.case.poses[near][worst])}: "
        f"it has {share[worst]:.0%} of a straight one's stability left there",
        "try another length in its window with the bars at the lock, or hold it with a clip",
        round(100 * float(share[worst]), 1),
        round(100 * float(limits.least_stability), 1),
        "%",
    )
