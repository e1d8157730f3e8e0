"""The frame file: one bike as a mechanic writes it down, its levers, lines and stations.

Keys are the trade's words; lengths are mm and angles degrees. `ropewalk.bike.reading.read` turns a file into a `Frame`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Literal, Self

from pydantic import Field, StringConstraints, field_validator, model_validator
from pydantic_core import PydanticCustomError

from ropewalk.bike.chart import Chart, Tubes
from ropewalk.bike.cockpit import Cockpit
from ropewalk.bike.figures import Figure, Measure
from ropewalk.bike.wording import listed, nearest
from ropewalk.bike.written import Strict, angle, length

#: most lines, stations a line and stations in all that one frame file may hold
MOST_LINES = 24
MOST_STATIONS_A_LINE = 40
MOST_STATIONS = 240

#: text without characters that would steer a terminal: controls, line separators, changes of direction
PLAIN_TEXT = r"^[^\x00-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069]+$"

Name = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=60, pattern=PLAIN_TEXT)]
Note = Annotated[str, StringConstraints(max_length=2000)]
Side = Literal["left", "right"]


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


class Lever(Strict):
    """A lever or shifter on the bar."""

    name: Name = Field(description="what the lines call it")
    part: Name = Field(description="kind of lever, from the parts catalogue")
    side: Side = Field(description="the rider's side it sits on")
    along: Annotated[Figure, length(0, 700, "cockpit.lever_place")] = Field(
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
    along: Annotated[Figure, length(-400, 1500, "station.along")] | None = Field(
        default=None, description="mm on the tube's axis from where it meets the axis of the tube named in from"
    )
    clock: Annotated[Figure, Measure("h", 0, 12, "station.clock")] | None = Field(
        default=None,
        description="place round the tube in hours: 3 is the rider's right, 12 the side facing up "
        "(forward on upright tubes); round the bar as seen from the rider's right: 12 up, 3 forward",
    )
    height: Annotated[Figure, length(0, 60, "station.offset")] | None = Field(
        default=None, description="centre of the line over the tube's surface [mm]"
    )
    facing: Name | None = Field(
        default=None,
        description="end of the tube that the housing goes towards: at a stop from its seat, at a port outside, "
        "at a clip or guide onwards from the lever",
    )
    lean_deg: Annotated[Figure, angle(-90, 90, "station.lean")] | None = Field(
        default=None, alias="lean", description="angle of the mouth to the tube's axis, outward at the clock [°]"
    )
    skew_deg: Annotated[Figure, angle(-180, 180, "station.lean")] | None = Field(
        default=None, alias="skew", description="turn of the mouth round the tube [°]"
    )
    part: Name | None = Field(
        default=None, description="brake, derailleur or other moving end here, from the parts catalogue"
    )
    offset: (
        tuple[
            Annotated[Figure, length(-500, 1500, "station.offset")],
            Annotated[Figure, length(-500, 1500, "station.offset")],
            Annotated[Figure, length(-300, 300, "station.offset")],
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
    radius: Annotated[Figure, length(3, 200)] | None = Field(
        default=None, description="bend radius of a guide or rigid part [mm]"
    )
    turn_deg: Annotated[Figure, angle(0, 180)] | None = Field(
        default=None, alias="turn", description="turn of a rigid part [°]"
    )
    arc: Annotated[Figure, length(1, 400)] | None = Field(
        default=None, description="length of the wire's path in a rigid part [mm]"
    )
    hole: Annotated[Figure, length(2, 30)] | None = Field(default=None, description="diameter of a port's passage [mm]")
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
    size: Annotated[Figure, length(3, 80)] = Field(description="clear width of the opening in side view [mm]")


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
