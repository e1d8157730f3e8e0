"""What a dry fit tells: lengths drawn for all pieces of a bike together, and the draws that go with what was found.

Pieces rest on the same chart and cockpit, so one that proves tight says something of the others. All shortest safe
lengths are drawn at once from the figures that they share, and only the draws that go with what was found are kept.
Where that is rare, the draws are led there in steps, each to the tenth that comes nearest, and stirred in between.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from ropewalk.analysis.loops import Array, Mask
from ropewalk.analysis.uncertainty import PieceDemand
from ropewalk.bike.poses import STEER

Side = Literal["left", "right", "any"]
#: draws that are made at once, and that have to be left of them
DRAWS, ENOUGH = 40_000, 4_000
#: draws that are led to what was found where too few are left, by how many steps at most, stirred so often
LED, MOST_STEPS, STIRRED = 8_000, 7, 10
#: share that a step keeps, and how much of a draw a stir changes
_KEPT, _CHANGED = 0.1, 0.5
_SEED = 40_961


@dataclass(frozen=True, slots=True)
class Told:
    """What was found of a piece at a length [mm]: it is tight there, to the sides named, or it is not tight.

    Attributes
    ----------
    tag : str
        The piece.
    length : float
        Length that its shortest safe one lies above, or does not [mm].
    tight : tuple of str
        Sides to which it is tight: left, right, both of these, or any; none where it is not tight.
    """

    tag: str
    length: float
    tight: tuple[Side, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Together:
    """Pieces of one bike with the figures they share.

    Attributes
    ----------
    demands : mapping of str to PieceDemand
        By tag.
    factor : (R, r) array
        Takes independent standard normal draws to changes [mm]: for each piece in turn one row a pose of each of its
        loops, then one for everything else in it.
    rows : mapping of str to slice
        The rows of each piece.
    """

    demands: Mapping[str, PieceDemand]
    factor: Array
    rows: Mapping[str, slice]

    def needed(self, tag: str, draws: Array, side: Side = "any") -> Array:
        """Return the shortest safe length of a piece in draws (r, N); on a side, what it needs there: (N,) [mm].

        Notes
        -----
        Of several loops one is on the side, whichever then needs most; minus infinity where none is.
        """
        demand = self.demands[tag]
        change = self.factor[self.rows[tag]] @ draws
        fixed = demand.rest + change[-1]
        whole, there, at = [], [], 0
        for length, poses in zip(demand.lengths, demand.poses, strict=True):
            asked = length[:, np.newaxis] + change[at : at + len(length)]
            at += len(length)
            whole.append(asked.max(axis=0))
            on_side = turned(poses, side)
            there.append(asked[on_side].max(axis=0) if on_side.any() else np.full(draws.shape[1], -np.inf))
        total = fixed + sum(whole)
        if side == "any":
            return np.asarray(total)
        lost = [own - most for own, most in zip(there, whole, strict=True)]
        return np.asarray(total + np.max(lost, axis=0)) if lost else np.full(draws.shape[1], -np.inf)

    def amiss(self, told: Told, draws: Array) -> Array:
        """Return by how much draws (r, N) miss what was found of a piece (N,) [mm]; 0 or less where they agree."""
        if not told.tight:
            return np.asarray(self.needed(told.tag, draws) - told.length)
        return np.asarray(np.max([told.length - self.needed(told.tag, draws, side) for side in told.tight], axis=0))


def turned(poses: Array, side: Side) -> Mask:
    """Return which poses (K, 5) have the bars turned to a side; all of them for any."""
    if side == "any":
        return np.ones(len(poses), dtype=bool)
    return np.asarray(poses[:, STEER] < -1e-9 if side == "left" else poses[:, STEER] > 1e-9)


def together(demands: Mapping[str, PieceDemand]) -> Together:
    """Return pieces with the figures they share, by where these stand in the frame file."""
    columns: dict[tuple[str | int, ...], int] = {}
    for tag, demand in demands.items():
        own = len(demand.sigmas) - len(demand.figures)
        keys = [figure.path for figure in demand.figures] + [("own", tag, at) for at in range(own)]
        for key in keys:
            columns.setdefault(key, len(columns))
    blocks, rows, first = [], {}, 0
    for tag, demand in demands.items():
        forms = np.concatenate([*demand.changes, demand.fixed[np.newaxis]]) * demand.sigmas
        own = len(demand.sigmas) - len(demand.figures)
        keys = [figure.path for figure in demand.figures] + [("own", tag, at) for at in range(own)]
        block = np.zeros((len(forms), len(columns)))
        block[:, [columns[key] for key in keys]] = forms
        blocks.append(block)
        rows[tag] = slice(first, first + len(block))
        first += len(block)
    if not blocks:
        return Together(demands, np.zeros((0, 0)), rows)
    left, size, _ = np.linalg.svd(np.concatenate(blocks), full_matrices=False)
    rank = int((size > 1e-9 * max(float(size[0]), 1e-300)).sum())
    return Together(demands, left[:, :rank] * size[:rank], rows)


def less(demand: PieceDemand, taken: float, sigma: float) -> PieceDemand:
    """Return what is asked of a piece when something of known length takes the place of a part of it.

    Parameters
    ----------
    demand : PieceDemand
    taken, sigma : float
        Length taken, and its standard deviation [mm].
    """
    return replace(
        demand,
        sigmas=np.append(demand.sigmas, sigma),
        changes=tuple(np.column_stack([change, np.zeros(len(change))]) for change in demand.changes),
        fixed=np.append(demand.fixed, -1.0),
        rest=demand.rest - taken,
    )


@dataclass(frozen=True, slots=True, eq=False)
class Kept:
    """Draws (r, N) that go with what was found, and how likely that was before it was tried."""

    draws: Array
    chance: float


def drawn(pieces: Together) -> Array:
    """Return draws (r, N) from before anything was tried."""
    half = np.random.default_rng(_SEED).standard_normal((pieces.factor.shape[1], DRAWS // 2))
    return np.concatenate([half, -half], axis=1)


def kept(pieces: Together, told: Sequence[Told], before: Array) -> Kept | None:
    """Return the draws that go with all that was found.

    Parameters
    ----------
    pieces : Together
    told : sequence of Told
    before : (r, N) array
        Draws from before anything was tried.

    Returns
    -------
    Kept or None
        None where nothing comes near: what was found of one piece contradicts what was found of another.

    Notes
    -----
    Subset simulation. A stir moves every draw z to √(1 − β²) z + β ξ with ξ standard normal, which leaves their
    distribution as it is, and is undone where it leads further off than the step allows.

    References
    ----------
    Au, Beck, *Probabilistic Engineering Mechanics* 16 (2001) 263.
    """
    if not told:
        return Kept(before, 1.0)
    miss = _miss(pieces, told, before)
    share = float((miss <= 0.0).mean())
    if share * before.shape[1] >= ENOUGH:
        return Kept(before[:, miss <= 0.0], share)
    if np.isposinf(miss).all():
        return None
    chance, draws = 1.0, before
    random = np.random.default_rng(_SEED + 1)
    for _ in range(MOST_STEPS):
        limit = max(float(np.quantile(miss, _KEPT)), 0.0)
        near = np.flatnonzero(miss <= limit)
        chance *= len(near) / miss.size
        picked = near[np.arange(LED) % len(near)]
        draws, miss = _stirred(pieces, told, draws[:, picked], miss[picked], limit, random)
        if limit == 0.0:
            return Kept(draws, chance)
    return None


def _stirred(
    pieces: Together, told: Sequence[Told], draws: Array, miss: Array, limit: float, random: np.random.Generator
) -> tuple[Array, Array]:
    change = _CHANGED
    for _ in range(STIRRED):
        moved = np.sqrt(1.0 - change**2) * draws + change * random.standard_normal(draws.shape)
        found = _miss(pieces, told, moved)
        good = found <= limit
        draws, miss = np.where(good, moved, draws), np.where(good, found, miss)
        # about a third should move: fewer, and the steps are too wide
        change = min(0.9, change * float(np.exp(good.mean() - 0.3)))
    return draws, miss


def _miss(pieces: Together, told: Sequence[Told], draws: Array) -> Array:
    return np.asarray(np.max([pieces.amiss(one, draws) for one in told], axis=0))
