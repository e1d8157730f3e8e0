"""The release reserve in words: up to which friction a line comes back, and which stretches take most of it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from ropewalk.analysis.friction import LineFriction
from ropewalk.analysis.wireline import Stretch
from ropewalk.bike.wording import listed

#: shares that have a word of their own, and how near one has to be
_SHARES = (
    (1 / 4, "a quarter"), (1 / 3, "a third"), (2 / 5, "two fifths"), (1 / 2, "half"), (3 / 5, "three fifths"),
    (2 / 3, "two thirds"), (3 / 4, "three quarters"), (4 / 5, "four fifths"), (9 / 10, "nine tenths"),
)  # fmt: skip
_NEAR, _NEARLY_ALL = 0.025, 0.955
#: stretches are told until they take so much together, but no more than so many
_MOST, _TOLD = 0.6, 3
_NOUNS = {
    "loop": "the loop from",
    "strapped": "the strapped run from",
    "bare": "the bare run from",
    "inside": "the run inside from",
    "rigid": "the formed guide from",
}


def release_words(friction: LineFriction | None, pose: str, *, lever_on: str = "bar") -> str:
    """Return up to which friction a line releases and which stretches take most of it.

    Parameters
    ----------
    friction : LineFriction or None
        The line's; None for a hose.
    pose : str
        Its worst pose while riding, in words.
    lever_on : str
        What its lever sits on: from a bar or an extension the first loop is the bar loop.

    Notes
    -----
    With one friction coefficient on every contact a stretch's part in it is its part of the turn.
    """
    release = None if friction is None else friction.release
    if friction is None or release is None:
        return "no release figure: the pull of its return spring, or what its lever needs of it, is not known"
    if math.isinf(release.reserve):
        return "releases whatever the friction: its lever needs nothing of the return spring"
    if release.reserve <= 0.0:
        return "does not release by itself even without friction in its bends: its seals and its lever take it all"
    told = f"releases to μ {release.reserve:.2f} at its worst, {pose}"
    most = taking_most(release.shares)
    if not most:
        return told
    named = [stretch_noun(friction.stretches, at, lever_on=lever_on) for at in most]
    verb = "takes" if len(most) == 1 else "take"
    share = share_words(sum(float(release.shares[at]) for at in most))
    return f"{told}; {listed(named, last='and')} {verb} {share} of its turn"


def taking_most(shares: Sequence[float] | np.ndarray) -> list[int]:
    """Return the places of the largest shares, the largest first, until they make up most of the whole.

    Examples
    --------
    >>> taking_most([0.1, 0.4, 0.2, 0.3])
    [1, 3]
    """
    found: list[int] = []
    for at in np.argsort(-np.asarray(shares), kind="stable").tolist():
        if shares[at] <= 0.0 or len(found) == _TOLD or sum(shares[other] for other in found) >= _MOST:
            break
        found.append(at)
    return found


def share_words(share: float) -> str:
    """Return a share in words where there is one, else in per cent.

    Examples
    --------
    >>> share_words(0.65), share_words(0.855), share_words(0.99)
    ('two thirds', '86%', 'nearly all')
    """
    if share >= _NEARLY_ALL:
        return "nearly all"
    near, word = min(_SHARES, key=lambda one: abs(one[0] - share))
    return word if abs(near - share) < _NEAR else f"{share:.0%}"


def stretch_noun(stretches: Sequence[Stretch], at: int, *, lever_on: str = "bar") -> str:
    """Return what a mechanic calls a stretch of a line's wire."""
    stretch = stretches[at]
    if stretch.kind == "lever":
        return f"the guide {stretch.label}"
    if stretch.kind == "anchor":
        return "the noodle" if stretch.pair == "noodle" else f"the bend {stretch.label}"
    before = {other.kind for other in stretches[:at]}
    if stretch.kind == "loop" and before <= {"lever", "strapped"} and lever_on in ("bar", "extension"):
        return "the bar loop"
    return f"{_NOUNS[stretch.kind]} {stretch.label.partition(', ')[2]}"
