"""The job plan: everything that any face of Ropewalk shows of one bike, complete and frozen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from ropewalk.analysis.findings import Finding
from ropewalk.analysis.friction import LineFriction
from ropewalk.analysis.loops import LoopWindow
from ropewalk.analysis.lostmotion import LostMotion, Shifting
from ropewalk.analysis.pieces import Term
from ropewalk.analysis.uncertainty import PieceDemand
from ropewalk.bike.model import Bike
from ropewalk.bike.parts import Catalogue
from ropewalk.routing.spans import PlacedLine
from ropewalk.workshop.choices import Settled


@dataclass(frozen=True, slots=True)
class PiecePlan:
    """One piece of housing or hose to cut.

    Attributes
    ----------
    tag : str
        Letter of the line and number of the piece.
    start, end : str
        Stations it runs between.
    housing : str
        What it is cut from.
    window : tuple of float or None
        Shortest safe and longest tidy length [mm]; None under a stop.
    target : float
        Length it should have when the job is done [mm].
    first_cut : float or None
        Length to cut before anything was tried [mm]; None under a stop.
    sigma : float
        Standard deviation of the shortest safe length [mm].
    quantile : float or None
        Length that proves too short with the stated risk only, before rounding [mm].
    least_radius : float or None
        Least radius at the target length over the sweep [mm]; None when it is straight.
    least_radius_pose : mapping of str to float
        Where it is found: steering angle in degrees under ``steer_deg``.
    turn : float
        Turn straight ahead [rad].
    why_shortest, why_longest : str
        What sets the ends of the window.
    ends : tuple of str
        What goes on its two ends.
    terms : tuple of Term
        What the target is made of; they add up to it.
    """

    tag: str
    start: str
    end: str
    housing: str
    window: tuple[float, float] | None
    target: float
    first_cut: float | None
    sigma: float
    quantile: float | None
    least_radius: float | None
    least_radius_pose: Mapping[str, float]
    turn: float
    why_shortest: str
    why_longest: str
    ends: tuple[str, str]
    terms: tuple[Term, ...]


@dataclass(frozen=True, slots=True)
class InnerPlan:
    """The inner of one line.

    Attributes
    ----------
    kind : str
        What it is.
    path : float
        Length from what holds it in the lever to its anchor, with housing at its target [mm].
    need : float
        Length to have on the bench: path with housing at its first cut, tail and working length [mm].
    stock : float or None
        Shortest length it is sold in that will do [mm]; None when none is long enough.
    tail : float
        What is left past the anchor when trimmed [mm].
    terms : tuple of Term
        What the need is made of; they add up to it.
    """

    kind: str
    path: float
    need: float
    stock: float | None
    tail: float
    terms: tuple[Term, ...]


@dataclass(frozen=True, slots=True)
class LinerPlan:
    """A liner, guide liner or sleeve of one inside span.

    Attributes
    ----------
    kind : str
        What it is cut from.
    start, end : str
        Stations it runs between.
    cut : float
        Length to cut [mm].
    use : str
        liner: carries bare inner inside the frame; guide: goes over the old inner before that is pulled, and leads what
        follows through; sleeve: over housing, against rattling.
    out : tuple of float
        How far it stands out at its start and end [mm].
    """

    kind: str
    start: str
    end: str
    cut: float
    use: Literal["liner", "guide", "sleeve"] = "liner"
    out: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True, slots=True)
class InlinePlan:
    """An adjuster or splitter in the place of housing.

    Attributes
    ----------
    part : str
        What it is.
    before, after : str
        Tags of the housing on its lever's side and beyond it.
    at, length : float
        Length of the housing before it, and of itself [mm].
    travel : float or None
        How far an adjuster can be turned out [mm].
    splits : bool
        Whether it parts the inner in two.
    span : int
        Place of the span it lies in.
    """

    part: str
    before: str
    after: str
    at: float
    length: float
    travel: float | None
    splits: bool
    span: int


@dataclass(frozen=True, slots=True)
class SettingPlan:
    """An exact length of bare inner: how long [mm], the station whose seat it is measured from, and the last one."""

    length: float
    start: str
    end: str


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the order of work on a line.

    Attributes
    ----------
    phase : str
        When it is done, as `ropewalk.workshop.order.PHASES` has it.
    text : str
        The step on this line, a sentence.
    lead, own : str
        The same parted in what other lines may have alike, and what is this line's own; the latter may be empty.
    """

    phase: str
    text: str
    lead: str
    own: str = ""


@dataclass(frozen=True, slots=True)
class LinePlan:
    """One line.

    Attributes
    ----------
    name, work : str
    hand : str or None
        Rider's side of its lever.
    lever : str
        The lever's name.
    pieces : tuple of PiecePlan
    inner : InnerPlan or None
        The inner, or the one from the lever to a splitter; None for a hose.
    liners : tuple of LinerPlan
    turn : float
        Turn straight ahead from lever to anchor [rad].
    efficiency : mapping of str to float, or None
        By condition; None for a hose.
    release_reserve : float or None
        Friction coefficient at which it stops releasing; None for a hose or where nothing stops it.
    friction : LineFriction or None
        Its wire with tension and release; None for a hose.
    lost : mapping of str to LostMotion
        What of the lever's pull is lost, by condition; empty for a hose.
    shifting : Shifting or None
        How exactly a shifter's steps arrive; None for other lines.
    lower_inner : InnerPlan or None
        The inner from a splitter to the anchor.
    inlines : tuple of InlinePlan
        Its adjusters and splitters.
    setting : SettingPlan or None
        An exact length of bare inner to keep.
    settling : float
        By how much the joints of its housing give when first pulled hard [mm].
    steps : tuple of Step
        The order of work.
    routing : str or None
        Name of its routing, where the file gives one or an option was taken.
    """

    name: str
    work: str
    hand: str | None
    lever: str
    pieces: tuple[PiecePlan, ...]
    inner: InnerPlan | None
    liners: tuple[LinerPlan, ...]
    turn: float
    efficiency: Mapping[str, float] | None
    release_reserve: float | None
    friction: LineFriction | None
    lost: Mapping[str, LostMotion]
    shifting: Shifting | None
    lower_inner: InnerPlan | None = None
    inlines: tuple[InlinePlan, ...] = ()
    setting: SettingPlan | None = None
    settling: float = 0.0
    steps: tuple[Step, ...] = ()
    routing: str | None = None

    @property
    def order(self) -> tuple[str, ...]:
        """The order of work on it, a sentence a step."""
        return tuple(step.text for step in self.steps)

    @property
    def inners(self) -> tuple[InnerPlan, ...]:
        """Its inners from lever to work: none, one, or two where a splitter joins them."""
        return tuple(inner for inner in (self.inner, self.lower_inner) if inner is not None)


@dataclass(frozen=True, slots=True)
class Part:
    """Something to pick from the shelf, and how many."""

    item: str
    count: int


@dataclass(frozen=True, slots=True)
class LengthChange:
    """What changes when the brakes change hands.

    Attributes
    ----------
    line : str
    what : str
        Tag of a piece, inner, lower inner, or the kind of a liner.
    before, after : float or None
        First cut of a piece, stock length of an inner, cut of a liner [mm]; None where there is none.
    target : tuple of float or None
        Target of a piece before and after [mm].
    """

    line: str
    what: str
    before: float | None
    after: float | None
    target: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class HandsPlan:
    """Brakes planned for other hands.

    Attributes
    ----------
    asked : str
        front-left or front-right: the hand that works the front brake.
    already : bool
        Whether the frame file has it so.
    moved : tuple of str
        Lines whose lever changes side.
    changes : tuple of LengthChange
        Lengths that change.
    caution : str
        What law and custom say.
    levers : tuple of tuple of str
        Levers to move, as they are afterwards: side and part.
    """

    asked: str
    already: bool
    moved: tuple[str, ...]
    changes: tuple[LengthChange, ...]
    caution: str
    levers: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class JobPlan:
    """The whole job on one bike.

    Attributes
    ----------
    bike : str
        The bike's name.
    lines : tuple of LinePlan
    parts : tuple of Part
    findings : tuple of Finding
        The gravest first.
    cautions : tuple of str
    model : Bike
        The built bike, for drawing.
    routing : tuple of PlacedLine
        Its lines in place, in the order of `lines`.
    loops : mapping of (line, span) to LoopWindow
        What was found of every loop, by places in `routing`.
    catalogue : Catalogue
        The parts it was planned with.
    hands : HandsPlan or None
        What changing hands changes; None when nobody asked.
    demands : mapping of str to PieceDemand
        What the poses of every run of housing from seat to seat ask for, by the tag of its first piece.
    settled : Settled or None
        The choices it was planned with.
    """

    bike: str
    lines: tuple[LinePlan, ...]
    parts: tuple[Part, ...]
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...]
    model: Bike
    routing: tuple[PlacedLine, ...]
    loops: Mapping[tuple[int, int], LoopWindow]
    catalogue: Catalogue
    hands: HandsPlan | None = None
    demands: Mapping[str, PieceDemand] = field(default_factory=dict)
    settled: Settled | None = None

    def piece(self, tag: str) -> PiecePlan | None:
        """Return the piece of that tag, whatever its case, or None."""
        return next((piece for line in self.lines for piece in line.pieces if piece.tag == tag.strip().upper()), None)
