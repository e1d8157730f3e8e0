"""Spans that share their slack: housing that slides through the stations between them.

Stations hold housing, so that each span keeps its own length, or let it slide, so that only the sum is kept. A group
is a run of spans joined by sliding stations. In each pose it may be as short as its spans' shortest lengths together
and as long as their longest together; over the poses it may be what all of them allow.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ropewalk.analysis.loopgrid import LoopGrid
from ropewalk.analysis.loops import Array

#: shares tried in one go, the step at which no finer ones are tried [mm]
_TRIED, _STEP = 65, 0.5
#: how often every two spans of a group of more are balanced at the most, and how far about their shares after the first
_ROUNDS, _REACH = 60, 4.0
#: shares that move by less than this are balanced [mm]
_AT_REST = 0.01


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
    chord : (P,) array
        Length at which it would be straight between its ends; 0 where it never is [mm].
    """

    lengths: Array
    energy: Array
    slope: Array
    radius: Array
    turn: Array
    chord: Array

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
        grid.chord[places],
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
        np.zeros(fits.shape[1]),
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
    length is then the same for all. Every two spans that can have more than one length are balanced in turn, until
    none gives to another.
    """
    shares = [np.asarray(share, dtype=np.float64).copy() for share in start]
    if len(members) == 1:
        return [np.full(members[0].energy.shape[1], total)]
    free = [place for place, member in enumerate(members) if len(member.lengths) > 1]
    pairs = list(itertools.combinations(free, 2))
    for turn in range(_ROUNDS if len(pairs) > 1 else len(pairs)):
        moved = 0.0
        for one, other in pairs:
            pair = shares[one] + shares[other]
            reach = None if turn == 0 else _REACH
            balanced = _balanced(members[one], members[other], pair, shares[one], reach)
            moved = max(moved, float(np.abs(balanced - shares[one]).max()))
            shares[one], shares[other] = balanced, pair - balanced
        if moved < _AT_REST:
            break
    return shares


def _balanced(first: Springs, second: Springs, total: Array, share: Array, reach: float | None) -> Array:
    """Return the first one's share of a total (P,) at which both together have the least energy.

    It is looked for about a share (P,) as far as a reach [mm], or over all that both may measure.
    """
    low = np.maximum(first.lengths[0], total - second.lengths[-1])
    high = np.minimum(first.lengths[-1], total - second.lengths[0])
    stuck = high <= low
    if reach is not None:
        low, high = np.maximum(low, share - reach), np.minimum(high, share + reach)
    while True:
        low, high = np.where(stuck, share, low), np.where(stuck, share, np.maximum(high, low))
        tried = low + (high - low) * np.linspace(0.0, 1.0, _TRIED)[:, np.newaxis]
        energy = _energy(first, tried) + _energy(second, total - tried)
        best = energy.argmin(axis=0)
        columns = np.arange(len(total))
        step = (high - low) / (_TRIED - 1)
        found = tried[best, columns] + _dip(energy, best) * step
        if float(step.max()) <= _STEP:
            return np.where(np.isfinite(energy[best, columns]), found, share)
        low, high = (
            np.maximum(low, tried[best, columns] - 2.0 * step),
            np.minimum(high, tried[best, columns] + 2.0 * step),
        )


def _energy(member: Springs, lengths: Array) -> Array:
    """Return the energy at lengths (K, P), infinite outside what the span may measure.

    Towards its chord a rod's energy grows as one over the length it has to spare; times that it is smooth, and cubics
    that keep its slopes go through it, and from the shortest rod known on a parabola that is level at the chord.
    """
    at, columns = member.lengths, np.arange(lengths.shape[1])
    left = np.clip(np.searchsorted(at, lengths, side="right") - 1, 0, len(at) - 2)
    step = at[left + 1] - at[left]
    share = (lengths - at[left]) / step
    inside = (share >= -1e-9) & (share <= 1.0 + 1e-9)
    spare = at[:, np.newaxis] - member.chord
    shaped = np.isfinite(member.energy) & (spare > 0.0)
    value = np.where(shaped, np.where(shaped, member.energy, 0.0) * spare, 0.0)
    slope = np.where(shaped, np.where(shaped, member.energy, 0.0) + member.slope * spare, 0.0)
    rest = 1.0 - share
    between = (1.0 + 2.0 * share) * rest**2 * value[left, columns]
    between += (1.0 + 2.0 * rest) * share**2 * value[left + 1, columns]
    between += step * share * rest * (rest * slope[left, columns] - share * slope[left + 1, columns])
    # at the end of what has a shape only one side has one
    known = (shaped[left, columns] | (share > 1.0 - 1e-9)) & (shaped[left + 1, columns] | (share < 1e-9))
    taut = ~known & shaped[left + 1, columns] & (member.chord > 0.0)
    first, own = at[left + 1] - member.chord, lengths - member.chord
    bend = 0.5 * slope[left + 1, columns] / np.where(first > 0.0, first, 1.0)
    between = np.where(taut, value[left + 1, columns] + bend * (own**2 - first**2), between)
    known |= taut & (between > 0.0)
    return np.where(inside & known & (own > 0.0), between / np.where(own > 0.0, own, 1.0), np.inf)


def _dip(energy: Array, best: NDArray[np.intp]) -> Array:
    """Return where parabolas through the lowest three of each column lie lowest, in steps from the middle one (P,)."""
    inner, columns = np.clip(best, 1, len(energy) - 2), np.arange(energy.shape[1])
    before, at, after = energy[inner - 1, columns], energy[inner, columns], energy[inner + 1, columns]
    whole = (best == inner) & np.isfinite(before) & np.isfinite(after)
    before, at, after = np.where(whole, before, 0.0), np.where(whole, at, 0.0), np.where(whole, after, 0.0)
    bend = before - 2.0 * at + after
    return np.where(bend > 0.0, np.clip(0.5 * (before - after) / np.where(bend > 0.0, bend, 1.0), -0.5, 0.5), 0.0)
