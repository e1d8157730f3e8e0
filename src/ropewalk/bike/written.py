"""What every part of a frame file shares: unknown keys refused, values frozen, figures with their bounds."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, StringConstraints

from ropewalk.bike.figures import Measure

#: text without characters that would steer a terminal: controls, line separators, changes of direction
PLAIN_TEXT = r"^[^\x00-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069]+$"

Name = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=60, pattern=PLAIN_TEXT)]


def length(low: float, high: float, tolerance: str | None = None) -> Measure:
    """Return the measure of a length [mm]."""
    return Measure("mm", low, high, tolerance)


def angle(low: float, high: float, tolerance: str | None = None) -> Measure:
    """Return the measure of an angle [°]."""
    return Measure("°", low, high, tolerance)


class Strict(BaseModel):
    """Settings of every model of the frame file: unknown keys refused, values frozen."""

    model_config = ConfigDict(extra="forbid", frozen=True, validate_by_name=True, validate_by_alias=True)
