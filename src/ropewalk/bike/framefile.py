"""The frame file: what a mechanic writes down about one bike, read and checked.

Keys are the trade's words; lengths are mm and angles degrees. Every model here refuses keys it does not know.
`read` turns a file into a `Frame` or raises one `FrameFileError` whose text is one line.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, StringConstraints, field_validator, model_validator
from pydantic_core import PydanticCustomError

from ropewalk.bike.figures import Figure, Measure
from ropewalk.bike.wording import listed, nearest

#: most lines, stations a line and stations in all that one frame file may hold
MOST_LINES = 24
MOST_STATIONS_A_LINE = 40
MOST_STATIONS = 240

#: text without characters that would steer a terminal: controls, line separators, changes of direction
PLAIN_TEXT = r"^[^\x00-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069]+$"

Name = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=60, pattern=PLAIN_TEXT)]
Note = Annotated[str, StringConstraints(max_length=2000)]
Side = Literal["left", "right"]


def _length(low: float, high: float, tolerance: str | None = None) -> Measure:
    return Measure("mm", low, high, tolerance)


def _angle(low: float, high: float, tolerance: str | None = None) -> Measure:
    return Measure("°", low, high, tolerance)


class Strict(BaseModel):
    """Settings of every model of the frame file: unknown keys refused, values frozen."""

    model_config = ConfigDict(extra="forbid", frozen=True, validate_by_name=True, validate_by_alias=True)


def _names_apart(kind: str, named: Sequence[Lever | Station | Line]) -> None:
    """Refuse two entries of one name: messages and cut list tell them apart by it."""
    first: dict[str, int] = {}
    for number, entry in enumerate(named, start=1):
        if entry.name in first:
            raise PydanticCustomError(
                "names",
                '{kind} {number} has the name "{name}" of {kind} {other}: give each its own',
                {"kind": kind, "number": number, "name": entry.name, "other": first[entry.name]},
            )
        first[entry.name] = number


class Chart(Strict):
    """The geometry chart, as makers publish it."""

    stack: Annotated[Figure, _length(250, 800, "chart.stack")] = Field(
        description="height of the head tube's upper end over the bottom bracket [mm]"
    )
    reach: Annotated[Figure, _length(200, 600, "chart.reach")] = Field(
        description="how far the head tube's upper end lies ahead of the bottom bracket [mm]"
    )
    head_angle_deg: Annotated[Figure, _angle(55, 85, "chart.head_angle")] = Field(
        alias="head_angle", description="angle of the steering axis to the ground [°]"
    )
    seat_angle_deg: Annotated[Figure, _angle(55, 85, "chart.seat_angle")] = Field(
        alias="seat_angle", description="angle of the seat tube to the ground [°]"
    )
    head_tube: Annotated[Figure, _length(60, 320, "chart.head_tube")] = Field(
        description="length of the head tube [mm]"
    )
    lower_cup: Annotated[Figure, _length(0, 30, "chart.lower_cup")] = Field(
        description="height of the lower headset cup below the head tube [mm]; 0 when it is inside"
    )
    fork: Annotated[Figure, _length(200, 700, "chart.fork")] = Field(
        description="fork length along the steering axis, from the crown race to the point square to the axle [mm]"
    )
    fork_offset: Annotated[Figure, _length(-10, 90, "chart.fork_offset")] = Field(
        description="distance of the front axle ahead of the steering axis, square to it [mm]"
    )
    bb_drop: Annotated[Figure, _length(-80, 120, "chart.bb_drop")] = Field(
        description="how far the bottom bracket lies below the rear axle [mm]; negative when above"
    )
    chainstay: Annotated[Figure, _length(300, 1000, "chart.chainstay")] = Field(
        description="bottom bracket to rear axle, straight [mm]"
    )
    seat_tube: Annotated[Figure, _length(200, 750, "chart.stack")] = Field(
        description="bottom bracket to the seat tube's upper end, along the tube [mm]"
    )
    wheel: str = Field(
        description="tyre and rim by their ISO 5775 designation: tyre width, a hyphen, bead seat diameter [mm]"
    )
    wheelbase: Annotated[Figure, _length(700, 2500)] | None = Field(
        default=None, description="axle to axle, level [mm]; when given, the chart is checked against it"
    )
    trail: Annotated[Figure, _length(-20, 200)] | None = Field(
        default=None, description="trail on the ground [mm]; when given, the chart is checked against it"
    )
    front_centre: Annotated[Figure, _length(400, 1000)] | None = Field(
        default=None,
        description="bottom bracket to front axle, straight [mm]; when given, the chart is checked against it",
    )
    lock_deg: Annotated[Figure, _angle(10, 90)] | None = Field(
        default=None,
        alias="lock",
        description="largest steering angle to a side [°]; leave out when nothing stops the bars",
    )

    @field_validator("wheel")
    @classmethod
    def _iso_5775(cls, given: str) -> str:
        width, hyphen, bead = given.partition("-")
        if not (hyphen and width.isascii() and width.isdigit() and bead.isascii() and bead.isdigit()):
            raise PydanticCustomError(
                "wheel",
                'is "{given}": write tyre width, a hyphen and bead seat diameter, such as 37-622',
                {"given": given[:20]},
            )
        if not (18 <= int(width) <= 130 and 200 <= int(bead) <= 650):
            raise PydanticCustomError(
                "wheel", "is {given}: tyres are 18 to 130 mm wide on bead seats of 200 to 650 mm", {"given": given[:20]}
            )
        return given


class RoundTube(Strict):
    """A round tube's section."""

    diameter: Annotated[Figure, _length(10, 80)] = Field(description="outside diameter [mm]")
    wall: Annotated[Figure, _length(0.3, 8)] = Field(default=Figure(1.0), description="wall thickness [mm]")


class MainTube(RoundTube):
    """A tube that ends on the head tube."""

    at_head: Annotated[Figure, _length(0, 300, "station.along")] = Field(
        description="where its axis meets the head tube's axis: mm from the head tube's nearer end "
        "(top tube: upper, down tube: lower)"
    )


class TopTube(MainTube):
    """The top tube."""

    at_seat: Annotated[Figure, _length(50, 740, "station.along")] = Field(
        description="where its axis meets the seat tube's axis: mm up from the bottom bracket"
    )


class Stay(RoundTube):
    """A pair of stays or fork legs, left and right."""

    spread_near: Annotated[Figure, _length(0, 80)] = Field(
        description="distance of its axis from the middle plane at the frame's end [mm]"
    )
    spread_axle: Annotated[Figure, _length(30, 120)] = Field(
        description="distance of its axis from the middle plane at the axle [mm]"
    )


class SeatStay(Stay):
    """The seat stays."""

    at_seat: Annotated[Figure, _length(50, 740, "station.along")] = Field(
        description="where their plane meets the seat tube's axis: mm up from the bottom bracket"
    )


class Tubes(Strict):
    """The frame's tubes: diameters, walls and where they meet."""

    head_tube: RoundTube = Field(description="the head tube")
    top_tube: TopTube = Field(description="the top tube")
    down_tube: MainTube = Field(description="the down tube")
    seat_tube: RoundTube = Field(description="the seat tube")
    seat_stay: SeatStay = Field(description="the seat stays")
    chainstay: Stay = Field(description="the chainstays")
    fork_leg: Stay = Field(description="the fork legs")
    shell: RoundTube = Field(
        default=RoundTube(diameter=Figure(40.0), wall=Figure(3.0)), description="the bottom bracket shell"
    )


class DropBar(Strict):
    """A drop bar."""

    shape: Literal["drop"] = Field(description="the bar's shape")
    width: Annotated[Figure, _length(300, 600, "cockpit.bar_length")] = Field(
        description="centre to centre at the hoods [mm]"
    )
    reach: Annotated[Figure, _length(40, 120, "cockpit.bar_length")] = Field(
        description="how far the hooks reach ahead of the tops [mm]"
    )
    drop: Annotated[Figure, _length(80, 180, "cockpit.bar_length")] = Field(
        description="tops to drops, centre to centre [mm]"
    )
    flare_deg: Annotated[Figure, _angle(0, 40)] = Field(
        default=Figure(0), alias="flare", description="how far the drops splay outwards [°]"
    )
    diameter: Annotated[Figure, _length(20, 36)] = Field(
        default=Figure(23.8), description="outside diameter where the levers sit [mm]"
    )
    roll_deg: Annotated[Figure, _angle(-30, 30, "cockpit.bar_turn")] = Field(
        default=Figure(0), alias="roll", description="bar turned up in its clamp [°]"
    )


class FlatBar(Strict):
    """A flat or riser bar."""

    shape: Literal["flat", "riser"] = Field(description="the bar's shape")
    width: Annotated[Figure, _length(450, 900, "cockpit.bar_length")] = Field(description="end to end [mm]")
    backsweep_deg: Annotated[Figure, _angle(0, 30)] = Field(
        default=Figure(7), alias="backsweep", description="how far the grips point back [°]"
    )
    upsweep_deg: Annotated[Figure, _angle(0, 15)] = Field(
        default=Figure(4), alias="upsweep", description="how far the grips point up [°]"
    )
    rise: Annotated[Figure, _length(0, 120)] = Field(default=Figure(0), description="grips above the clamp [mm]")
    diameter: Annotated[Figure, _length(20, 36)] = Field(
        default=Figure(22.2), description="outside diameter where the levers sit [mm]"
    )
    roll_deg: Annotated[Figure, _angle(-30, 30, "cockpit.bar_turn")] = Field(
        default=Figure(0), alias="roll", description="bar turned up in its clamp [°]"
    )


class SweptBar(Strict):
    """A swept city bar."""

    shape: Literal["swept"] = Field(description="the bar's shape")
    width: Annotated[Figure, _length(450, 800, "cockpit.bar_length")] = Field(description="end to end [mm]")
    backsweep_deg: Annotated[Figure, _angle(20, 90)] = Field(
        alias="backsweep", description="how far the grips point back [°]"
    )
    grip: Annotated[Figure, _length(100, 250)] = Field(
        default=Figure(150), description="length of the straight grip part [mm]"
    )
    reach: Annotated[Figure, _length(0, 120)] = Field(
        default=Figure(30), description="how far the bar first runs ahead of the clamp [mm]"
    )
    rise: Annotated[Figure, _length(-40, 150)] = Field(default=Figure(40), description="grips above the clamp [mm]")
    diameter: Annotated[Figure, _length(20, 36)] = Field(
        default=Figure(22.2), description="outside diameter where the levers sit [mm]"
    )
    roll_deg: Annotated[Figure, _angle(-30, 30, "cockpit.bar_turn")] = Field(
        default=Figure(0), alias="roll", description="bar turned up in its clamp [°]"
    )


Bar = Annotated[DropBar | FlatBar | SweptBar, Field(discriminator="shape")]


class Cockpit(Strict):
    """What sits on the steerer: spacers, stem and bar."""

    spacers: Annotated[Figure, _length(0, 120, "cockpit.spacers")] = Field(
        default=Figure(0), description="spacers under the stem [mm]"
    )
    upper_cup: Annotated[Figure, _length(0, 40, "chart.lower_cup")] = Field(
        default=Figure(12), description="height of the upper headset cup and its cover over the head tube [mm]"
    )
    stem: Annotated[Figure, _length(20, 160, "cockpit.stem_length")] = Field(
        description="stem length, steerer centre to bar centre [mm]"
    )
    stem_angle_deg: Annotated[Figure, _angle(-35, 60, "cockpit.stem_angle")] = Field(
        alias="stem_angle", description="stem's rise over the square to the steerer [°]; negative when it points down"
    )
    stem_clamp: Annotated[Figure, _length(25, 60)] = Field(
        default=Figure(40), description="height of the stem's clamp on the steerer [mm]"
    )
    bar: Bar = Field(description="the bar")


class Lever(Strict):
    """A lever or shifter on the bar."""

    name: Name = Field(description="what the lines call it")
    part: Name = Field(description="kind of lever, from the parts catalogue")
    side: Side = Field(description="the rider's side it sits on")
    along: Annotated[Figure, _length(0, 700, "cockpit.lever_place")] = Field(
        description="middle of its clamp: mm along the bar from the bar's end"
    )


class Station(Strict):
    """A place where a line starts, ends, is held or passes through, and how the line goes on from there."""

    name: Name = Field(description="what the cut list calls it")
    type: Literal["lever", "stop", "port", "clip", "guide", "anchor"] = Field(
        description="lever: where the line starts; stop: housing seats here; "
        "port: housing or liner passes a tube's wall; clip: housing is held; "
        "guide: bare inner bends over it; anchor: the inner is clamped here"
    )
    on: Name | None = Field(
        default=None,
        description="tube (top tube, down tube, left chainstay, …), bar, or mount (fork crown, rear axle, …)",
    )
    from_: Name | None = Field(
        default=None,
        alias="from",
        description="tube or point from which along is measured; on the bar: bar end or stem",
    )
    along: Annotated[Figure, _length(-400, 1500, "station.along")] | None = Field(
        default=None, description="mm on the tube's axis from where it meets the axis of the tube named in from"
    )
    clock: Annotated[Figure, Measure("h", 0, 12, "station.clock")] | None = Field(
        default=None,
        description="place round the tube in hours: 3 is the rider's right, 12 the side facing up "
        "(forward on upright tubes); round the bar as seen from the rider's right: 12 up, 3 forward",
    )
    height: Annotated[Figure, _length(0, 60, "station.offset")] | None = Field(
        default=None, description="centre of the line over the tube's surface [mm]"
    )
    facing: Name | None = Field(
        default=None,
        description="end of the tube that the housing goes towards: at a stop from its seat, at a port outside, "
        "at a clip or guide onwards from the lever",
    )
    lean_deg: Annotated[Figure, _angle(-90, 90, "station.lean")] | None = Field(
        default=None, alias="lean", description="angle of the mouth to the tube's axis, outward at the clock [°]"
    )
    skew_deg: Annotated[Figure, _angle(-180, 180, "station.lean")] | None = Field(
        default=None, alias="skew", description="turn of the mouth round the tube [°]"
    )
    part: Name | None = Field(
        default=None, description="brake, derailleur or other moving end here, from the parts catalogue"
    )
    offset: (
        tuple[
            Annotated[Figure, _length(-500, 1500, "station.offset")],
            Annotated[Figure, _length(-500, 1500, "station.offset")],
            Annotated[Figure, _length(-300, 300, "station.offset")],
        ]
        | None
    ) = Field(default=None, description="seat from the mount it is on: forward, up, right [mm]")
    towards: (
        tuple[
            Annotated[Figure, Measure("", -1, 1, "station.direction")],
            Annotated[Figure, Measure("", -1, 1, "station.direction")],
            Annotated[Figure, Measure("", -1, 1, "station.direction")],
        ]
        | None
    ) = Field(default=None, description="direction of the housing from its seat: forward, up, right")
    radius: Annotated[Figure, _length(3, 200)] | None = Field(
        default=None, description="bend radius of a guide or rigid part [mm]"
    )
    turn_deg: Annotated[Figure, _angle(0, 180)] | None = Field(
        default=None, alias="turn", description="turn of a rigid part [°]"
    )
    arc: Annotated[Figure, _length(1, 400)] | None = Field(
        default=None, description="length of the wire's path in a rigid part [mm]"
    )
    hole: Annotated[Figure, _length(2, 30)] | None = Field(
        default=None, description="diameter of a port's passage [mm]"
    )
    then: Literal["loop", "strapped", "bare", "inside", "rigid"] | None = Field(
        default=None, description="how the line goes on to the next station"
    )
    through: tuple[Name, ...] = Field(
        default=(), max_length=8, description="tubes an inside span runs through, in order"
    )
    carries: Literal["housing", "liner"] | None = Field(
        default=None, description="what an inside span carries: full housing, or bare inner in a liner"
    )
    housing: Name | None = Field(default=None, description="housing of the piece that starts here, when not the line's")


class Opening(Strict):
    """An opening that joins two tubes on the inside."""

    between: tuple[Name, Name] = Field(description="the two tubes it joins")
    size: Annotated[Figure, _length(3, 80)] = Field(description="clear width of the opening in side view [mm]")


class Line(Strict):
    """Everything from one lever or shifter to the part it moves."""

    name: Name = Field(description="the line's name, such as rear brake")
    work: Literal["brake", "shift", "dropper", "lockout", "hose"] = Field(description="what the line does")
    lever: Name = Field(description="the lever or shifter it starts at, by its name")
    inner: Name | None = Field(default=None, description="inner, from the parts catalogue; none for a hose")
    housing: Name = Field(description="housing or hose, from the parts catalogue")
    liner: Name | None = Field(
        default=None, description="liner of inside spans with a bare inner, from the parts catalogue"
    )
    station: tuple[Station, ...] = Field(description="its stations, from the lever to the anchor")

    @field_validator("station", mode="before")
    @classmethod
    def _few_enough(cls, given: object) -> object:
        if isinstance(given, list) and len(given) > MOST_STATIONS_A_LINE:
            raise PydanticCustomError(
                "stations",
                "holds {count} stations: a line may have at most {most}",
                {"count": len(given), "most": MOST_STATIONS_A_LINE},
            )
        return given

    @field_validator("station", mode="after")
    @classmethod
    def _start_and_end(cls, stations: tuple[Station, ...]) -> tuple[Station, ...]:
        if len(stations) < 2:
            raise PydanticCustomError(
                "stations",
                "has {count}: a line needs two at least, its lever and its anchor",
                {"count": "1 station" if stations else "no station"},
            )
        _names_apart("station", stations)
        return stations


class Frame(Strict):
    """One bike: chart, tubes, cockpit, levers and lines."""

    format: Literal[1] = Field(description="version of this file format: 1")
    name: Name = Field(description="the bike's name")
    note: Note = Field(default="", description="anything worth knowing about this bike")
    chart: Chart = Field(description="the geometry chart")
    tubes: Tubes = Field(description="the frame's tubes")
    cockpit: Cockpit = Field(description="spacers, stem and bar")
    lever: tuple[Lever, ...] = Field(min_length=1, max_length=12, description="levers and shifters")
    opening: tuple[Opening, ...] = Field(
        default=(), max_length=24, description="openings that join tubes on the inside"
    )
    line: tuple[Line, ...] = Field(min_length=1, max_length=MOST_LINES, description="the lines")

    @model_validator(mode="before")
    @classmethod
    def _small_enough(cls, given: object) -> object:
        if isinstance(given, dict) and isinstance(given.get("line"), list):
            count = sum(
                len(line["station"])
                for line in given["line"]
                if isinstance(line, dict) and isinstance(line.get("station"), list)
            )
            if count > MOST_STATIONS:
                raise PydanticCustomError(
                    "stations",
                    "holds {count} stations: a frame file may have at most {most}",
                    {"count": count, "most": MOST_STATIONS},
                )
        return given

    @field_validator("format", mode="before")
    @classmethod
    def _one_format(cls, given: object) -> object:
        if type(given) is not int or given != 1:
            raise PydanticCustomError("format", "has to be 1, the only format there is so far", {})
        return given

    @field_validator("lever", mode="after")
    @classmethod
    def _levers_apart(cls, levers: tuple[Lever, ...]) -> tuple[Lever, ...]:
        _names_apart("lever", levers)
        return levers

    @field_validator("line", mode="after")
    @classmethod
    def _lines_apart(cls, lines: tuple[Line, ...]) -> tuple[Line, ...]:
        _names_apart("line", lines)
        return lines

    @model_validator(mode="after")
    def _levers_known(self) -> Self:
        known = [lever.name for lever in self.lever]
        for line in self.line:
            if line.lever not in known:
                near = nearest(line.lever, known)
                raise PydanticCustomError(
                    "lever",
                    'line "{line}", lever is "{lever}": {hint}',
                    {
                        "line": line.name,
                        "lever": line.lever,
                        "hint": f'did you mean "{near}"?' if near else f"it has to be {listed(known)}",
                    },
                )
        return self
