"""How surely two lines are told apart: a figure of each with all that moves it, what moves both alike taken off.

The friction of one pair of materials, the stiffness of one housing and the pull of one spring are known roughly, yet
they are the same in two routings of a bike: a higher one raises or lowers the figures of both.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from itertools import chain

from ropewalk.analysis.causes import (
    Cause,
    Causes,
    Figured,
    Wire,
    all_causes,
    drags_of,
    effects_on,
    pairs_of,
    turns_of,
)
from ropewalk.analysis.friction import lever_pull, through
from ropewalk.analysis.lostmotion import lost_values
from ropewalk.analysis.release import needed_at_lever, reserve_causes, reserve_in

__all__ = [
    "Cause",
    "Weighed",
    "Wire",
    "apart",
    "weighed_efficiency",
    "weighed_lost_motion",
    "weighed_reserve",
]


@dataclass(frozen=True, slots=True, eq=False)
class Weighed:
    """A figure and what one standard deviation of each cause does to it, to first order."""

    value: float
    effects: Mapping[Cause, float]

    @property
    def sigma(self) -> float:
        """Its standard deviation; causes are independent of each other."""
        return math.hypot(*self.effects.values())


def apart(first: Weighed, second: Weighed) -> Figured:
    """Return the first figure less the second, with the standard deviation of that difference.

    Notes
    -----
    A cause that moves both by e and f moves the difference by e - f. For the exponents of two lines that rub on the
    same pairs this is the sum over pairs of (sigma of mu)² (turn of one - turn of the other)², and the turns' own.

    Examples
    --------
    >>> both = {("friction", "lined housing"): 0.03}
    >>> apart(Weighed(1.0, both), Weighed(0.9, both)).sigma
    0.0
    """
    causes = first.effects.keys() | second.effects.keys()
    moved = (first.effects.get(cause, 0.0) - second.effects.get(cause, 0.0) for cause in causes)
    return Figured(first.value - second.value, math.hypot(*moved))


def weighed_efficiency(wire: Wire, condition: str) -> Weighed | None:
    """Return the natural logarithm of the efficiency straight ahead; None where nothing of the pull arrives.

    Without constant drags it is less the sum of friction times turn.
    """
    figure = partial(_log_efficiency, condition, lever_pull(wire, wire.home))
    if figure(wire) == -math.inf:
        return None
    return _weighed(wire, figure, chain(pairs_of(wire, condition), turns_of(wire), drags_of(wire)))


def weighed_reserve(wire: Wire, pose: int) -> Weighed | None:
    """Return the release reserve in a pose of the sweep; None where spring or need are not known."""
    if wire.route.mover.spring_least is None or needed_at_lever(wire.route) is None:
        return None
    return _weighed(wire, partial(reserve_in, pose), reserve_causes(wire))


def weighed_lost_motion(wire: Wire, condition: str) -> Weighed | None:
    """Return the lost motion straight ahead [mm]; None for a hose."""
    if wire.route.inner is None:
        return None
    return _weighed(wire, partial(_lost, condition), all_causes(wire, condition))


def _weighed(wire: Wire, figure: Callable[[Wire], float], causes: Causes) -> Weighed:
    return Weighed(figure(wire), effects_on(wire, figure, causes))


def _log_efficiency(condition: str, pull: float, wire: Wire) -> float:
    arrives = through(condition, wire.home, pull, wire)
    return math.log(arrives) if arrives > 0.0 else -math.inf


def _lost(condition: str, wire: Wire) -> float:
    return float(lost_values(condition, wire).sum())
