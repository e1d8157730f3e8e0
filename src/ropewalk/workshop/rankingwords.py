"""Why one routing is ahead of another, in words that a mechanic reads without a manual."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from types import MappingProxyType
from typing import Protocol

import numpy as np

from ropewalk.analysis.weighing import Weighed, Wire
from ropewalk.bike.sourced import SIGMAS_WITHIN
from ropewalk.bike.wording import listed
from ropewalk.units import degrees
from ropewalk.workshop.candidate import Candidate

#: differences below these are not worth telling: turn [°], drag [N], length [mm], efficiency
_TURN, _DRAG, _MM, _ARRIVES = 0.75, 0.05, 0.05, 0.01
#: friction pairs by what a mechanic calls the place
_PLACES: Mapping[str, str] = MappingProxyType(
    {"noodle": "formed guides", "bare guide": "bare guides", "liner": "its liner"}
)


class Apart(Protocol):
    """Two candidates' difference, as `ropewalk.workshop.ranking.Difference` has it."""

    @property
    def value(self) -> float:
        """Of the one that is ahead less the other."""

    @property
    def sigma(self) -> float:
        """Its standard deviation."""

    @property
    def unit(self) -> str:
        """1, mm, or log for the logarithm of a ratio."""


def bare_figure(by: str, figure: Weighed) -> str:
    """Return what a candidate is ranked by, short enough to stand in large type."""
    if by == "efficiency":
        return f"{math.exp(figure.value):.0%}"
    if by == "reserve":
        return "any μ" if math.isinf(figure.value) else f"μ {figure.value:.2f}"
    return f"{figure.value:.1f} mm" if by == "lost-motion" else f"{figure.value:.0f} mm"


def figure_words(by: str, candidate: Candidate, figure: Weighed) -> str:
    """Return what a candidate is ranked by, with its own uncertainty."""
    half, bare = SIGMAS_WITHIN * figure.sigma, bare_figure(by, figure)
    if by == "efficiency":
        low, high = (min(math.exp(figure.value + sign * half), 1.0) for sign in (-1.0, 1.0))
        return f"{bare} of the pull arrives ({100.0 * low:.0f} to {100.0 * high:.0f})"
    if by == "reserve":
        return (
            "comes back whatever the friction"
            if math.isinf(figure.value)
            else f"comes back up to {bare} (± {half:.2f})"
        )
    if by == "lost-motion":
        lost = [one for one in candidate.plan.lost.values() if one.pull]
        share = (
            f", {figure.value / lost[0].pull:.0%} of the lever's {lost[0].pull:g} mm" if lost and lost[0].pull else ""
        )
        return f"{bare} lost (± {half:.1f}){share}"
    return f"{bare} of housing (± {half:.0f})"


def interval_words(apart: Apart, *, ahead: bool, tie: bool) -> str:
    """Return how far two candidates differ and how surely.

    Parameters
    ----------
    apart : Apart
        Of the one that is ahead less the other.
    ahead : bool
        Whether it is told of the one that is ahead.
    tie : bool
        Whether it is to be told as a tie.
    """
    half = SIGMAS_WITHIN * apart.sigma
    if math.isinf(apart.value):
        return f"{'more' if ahead else 'less'} than with"
    if tie and half == 0.0:
        return "nothing tells them apart"
    if apart.unit == "log":
        # of the one that is told, against the other
        sign = 1.0 if ahead else -1.0
        middle, *ends = (
            100.0 * abs(math.expm1(sign * value)) for value in (apart.value, apart.value - half, apart.value + half)
        )
        if tie:
            return f"the difference of {middle:.1f}% could be chance (uncertain by {100.0 * half:.1f}%)"
        word, digits = "more" if ahead else "less", _digits(100.0 * half, 0)
        return f"{middle:.{digits}f}% {word} pull ({min(ends):.{digits}f} to {max(ends):.{digits}f}) than with"
    unit, digits = ("", _digits(half, 3)) if apart.unit == "1" else (" mm", _digits(half, 1))
    size = abs(apart.value)
    if tie:
        return f"the difference of {size:.{digits}f}{unit} could be chance (uncertain by {half:.{digits}f}{unit})"
    word = "more" if (apart.value > 0.0) == ahead else "less"
    return f"{size:.{digits}f}{unit} {word} (± {half:.{digits}f}) than with"


def _digits(half: float, least: int) -> int:
    """Return how many digits a figure needs behind its point so that its uncertainty shows.

    Examples
    --------
    >>> _digits(2.6, 0), _digits(0.2, 0), _digits(0.2, 1), _digits(0.0, 1)
    (0, 1, 1, 1)
    """
    return least if half <= 0.0 else min(max(least, math.ceil(-math.log10(half))), 5)


def because(reasons: Iterator[str]) -> str:
    """Return reasons as the end of a sentence, or nothing where there are none."""
    told = list(reasons)
    return f": {listed(told, last='and')}" if told else ""


def turn_reasons(one: Candidate, other: Candidate, pose: Callable[[Candidate, Wire], int]) -> Iterator[str]:
    """Return how the turn of two lines differs, by what their wire rubs on, and the drag of their seals."""
    if one.wire is None or other.wire is None:
        return
    own, theirs = (_turns(wire, pose(each, wire)) for each, wire in ((one, one.wire), (other, other.wire)))
    changes = [
        (change, pair)
        for pair in dict.fromkeys([*own, *theirs])
        if abs(change := degrees(own.get(pair, 0.0) - theirs.get(pair, 0.0))) >= _TURN
    ]
    changes.sort(key=lambda found: -abs(found[0]))
    told = [
        f"{abs(change):.0f}° {'more' if change > 0.0 else 'less'} on {_PLACES.get(pair, pair)}"
        for change, pair in changes
    ]
    if told:
        yield f"its wire turns {listed(told, last='and')}"
    drag = _drag(one.wire) - _drag(other.wire)
    if abs(drag) >= _DRAG:
        yield f"its seals and adjusters hold back {abs(drag):.1f} N {'more' if drag > 0.0 else 'less'}"


def _turns(wire: Wire, pose: int) -> dict[str, float]:
    found: dict[str, float] = {}
    for stretch in wire.stretches:
        found[stretch.pair] = found.get(stretch.pair, 0.0) + float(np.asarray(stretch.turn)[pose])
    return found


def _drag(wire: Wire) -> float:
    return sum(stretch.drag for stretch in wire.stretches)


def _efficiency_reasons(one: Candidate, other: Candidate, condition: str) -> Iterator[str]:
    del condition
    return turn_reasons(one, other, lambda _, wire: wire.home)


def _reserve_reasons(one: Candidate, other: Candidate, condition: str) -> Iterator[str]:
    del condition
    return turn_reasons(one, other, _release_pose)


def _release_pose(one: Candidate, wire: Wire) -> int:
    friction = one.plan.friction
    return wire.home if friction is None or friction.release is None else friction.release.pose


def _lost_reasons(one: Candidate, other: Candidate, condition: str) -> Iterator[str]:
    """Return which parts of the lost motion differ; two housings are told as housing."""
    own, theirs = (_lost_parts(each, condition) for each in (one, other))
    for what in dict.fromkeys([*own, *theirs]):
        change = own.get(what, 0.0) - theirs.get(what, 0.0)
        if abs(change) >= _MM:
            yield f"{what} {abs(change):.1f} mm {'more' if change > 0.0 else 'less'}"
    arrives = [each.efficiency[condition].value for each in (one, other)]
    if arrives[1] - arrives[0] >= _ARRIVES and sum(own.values()) < sum(theirs.values()):
        yield f"less of the pull gets through to stretch it ({arrives[0]:.0%} against {arrives[1]:.0%})"


def _lost_parts(candidate: Candidate, condition: str) -> dict[str, float]:
    found: dict[str, float] = {}
    for loss in candidate.plan.lost[condition].losses:
        what = "housing is squeezed" if loss.label.endswith("is squeezed") else loss.label
        found[what] = found.get(what, 0.0) + loss.mm.value
    return found


def _no_reasons(one: Candidate, other: Candidate, condition: str) -> Iterator[str]:
    del one, other, condition
    return iter(())


#: what makes the difference, by what is ranked by
REASONS: Mapping[str, Callable[[Candidate, Candidate, str], Iterator[str]]] = MappingProxyType(
    {
        "efficiency": _efficiency_reasons,
        "reserve": _reserve_reasons,
        "lost-motion": _lost_reasons,
        "length": _no_reasons,
    }
)
