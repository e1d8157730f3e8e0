"""What a row of the parts catalogue may hold, checked while it is read.

A number is a row of four, ``[value, spread, "unit", "mark"]``, and becomes a
:class:`~ropewalk.bike.sourced.Sourced` (or a :class:`~ropewalk.bike.sourced.Triple` for a place or a direction).
A number without one of them, with another unit than its field wants, or with an unknown mark is refused.
"""

import math
from collections.abc import Mapping
from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, PlainValidator, ValidationInfo, model_validator

from ropewalk.bike.sourced import Source, Sourced, Triple, direction, sourced
from ropewalk.errors import PartError

Work = Literal["brake", "shift", "dropper", "lockout", "hose"]
Mount = Literal[
    "fork crown", "brake bridge", "front axle", "rear axle", "front disc mount", "rear disc mount", "seat tube"
]
Condition = Literal["new", "worn", "corroded"]


def _row(raw: object, info: ValidationInfo, unit: str) -> tuple[Any, float, Source]:
    """Return value, spread and source of a row ``[value, spread, "unit", "mark"]``, checked."""
    shape = f'write it as [value, spread, "{unit}", "mark"]'
    if not isinstance(raw, list) or len(raw) != 4:
        raise ValueError(f"{raw!r} is not a row of four; {shape}")
    value, spread, given_unit, mark = raw
    sources: Mapping[str, Source] = (info.context or {})["sources"]
    if given_unit != unit:
        raise ValueError(f"the unit is {given_unit!r}, wanted {unit!r}; {shape}")
    if mark not in sources:
        raise ValueError(f"the mark {mark!r} is not in sources.toml; use one of {', '.join(sources)}")
    return value, _number(spread, "spread"), sources[mark]


def _number(raw: object, what: str) -> float:
    if isinstance(raw, bool) or not isinstance(raw, int | float) or not math.isfinite(raw):
        raise ValueError(f"the {what} {raw!r} is not a number")
    if what == "spread" and raw < 0:
        raise ValueError(f"the spread {raw!r} is below 0")
    return float(raw)


def _three(raw: object) -> tuple[float, float, float]:
    if not isinstance(raw, list) or len(raw) != 3:
        raise ValueError(f"{raw!r} is not three numbers in square brackets")
    return _number(raw[0], "value"), _number(raw[1], "value"), _number(raw[2], "value")


def _single(unit: str, *, above: float = -math.inf, least: float = -math.inf) -> PlainValidator:
    def read(raw: object, info: ValidationInfo) -> Sourced:
        value, spread, source = _row(raw, info, unit)
        number = _number(value, "value")
        if number < least or number <= above:
            raise ValueError(f"the value {number:g} {unit} is too small; it must be {_bound(above, least)}")
        return sourced(number, spread, unit, source)

    return PlainValidator(read)


def _bound(above: float, least: float) -> str:
    return f"above {above:g}" if above > -math.inf else f"at least {least:g}"


def _several(unit: str) -> PlainValidator:
    def read(raw: object, info: ValidationInfo) -> tuple[Sourced, ...]:
        values, spread, source = _row(raw, info, unit)
        if not isinstance(values, list) or not values:
            raise ValueError(f"{values!r} is not a list of numbers")
        numbers = [_number(value, "value") for value in values]
        if numbers != sorted(set(numbers)) or numbers[0] <= 0:
            raise ValueError(f"{values!r} must rise from above 0")
        return tuple(sourced(number, spread, unit, source) for number in numbers)

    return PlainValidator(read)


def _place(raw: object, info: ValidationInfo) -> Triple:
    values, spread, source = _row(raw, info, "mm")
    return Triple(_three(values), spread, "mm", source)


def _direction(raw: object, info: ValidationInfo) -> Triple:
    values, spread, source = _row(raw, info, "deg")
    return direction(_three(values), spread, "deg", source)


Length = Annotated[Sourced, _single("mm", least=0.0)]
Size = Annotated[Sourced, _single("mm", above=0.0)]
Lengths = Annotated[tuple[Sourced, ...], _several("mm")]
Rolls = Annotated[tuple[Sourced, ...], _several("m")]
Angle = Annotated[Sourced, _single("deg", least=0.0)]
Hours = Annotated[Sourced, _single("h", least=0.0)]
Force = Annotated[Sourced, _single("N", least=0.0)]
Stiffness = Annotated[Sourced, _single("N", above=0.0)]
BendingStiffness = Annotated[Sourced, _single("N mm2", above=0.0)]
Stress = Annotated[Sourced, _single("N/mm2", above=0.0)]
Torque = Annotated[Sourced, _single("N m", above=0.0)]
Ratio = Annotated[Sourced, _single("1", above=0.0)]
Place = Annotated[Triple, PlainValidator(_place)]
Direction = Annotated[Triple, PlainValidator(_direction)]


class Row(BaseModel):
    """A table of the catalogue; unknown keys are refused, nothing changes after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Named(Row):
    """A row with the trade name it is called by."""

    name: str


class Housing(Named):
    """A housing or hose: sizes, radii, what work it may do, what its wire rubs on."""

    work: tuple[Work, ...]
    contact: str | None = None
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


class Strand(Named):
    """How a wire is laid: metallic area C d², least breaking load K d² R, modulus on the full circle."""

    area_factor: Ratio
    breaking_factor: Ratio
    grade: Stress
    gross_modulus: Stress


class Inner(Named):
    """An inner wire and the lengths it is sold in."""

    work: tuple[Work, ...]
    strand: str
    heads: tuple[str, ...]
    diameter: Size
    stock: Lengths


class Liner(Named):
    """A thin tube that carries a bare inner inside the frame."""

    work: tuple[Work, ...]
    contact: str
    outside: Size
    bore: Size
    kink_radius: Size
    advised_radius: Size


class Ferrule(Named):
    """What ends a housing: how deep it goes in and how thick the floor below it is."""

    housings: tuple[str, ...]
    insertion: Length
    floor: Length
    outside: Size
    bore: Size
    wire_hole: Size | None = None
    settling: Length | None = None


class Formed(Named):
    """A rigid piece that gives a wire its path: noodle, guide, inline adjuster; or one that splits the wire in two."""

    contact: str
    length: Size
    turn: Angle
    radius: Size | None = None
    travel: Size | None = None
    splits: bool = False


class Exit(Row):
    """Where a lever lets its line go; places and directions are (inward, forward, up) at the clamp."""

    end: Literal["nipple", "anchor", "fitting"]
    bare: bool = False
    seat: Place
    leaves: Direction
    head_path: Length | None = None
    head_turn: Angle | None = None
    pull: Size | None = None
    advantage: Ratio | None = None
    needed_force: Force | None = None
    inners: int = Field(default=1, ge=1, le=2)


class Lever(Named):
    """A lever or shifter with one exit for each work it does."""

    sits_on: Literal["drop bar", "flat bar", "bar end", "down tube"]
    place: Length | None = None
    exits: dict[Work, Exit] = Field(alias="exit", min_length=1)

    def exit(self, work: str) -> Exit:
        """Return the exit for a work, or raise PartError naming those it has."""
        for own, found in self.exits.items():
            if own == work:
                return found
        raise PartError(f"the lever {self.name!r} has no exit for {work!r}; it has {', '.join(self.exits)}")


class Mover(Named):
    """A moving end: brake, derailleur, post; places and directions are (forward, up, right) from its mount."""

    work: Work
    mount: Mount
    end: Literal["nipple", "anchor", "fitting"]
    bare: bool = False
    formed: str | None = None
    seat: Place
    leaves: Direction
    anchor: Place | None = None
    anchor_path: Length | None = None
    anchor_turn: Angle | None = None
    anchor_contact: str | None = None
    spring_least: Force | None = None
    spring_most: Force | None = None
    take_up: Length | None = None
    setting_length: Length | None = None

    @model_validator(mode="after")
    def _reaches_anchor(self) -> Self:
        if self.anchor is not None and self.anchor_path is not None:
            straight = math.hypot(*self.anchor)
            if self.anchor_path + self.anchor_path.spread < straight:
                raise ValueError(f"anchor_path {self.anchor_path:g} mm is shorter than the straight {straight:.0f} mm")
        if self.spring_least is not None and self.spring_most is not None and self.spring_least > self.spring_most:
            raise ValueError("spring_least is above spring_most")
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


class ChartTolerances(Row):
    """How surely chart figures are known: half-widths that hold 19 times in 20."""

    stack: Size
    reach: Size
    head_angle: Angle
    seat_angle: Angle
    head_tube: Size
    lower_cup: Size
    fork: Size
    fork_offset: Size
    bb_drop: Size
    chainstay: Size
    boom: Size
    wheel: Size
    tube_diameter: Size


class CockpitTolerances(Row):
    """The same for stem, bar and levers."""

    spacers: Size
    stem_length: Size
    stem_angle: Angle
    bar_length: Size
    bar_angle: Angle
    bar_turn: Angle
    lever_place: Size
    lever_turn: Angle
    lock: Angle


class StationTolerances(Row):
    """The same for places on a tube."""

    along: Size
    clock: Hours
    lean: Angle
    skew: Angle
    offset: Size


class FerruleTolerances(Row):
    """The same for ferrules of one batch."""

    insertion: Size
    floor: Size


class Tolerances(Row):
    """Default half-widths (95 %) where the frame file does not say ``within``."""

    chart: ChartTolerances
    cockpit: CockpitTolerances
    station: StationTolerances
    ferrule: FerruleTolerances


class CutSettings(Row):
    """How a housing is cut."""

    trim_moving: Length
    trim_still: Length
    turn_allowance: Angle
    round_up: Size
    short_risk: Ratio
    squaring: Length
    never_tried: Length
    straight_lead: Length
    smooth_lean: Angle
    hard_lean: Angle


class InnerSettings(Row):
    """How an inner and a guide liner are cut."""

    tail: Length
    working_length: Length
    liner_out: Length


class SweepSettings(Row):
    """How far and how finely the bars are turned."""

    assumed_lock: Angle
    riding: Angle
    indexing: Angle
    step: Angle


class ClearanceSettings(Row):
    """What no loop may rub, besides the tyres."""

    crank_length: Size
    crank_inside: Size
    crown_radius: Size
    crown_height: Size


class ForceSettings(Row):
    """Forces to plan and check with."""

    hand: Force
    lever_test: Force
    operating: Force
    end_cap: Force


class TorqueSettings(Row):
    """Sanity bands behind the figure printed on the part."""

    brake_anchor: Torque
    derailleur_anchor: Torque


class RollSettings(Row):
    """Lengths of a roll of housing."""

    housing: Rolls


class Settings(Row):
    """Choices of the shop."""

    cut: CutSettings
    inner: InnerSettings
    sweep: SweepSettings
    force: ForceSettings
    torque: TorqueSettings
    rolls: RollSettings
    clearance: ClearanceSettings
