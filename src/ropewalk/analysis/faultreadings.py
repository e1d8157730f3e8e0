"""Readings of a spring scale at both ends of a wire, sorted into clearly different loads."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

#: loads differ clearly when they are so many standard deviations apart, of two readings or of what repeats scatter,
CLEAR_STEPS = 5.0
#: and by this share of the larger
CLEAR_SHARE = 0.25


@dataclass(frozen=True, slots=True)
class Pair:
    """One reading at each end while the wire is pulled slowly from its lever end [N]."""

    lever: float
    end: float


@dataclass(frozen=True, slots=True)
class Load:
    """Readings at one load, taken together.

    Attributes
    ----------
    lever, end : float
        Their means [N].
    pairs : tuple of Pair
    """

    lever: float
    end: float
    pairs: tuple[Pair, ...]


def sort_loads(pairs: Sequence[Pair], scale_sigma: float) -> tuple[Load, ...]:
    """Return readings sorted into clearly different loads, from the smallest.

    Examples
    --------
    >>> [load.end for load in sort_loads([Pair(60, 40), Pair(95, 70), Pair(64, 42)], 1.0)]
    [41.0, 70.0]
    """
    once = _sorted(pairs, lambda load: clear_step(load, scale_sigma))
    freedom = len(pairs) - len(once)
    if freedom and len(once) > 1:
        spread = math.sqrt(sum((pair.end - load.end) ** 2 for load in once for pair in load.pairs) / freedom)
        return _sorted(pairs, lambda load: max(clear_step(load, scale_sigma), CLEAR_STEPS * spread))
    return once


def _sorted(pairs: Sequence[Pair], step: Callable[[float], float]) -> tuple[Load, ...]:
    groups: list[list[Pair]] = []
    for pair in sorted(pairs, key=lambda pair: pair.end):
        if groups and pair.end - groups[-1][0].end <= step(pair.end):
            groups[-1].append(pair)
        else:
            groups.append([pair])
    return tuple(
        Load(float(np.mean([pair.lever for pair in group])), float(np.mean([pair.end for pair in group])), tuple(group))
        for group in groups
    )


def clear_step(load: float, scale_sigma: float) -> float:
    """Return by how much another load has to differ from one [N] to count as a different one."""
    return max(CLEAR_STEPS * math.sqrt(2.0) * scale_sigma, CLEAR_SHARE * load)
