"""Readings of a spring scale that cannot be: each told in one line, with where it stands."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from ropewalk.bike.parts import Catalogue
from ropewalk.bike.wording import shortened
from ropewalk.errors import ChoiceError
from ropewalk.routing.lines import Route

Field = Literal["scale", "pulls", "lever", "end", "part_moves", "part_returns", "steer"]


@dataclass(frozen=True, slots=True)
class Readings:
    """What a mechanic read.

    Attributes
    ----------
    lever, end : tuple of float
        Pull at the lever's end and at the other end, reading by reading [N].
    scale : float or None
        What the scale may be wrong by, 19 times in 20 [N]; None: the catalogue's setting.
    part_moves, part_returns : float or None
        What it takes to move the moving part with the wire off, and what it pulls with as it returns [N].
    steer_deg : float
        Where the bars pointed [°].
    """

    lever: tuple[float, ...]
    end: tuple[float, ...]
    scale: float | None = None
    part_moves: float | None = None
    part_returns: float | None = None
    steer_deg: float = 0.0


@dataclass(frozen=True, slots=True)
class Misread:
    """A reading that cannot be: which it is, by its place among the pulls where it is one of them, and why."""

    field: Field
    place: int | None
    text: str


@dataclass(frozen=True, slots=True)
class Reach:
    """The most that can be read on a line [N], and why no more."""

    most: float
    why: str


def reach_of(route: Route, catalogue: Catalogue) -> Reach:
    """Return the most that a workshop's scale shows, or the lever strength test would give, whichever is less."""
    most = float(catalogue.settings.fault.scale_reach)
    if route.exit.advantage is not None:
        test = float(catalogue.settings.force.lever_test)
        pull = test * float(route.exit.advantage) * route.share
        if pull < most:
            return Reach(pull, f"which the lever strength test's {test:g} N at the hand would not give")
    return Reach(most, "which is more than a workshop's spring scale shows")


def scale_error(readings: Readings, catalogue: Catalogue) -> float:
    """Return what the scale may be wrong by [N]: as told, or the catalogue's setting."""
    return float(catalogue.settings.fault.scale) if readings.scale is None else readings.scale


def misread(readings: Readings, catalogue: Catalogue) -> Iterator[Misread]:
    """Return what cannot be among readings, the first to settle first.

    Notes
    -----
    There has to be one reading at each end for every pull. Each is a force above 0 and above what the scale may be
    wrong by; no more comes out than goes in, but for what the scale explains.
    """
    scale = scale_error(readings, catalogue)
    if not (math.isfinite(scale) and scale > 0.0):
        yield Misread("scale", None, f"the scale's error is {scale:g} N: it has to be more than 0")
        return
    if len(readings.lever) != len(readings.end):
        yield Misread(
            "pulls",
            None,
            f"there are {len(readings.lever)} readings at the lever and {len(readings.end)} at the other end: "
            "give one of each for every pull",
        )
    elif not readings.lever:
        yield Misread(
            "pulls", None, "there is no reading: give at least one pull at the lever and one at the other end"
        )
    for field, place, where, force in _forces(readings):
        if not (math.isfinite(force) and force > 0.0):
            yield Misread(field, place, f"{where} is {force:g} N: it has to be more than 0; read while the wire creeps")
        elif scale >= force:
            yield Misread(field, place, f"{where} is {force:g} N, but the scale may be wrong by {scale:g} N: pull more")
    yield from _given_back(readings, scale)


def beyond(readings: Readings, reach: Reach) -> Iterator[Misread]:
    """Return what is more than can be read on a line."""
    forces = list(_forces(readings))
    if readings.part_returns is not None:
        forces.append(("part_returns", None, "what the part returns with", readings.part_returns))
    for field, place, where, force in forces:
        if force > reach.most:
            yield Misread(field, place, f"{where} is {force:g} N, {reach.why}: it has to be {reach.most:.0f} N at most")


def refuse_first(found: Iterator[Misread]) -> None:
    """Raise the first of what cannot be as a `ChoiceError`, if there is any."""
    for one in found:
        raise ChoiceError(one.text)


def forces_of(given: str, called: str) -> tuple[float, ...]:
    """Return forces written with commas between them; `called` is what they are of, for the message."""
    return tuple(force_of(part, called, several=True) for part in given.split(","))


def force_of(given: str, called: str, *, several: bool = False) -> float:
    """Return a force as it is written, or raise a `ChoiceError` that says how to write it.

    Examples
    --------
    >>> force_of("42.5", "--scale")
    42.5
    """
    try:
        value = float(given)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        commas = ", with commas between several" if several else ""
        raise ChoiceError(f'{called} holds "{shortened(given)}": write newtons as plain numbers, such as 42.5{commas}')
    return value


def _forces(readings: Readings) -> Sequence[tuple[Field, int | None, str, float]]:
    """Return the readings that have to lie above 0, each with its place and where it was taken."""
    found: list[tuple[Field, int | None, str, float]] = []
    found += [("lever", place, "a reading at the lever", force) for place, force in enumerate(readings.lever)]
    found += [("end", place, "a reading at the other end", force) for place, force in enumerate(readings.end)]
    if readings.part_moves is not None:
        found.append(("part_moves", None, "what moves the part", readings.part_moves))
    return found


def _given_back(readings: Readings, scale: float) -> Iterator[Misread]:
    """Return where more comes back than was given."""
    returns, moves = readings.part_returns, readings.part_moves
    if returns is not None and not (math.isfinite(returns) and returns >= 0.0):
        yield Misread("part_returns", None, f"what the part returns with is {returns:g} N: it has to be 0 or more")
    # of two readings both may be wrong
    apart = math.sqrt(2.0) * scale
    for place, (lever, end) in enumerate(zip(readings.lever, readings.end, strict=False)):
        if end - lever > apart:
            yield Misread(
                "end",
                place,
                f"{end:g} N come out where {lever:g} N go in, more than the scale's {scale:g} N explain: a wire pulled "
                "from its lever gives less than it takes; check which reading is which, and read again",
            )
    if returns is not None and moves is not None and returns - moves > apart:
        yield Misread(
            "part_returns",
            None,
            f"the part returns with {returns:g} N but moves with {moves:g} N: it gives back more than it takes; read "
            "again",
        )
