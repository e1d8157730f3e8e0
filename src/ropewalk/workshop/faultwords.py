"""What the fault finder says: its verdict, why, and what to read or do next."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ropewalk.analysis.faultfinding import Diagnosis, LineCheck, ReleaseCheck
from ropewalk.analysis.faultfit import Interval
from ropewalk.analysis.faultparts import PartCheck
from ropewalk.bike.wording import listed

_WHAT = {"wire": "the wire", "end": "an end of it", "part": "the moving part"}
_HINDERED = {
    "one load": "all readings are at one load, so a rough wire and an end that holds it back look alike",
    "near loads": "the loads lie too near each other to tell a rough wire from an end that holds it back",
    "coarse": "the scale is too coarse to tell a new wire from a worn one",
    "scatter": "the readings do not lie on a line: something catches at one load and not at another",
    "odd drag": "the readings ask for less drag than none: they do not agree with each other",
}


def verdict_words(found: Diagnosis) -> str:
    """Return the verdict in one sentence."""
    if found.verdict == "nothing":
        return "Nothing wrong found: the line drags no more than a worn one may."
    if found.verdict == "unclear":
        suspects = listed([_WHAT[one] for one in found.suspects], last="or")
        return f"These readings cannot tell: it may be {suspects}."
    faults = listed([_WHAT[one] for one in found.faults], last="and")
    return f"It is {faults}."


def reasons(found: Diagnosis) -> Iterator[str]:
    """Return why, sentence by sentence."""
    line = found.line
    yield f"Friction of the wire, averaged over its bends: μ {_spread(line.judged, 2)}, 19 times in 20. {_alike(line)}"
    if line.fit.drag is not None:
        known = f" ({line.known_drag:.1f} N of it known seals and adjusters)" if line.known_drag > 0.05 else ""
        yield f"Constant drag, as felt at the far end: {_spread(line.fit.drag, 1)} N{known}."
    if line.hindrance is not None:
        yield f"{_HINDERED[line.hindrance][0].upper()}{_HINDERED[line.hindrance][1:]}."
    if line.state in ("wire or end", "unclear") and line.drag_if_new > 0.5:
        yield f"If the wire were like new, an end would have to hold it back by {line.drag_if_new:.0f} N."
    if found.part is not None:
        yield _part(found.part)
    if found.release is not None:
        yield _release(found.release)


def next_reading(found: Diagnosis, more_load: float) -> Iterator[str]:
    """Return what to read or do next.

    Parameters
    ----------
    found : Diagnosis
    more_load : float
        By how much another load should differ [N].
    """
    line = found.line
    if line.hindrance in ("one load", "near loads"):
        yield f"Read again with {more_load:.0f} N more or less at least: friction grows with the pull, drag does not."
        yield "Read again with more pull, or with a finer scale."
    elif line.hindrance in ("scatter", "odd drag"):
        yield "Read again, slowly, both scales in line with the housing and the wire creeping."
    if "wire" in found.faults:
        yield "Renew inner and housing together; look for a kink or a crushed place before blaming wear."
    if "end" in found.faults:
        yield "Take the ends apart: a burr, a crushed or unsquare end of housing, a dry seal, a ferrule that pinches."
    if "part" in found.faults:
        yield "Clean and grease the moving part's pivots by its maker's instructions; a weak spring is renewed."
    if found.part is None and found.verdict in ("nothing", "unclear"):
        yield "Read the moving part too, with the wire off: what moves it, and what it still pulls with as it returns."
    if found.verdict == "nothing" and found.part is not None:
        yield "Look at the lever: its pivot and its own spring were not read."


def _spread(figure: Interval, digits: int) -> str:
    low = "below" if math.isinf(figure.low) else f"{figure.low:.{digits}f}"
    high = "any" if math.isinf(figure.high) else f"{figure.high:.{digits}f}"
    return f"{figure.value:.{digits}f} ({low} to {high})"


def _alike(line: LineCheck) -> str:
    expected = ", ".join(f"{name} {figure.value:.2f}" for name, figure in line.expected.items())
    if not line.looks_like:
        worst = line.expected["corroded"].value
        where = "rougher than a corroded one" if line.judged.value > worst else "between the usual conditions"
        where = "smoother than a new one" if line.judged.value < line.expected["new"].value else where
        return f"It is {where} (here: {expected})."
    return f"That is like a {listed(list(line.looks_like), last='or')} one (here: {expected})."


def _part(part: PartCheck) -> str:
    told = {
        "sound": "The moving part moves and comes back as it should.",
        "sticks": "The moving part sticks by itself, with the wire off.",
        "weak": "The moving part's spring is weaker than the catalogue's.",
        "sticks and weak": "The moving part sticks by itself, and its spring is weaker than the catalogue's.",
        "sticks or weak": "The moving part does not come back as it should: it sticks, or its spring is weak.",
        "unclear": "The readings on the moving part do not settle whether it sticks.",
    }[part.state]
    if part.spring is None or part.stick is None:
        return told
    return f"{told} Its spring pulls {_spread(part.spring, 1)} N, its own stick takes {_spread(part.stick, 1)} N."


def _release(release: ReleaseCheck) -> str:
    spring = f"{'read' if release.measured else 'catalogue'} spring of {release.spring:.0f} N"
    if math.isinf(release.reserve):
        return f"With the {spring} it releases whatever the friction."
    told = {
        "releases": "it releases",
        "stops": "it does not release by itself",
        "unclear": "whether it releases cannot be told",
    }[release.state]
    return (
        f"With the {spring} {told}: {release.arrives:.1f} N reach the lever, which wants {release.needed:.0f} N "
        f"(it stops at μ {release.reserve:.2f})."
    )
