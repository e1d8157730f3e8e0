"""Friction and constant drag of a wire from the pull at both its ends, with their 95 % intervals.

Pulled slowly, a wire that turns through theta in all takes ``in = (out + drag) exp(mu theta)``: what goes in at the
near end, what comes out at the far one. Both readings err, so neither can stand as given: a value of mu is kept in the
interval when the readings would stray that far from it, or further, more than once in 20 times.

One load, or a drag that is taken as known, is Fieller's interval of a ratio. Several loads are a straight line with
errors in both figures, in = slope (out + drag): the interval of its slope is that of Creasy and Williams.

References
----------
E. C. Fieller, Journal of the Royal Statistical Society B 16 (1954) 175; M. A. Creasy, the same 18 (1956) 65;
E. J. Williams, Regression Analysis (1959), ch. 11; JCGM 100:2008 (the GUM), 4.3 and annex G for the shares of a scale's
error and of scatter, and for the degrees of freedom. All from memory.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq
from scipy.special import fdtri, stdtrit

from ropewalk.analysis.faultreadings import Load, Pair, sort_loads
from ropewalk.analysis.loops import Array
from ropewalk.bike.sourced import SIGMAS_WITHIN
from ropewalk.mechanics.capstan import Contact, pull_needed

#: share of sound sets of readings whose loads disagree as much as is called a disagreement
DISAGREE = 0.01
#: logarithms of in over out between which an answer is looked for
_LEAST, _MOST = -3.0, 12.0
#: degrees of freedom of a figure known by its standard deviation
_KNOWN = 1e9
_INSIDE = 0.975


@dataclass(frozen=True, slots=True)
class Interval:
    """A figure with its 95 % interval; `low` and `high` are infinite where the readings set no bound."""

    value: float
    low: float
    high: float

    @property
    def possible(self) -> Interval:
        """The part of it at 0 or above, for a figure that is never negative; itself where there is no such part.

        Examples
        --------
        >>> Interval(-0.02, -0.07, 0.02).possible
        Interval(value=0.0, low=0.0, high=0.02)
        """
        return Interval(max(0.0, self.value), max(0.0, self.low), self.high) if self.high >= 0.0 else self

    def reach(self, other: float) -> float:
        """Return its standard deviation, as its half-width on the side of another figure tells it."""
        side = self.high - self.value if other > self.value else self.value - self.low
        return side / SIGMAS_WITHIN

    def strays(self, other: float, sigma: float = 0.0) -> float:
        """Return by how many standard deviations of both it lies above another figure (below: negative)."""
        together = math.hypot(self.reach(other), sigma)
        gap = self.value - other
        return gap / together if together > 0.0 else math.copysign(math.inf, gap) if gap else 0.0


@dataclass(frozen=True, slots=True)
class LineFit:
    """What the readings say of the wire.

    Attributes
    ----------
    loads : tuple of Load
        Clearly different loads, from the smallest.
    friction : Interval
        Friction coefficient, averaged over the contacts by turn. With one load it counts on the known drags alone, with
        several it stands beside `drag`.
    drag : Interval or None
        Constant drag, as felt at the far end [N]; None with one load.
    plain : Interval
        Friction coefficient if the known drags were all there are; the same as `friction` with one load.
    agree : bool
        Whether three loads or more lie on a line as well as their errors allow; the intervals are widened if not.
    """

    loads: tuple[Load, ...]
    friction: Interval
    drag: Interval | None
    plain: Interval
    agree: bool


@dataclass(frozen=True, slots=True, eq=False)
class _Problem:
    """Readings by load, as arrays, and what errs in them."""

    lever: Array
    end: Array
    counts: Array
    strays: tuple[Array, Array]
    freedom: int
    scale_sigma: float
    turn: float
    turn_sigma: float
    contacts: tuple[Contact, ...]

    def known_drag(self, friction: float) -> float:
        """Return the known drags as felt at the far end [N]."""
        rubbed = [Contact(contact.turn, friction, contact.drag) for contact in self.contacts]
        return pull_needed(0.0, rubbed)[0] / math.exp(friction * self.turn) if rubbed else 0.0

    def scatter(self, slope: float) -> float:
        """Return the variance of one pair about its load's mean, from repeats of all loads [N²]."""
        lever, end = self.strays
        return float(np.sum((lever - slope * end) ** 2)) / self.freedom if self.freedom else 0.0


def fit_line(
    pairs: Sequence[Pair], contacts: Sequence[Contact], turn_sigma: float, scale_sigma: float
) -> LineFit | None:
    """Return friction and constant drag of a wire from readings at both ends.

    Parameters
    ----------
    pairs : sequence of Pair
        One or more, forces above 0.
    contacts : sequence of Contact
        What the wire turns and rubs on from lever to end; their turns and known drags count, their friction does not.
    turn_sigma : float
        Standard deviation of their turn together [rad].
    scale_sigma : float
        Standard deviation of what a scale reads wrong, above 0 [N].

    Returns
    -------
    LineFit or None
        None where the pull at the lever end does not rise with that at the other end.

    Notes
    -----
    A scale's error is one and the same for all readings of a load at one end, independent between ends and loads: it
    does not average out. What repeats scatter about their load's mean comes on top, taken as equal at all loads, and
    does average out; it is known with as many degrees of freedom as there are repeats, hence Student's t with the
    Welch–Satterthwaite count. An error that both scales share at all loads is a constant drag to the fit.
    """
    loads = sort_loads(pairs, scale_sigma)
    problem = _problem(loads, contacts, turn_sigma, scale_sigma)
    plain = _interval(problem, problem.known_drag, _Doubt())
    if plain is None or len(loads) == 1:
        return None if plain is None else LineFit(loads, plain, None, plain, agree=True)
    fitted = _interval(problem, None, _Doubt())
    if fitted is None:
        return None
    doubt = _disagreement(problem, fitted.value)
    if doubt.excess > 1.0:
        fitted = _interval(problem, None, doubt) or fitted
    return LineFit(loads, fitted, _drag(problem, fitted.value, doubt), plain, agree=doubt.excess == 1.0)


def _problem(loads: Sequence[Load], contacts: Sequence[Contact], turn_sigma: float, scale_sigma: float) -> _Problem:
    strays = (
        np.array([pair.lever - load.lever for load in loads for pair in load.pairs]),
        np.array([pair.end - load.end for load in loads for pair in load.pairs]),
    )
    return _Problem(
        lever=np.array([load.lever for load in loads]),
        end=np.array([load.end for load in loads]),
        counts=np.array([float(len(load.pairs)) for load in loads]),
        strays=strays,
        freedom=len(strays[0]) - len(loads),
        scale_sigma=scale_sigma,
        turn=sum(contact.turn for contact in contacts),
        turn_sigma=turn_sigma,
        contacts=tuple(contacts),
    )


@dataclass(frozen=True, slots=True)
class _Doubt:
    """By what variances grow as loads disagree (1: nothing), and with how many degrees of freedom that is known."""

    excess: float = 1.0
    freedom: float = _KNOWN


@dataclass(frozen=True, slots=True, eq=False)
class _Line:
    """The line in = slope (end + drag), for one slope.

    Attributes
    ----------
    variance : (L,) array
        Of the miss, in - slope end, at each load [N²].
    weight : (L,) array
        Of each load.
    along : (L,) array
        Place along the line, end + slope in: its error is independent of the miss.
    """

    slope: float
    variance: Array
    weight: Array
    along: Array


def _line(problem: _Problem, friction: float, drag: float | None) -> _Line:
    """Return the line of a friction coefficient: from a known drag, or (None) about the middle of the loads."""
    slope = math.exp(friction * problem.turn)
    variance = problem.scale_sigma**2 * (1.0 + slope**2) + problem.scatter(slope) / problem.counts
    weight = (1.0 + slope**2) / variance
    along = problem.end + slope * problem.lever
    along = along + drag if drag is not None else along - float(weight @ along / weight.sum())
    return _Line(slope, variance, weight, along)


def _judged(problem: _Problem, friction: float, drag: float | None, doubt: _Doubt) -> tuple[float, float]:
    """Return a weighted sum of misses, 0 on average if friction and drag are right, and its 95 % half-width."""
    line = _line(problem, friction, drag)
    misses = problem.lever - line.slope * (problem.end + (drag or 0.0))
    pull = line.weight * line.along
    squares = float(pull @ line.along)
    read = doubt.excess * (1.0 + line.slope**2) * squares
    turned = (friction * line.slope * problem.turn_sigma * squares / (1.0 + line.slope**2)) ** 2
    repeats = doubt.excess * float(np.sum(pull**2 / problem.counts)) * problem.scatter(line.slope)
    parts = ((repeats, problem.freedom), (read if doubt.excess > 1.0 else 0.0, doubt.freedom))
    return float(pull @ misses), _student(read + turned, parts) * math.sqrt(read + turned)


def _student(total: float, estimated: Sequence[tuple[float, float]]) -> float:
    """Return Student's factor for 95 % of a variance, parts of which are estimated with few degrees of freedom."""
    inverse = sum((part / total) ** 2 / freedom for part, freedom in estimated if part > 0.0 and freedom > 0)
    return float(stdtrit(min(1.0 / inverse, _KNOWN) if inverse > 0.0 else _KNOWN, _INSIDE))


def _interval(problem: _Problem, drag: Callable[[float], float] | None, doubt: _Doubt) -> Interval | None:
    """Return the friction coefficient that fits, and those that are not ruled out around it.

    The drag follows from the friction coefficient, or is free (None).
    """
    low, high = _LEAST / problem.turn, _MOST / problem.turn

    def share(friction: float, side: float) -> float:
        miss, half = _judged(problem, friction, None if drag is None else drag(friction), doubt)
        return miss + side * half

    found = _crossing(lambda friction: share(friction, 0.0), low, high)
    if found is None:
        return None
    least = _crossing(lambda friction: share(friction, -1.0), low, found)
    most = _crossing(lambda friction: share(friction, 1.0), found, high)
    return Interval(found, -math.inf if least is None else least, math.inf if most is None else most)


def _crossing(figure: Callable[[float], float], low: float, high: float) -> float | None:
    """Return where a figure falls through 0, or None where it does not."""
    return float(brentq(figure, low, high, xtol=1e-12)) if figure(low) > 0.0 > figure(high) else None


def _disagreement(problem: _Problem, friction: float) -> _Doubt:
    """Return by what the variances have to grow for the loads to lie on a line."""
    freedom = len(problem.end) - 2
    if freedom < 1:
        return _Doubt()
    line = _line(problem, friction, None)
    misses = problem.lever - line.slope * problem.end
    misses = misses - float(line.weight @ misses / line.weight.sum())
    found = float(np.sum(misses**2 / line.variance)) / freedom
    allowed = float(fdtri(freedom, problem.freedom or _KNOWN, 1.0 - DISAGREE))
    return _Doubt() if found <= allowed else _Doubt(found, float(freedom))


def _drag(problem: _Problem, friction: float, doubt: _Doubt) -> Interval:
    """Return the constant drag that goes with a fitted friction, to first order in the errors."""
    line = _line(problem, friction, None)
    squares = float(line.weight @ line.along**2)
    lever, end = (float(line.weight @ one / line.weight.sum()) for one in (problem.lever, problem.end))
    of_middle = (1.0 + line.slope**2) / line.weight.sum() / line.slope**2
    of_slope = (lever / line.slope**2) ** 2 * (1.0 + line.slope**2) ** 3 / squares
    total = doubt.excess * float(of_middle + of_slope)
    repeats = total * float(np.mean(problem.scatter(line.slope) / problem.counts / line.variance))
    parts = ((repeats, problem.freedom), (total if doubt.excess > 1.0 else 0.0, doubt.freedom))
    half = _student(total, parts) * math.sqrt(total)
    found = lever / line.slope - end
    return Interval(found, found - half, found + half)
