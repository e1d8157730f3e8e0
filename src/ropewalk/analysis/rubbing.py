"""Rubbing: what loops touch at their target lengths, in which pose, and by how much."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ropewalk.analysis.clearance import Clearance
from ropewalk.analysis.findings import Finding
from ropewalk.analysis.loopgrid import CURVE_POINTS
from ropewalk.analysis.loops import LoopWindow
from ropewalk.bike.poses import FOLD, pose_words

#: free distances that differ by less are the same [mm]
ROUNDING = 0.05


def judge_rubbing(loop: LoopWindow, where: str) -> Iterator[Finding]:
    """Return findings on what one loop touches; each thing once, in the pose where it presses most.

    Notes
    -----
    The fifth of the loop next to either end is held and left out. A bike that is being folded is left out too.
    """
    clearance, case = loop.case.clearance, loop.case
    if not isinstance(clearance, Clearance):
        return
    good = np.flatnonzero(loop.sweep.converged & (case.poses[:, FOLD] <= 1e-9))
    if not good.size:
        return
    curves = loop.sweep[good].points(CURVE_POINTS)
    for thing in clearance.obstacles:
        free = clearance.free_of(thing, curves, case.poses[good])
        worst = int(free.argmin())
        if free[worst] >= -ROUNDING:
            continue
        pose = case.poses[good[worst]]
        at = f" at {pose_words(pose)}" if case.moves else ""
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
