"""What every part of a frame file shares: unknown keys refused, values frozen, figures with their bounds."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict

from ropewalk.bike.figures import Measure


def length(low: float, high: float, tolerance: str | None = None) -> Measure:
    """Return the measure of a length [mm]."""
    return Measure("mm", low, high, tolerance)


def angle(low: float, high: float, tolerance: str | None = None) -> Measure:
    """Return the measure of an angle [°]."""
    return Measure("°", low, high, tolerance)


class Strict(BaseModel):
    """Settings of every model of the frame file: unknown keys refused, values frozen."""

    model_config = ConfigDict(extra="forbid", frozen=True, validate_by_name=True, validate_by_alias=True)
