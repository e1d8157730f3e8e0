"""Where a figure of many rods crosses zero as their length changes, all rods at once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ropewalk.mechanics.elastica import Clamps, Rods, relax_from

Array = NDArray[np.float64]
Rows = NDArray[np.intp]
#: bracket width at which a crossing counts as found [mm]
CLOSE_ENOUGH = 0.02
#: most steps; halving alone brings 40 mm below `CLOSE_ENOUGH` in eleven
_MOST_STEPS = 14


@dataclass(frozen=True, slots=True)
class Crossings:
    """Lengths at which each rod's figure crosses zero, and the rods there.

    Attributes
    ----------
    length : (B,) array
        The side of the crossing on which the figure is not negative [mm].
    rods : Rods
        The rods at those lengths.
    """

    length: Array
    rods: Rods


def crossings(
    clamps: Clamps,
    good: Array,
    good_tangents: Array,
    bad: Array,
    figure: Callable[[Rods, Rows], Array],
) -> Crossings:
    """Find where ``figure`` leaves the good side, between a good and a bad length of each rod.

    Parameters
    ----------
    clamps : Clamps
        Batch (B,).
    good, bad : (B,) array
        Lengths [mm] at which the figure is not negative, and at which it is negative or no shape exists.
    good_tangents : (B, n, 3) array
        Shape at the good length.
    figure : callable
        Takes rods (K,) and their rows (K,) to values (K,), not negative on the good side; NaN, for a rod without a
        shape, counts as bad.

    Notes
    -----
    False position with the Illinois halving, guarded by bisection where the bad side has no value. Each trial starts
    from the nearest good shape, so the branch is kept.
    """
    good, bad, tangents = good.copy(), bad.copy(), good_tangents.copy()
    rows = np.arange(good.size)
    at_good = figure(relax_from(clamps, good, tangents), rows)
    at_bad = figure(relax_from(clamps, bad, tangents), rows)
    kept = np.zeros(good.shape, dtype=np.int64)
    for _ in range(_MOST_STEPS):
        open_ = np.flatnonzero(np.abs(good - bad) > CLOSE_ENOUGH)
        if not open_.size:
            break
        trial = _trial(good[open_], bad[open_], at_good[open_], at_bad[open_])
        tried = relax_from(clamps[open_], trial, tangents[open_])
        value = figure(tried, open_)
        fine = value >= 0.0
        here, there = open_[fine], open_[~fine]
        good[here], at_good[here], tangents[here] = trial[fine], value[fine], tried.tangents[fine]
        bad[there], at_bad[there] = trial[~fine], value[~fine]
        # the end kept twice running counts half, so that both ends close in
        at_bad[here] *= np.where(kept[here] > 0, 0.5, 1.0)
        at_good[there] *= np.where(kept[there] < 0, 0.5, 1.0)
        kept[here] = np.maximum(kept[here], 0) + 1
        kept[there] = np.minimum(kept[there], 0) - 1
    return Crossings(good, relax_from(clamps, good, tangents))


def _trial(good: Array, bad: Array, at_good: Array, at_bad: Array) -> Array:
    """Return the next lengths: by proportion where both values are known, half way elsewhere."""
    fall = at_good - at_bad
    known = np.isfinite(fall) & (fall > 0)
    share = np.where(known, np.where(known, at_good, 0.5) / np.where(known, fall, 1.0), 0.5)
    reach = np.abs(bad - good)
    least = np.minimum(0.45, 0.4 * CLOSE_ENOUGH / reach)
    return np.asarray(good + (bad - good) * np.clip(share, least, 1.0 - least))
