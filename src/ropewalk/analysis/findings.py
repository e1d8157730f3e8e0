"""Findings: what is worth saying about a route, graded, each with its place, value, limit and what to do."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
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


def ordered(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return findings by grade, the gravest first, otherwise in the order found; what is said twice alike is said once.

    Examples
    --------
    >>> front, rear = (Finding("note", where, "old wire", "renew it") for where in ("front brake", "rear brake"))
    >>> [finding.where for finding in ordered([front, rear])]
    ['front brake and rear brake']
    """
    places: dict[Finding, list[str]] = {}
    for finding in findings:
        places.setdefault(replace(finding, where=""), []).append(finding.where)
    merged = [replace(finding, where=" and ".join(dict.fromkeys(where))) for finding, where in places.items()]
    return tuple(sorted(merged, key=lambda finding: GRADES.index(finding.grade)))


def together(findings: Iterable[Finding]) -> list[Finding]:
    """Return findings of one kind on several lines as one: the worst of them, at all their places.

    Parameters
    ----------
    findings : iterable of Finding
        With the same grade, limit and advice; the one furthest from its limit is kept.
    """
    found = list(findings)
    if not found:
        return []
    worst = max(found, key=lambda finding: abs((finding.value or 0.0) - (finding.limit or 0.0)))
    return [replace(worst, where=" and ".join(dict.fromkeys(finding.where for finding in found)))]
