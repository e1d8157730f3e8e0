"""What a moving part does with the wire off: whether it sticks by itself, or its spring has grown weak."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from ropewalk.analysis.causes import Figured
from ropewalk.analysis.faultfit import Interval
from ropewalk.bike.sourced import SIGMAS_WITHIN, Sourced

PartState = Literal["sound", "sticks", "weak", "sticks and weak", "sticks or weak", "unclear"]


@dataclass(frozen=True, slots=True)
class PartCheck:
    """What was read on a moving part with the wire off.

    Attributes
    ----------
    moves, returns : float or None
        What it takes to move it slowly, and what it still pulls with as it slowly returns [N].
    spring, stick : Interval or None
        Pull of its own spring, and what its own stick takes of that either way [N]; None unless both were read.
    least, most : Figured or None
        Its spring at its weakest and strongest, by the catalogue [N].
    state : str
        What is wrong with it, if anything.
    """

    moves: float | None
    returns: float | None
    spring: Interval | None
    stick: Interval | None
    least: Figured | None
    most: Figured | None
    state: PartState


def check_part(
    moves: float | None,
    returns: float | None,
    scale_sigma: float,
    springs: tuple[Sourced | None, Sourced | None],
    stick_share: float,
) -> PartCheck | None:
    """Return what readings on a moving part say of it; None where there are none.

    Parameters
    ----------
    moves, returns : float or None
        What it takes to move it, and what it still pulls with as it returns [N].
    scale_sigma : float
        Standard deviation of what the scale reads wrong [N].
    springs : tuple of Sourced or None
        Its spring at its weakest and strongest, by the catalogue [N].
    stick_share : float
        Share of its spring that a sound part's own stick may take.

    Notes
    -----
    Moved slowly it resists with spring and stick together, let back slowly it pulls with the spring less the stick, so
    that half their sum is the spring and half their difference the stick. A part that does not come back by itself
    returns with 0: its stick is then no less than its spring, which is half at most of what it takes to move it.
    """
    if moves is None and returns is None:
        return None
    least, most = (None if one is None else Figured(float(one), one.sigma) for one in springs)
    half = SIGMAS_WITHIN * scale_sigma
    if moves is not None and returns is not None:
        both = half / math.sqrt(2.0)
        spring, stick = (
            Interval(one, one - both, one + both) for one in (0.5 * (moves + returns), 0.5 * (moves - returns))
        )
        state = _state(moves, returns, scale_sigma, spring, least, stick_share)
        return PartCheck(moves, returns, spring, stick, least, most, state)
    read = moves if moves is not None else returns
    assert read is not None
    shown = Interval(read, read - half, read + half)
    state = _moved(shown, least, most) if moves is not None else _returned(shown, least)
    return PartCheck(moves, returns, None, None, least, most, state)


def _state(
    moves: float, returns: float, scale_sigma: float, spring: Interval, least: Figured | None, stick_share: float
) -> PartState:
    """Return what both readings say."""
    weak = least is not None and spring.strays(least.value, least.sigma) < -SIGMAS_WITHIN
    ahead, back = 0.5 * (1.0 - stick_share), 0.5 * (1.0 + stick_share)
    beyond = (ahead * moves - back * returns) / (math.hypot(ahead, back) * scale_sigma)
    if beyond > SIGMAS_WITHIN or returns <= 0.0:
        return "sticks and weak" if weak else "sticks"
    if weak:
        return "weak"
    return "sound" if beyond <= 0.0 else "unclear"


def _moved(read: Interval, least: Figured | None, most: Figured | None) -> PartState:
    """Return what it takes to move it says alone: spring and stick cannot be told apart."""
    if least is not None and read.strays(least.value, least.sigma) < -SIGMAS_WITHIN:
        return "weak"
    if most is not None and read.strays(most.value, most.sigma) > SIGMAS_WITHIN:
        return "sticks"
    return "unclear"


def _returned(read: Interval, least: Figured | None) -> PartState:
    """Return what it still pulls with says alone."""
    if read.value <= 0.0:
        return "sticks or weak"
    if least is None:
        return "unclear"
    return "sticks or weak" if read.strays(least.value, least.sigma) < -SIGMAS_WITHIN else "sound"
