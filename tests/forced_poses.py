"""What a loop asks for in each pose of a fine box, by brute force: followed everywhere, then shortened until it gives.

The rods come from the solver; which poses are looked at, how they are reached and which length is too short is worked
out here again, with nothing of the program's own walks, grids, brackets or refinement.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ropewalk.analysis.loops import LoopCase, joined
from ropewalk.bike.poses import COORDINATES, FOLD, STEER
from ropewalk.mechanics.elastica import relax_from
from ropewalk.mechanics.follow import follow

Array = NDArray[np.float64]

#: steps of the fine box: 2° of steering and fold, 20 mm of travel
STEPS: Mapping[str, float] = {
    "steer": np.radians(2.0),
    "fork": 20.0,
    "rear": 20.0,
    "fold": np.radians(2.0),
    "post": 20.0,
}
#: travel in one step of the way to a corner [mm]
OUT = 5.0
#: steps in which a loop is shortened, and how closely the length at which it gives is found [mm]
DOWN, CLOSE = 2.0, 0.01
#: lengths within this share of the chord count as straight
STRAIGHT = 1e-3


@dataclass(frozen=True)
class Asked:
    """Poses (P, 5) and the shortest length each asks for (P,) [mm]."""

    poses: Array
    length: Array

    @property
    def most(self) -> float:
        """The shortest length that serves every pose [mm]."""
        return float(self.length.max())

    @property
    def worst(self) -> Array:
        """The pose that asks for most (5,)."""
        return np.asarray(self.poses[int(self.length.argmax())])


def asked_in_poses(case: LoopCase, start: float, fold_steer: float, *, advised: bool) -> Asked:
    """Return what a loop asks for in every pose of the fine box, beginning with a length that serves all of them.

    Parameters
    ----------
    case : LoopCase
        Which coordinates move it is read off its poses, nothing else.
    start : float
        A length that keeps the radii in all of them [mm]; where it does not in one, infinity is its answer.
    fold_steer : float
        Where the bars point while the bike is folded [rad].
    advised : bool
        Whether the advised radius is to be kept while riding.
    """
    ways = [followed for way in _ways(case, fold_steer) for followed in way]
    longest = max(len(way) for way in ways)
    rows = np.array([[*way, *([way[-1]] * (longest - len(way)))] for way in ways])
    clamps = joined([case.clamps(row) for row in rows]).reshape(len(rows), longest)
    rods = follow(clamps, np.full(len(rows), start), 0).rods
    poses, first = np.unique(np.round(rows.reshape(-1, 5), 9), axis=0, return_index=True)
    tangents = rods.tangents.reshape(-1, *rods.tangents.shape[2:])[first]
    sound = (rods.converged & rods.stable).reshape(-1)[first]
    keeps = sound & (rods.least_radius.reshape(-1)[first] >= case.required(poses, advised=advised))
    length = np.full(len(poses), np.inf)
    length[keeps] = _shortened(case, poses[keeps], tangents[keeps], start, advised=advised)
    return Asked(poses, length)


def _ways(case: LoopCase, fold_steer: float) -> list[list[list[Array]]]:
    """Return ways from the zero pose: out to every combination of travels, and there to both locks; and the fold."""
    moves = {name: np.ptp(case.poses[:, at]) > 0.0 for at, name in enumerate(COORDINATES)}
    others = [name for name in ("fork", "rear", "post") if moves[name]]
    levels = [_levels(0.0, case.high[COORDINATES.index(name)], STEPS[name]) for name in others]
    ways = []
    for values in itertools.product(*levels):
        corner = np.zeros(5)
        for name, value in zip(others, values, strict=True):
            corner[COORDINATES.index(name)] = value
        out = [corner * share for share in np.linspace(0.0, 1.0, 1 + int(np.ceil(corner.max() / OUT)))]
        if not moves["steer"]:
            ways.append([out])
            continue
        locks = [_turned(side * case.riding, lock) for side, lock in ((-1.0, case.low[STEER]), (1.0, case.high[STEER]))]
        ways.append([[*out, *(_with(corner, STEER, angle) for angle in turned)] for turned in locks])
    if moves["fold"]:
        bent = _with(np.zeros(5), STEER, fold_steer if moves["steer"] else 0.0)
        turned = [_with(np.zeros(5), STEER, angle) for angle in _levels(0.0, bent[STEER], STEPS["steer"])]
        ways.append([[*turned, *(_with(bent, FOLD, angle) for angle in _levels(0.0, case.high[FOLD], STEPS["fold"]))]])
    return ways


def _turned(riding: float, lock: float) -> Array:
    """Return steering angles from straight ahead, left out, to a lock, with the end of the riding range among them."""
    first = _levels(0.0, riding if abs(riding) < abs(lock) else lock, STEPS["steer"])[1:]
    return np.concatenate([first, _levels(first[-1], lock, STEPS["steer"])[1:]])


def _levels(low: float, high: float, step: float) -> Array:
    return np.linspace(low, high, 1 + int(np.ceil(abs(high - low) / step - 1e-9)))


def _with(pose: Array, at: int, value: float) -> Array:
    changed = pose.copy()
    changed[at] = value
    return changed


def _shortened(case: LoopCase, poses: Array, tangents: Array, start: float, *, advised: bool) -> Array:
    """Return the length at which each pose first gives on the way down."""
    clamps, required = case.clamps(poses), case.required(poses, advised=advised)
    chord = np.linalg.norm(clamps.end - clamps.start, axis=-1) * (1.0 + STRAIGHT)
    good, bad, shapes = np.full(len(poses), start), chord.copy(), tangents.copy()
    open_ = np.arange(len(poses))
    while open_.size:
        tried = np.maximum(good[open_] - DOWN, chord[open_])
        rods = relax_from(clamps[open_], tried, shapes[open_])
        keeps = rods.converged & rods.stable & (rods.least_radius >= required[open_])
        bad[open_[~keeps]] = tried[~keeps]
        shapes[open_[keeps]], good[open_[keeps]] = rods.tangents[keeps], tried[keeps]
        open_ = open_[keeps & (tried > chord[open_])]
    open_ = np.flatnonzero(good - bad > CLOSE)
    while open_.size:
        tried = (good[open_] + bad[open_]) / 2.0
        rods = relax_from(clamps[open_], tried, shapes[open_])
        keeps = rods.converged & rods.stable & (rods.least_radius >= required[open_])
        good[open_[keeps]], bad[open_[~keeps]] = tried[keeps], tried[~keeps]
        shapes[open_[keeps]] = rods.tangents[keeps]
        open_ = open_[good[open_] - bad[open_] > CLOSE]
    return good
