"""Findings: what is worth saying about a route, graded, each with its place, value, limit and what to do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Grade = Literal["stop", "look", "note"]
GRADES: tuple[Grade, ...] = ("stop", "look", "note")


@dataclass(frozen=True, slots=True)
class Finding:
    """One finding.

    Attributes
    ----------
    grade : str
        stop: do not build it so; look: look at it before cutting; note: worth knowing.
    where : str
        Line, piece or station.
    text : str
        What was found.
    advice : str
        What to do.
    value, limit : float or None
        What was found and what it is held against.
    unit : str
        Unit of both.
    """

    grade: Grade
    where: str
    text: str
    advice: str
    value: float | None = None
    limit: float | None = None
    unit: str = ""


def ordered(findings: list[Finding]) -> tuple[Finding, ...]:
    """Return findings by grade, the gravest first, otherwise in the order found."""
    return tuple(sorted(findings, key=lambda finding: GRADES.index(finding.grade)))
