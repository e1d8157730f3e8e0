"""Findings: what is worth saying about a route, graded, each with its place, value, limit and what to do."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

Grade = Literal["stop", "look", "note"]
#: what stands between the places of one finding
JOIN = " and "
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
    alike : bool
        Whether it may be told with others of the same advice and limit as one: the worst of them, at all their places.
    """

    grade: Grade
    where: str
    text: str
    advice: str
    value: float | None = None
    limit: float | None = None
    unit: str = ""
    alike: bool = False

    def concerns(self, place: str) -> bool:
        """Return whether it is about a line, piece or station, by itself or among others."""
        return place == self.where or place in self.where.split(JOIN)


def ordered(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return findings by grade, the gravest first, otherwise in the order found; what is said twice is said once.

    Examples
    --------
    >>> front, rear = (Finding("note", where, "old wire", "renew it") for where in ("front brake", "rear brake"))
    >>> [finding.where for finding in ordered([front, rear])]
    ['front brake and rear brake']
    """
    kinds: dict[Finding, list[Finding]] = {}
    for finding in findings:
        kind = replace(finding, where="", text="", value=None) if finding.alike else replace(finding, where="")
        kinds.setdefault(kind, []).append(finding)
    merged = [_together(found) for found in kinds.values()]
    return tuple(sorted(merged, key=lambda finding: GRADES.index(finding.grade)))


def _together(findings: Sequence[Finding]) -> Finding:
    """Return findings of one kind as one: the one furthest from its limit, at all their places."""
    worst = max(findings, key=lambda finding: abs((finding.value or 0.0) - (finding.limit or 0.0)))
    return replace(worst, where=JOIN.join(dict.fromkeys(finding.where for finding in findings)))
