"""What follows from a dry fit: for every piece its target and what to do, for every inner whether it still reaches."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ropewalk.analysis.findings import Finding
from ropewalk.bike.fitfile import Fit

#: what is to be done with a piece: cut it, try it, leave it as it is, trim it, make it again
Do = Literal["cut", "try", "done", "trim", "make again"]


@dataclass(frozen=True, slots=True)
class FittedPiece:
    """One piece after the dry fit.

    Attributes
    ----------
    line, tag, start, end, housing : str
    as_cut : float or None
        Length it was cut to [mm]; None before it is cut.
    fit : str or None
        What was found of it; None before it is cut.
    do : str
        What to do now.
    planned_target, planned_cut : float
        Target and first cut before anything was tried [mm].
    target : float
        Target by all that was found [mm].
    sigma : float
        Standard deviation of its shortest safe length by all that was found [mm].
    trim : float or None
        What to take off [mm].
    at_once : float or None
        Down to which length that may come off without trying in between [mm].
    cut : float or None
        Length to cut a piece to that is to be made, or made again [mm].
    chance : float or None
        How likely what was found of it was as planned; None where nothing was found.
    serves : str or None
        Tag of the piece that one cut too short can still be cut to.
    reasons : tuple of str
        Why, in sentences.
    """

    line: str
    tag: str
    start: str
    end: str
    housing: str
    as_cut: float | None
    fit: Fit | None
    do: Do
    planned_target: float
    planned_cut: float
    target: float
    sigma: float
    trim: float | None = None
    at_once: float | None = None
    cut: float | None = None
    chance: float | None = None
    serves: str | None = None
    reasons: tuple[str, ...] = ()

    @property
    def where(self) -> str:
        """What findings call it."""
        return f"{self.line}, {self.tag}"


@dataclass(frozen=True, slots=True)
class FittedInner:
    """One inner after the dry fit.

    Attributes
    ----------
    line, name, kind : str
        Its line, what it is called there, what it is.
    need : float
        Length to have on the bench with every piece as it is cut now [mm].
    stock : float or None
        The one chosen before [mm]; None where none was long enough.
    reaches : bool
        Whether that one still does.
    take : float or None
        The shortest that does [mm]; None where none is long enough.
    short : float
        By how much the one chosen is too short [mm]; 0 where it reaches.
    """

    line: str
    name: str
    kind: str
    need: float
    stock: float | None
    reaches: bool
    take: float | None
    short: float


@dataclass(frozen=True, slots=True)
class FittedJob:
    """A job after the dry fit.

    Attributes
    ----------
    pieces : tuple of FittedPiece
        In the order of the cut list; pieces that must not be cut are left out.
    inners : tuple of FittedInner
    findings : tuple of Finding
        The gravest first.
    """

    pieces: tuple[FittedPiece, ...]
    inners: tuple[FittedInner, ...]
    findings: tuple[Finding, ...]

    def piece(self, tag: str) -> FittedPiece | None:
        """Return the piece of that tag, or None."""
        return next((piece for piece in self.pieces if piece.tag == tag), None)
