"""What the fault finder says: its verdict, why, and what to read or do next."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ropewalk.analysis.faultfinding import Diagnosis, LineCheck, ReleaseCheck
from ropewalk.analysis.faultfit import Interval
from ropewalk.analysis.faultparts import PartCheck
from ropewalk.analysis.faultreadings import clear_step
from ropewalk.bike.wording import listed

_WHAT = {"wire": "the wire", "end": "an end of its housing", "part": "the moving part"}
_HINDERED = {
    "one load": "All readings are at one load, and there a rough wire and an end that holds it back look alike.",
    "near loads": "The loads lie too near each other, or the scale is too coarse, to tell a rough wire from an end "
    "that holds it back.",
    "coarse": "The readings are too coarse, or scatter too much, to tell a new wire from a worn one.",
    "between": "The friction lies where a rough new wire and a smooth worn one meet: no scale can part them.",
    "scatter": "The readings do not lie on a line: something catches at one load and not at another.",
    "odd drag": "The readings ask for less friction or drag than none: the wire was not creeping at each, or an end "
    "was swapped.",
}
_STATES = {
    "sound": "The moving part moves and comes back as it should.",
    "sticks": "The moving part sticks by itself, with the wire off.",
    "weak": "The moving part's spring is weaker than it should be.",
    "sticks and weak": "The moving part sticks by itself, with the wire off, and its spring is too weak.",
    "sticks or weak": "The moving part does not come back as it should: it sticks, or its spring is weak.",
    "unclear": "Whether the moving part sticks its readings do not settle.",
}
#: least drag worth telling [N]
_DRAG = 0.5
#: least rise of the lever's pull that a helper can be asked to look for [N]
_CLEAR_RISE = 1.0


def verdict_words(found: Diagnosis) -> str:
    """Return the verdict in a sentence or two."""
    suspects = listed([_WHAT[one] for one in found.suspects])
    if found.faults:
        told = f"It looks like {listed([_WHAT[one] for one in found.faults], last='and')}."
        return f"{told} Whether it is {suspects} too these readings cannot tell." if found.suspects else told
    line, part = found.line.state, found.part
    if line == "wire or end":
        also = ", the moving part besides" if "part" in found.suspects else ""
        return f"It is the wire or an end of its housing{also}: these readings cannot tell which."
    if line == "unclear":
        return f"These readings cannot tell: it may be {suspects}, or nothing."
    if part is None:
        return "Nothing wrong found with the wire and the ends of its housing; the moving part was not read."
    if part.state == "unclear":
        return "Nothing wrong found with the wire and the ends of its housing; the moving part's readings cannot tell."
    return "Nothing wrong found: neither with the wire and the ends of its housing, nor with the moving part."


def reasons(found: Diagnosis) -> Iterator[str]:
    """Return why, sentence by sentence."""
    line = found.line
    taken = "" if line.judged is not line.fit.plain else ", if no end holds it back"
    yield f"Friction averaged over the bends{taken}: μ {_spread(line.judged, 2)}. {_alike(line)}"
    if line.fit.drag is not None:
        known = f"; known seals and adjusters make {line.known_drag:.1f} N of it" if line.known_drag > 0.05 else ""
        yield f"Constant drag, as felt at the far end: {_spread(line.fit.drag, 1, ' N')}{known}."
    if line.hindrance is not None:
        yield _HINDERED[line.hindrance]
    if line.state == "wire or end" and line.drag_if_new > _DRAG:
        yield f"If the wire is like new, an end holds it back by {line.drag_if_new:.0f} N."
    yield from () if found.part is None else (_part(found.part),)
    yield _release(found.release)


def untold(found: Diagnosis) -> Iterator[str]:
    """Return what the readings do not tell, sentence by sentence."""
    if found.line.hindrance is not None:
        yield _HINDERED[found.line.hindrance]
    if found.part is None:
        yield "Whether the moving part sticks or its spring is weak: it was not read."
    elif found.part.state == "unclear":
        yield _STATES["unclear"]
    yield "Whether the lever's own pivot drags, or its spring is weak: no scale at the wire reads the lever."


def following(found: Diagnosis, scale_sigma: float, more_load: float, most: float) -> Iterator[str]:
    """Return what to read or do next.

    Parameters
    ----------
    found : Diagnosis
    scale_sigma : float
        Standard deviation of what the scale reads wrong [N].
    more_load : float
        By how much another load should differ at least [N].
    most : float
        The most that can be read at the lever [N].
    """
    line, part = found.line, found.part
    if line.hindrance in ("one load", "near loads"):
        # half as much again is clearly more
        more = max(more_load, clear_step(1.5 * line.fit.loads[-1].end, scale_sigma))
        yield _another_load(line, more, most)
    elif line.hindrance == "coarse":
        yield "Read again, several times, with clearly more pull or with a finer scale."
    elif line.hindrance == "between":
        yield "Go by age and feel: renew a wire that is old or rough, then read again and compare."
    elif line.hindrance in ("scatter", "odd drag"):
        yield "Read again, twice at each load, slowly, both scales in line with the housing and the wire creeping."
    if "wire" in found.faults:
        yield "Look for a kink, a crushed place or a frayed strand; else renew inner and housing together."
    if "end" in found.faults:
        yield "Take the ends apart: a burr, a crushed or unsquare end of housing, a dry seal, a ferrule that pinches."
    if "part" in found.faults:
        yield "Clean and grease the moving part's pivots as its maker says, and read it again; renew a weak spring."
    if part is None:
        yield "Read the moving part too, with the wire off: what moves it, and what it still pulls with as it returns."
    elif part.moves is None or part.returns is None:
        missing = "what moves it" if part.moves is None else "what it still pulls with as it returns"
        yield f"Read on the moving part also {missing}: both together tell its spring from its stick."
    elif part.state == "unclear":
        yield "Read the moving part again with a finer scale."
    if found.verdict == "nothing" and part is not None:
        yield "Look at the lever: its pivot and its own spring were not read."


def _another_load(line: LineCheck, more: float, most: float) -> str:
    """Return at which other load to read, and what a rough wire and a held end would each show there."""
    load = line.fit.loads[-1]
    end = load.end + more
    if end * load.lever / load.end > most:
        # the scale at the lever does not reach so far: less pull tells as much
        load = line.fit.loads[0]
        end = load.end / 3.0
    rough = end * load.lever / load.end
    held = load.lever + (end - load.end) * math.exp(line.expected["new"].value * line.turn)
    told = f"Read again with about {end:.0f} N at the far end: friction grows with the pull, a constant drag does not."
    if line.drag_if_new <= _DRAG or abs(rough - held) < _CLEAR_RISE:
        return told
    return f"{told} A rough wire then takes about {rough:.0f} N at the lever, an end that holds it back {held:.0f} N."


def _spread(figure: Interval, digits: int, unit: str = "") -> str:
    """Return a figure that is never negative with its 95 % interval.

    Examples
    --------
    >>> _spread(Interval(0.1512, 0.121, 0.183), 2), _spread(Interval(0.15, 0.12, math.inf), 2)
    ('0.15 (19 times in 20 within 0.12 to 0.18)', '0.15 (19 times in 20 above 0.12)')
    """
    figure = figure.possible
    value, low, high = (f"{one:.{digits}f}" for one in (figure.value, figure.low, figure.high))
    if math.isinf(figure.high):
        return f"{value}{unit} (19 times in 20 above {low})"
    return f"{value}{unit} (19 times in 20 within {low} to {high})"


def _alike(line: LineCheck) -> str:
    expected = ", ".join(f"{name} {figure.value:.2f}" for name, figure in line.expected.items())
    usual = f"here {expected} are usual"
    if line.looks_like:
        return f"That is like {listed(list(line.looks_like))} wire ({usual})."
    figures = [figure.value for figure in line.expected.values()]
    if line.judged.value > max(figures):
        return f"That is rougher than corroded wire ({usual})."
    if line.judged.value < min(figures):
        return f"That is smoother than new wire ({usual})."
    return f"That lies between the usual conditions ({usual})."


def _part(part: PartCheck) -> str:
    told = _STATES[part.state]
    if part.spring is None or part.stick is None:
        return told
    return f"{told} Spring {_spread(part.spring, 1, ' N')}, own stick {_spread(part.stick, 1, ' N')}."


def _release(release: ReleaseCheck | None) -> str:
    if release is None:
        return "No word on release: the pull of its return spring, or what its lever needs of it, is not known."
    spring = f"{release.spring:.0f} N {'read at its return' if release.measured else 'of its spring at the weakest'}"
    told = {
        "releases": "it comes back by itself",
        "stops": "it does not come back by itself",
        "unclear": "whether it comes back by itself cannot be told",
    }[release.state]
    limit = "" if math.isinf(release.reserve) else f"; it stops at μ {release.reserve:.2f}"
    return (
        f"At its worst while riding, with the {spring}, {told}: {_spread(release.arrives, 1, ' N')} "
        f"reach the lever, which wants {release.needed:.1f} N{limit}."
    )
