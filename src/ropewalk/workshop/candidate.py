"""One routing of a line as it is compared with others."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ropewalk.analysis.causes import Figured
from ropewalk.analysis.findings import Finding
from ropewalk.analysis.weighing import Wire
from ropewalk.workshop.jobplan import LinePlan, Part, PiecePlan


@dataclass(frozen=True, slots=True)
class LowPlace:
    """A place where water can stand: between which stations, and how deep [mm]."""

    start: str
    end: str
    depth: float


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """One routing, planned.

    Attributes
    ----------
    name, file : str
        What it is called beside the others, and its frame file.
    plan : LinePlan
    wire : Wire or None
        None for a hose.
    lost : mapping of str to Figured
        Lost motion by condition, with all that it rests on [mm]; empty for a hose.
    release : str
        Up to which friction it releases and what takes most of it, in words.
    release_at : mapping of str to float
        Its worst pose while riding, as faces show it.
    low_points : tuple of LowPlace
    parts : tuple of Part
    findings : tuple of Finding
        On this line, the gravest first.
    """

    name: str
    file: str
    plan: LinePlan
    wire: Wire | None
    lost: Mapping[str, Figured]
    release: str
    release_at: Mapping[str, float]
    low_points: tuple[LowPlace, ...]
    parts: tuple[Part, ...]
    findings: tuple[Finding, ...]

    @property
    def housing(self) -> float:
        """Length of all its housing at its target [mm]."""
        return sum(piece.target for piece in self.plan.pieces)

    @property
    def housings(self) -> tuple[str, ...]:
        """What it is cut from."""
        return tuple(dict.fromkeys(piece.housing for piece in self.plan.pieces))

    @property
    def tightest(self) -> PiecePlan | None:
        """The piece with the least radius, or None where all is straight."""
        bent = [piece for piece in self.plan.pieces if piece.least_radius is not None]
        return min(bent, key=lambda piece: piece.least_radius or 0.0, default=None)

    @property
    def efficiency(self) -> Mapping[str, Figured]:
        """By condition; empty for a hose."""
        return {} if self.plan.friction is None else self.plan.friction.efficiency

    @property
    def stops(self) -> tuple[Finding, ...]:
        """What must be settled before it may be built so."""
        return tuple(finding for finding in self.findings if finding.grade == "stop")
