"""First cuts: how surely the shortest safe length of a piece is known, and the length that is rarely too short.

Every figure of the frame file has a normal error, independent of the others. The shortest safe length in a pose changes
with them to first order; the most over the poses then has a mean above its value at the figures as given. Both the
spread and that shift are taken from one fixed set of random draws.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ropewalk.analysis.loops import Array, Demand, LoopWindow, joined
from ropewalk.mechanics.elastica import Clamps, relax_from
from ropewalk.units import radians

#: steps of the central differences of a loop's clamps [mm, and rad for directions]
CLAMP_STEP = 0.2
TURN_STEP = 2e-3
#: poses further below the most demanding one than this never matter [mm]
FAR_BELOW = 60.0
#: poses nearer to each other than this move with the figures as one: steering and fold [rad], travel [mm]
ALIKE = np.array([radians(7.5), 15.0, 15.0, radians(7.5), 15.0])
#: draws that spread and quantile are taken from
DRAWS = 40_000
_SEED = 20_230


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """How the shortest safe length in each pose changes with both clamps.

    Attributes
    ----------
    poses : (K, 5) array
        Poses that can govern.
    length : (K,) array
        Their shortest safe lengths [mm].
    gradient : (K, 12) array
        Change [mm] per mm of start (3), unit of start direction (3), mm of end (3), unit of end direction (3).
    """

    poses: Array
    length: Array
    gradient: Array


@dataclass(frozen=True, slots=True)
class Spread:
    """How surely the shortest safe length of a piece is known.

    Attributes
    ----------
    sigma : float
        Its standard deviation [mm].
    quantile : float
        The length that is too short with the stated risk only [mm].
    mean_shift : float
        By how much the mean lies above the length at the figures as given [mm].
    """

    sigma: float
    quantile: float
    mean_shift: float


def sensitivities(windows: Sequence[LoopWindow]) -> list[Sensitivity | None]:
    """Return how the demand of every loop changes with its clamps; None for loops without a window.

    Notes
    -----
    Where the chord sets the length, the change is the chord's own. Elsewhere the radius kept is a function of length
    and clamps, and the length changes so that it stays: by central differences of settled rods.
    """
    picked = [_governing(window.demand) for window in windows]
    tasks = [
        (place, window, demand)
        for place, (window, demand) in enumerate(zip(windows, picked, strict=True))
        if demand is not None
    ]
    result: list[Sensitivity | None] = [None] * len(windows)
    bent = [(place, window, demand, np.flatnonzero(~demand.taut)) for place, window, demand in tasks]
    gradients = _bent_gradients([(window, demand, rows) for _, window, demand, rows in bent])
    for (place, window, demand, rows), gradient in zip(bent, gradients, strict=True):
        whole = np.zeros((len(demand.poses), 12))
        whole[rows] = gradient
        taut = np.flatnonzero(demand.taut)
        if taut.size:
            clamps = window.case.clamps(demand.poses[taut])
            chord = clamps.end - clamps.start
            unit = chord / np.linalg.norm(chord, axis=-1, keepdims=True)
            whole[taut, 6:9], whole[taut, :3] = unit, -unit
        result[place] = Sensitivity(demand.poses, demand.length, whole)
    return result


def _governing(demand: Demand | None) -> Demand | None:
    if demand is None:
        return None
    keep = np.array(_picked(demand))
    return Demand(
        demand.poses[keep], demand.length[keep], demand.taut[keep], demand.radius[keep], demand.tangents[keep]
    )


def _picked(demand: Demand) -> list[int]:
    """Return poses that can govern, the most demanding first: neighbours that keep the same radius ask for the same."""
    picked: list[int] = []
    for pose in np.argsort(-demand.length, kind="stable"):
        alike = [
            other
            for other in picked
            if (np.abs(demand.poses[other] - demand.poses[pose]) < ALIKE).all()
            and demand.radius[other] == demand.radius[pose]
        ]
        if demand.length[pose] >= demand.length.max() - FAR_BELOW and not alike:
            picked.append(int(pose))
    return picked


def _bent_gradients(tasks: Sequence[tuple[LoopWindow, Demand, NDArray[np.intp]]]) -> list[Array]:
    """Return gradients (K, 12) from the seven ways one clamp can stand differently against the other."""
    if not tasks:
        return []
    clamps = joined([window.case.clamps(demand.poses[rows]) for window, demand, rows in tasks])
    length = np.concatenate([demand.length[rows] for _, demand, rows in tasks])
    tangents = np.concatenate([demand.tangents[rows] for _, demand, rows in tasks])
    count = len(length)
    if not count:
        return [np.zeros((0, 12)) for _ in tasks]
    across = [_across(clamps.start_direction), _across(clamps.end_direction)]
    moved, by_length = _moved(clamps, across), length[np.newaxis] + np.zeros((14, 1))
    longer = np.stack([length + CLAMP_STEP, length - CLAMP_STEP])
    whole = Clamps(*(np.concatenate([m, np.stack([c, c])]) for m, c in zip(moved, _parts(clamps), strict=True)))
    rods = relax_from(whole, np.concatenate([by_length, longer]), np.broadcast_to(tangents, (16, *tangents.shape)))
    radius = np.where(rods.converged, rods.least_radius, np.nan)
    steps = np.array([CLAMP_STEP] * 3 + [TURN_STEP] * 4)[:, np.newaxis]
    by_clamp = (radius[0:14:2] - radius[1:14:2]) / (2 * steps)
    by_own_length = (radius[14] - radius[15]) / (2 * CLAMP_STEP)
    with np.errstate(divide="ignore", invalid="ignore"):
        change = -by_clamp / by_own_length
    change = np.where(np.isfinite(change), change, 0.0)
    gradient = np.zeros((count, 12))
    gradient[:, 6:9], gradient[:, :3] = change[:3].T, -change[:3].T
    gradient[:, 3:6] = np.einsum("ak,kac->kc", change[3:5], across[0])
    gradient[:, 9:12] = np.einsum("ak,kac->kc", change[5:7], across[1])
    cuts = np.cumsum([len(rows) for _, _, rows in tasks])[:-1]
    return list(np.split(gradient, cuts))


def _parts(clamps: Clamps) -> tuple[Array, Array, Array, Array]:
    return clamps.start, clamps.start_direction, clamps.end, clamps.end_direction


def _across(directions: Array) -> Array:
    """Return two unit vectors (K, 2, 3) square to each direction (K, 3)."""
    least = np.eye(3)[np.abs(directions).argmin(axis=-1)]
    first = np.cross(directions, least)
    first /= np.linalg.norm(first, axis=-1, keepdims=True)
    return np.stack([first, np.cross(directions, first)], axis=1)


def _moved(clamps: Clamps, across: Sequence[Array]) -> tuple[Array, Array, Array, Array]:
    """Return the clamps (14, K) with one figure a step up, then a step down, seven figures in turn."""
    parts = [np.repeat(part[np.newaxis], 14, axis=0) for part in _parts(clamps)]
    for axis in range(3):
        parts[2][2 * axis, :, axis] += CLAMP_STEP
        parts[2][2 * axis + 1, :, axis] -= CLAMP_STEP
    for figure, (part, side, which) in enumerate([(1, 0, 0), (1, 0, 1), (3, 1, 0), (3, 1, 1)], start=3):
        for row, sign in ((2 * figure, 1.0), (2 * figure + 1, -1.0)):
            tilted = parts[part][row] + sign * TURN_STEP * across[side][:, which]
            parts[part][row] = tilted / np.linalg.norm(tilted, axis=-1, keepdims=True)
    return parts[0], parts[1], parts[2], parts[3]


def spread(lengths: Sequence[Array], changes: Sequence[Array], sigmas: Array, fixed: Array, risk: float) -> Spread:
    """Return how surely a piece's shortest safe length is known.

    Parameters
    ----------
    lengths : sequence of (K,) array
        For each loop of the piece, the shortest safe length in each of its poses [mm].
    changes : sequence of (K, F) array
        Their changes per unit of each of F figures.
    sigmas : (F,) array
        Standard deviations of the figures.
    fixed : (F,) array
        Change per unit of each figure of everything else in the piece [mm].
    risk : float
        Share of pieces that may prove too short.

    Notes
    -----
    A piece's demand is the sum over its loops of each one's most over the poses. The draws are made in the space that
    those linear forms span, so their number does not grow with that of the figures.
    """
    forms = np.concatenate([*changes, fixed[np.newaxis]]) * sigmas
    deviations = _draws(forms)
    total = deviations[-1].copy()
    nominal, at = 0.0, 0
    for length in lengths:
        mine = deviations[at : at + len(length)]
        at += len(length)
        total += (length[:, np.newaxis] + mine).max(axis=0)
        nominal += float(length.max())
    mean = float(total.mean())
    return Spread(sigma=float(total.std()), quantile=float(np.quantile(total, 1.0 - risk)), mean_shift=mean - nominal)


def _draws(forms: Array) -> Array:
    """Return draws (K, N) of linear forms (K, F) of independent standard normal figures."""
    left, size, _ = np.linalg.svd(forms, full_matrices=False)
    rank = int((size > 1e-9 * max(float(size[0]), 1e-300)).sum()) if size.size and size[0] > 0 else 0
    half = np.random.default_rng(_SEED).standard_normal((rank, DRAWS // 2))
    return np.asarray((left[:, :rank] * size[:rank]) @ np.concatenate([half, -half], axis=1))


def rounded_up(length: float, step: float) -> float:
    """Return a length rounded up to whole steps.

    Examples
    --------
    >>> rounded_up(301.2, 5.0), rounded_up(300.0, 5.0)
    (305.0, 300.0)
    """
    return step * math.ceil(length / step - 1e-9)
