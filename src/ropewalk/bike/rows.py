"""What a part of the catalogue may hold: one model a kind, checked while it is read."""

import math
from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, StrictBool, model_validator

from ropewalk.bike.rownumbers import (
    Angle,
    BendingStiffness,
    Count,
    Depth,
    Direction,
    Force,
    Length,
    Lengths,
    Place,
    Pull,
    Ratio,
    Size,
    Stiffness,
    Stress,
)
from ropewalk.bike.written import Name
from ropewalk.errors import PartError

Work = Literal["brake", "shift", "dropper", "lockout", "hose"]
Mount = Literal[
    "fork crown",
    "brake bridge",
    "front axle",
    "rear axle",
    "front disc mount",
    "rear disc mount",
    "derailleur hanger",
    "left fork boss",
    "right fork boss",
    "left stay boss",
    "right stay boss",
    "bottom bracket",
    "bar clamp",
    "post head",
    "seat tube",
    "top tube",
    "down tube",
]
Condition = Literal["new", "worn", "corroded"]
#: how a lever or a part holds an inner
Holding = Literal["nipple", "anchor", "fitting"]
#: shapes of the soldered end
Nipple = Literal["barrel", "pear", "small barrel"]
#: brakes ask for one of these of their lever, and the other does not work them
PullKind = Literal["short", "long"]
#: names of rows in another table
Names = Annotated[tuple[Name, ...], Field(min_length=1, max_length=40)]
Works = Annotated[tuple[Work, ...], Field(min_length=1)]


class Row(BaseModel):
    """A table of the catalogue; unknown keys are refused, nothing changes after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Named(Row):
    """A row with the trade name it is called by."""

    name: Name


class Housing(Named):
    """A housing or hose: sizes, radii, what work it may do, what its wire rubs on, and the ferrule if it says one."""

    work: Works
    contact: Name | None = None
    ferrule: Name | None = None
    outside: Size
    bore: Size
    kink_radius: Size
    advised_radius: Size
    axial_stiffness: Stiffness | None = None
    bending_stiffness: BendingStiffness

    @property
    def is_hose(self) -> bool:
        """Whether it carries fluid instead of a wire."""
        return "hose" in self.work

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        _check_tube(self.outside, self.bore)
        _check_radii(self.kink_radius, self.advised_radius)
        if self.is_hose and len(self.work) > 1:
            raise ValueError("work: a hose carries no wire, so hose stands alone")
        if not self.is_hose and self.contact is None:
            raise ValueError("contact is missing: name the friction pair that a wire inside it makes")
        if not self.is_hose and self.axial_stiffness is None:
            raise ValueError("axial_stiffness is missing: the wire's pull squeezes it")
        return self


class Strand(Named):
    """How a wire is laid: metallic area C d², least breaking load K d² R, modulus on the full circle."""

    area_factor: Ratio
    breaking_factor: Ratio
    grade: Stress
    gross_modulus: Stress


class Inner(Named):
    """An inner wire and the lengths it is sold in."""

    work: Works
    strand: Name
    heads: Annotated[tuple[Nipple, ...], Field(min_length=1)]
    diameter: Size
    stock: Lengths


class Liner(Named):
    """A thin tube that carries a bare inner inside the frame."""

    work: Works
    contact: Name
    outside: Size
    bore: Size
    kink_radius: Size
    advised_radius: Size

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        _check_tube(self.outside, self.bore)
        _check_radii(self.kink_radius, self.advised_radius)
        return self


class Covering(Named):
    """A tube round a housing or hose inside the frame: a guide tube that leads it, or a sleeve that keeps it quiet."""

    work: Works
    outside: Size
    bore: Size

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        _check_tube(self.outside, self.bore)
        return self


class EndCap(Named):
    """A cap on the cut end of an inner; `holds` is the pull it stays on under."""

    work: Works
    bore: Size
    length: Size
    holds: Force


class Ferrule(Named):
    """What ends a housing: how deep it goes in and how thick the floor below it is."""

    housings: Annotated[tuple[Name, ...], Field(max_length=40)] = ()
    insertion: Depth
    floor: Depth
    length: Size | None = None
    outside: Size
    bore: Size
    wire_hole: Size | None = None
    settling: Length | None = None

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        _check_tube(self.outside, self.bore)
        if self.wire_hole is not None and self.wire_hole >= self.bore:
            raise ValueError(f"wire_hole {self.wire_hole:g} mm is not below the bore of {self.bore:g} mm")
        within = self.insertion - self.insertion.spread + self.floor - self.floor.spread
        if self.length is not None and self.length + self.length.spread < within:
            raise ValueError(f"length {self.length:g} mm is too short for its insertion and floor, {within:g} mm")
        return self


class Formed(Named):
    """A rigid piece that gives a wire its path: noodle or guide."""

    contact: Name
    length: Size
    turn: Angle
    radius: Size | None = None

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        if self.radius is not None and self.length + self.length.spread < self.radius * self.turn:
            raise ValueError(
                f"length {self.length:g} mm is shorter than its own bend, {self.radius * self.turn:.0f} mm"
            )
        return self


class Inline(Named):
    """An adjuster or splitter that takes the place of housing.

    `replaces` is what the housing loses by it, seat to seat; `clamps` what it holds of each inner where it parts the
    inner in two.
    """

    work: Works
    contact: Name | None = None
    replaces: Length
    outside: Size
    travel: Size | None = None
    pitch: Size | None = None
    drag: Force | None = None
    clamps: Size | None = None

    @property
    def splits_inner(self) -> bool:
        """Whether the inner is in two, one on each side of it."""
        return self.clamps is not None


class Exit(Row):
    """Where a lever lets its line go; places and directions are (inward, forward, up) at the clamp.

    `advantage` is the pull on all its inners together over the hand force.
    """

    end: Holding
    bare: StrictBool = False
    nipple: Nipple | None = None
    inners: Count | None = None
    seat: Place
    leaves: Direction
    head_path: Length | None = None
    head_turn: Angle | None = None
    pull: Size | None = None
    pull_kind: PullKind | None = None
    advantage: Ratio | None = None
    needed_force: Force | None = None
    own_spring: Force | None = None

    @property
    def inner_count(self) -> int:
        """How many inners it pulls."""
        return int(self.inners or 1)

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        _check_nipple(self.end, self.nipple)
        return self


class Lever(Named):
    """A lever or shifter with one exit for each work it does."""

    sits_on: Literal["drop bar", "flat bar", "bar end", "base bar", "extension", "down tube"]
    place: Length | None = None
    exits: dict[Work, Exit] = Field(alias="exit", min_length=1)

    def exit(self, work: str) -> Exit:
        """Return the exit for a work, or raise PartError naming those it has."""
        for own, found in self.exits.items():
            if own == work:
                return found
        raise PartError(f"the lever {self.name!r} has no exit for {work!r}; it has {', '.join(self.exits)}")

    @model_validator(mode="after")
    def _is_complete(self) -> Self:
        for work, leaving in self.exits.items():
            _check_fitting(leaving.end, work, f"exit.{work}.")
            if work != "hose":
                _check_given(leaving, ("head_path", "head_turn", "pull", "needed_force"), f"exit.{work}.")
            if work == "brake":
                _check_given(leaving, ("pull_kind", "advantage"), f"exit.{work}.")
        return self


class Mover(Named):
    """A moving end: brake, derailleur, post; places and directions are (forward, up, right) from its mount.

    `pull_wanted` is what a brake asks of its lever; its spread is the range that works. `setting_length` is the exact
    length of inner from the seat to the fixing bolt where the part asks for one; it stands for `anchor_path` then.
    """

    work: Work
    mount: Mount
    end: Holding
    bare: StrictBool = False
    nipple: Nipple | None = None
    formed: Name | None = None
    seat: Place
    leaves: Direction
    anchor: Place | None = None
    setting_length: Size | None = None
    anchor_path: Length | None = None
    anchor_turn: Angle | None = None
    anchor_contact: Name | None = None
    pull_wanted: Size | None = None
    pull_kind: PullKind | None = None
    straddle_wire: Size | None = None
    straddle_span: Size | None = None
    straddle_rise: Size | None = None
    spring_least: Pull | None = None
    spring_most: Pull | None = None
    take_up: Length | None = None

    @model_validator(mode="before")
    @classmethod
    def _setting_is_the_path(cls, given: Any) -> Any:
        if isinstance(given, dict) and "setting_length" in given:
            if "anchor_path" in given:
                raise ValueError("setting_length and anchor_path are the same length: write setting_length alone")
            return {**given, "anchor_path": given["setting_length"]}
        return given

    @model_validator(mode="after")
    def _reaches_anchor(self) -> Self:
        if self.anchor is not None and self.anchor_path is not None:
            straight = math.hypot(*self.anchor)
            if self.anchor_path + self.anchor_path.spread < straight:
                raise ValueError(f"anchor_path {self.anchor_path:g} mm is shorter than the straight {straight:.0f} mm")
        return self

    @model_validator(mode="after")
    def _makes_sense(self) -> Self:
        _check_nipple(self.end, self.nipple)
        _check_fitting(self.end, self.work)
        if self.work != "hose":
            _check_given(self, ("anchor", "anchor_path", "anchor_turn", "spring_least", "spring_most"))
        if self.work == "brake":
            _check_given(self, ("pull_kind", "pull_wanted", "take_up"))
        if self.spring_least is not None and self.spring_most is not None and self.spring_least > self.spring_most:
            raise ValueError("spring_least is above spring_most")
        straddle = (self.straddle_wire, self.straddle_span, self.straddle_rise)
        if any(figure is not None for figure in straddle):
            _check_straddle(*straddle)
        return self


class ContactPair(Named):
    """Friction coefficients of one contact pair."""

    new: Ratio
    worn: Ratio
    corroded: Ratio


class Indexing(Named):
    """Wire pull per click of a shifter family, and the sprocket spacing it serves."""

    pull: Size
    spacing: Size


def _check_tube(outside: float, bore: float) -> None:
    if bore >= outside:
        raise ValueError(f"bore {bore:g} mm is not below the outside of {outside:g} mm")


def _check_radii(kink: float, advised: float) -> None:
    if kink >= advised:
        raise ValueError(f"kink_radius {kink:g} mm is not below the advised_radius of {advised:g} mm")


def _check_nipple(end: str, nipple: str | None) -> None:
    if end == "nipple" and nipple is None:
        raise ValueError("nipple is missing: it holds the inner by its nipple, so say which (barrel, pear, ...)")
    if end != "nipple" and nipple is not None:
        raise ValueError(f"nipple means nothing here: it holds the inner by its {end}")


def _check_fitting(end: str, work: str, place: str = "") -> None:
    if (end == "fitting") != (work == "hose"):
        raise ValueError(f'{place}end is "{end}": a hose ends in a fitting, a wire at its nipple or anchor')


def _check_given(row: Row, fields: tuple[str, ...], place: str = "") -> None:
    for field in fields:
        if getattr(row, field) is None:
            raise ValueError(f"{place}{field} is missing: write it, as the other rows of its kind do")


def _check_straddle(wire: Size | None, span: Size | None, rise: Size | None) -> None:
    """Refuse a straddle wire that cannot hang from its yoke to both arms."""
    if wire is None or span is None or rise is None:
        raise ValueError("straddle_wire, straddle_span and straddle_rise belong together: write all three or none")
    straight = 2.0 * math.hypot(span / 2.0, rise)
    if wire + wire.spread < straight:
        raise ValueError(f"straddle_wire {wire:g} mm is shorter than its way over the yoke, {straight:.0f} mm")
