"""What is wrong with a line that drags: its wire, an end of it, or what it moves; or that readings cannot tell.

Friction read at both ends is held against that of new, worn and corroded wire on this line's own contacts. A constant
drag beyond the line's known ones is an end: a seal, a burr, a crushed end of housing. Two loads tell them apart, for
friction grows with the pull and a drag does not.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from ropewalk.analysis.causes import Figured
from ropewalk.analysis.faultfit import Interval, LineFit, fit_line
from ropewalk.analysis.faultparts import PartCheck
from ropewalk.analysis.faultreadings import Pair
from ropewalk.analysis.friction import LineFriction
from ropewalk.analysis.loops import Array
from ropewalk.analysis.wireline import CONDITIONS, Stretch
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.sourced import SIGMAS_WITHIN
from ropewalk.mechanics.capstan import Contact, pull_needed, release_reserve, release_through

#: what of a line is wrong
Culprit = Literal["wire", "end", "part"]
#: what the readings say of the wire and its ends; unclear: not even whether it drags more than new
LineState = Literal["sound", "wire", "end", "wire and end", "wire or end", "unclear"]
#: why they say no more: one load only; loads too near; readings too coarse; a friction that new and worn wire both
#: have; loads off a line; less drag than none
Hindrance = Literal["one load", "near loads", "coarse", "between", "scatter", "odd drag"]
Verdict = Literal["wire", "end", "part", "several", "nothing", "unclear"]

_FOUND: Mapping[LineState, tuple[Culprit, ...]] = {"wire": ("wire",), "end": ("end",), "wire and end": ("wire", "end")}
_SUSPECT: Mapping[LineState, tuple[Culprit, ...]] = {"wire or end": ("wire", "end"), "unclear": ("wire", "end")}
_PART_FOUND = ("sticks", "weak", "sticks and weak", "sticks or weak")
#: a friction coefficient that lets next to nothing past, where readings set no bound to it
_WITHOUT_BOUND = 5.0


@dataclass(frozen=True, slots=True)
class ReleaseCheck:
    """Whether the line comes back by itself with the friction that was read, at the worst pose of the riding range.

    Attributes
    ----------
    reserve : float
        The friction coefficient at which it stops doing so, with the drag that was read [1].
    spring, needed : float
        What pulls at the moving end, and what the lever end needs of it [N].
    measured : bool
        Whether the spring's pull was read; else it is the catalogue's least.
    arrives : Interval
        What of it reaches the lever with the friction, and the drag, that were read [N].
    state : str
        releases, stops, or unclear where the interval of what arrives reaches across the need.
    """

    reserve: float
    spring: float
    needed: float
    measured: bool
    arrives: Interval
    state: Literal["releases", "stops", "unclear"]


@dataclass(frozen=True, slots=True)
class LineCheck:
    """What the readings say of a wire and its ends.

    Attributes
    ----------
    fit : LineFit
    turn : float
        Turn of the wire between the scales, as it was read [rad].
    expected : mapping of str to Figured
        Friction coefficient of new, worn and corroded wire, averaged over its contacts by turn.
    known_drag : float
        Drag of its known seals and adjusters, as felt at the far end [N].
    state : str
        What of it is wrong, if anything.
    hindrance : str or None
        Why the readings say no more.
    looks_like : tuple of str
        Conditions that the friction agrees with at 19 in 20; empty where it lies between or beyond them.
    drag_if_new : float
        The constant drag, beyond the known, that would explain the readings if the wire were like new [N].
    """

    fit: LineFit
    turn: float
    expected: Mapping[str, Figured]
    known_drag: float
    state: LineState
    hindrance: Hindrance | None
    looks_like: tuple[str, ...]
    drag_if_new: float

    @property
    def judged(self) -> Interval:
        """The friction that the condition is told from."""
        return self.fit.plain if self.state in ("sound", "wire or end", "unclear") else self.fit.friction


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """What is wrong with a line.

    Attributes
    ----------
    verdict : str
        wire, end, part; several; nothing; or unclear.
    faults : tuple of str
        What is wrong, of wire, end and part.
    suspects : tuple of str
        What may be wrong, and the readings cannot tell.
    line : LineCheck
    part : PartCheck or None
        None where nothing was read on the moving part.
    release : ReleaseCheck or None
        None where no spring or no need of the lever is known.
    """

    verdict: Verdict
    faults: tuple[Culprit, ...]
    suspects: tuple[Culprit, ...]
    line: LineCheck
    part: PartCheck | None
    release: ReleaseCheck | None


def between_scales(stretches: Sequence[Stretch], *, straight: bool) -> tuple[int, ...]:
    """Return the places of the stretches that lie between two scales.

    Parameters
    ----------
    stretches : sequence of Stretch
        A line's wire, from lever to anchor.
    straight : bool
        Whether both scales pull in line with the housing, so that the wire turns neither in the lever nor at the
        anchor; a noodle hangs on the wire and counts all the same.
    """
    return tuple(
        at
        for at, stretch in enumerate(stretches)
        if not straight or not (stretch.kind == "lever" or (stretch.kind == "anchor" and stretch.pair == "bare guide"))
    )


def expected_friction(stretches: Sequence[Stretch], turns: Array, catalogue: Catalogue) -> dict[str, Figured]:
    """Return the friction coefficient of each condition, averaged over some contacts by turn.

    Parameters
    ----------
    stretches : sequence of Stretch
    turns : (n,) array
        Turn of each, not all 0 [rad].
    catalogue : Catalogue

    Notes
    -----
    Coefficients of one friction pair err together, those of different pairs independently.
    """
    shares: dict[str, float] = {}
    for stretch, turn in zip(stretches, turns, strict=True):
        shares[stretch.pair] = shares.get(stretch.pair, 0.0) + float(turn / turns.sum())
    found = {}
    for condition in CONDITIONS:
        rows = [(share, catalogue.friction(pair, condition)) for pair, share in shares.items() if share > 0.0]
        found[condition] = Figured(
            sum(share * float(row) for share, row in rows), math.hypot(*(share * row.sigma for share, row in rows))
        )
    return found


def check_line(
    pairs: Sequence[Pair], stretches: Sequence[Stretch], turns: Array, scale_sigma: float, catalogue: Catalogue
) -> LineCheck | None:
    """Return what readings at both ends say of a wire and its ends.

    Parameters
    ----------
    pairs : sequence of Pair
        Forces above 0 [N].
    stretches : sequence of Stretch
        What lies between the scales.
    turns : (n,) array
        Turn of each as it was read [rad].
    scale_sigma : float
        Standard deviation of what a scale reads wrong, above 0 [N].
    catalogue : Catalogue

    Returns
    -------
    LineCheck or None
        None where the pull at the lever end does not rise with that at the other end.
    """
    contacts = [Contact(float(turn), 0.0, one.drag) for one, turn in zip(stretches, turns, strict=True)]
    fit = fit_line(pairs, contacts, math.hypot(*(stretch.turn_sigma for stretch in stretches)), scale_sigma)
    if fit is None:
        return None
    expected = expected_friction(stretches, turns, catalogue)
    known = _felt_at_end(contacts, fit.friction.value)
    state, hindrance = _state(fit, expected, known)
    new, turn = expected["new"].value, float(turns.sum())
    missing = [load.lever / math.exp(new * turn) - load.end - _felt_at_end(contacts, new) for load in fit.loads]
    checked = LineCheck(fit, turn, expected, known, state, hindrance, (), max(float(np.mean(missing)), 0.0))
    return replace(checked, looks_like=_alike(checked.judged, expected))


def _state(fit: LineFit, expected: Mapping[str, Figured], known: float) -> tuple[LineState, Hindrance | None]:
    new, worn = expected["new"], expected["worn"]
    drags_more = fit.plain.strays(new.value, new.sigma) > SIGMAS_WITHIN
    if fit.drag is not None:
        rougher = fit.friction.strays(new.value, new.sigma) > SIGMAS_WITHIN
        if fit.friction.value < 0.0 or fit.drag.strays(known) < -SIGMAS_WITHIN:
            return "unclear", "odd drag" if fit.agree else "scatter"
        if fit.drag.strays(known) > SIGMAS_WITHIN:
            return ("wire and end" if rougher else "end"), None
        if rougher:
            return "wire", None
        if not fit.agree:
            return "unclear", "scatter"
    if drags_more:
        return "wire or end", "one load" if fit.drag is None else "near loads"
    if abs(fit.plain.strays(worn.value, worn.sigma)) <= SIGMAS_WITHIN:
        exact = Interval(fit.plain.value, fit.plain.value, fit.plain.value)
        between = all(abs(exact.strays(one.value, one.sigma)) <= SIGMAS_WITHIN for one in (new, worn))
        return "unclear", "between" if between else "coarse"
    return "sound", None


def _alike(friction: Interval, expected: Mapping[str, Figured]) -> tuple[str, ...]:
    return tuple(
        condition for condition, one in expected.items() if abs(friction.strays(one.value, one.sigma)) <= SIGMAS_WITHIN
    )


def _felt_at_end(contacts: Sequence[Contact], friction: float) -> float:
    """Return the known drags as felt at the far end [N]."""
    rubbed = [Contact(contact.turn, friction, contact.drag) for contact in contacts]
    return pull_needed(0.0, rubbed)[0] * math.exp(-friction * sum(contact.turn for contact in contacts))


def check_release(
    line: LineCheck, friction: LineFriction, returns: float | None, scale_sigma: float
) -> ReleaseCheck | None:
    """Return whether a line comes back by itself with the friction, and the drag, that were read.

    Parameters
    ----------
    line : LineCheck
    friction : LineFriction
        The line's, as planned.
    returns : float or None
        What the moving part was read to pull with as it returns [N].
    scale_sigma : float
        Standard deviation of what the scale reads wrong [N].

    Notes
    -----
    Where along the wire a constant drag sits cannot be read, so it is tried at either end of it; where the readings
    cannot tell friction from drag, both are tried. What arrives is told at its worst, its interval from all of these.
    """
    release = friction.release
    if release is None:
        return None
    spring = release.spring if returns is None else returns
    half = 0.0 if returns is None else SIGMAS_WITHIN * scale_sigma
    tried = [
        (mu, row)
        for mu, drag in _possible(line)
        for row in (
            _released(friction, release.pose, mu, drag * math.exp(mu * line.turn), 0.0),
            _released(friction, release.pose, mu, 0.0, drag),
        )
    ]
    arrives = [release_through(max(spring + off, 0.0), row)[0] for _, row in tried for off in (0.0, -half, half)]
    value, low, high = min(arrives[0], arrives[3]), min(arrives), max(arrives)
    state: Literal["releases", "stops", "unclear"] = "unclear"
    if low > release.needed:
        state = "releases"
    elif high <= release.needed:
        state = "stops"
    reserve = min(float(release_reserve(spring, row, release.needed)) for _, row in tried[:2])
    return ReleaseCheck(reserve, spring, release.needed, returns is not None, Interval(value, low, high), state)


def _possible(line: LineCheck) -> list[tuple[float, float]]:
    """Return friction coefficients, each with the drag beyond the known [N] that goes with it; the likeliest first."""
    read = line.judged
    high = min(read.high, _WITHOUT_BOUND)
    if line.fit.drag is not None and line.state in ("end", "wire and end"):
        drag = line.fit.drag
        # a steeper line leaves less drag, so that their ends go crosswise
        rows = [(read.value, drag.value), (read.low, drag.high), (high, drag.low)]
        return [(max(mu, 0.0), max(one - line.known_drag, 0.0)) for mu, one in rows]
    rows = [(max(mu, 0.0), 0.0) for mu in (read.value, read.low, high)]
    if line.state in ("wire or end", "unclear"):
        rows.append((line.expected["new"].value, line.drag_if_new))
    return rows


def _released(friction: LineFriction, pose: int, mu: float, near: float, far: float) -> list[Contact]:
    """Return a line's contacts with one friction coefficient, and a drag at the lever and at the other end."""
    between = [Contact(float(stretch.turn[pose]), mu, stretch.drag) for stretch in friction.stretches]
    return [Contact(0.0, 0.0, near), *between, Contact(0.0, 0.0, far)]


def diagnose(line: LineCheck, part: PartCheck | None, release: ReleaseCheck | None) -> Diagnosis:
    """Return what is wrong with a line, from what was found of its wire and of what it moves."""
    faults = list(_FOUND.get(line.state, ()))
    suspects = list(_SUSPECT.get(line.state, ()))
    if part is not None and part.state in _PART_FOUND:
        faults.append("part")
    elif part is not None and part.state == "unclear":
        suspects.append("part")
    verdict: Verdict = "unclear" if suspects else "nothing"
    if faults:
        verdict = faults[0] if len(faults) == 1 else "several"
    return Diagnosis(verdict, tuple(faults), tuple(suspects), line, part, release)
