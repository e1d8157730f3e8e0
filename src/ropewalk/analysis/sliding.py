"""Spans that share their slack: housing that slides through the stations between them.

Stations hold housing, so that each span keeps its own length, or let it slide, so that only the sum is kept. A group
is a run of spans joined by sliding stations. In each pose it may be as short as its spans' shortest lengths together
and as long as their longest together; over the poses it may be what all of them allow.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ropewalk.analysis.loopgrid import LoopGrid
from ropewalk.analysis.loops import Array

#: step in which two spans' shares are tried [mm]
_STEP = 0.5
#: how often pairs of spans are balanced in turn
_ROUNDS = 6


@dataclass(frozen=True, slots=True, eq=False)
class Interval:
    """What one span may measure in each of P poses: shortest and longest, (P,) [mm]."""

    low: Array
    high: Array


@dataclass(frozen=True, slots=True, eq=False)
class Common:
    """What a run of spans may measure in all poses: the ends [mm] and the poses that set them; none when low > high."""

    low: float
    high: float
    low_at: int
    high_at: int

    @property
    def window(self) -> tuple[float, float] | None:
        """The ends, or None when no length serves every pose."""
        return (self.low, self.high) if self.low <= self.high else None


def common(spans: Sequence[Interval]) -> Common:
    """Return what spans that slide into each other may measure together.

    Parameters
    ----------
    spans : sequence of Interval
        All in the same poses (P,).

    Examples
    --------
    >>> first = Interval(np.array([10.0, 14.0]), np.array([20.0, 22.0]))
    >>> second = Interval(np.array([8.0, 3.0]), np.array([9.0, 5.0]))
    >>> common([first, second]).window
    (18.0, 27.0)
    """
    low = np.sum([span.low for span in spans], axis=0)
    high = np.sum([span.high for span in spans], axis=0)
    return Common(float(low.max()), float(high.min()), int(low.argmax()), int(high.argmin()))


def together(groups: Sequence[Sequence[Interval]]) -> tuple[float, float] | None:
    """Return the window of a piece: the sum over its groups of what each may measure in all poses, or None."""
    windows = [common(group).window for group in groups]
    if any(window is None for window in windows):
        return None
    return sum(window[0] for window in windows if window), sum(window[1] for window in windows if window)


@dataclass(frozen=True, slots=True, eq=False)
class Springs:
    """What one span of a group does at each length in each pose, (J,) and (J, P).

    Attributes
    ----------
    lengths : (J,) array
        Rising [mm].
    energy : (J, P) array
        Bending energy over EI [1/mm]; infinite where it cannot have that length.
    slope : (J, P) array
        Change of that energy with the length [1/mm²].
    radius, turn : (J, P) array
        Least radius [mm] and turn [rad].
    """

    lengths: Array
    energy: Array
    slope: Array
    radius: Array
    turn: Array

    @property
    def shortest(self) -> Array:
        """The shortest length at which it has a shape, in each pose (P,) [mm]."""
        return np.asarray(self.lengths[np.isfinite(self.energy).argmax(axis=0)])

    def at(self, lengths: Array) -> tuple[Array, Array]:
        """Return least radius and turn at one length in each pose (P,)."""
        columns = range(self.energy.shape[1])
        return (
            np.array([np.interp(lengths[p], self.lengths, self.radius[:, p]) for p in columns]),
            np.array([np.interp(lengths[p], self.lengths, self.turn[:, p]) for p in columns]),
        )


def springs_of(grid: LoopGrid, places: NDArray[np.intp]) -> Springs:
    """Return what a loop does, in poses (P,) given by their places in its own sweep.

    Notes
    -----
    Half the squared curvature plus end force · tangent is the same all along a rod; by as much its energy falls with
    every mm of length while its clamps stand still.
    """
    rods = grid.rods[:, places]
    shaped = rods.converged & rods.stable
    level = (rods.energy + rods.pull * rods.chord) / grid.lengths[:, np.newaxis]
    return Springs(
        grid.lengths,
        np.where(shaped, rods.energy, np.inf),
        np.where(shaped, -level, 0.0),
        np.where(shaped, np.minimum(rods.least_radius, 1e6), 0.0),
        np.where(shaped, rods.turn, 0.0),
    )


def slack_of(low: Array, slack: float, turn: Array, radius: float) -> Springs:
    """Return what housing with slack in a tube does: it takes up to its slack without force, in each pose (P,)."""
    lengths = np.unique(np.concatenate([low, low + slack]))
    lengths = np.unique(np.concatenate([lengths, np.linspace(lengths[0], lengths[-1], 33)]))
    fits = (lengths[:, np.newaxis] >= low - 1e-9) & (lengths[:, np.newaxis] <= low + slack + 1e-9)
    return Springs(
        lengths,
        np.where(fits, 0.0, np.inf),
        np.zeros(fits.shape),
        np.full(fits.shape, min(radius, 1e6)),
        np.broadcast_to(turn, fits.shape).copy(),
    )


def split(members: Sequence[Springs], total: float, start: Sequence[Array]) -> list[Array]:
    """Return how spans share a length so that no span pushes or pulls housing into its neighbour.

    Parameters
    ----------
    members : sequence of Springs
        In the same poses (P,).
    total : float
        Length of all together [mm].
    start : sequence of (P,) array
        A way to share it, such as in proportion to what each may measure.

    Returns
    -------
    list of (P,) array
        Length of each [mm]; they add up to `total`.

    Notes
    -----
    Without friction at the stations the energy of all together is least; what a span gains or loses by a little more
    length is then the same for all. Pairs are balanced in turn, which for two is exact to the step's square.
    """
    shares = [np.asarray(share, dtype=np.float64).copy() for share in start]
    if len(members) == 1:
        return [np.full(members[0].energy.shape[1], total)]
    rounds = 1 if len(members) == 2 else _ROUNDS
    for _ in range(rounds):
        for one in range(len(members) - 1):
            pair = shares[one] + shares[one + 1]
            shares[one] = _balanced(members[one], members[one + 1], pair)
            shares[one + 1] = pair - shares[one]
    return shares


def _balanced(first: Springs, second: Springs, total: Array) -> Array:
    """Return the first one's share of a total (P,) at which both together have the least energy."""
    found = np.empty(len(total))
    for pose, whole in enumerate(total):
        low = max(float(first.lengths[0]), whole - float(second.lengths[-1]))
        high = min(float(first.lengths[-1]), whole - float(second.lengths[0]))
        if high <= low:
            found[pose] = min(max(low, float(first.lengths[0])), whole)
            continue
        tried = np.linspace(low, high, max(int((high - low) / _STEP), 2) + 1)
        energy = _energy(first, pose, tried) + _energy(second, pose, whole - tried)
        best = int(energy.argmin())
        found[pose] = tried[best] + _dip(energy, best) * (tried[1] - tried[0])
    return found


def _energy(member: Springs, pose: int, lengths: Array) -> Array:
    """Return the energy at lengths (K,) by cubics that keep its slopes, infinite outside what the span may measure."""
    own = member.energy[:, pose]
    shaped = np.isfinite(own)
    if not shaped.any():
        return np.full(len(lengths), np.inf)
    at, value, slope = member.lengths[shaped], own[shaped], member.slope[shaped, pose]
    inside = (lengths >= at[0] - 1e-9) & (lengths <= at[-1] + 1e-9)
    if len(at) == 1:
        return np.where(inside, value[0], np.inf)
    left = np.clip(np.searchsorted(at, lengths, side="right") - 1, 0, len(at) - 2)
    step = at[left + 1] - at[left]
    share = np.clip((lengths - at[left]) / step, 0.0, 1.0)
    rest = 1.0 - share
    between = (1.0 + 2.0 * share) * rest**2 * value[left] + (1.0 + 2.0 * rest) * share**2 * value[left + 1]
    between += step * share * rest * (rest * slope[left] - share * slope[left + 1])
    return np.where(inside, between, np.inf)


def _dip(energy: Array, best: int) -> float:
    """Return where a parabola through the lowest three lies lowest, in steps from the middle one."""
    if not 0 < best < len(energy) - 1 or not np.isfinite(energy[best - 1 : best + 2]).all():
        return 0.0
    before, at, after = energy[best - 1 : best + 2]
    bend = before - 2.0 * at + after
    return float(np.clip(0.5 * (before - after) / bend, -0.5, 0.5)) if bend > 0.0 else 0.0
