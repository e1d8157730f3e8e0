"""Ranking routings by one figure, with the uncertainty of every difference, and the reasons in words."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from types import MappingProxyType

from ropewalk.analysis.weighing import (
    Cause,
    Weighed,
    apart,
    weighed_efficiency,
    weighed_lost_motion,
    weighed_reserve,
)
from ropewalk.bike.sourced import SIGMAS_WITHIN
from ropewalk.bike.wording import listed
from ropewalk.workshop.candidate import Candidate
from ropewalk.workshop.rankingwords import REASONS, because, figure_words, interval_words

_Figure = Callable[[Candidate, str], Weighed | None]


@dataclass(frozen=True, slots=True)
class Measure:
    """What routings can be ranked by.

    Attributes
    ----------
    words : str
        What it is and which way round, in words; `{condition}` stands for the condition.
    higher : bool
        Whether more is better.
    unit : str
        Unit of a difference: "1", "mm", or "log" for the logarithm of a ratio.
    missing : str
        Why a candidate has no such figure.
    figure : callable
        Takes a candidate and a condition to its figure.
    """

    words: str
    higher: bool
    unit: str
    missing: str
    figure: _Figure


@dataclass(frozen=True, slots=True)
class Difference:
    """How two candidates differ in what they are ranked by.

    Attributes
    ----------
    first, second : str
        The one that is ahead, and the other.
    value, sigma : float
        The first's figure less the second's, and its standard deviation, what moves both alike taken off.
    unit : str
        As for `Measure`.
    tie : bool
        Whether it is smaller than 1.96 standard deviations.
    """

    first: str
    second: str
    value: float
    sigma: float
    unit: str
    tie: bool


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a candidate stands.

    Attributes
    ----------
    name : str
    rank : int or None
        From 1; those that tie share one. None where it cannot be ranked.
    tied : tuple of str
        All others that it cannot be told from.
    figure : Weighed or None
        What it is ranked by.
    why : str
        The reason, in words.
    """

    name: str
    rank: int | None
    tied: tuple[str, ...]
    figure: Weighed | None
    why: str


def _efficiency(candidate: Candidate, condition: str) -> Weighed | None:
    return None if candidate.wire is None else weighed_efficiency(candidate.wire, condition)


def _reserve(candidate: Candidate, condition: str) -> Weighed | None:
    del condition
    friction = candidate.plan.friction
    if candidate.wire is None or friction is None or friction.release is None:
        return None
    return weighed_reserve(candidate.wire, friction.release.pose)


def _lost_motion(candidate: Candidate, condition: str) -> Weighed | None:
    return None if candidate.wire is None else weighed_lost_motion(candidate.wire, condition)


def _length(candidate: Candidate, condition: str) -> Weighed | None:
    """Return the length of housing; a piece of the same length between the same stations is one piece."""
    del condition
    effects: dict[Cause, float] = {
        ("length", piece.start, piece.end, piece.housing, piece.target, piece.sigma): piece.sigma
        for piece in candidate.plan.pieces
    }
    return Weighed(candidate.housing, effects)


#: what routings can be ranked by, the usual one first
MEASURES: Mapping[str, Measure] = MappingProxyType(
    {
        "efficiency": Measure(
            "efficiency, {condition}: how much of the pull at the lever arrives at the other end, straight ahead. More "
            "is better.",
            True,
            "log",
            "a hose has no wire, or none of the pull arrives",
            _efficiency,
        ),
        "reserve": Measure(
            "release reserve: how high friction may rise before the line no longer comes back by itself, in its worst "
            "pose while riding. More is better; wear does not change it, it uses it up.",
            True,
            "1",
            "no release figure: the pull of its return spring, or what its lever needs of it, is not known",
            _reserve,
        ),
        "lost-motion": Measure(
            "lost motion, {condition}: how much wire the same pull at the lever takes up in stretch, squeezed housing "
            "and play, straight ahead. Less is better. Where friction keeps the pull back, less is stretched beyond: "
            "look at the efficiency too.",
            False,
            "mm",
            "a hose has no wire",
            _lost_motion,
        ),
        "length": Measure(
            "length of housing, at its target. Shorter is better: less to buy and to carry. Length by itself costs no "
            "friction.",
            False,
            "mm",
            "it has no length",
            _length,
        ),
    }
)


def ranked(
    candidates: Sequence[Candidate], by: str, condition: str
) -> tuple[tuple[Candidate, ...], tuple[Standing, ...], tuple[Difference, ...]]:
    """Rank candidates.

    Parameters
    ----------
    candidates : sequence of Candidate
    by : str
        A key of `MEASURES`.
    condition : str
        new, worn or corroded.

    Returns
    -------
    candidates : tuple of Candidate
        The best first, those that cannot be ranked last.
    standings : tuple of Standing
        In that order.
    differences : tuple of Difference
        Between every two that are ranked.

    Notes
    -----
    Two that tie share a rank. Ties need not carry over: where the middle one of three ties with both others all three
    share a rank, and the difference between the outer two is told in words.
    """
    measure = MEASURES[by]
    figures = {one.name: measure.figure(one, condition) for one in candidates}
    out = {one.name: unranked_because(one, figures[one.name], measure) for one in candidates}
    inside = [(one, figure) for one in candidates if (figure := figures[one.name]) is not None and not out[one.name]]
    inside.sort(key=lambda pair: -pair[1].value if measure.higher else pair[1].value)
    differences = tuple(
        difference(first.name, own, second.name, other, measure.unit)
        for (first, own), (second, other) in combinations(inside, 2)
    )
    ranks = ranks_of([one.name for one, _ in inside], differences)
    told = [
        Standing(
            one.name,
            ranks[one.name],
            tied_with(one.name, differences),
            figure,
            _why(one, figure, inside, differences, by, condition),
        )
        for one, figure in inside
    ]
    last = [one for one in candidates if out[one.name]]
    told += [Standing(one.name, None, (), figures[one.name], f"not ranked: {out[one.name]}") for one in last]
    return (*(one for one, _ in inside), *last), tuple(told), differences


def difference(first: str, own: Weighed, second: str, other: Weighed, unit: str) -> Difference:
    """Return how a candidate that is ahead differs from another; two that nothing can stop are alike."""
    if math.isinf(own.value) and own.value == other.value:
        return Difference(first, second, 0.0, 0.0, unit, tie=True)
    found = apart(own, other)
    return Difference(
        first, second, found.value, found.sigma, unit, tie=abs(found.value) <= SIGMAS_WITHIN * found.sigma
    )


def ranks_of(names: Sequence[str], differences: Sequence[Difference]) -> dict[str, int]:
    """Return the ranks of candidates in order of merit: all of one rank are clearly ahead of all of the next.

    Examples
    --------
    >>> ranks_of(["a", "b", "c"], [Difference("a", "b", 0.1, 0.2, "1", True)])
    {'a': 1, 'b': 1, 'c': 3}
    """
    found: dict[str, int] = {}
    rank = 1
    for place, name in enumerate(names):
        before = set(names[:place])
        if not any(one.tie and (one.first in before) != (one.second in before) for one in differences):
            rank = place + 1
        found[name] = rank
    return found


def tied_with(name: str, differences: Sequence[Difference]) -> tuple[str, ...]:
    """Return what a candidate cannot be told from."""
    pairs = [(one.first, one.second) for one in differences if one.tie and name in (one.first, one.second)]
    return tuple(second if first == name else first for first, second in pairs)


def unranked_because(candidate: Candidate, figure: Weighed | None, measure: Measure) -> str:
    """Return why a candidate cannot be ranked, or nothing when it can."""
    if candidate.stops:
        return f"settle the stop first: {candidate.stops[0].text}"
    return measure.missing if figure is None else ""


def _why(
    one: Candidate,
    figure: Weighed,
    inside: Sequence[tuple[Candidate, Weighed]],
    differences: Sequence[Difference],
    by: str,
    condition: str,
) -> str:
    """Return a candidate's figure and how it compares with the best, or the best with the next that is no tie."""
    told = figure_words(by, one, figure)
    first, names = inside[0][0], {other.name: other for other, _ in inside}
    mine = [two for two in differences if one.name in (two.first, two.second)]
    if one is first:
        clear = next((two for two in mine if not two.tie), None)
        ties = tied_with(one.name, differences)
        if ties:
            told += f"; a tie with {listed(ties, last='and')}"
        if clear is None:
            return told
        against = clear.second
    else:
        clear = next(two for two in mine if two.first == first.name)
        against = first.name
        if clear.tie:
            return f"{told}; a tie with {against}: {interval_words(clear, ahead=False, tie=True)}"
    ahead = clear.first == one.name
    compared = f"{told}; {interval_words(clear, ahead=ahead, tie=False)} {against}"
    reason = because(REASONS[by](one, names[against], condition))
    alike = () if one is first else tied_with(one.name, differences)
    return f"{compared}{reason}" + (f"; cannot be told from {listed(alike, last='and')}" if alike else "")
