"""Choices: what a shop may settle otherwise than the catalogue does."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields

from ropewalk.bike.parts import Catalogue
from ropewalk.errors import ChoiceError

#: force on the lever in the strength test of brake levers [N]
MOST_HAND_FORCE = 450.0
#: what each choice may be
_BOUNDS = {
    "trim_moving": (0.0, 60.0, "mm"),
    "trim_still": (0.0, 60.0, "mm"),
    "turn_allowance_deg": (5.0, 180.0, "°"),
    "tail": (10.0, 80.0, "mm"),
    "working_length": (0.0, 400.0, "mm"),
    "hand_force": (1.0, MOST_HAND_FORCE, "N"),
}


@dataclass(frozen=True, slots=True)
class Choices:
    """The shop's choices; None leaves one to the catalogue.

    Attributes
    ----------
    trim_moving, trim_still : float or None
        What a target has over the shortest safe length, for loops that move and for others [mm].
    turn_allowance_deg : float or None
        How much more turn than at the shortest safe length is tidy [°].
    tail, working_length : float or None
        Inner left past the anchor, and the extra needed to work with [mm].
    hand_force : float or None
        Force at the lever [N]; no more than the 450 N of the lever strength test.
    """

    trim_moving: float | None = None
    trim_still: float | None = None
    turn_allowance_deg: float | None = None
    tail: float | None = None
    working_length: float | None = None
    hand_force: float | None = None

    def __post_init__(self) -> None:
        for field in fields(self):
            value = getattr(self, field.name)
            low, high, unit = _BOUNDS[field.name]
            if value is not None and not (math.isfinite(value) and low <= value <= high):
                raise ChoiceError(f"{field.name} is {value:g} {unit}: choose between {low:g} and {high:g} {unit}")


@dataclass(frozen=True, slots=True)
class Settled:
    """Every choice made: the shop's where it has one, the catalogue's elsewhere; mm, N, rad."""

    trim_moving: float
    trim_still: float
    turn_allowance: float
    tail: float
    working_length: float
    hand_force: float


def settle(choices: Choices, catalogue: Catalogue) -> Settled:
    """Return the choices with the catalogue's settings where the shop leaves one open."""
    cut, inner = catalogue.settings.cut, catalogue.settings.inner

    def pick(given: float | None, standard: float) -> float:
        return float(standard if given is None else given)

    turn = choices.turn_allowance_deg
    return Settled(
        trim_moving=pick(choices.trim_moving, cut.trim_moving),
        trim_still=pick(choices.trim_still, cut.trim_still),
        turn_allowance=pick(None if turn is None else math.radians(turn), cut.turn_allowance),
        tail=pick(choices.tail, inner.tail),
        working_length=pick(choices.working_length, inner.working_length),
        hand_force=pick(choices.hand_force, catalogue.settings.force.hand),
    )
