"""The frame file: one bike as a mechanic writes it down, its levers, lines and stations.

Keys are the trade's words; lengths are mm and angles degrees. `ropewalk.bike.reading.read` turns a file into a `Frame`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, BeforeValidator, Field, StringConstraints, field_validator, model_validator
from pydantic_core import PydanticCustomError

from ropewalk.bike.chart import Chart, Tubes
from ropewalk.bike.cockpit import Cockpit
from ropewalk.bike.figures import Figure
from ropewalk.bike.movement import Fold, Travel
from ropewalk.bike.station import Obstacle, Opening, Station
from ropewalk.bike.wording import listed, nearest
from ropewalk.bike.written import Name, Strict, length

#: most lines, stations a line and stations in all that one frame file may hold
MOST_LINES = 24
MOST_STATIONS_A_LINE = 40
MOST_STATIONS = 240
#: most options of one line
MOST_OPTIONS = 8
#: what a line's own routing is called when it has no name
AS_WRITTEN = "as written"
#: what an option may change of its line
CHANGES = ("housing", "inner", "liner", "station")

Note = Annotated[str, StringConstraints(max_length=2000)]
Side = Literal["left", "right"]


def _names_apart(kind: str, named: Sequence[Lever | Station | Line | Option]) -> None:
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
    on: Name = Field(
        default="bar", description="what it sits on: bar, extension (of a time-trial bar), or a tube such as down tube"
    )
    along: Annotated[Figure, length(0, 700, "cockpit.lever_place")] = Field(
        description="middle of its clamp: mm along the bar or extension from its end; on a tube, mm from the head tube"
    )


def _few_enough(given: object) -> object:
    if isinstance(given, list) and len(given) > MOST_STATIONS_A_LINE:
        raise PydanticCustomError(
            "stations",
            "holds {count} stations: a line may have at most {most}",
            {"count": len(given), "most": MOST_STATIONS_A_LINE},
        )
    return given


def _start_and_end(stations: tuple[Station, ...]) -> tuple[Station, ...]:
    if len(stations) < 2:
        raise PydanticCustomError(
            "stations",
            "has {count}: a line needs two at least, its lever and its anchor",
            {"count": "1 station" if stations else "no station"},
        )
    _names_apart("station", stations)
    return stations


Stations = Annotated[tuple[Station, ...], BeforeValidator(_few_enough), AfterValidator(_start_and_end)]


class Option(Strict):
    """Another way to route a line: what it changes stands here, all else is as the line has it."""

    name: Name = Field(description="the option's name, such as crossed, or compressionless housing")
    note: Note = Field(default="", description="anything worth knowing about this option")
    inner: Name | None = Field(default=None, description="another inner, from the parts catalogue")
    housing: Name | None = Field(default=None, description="another housing or hose, from the parts catalogue")
    liner: Name | None = Field(default=None, description="another liner, from the parts catalogue")
    station: Stations | None = Field(
        default=None, description="all of its stations, from the line's own lever to the anchor"
    )

    @model_validator(mode="after")
    def _changes_something(self) -> Self:
        if all(getattr(self, name) is None for name in CHANGES):
            raise PydanticCustomError(
                "options", "changes nothing: write {changes}, whichever is other", {"changes": listed(CHANGES)}
            )
        return self


class Line(Strict):
    """Everything from one lever or shifter to the part it moves."""

    name: Name = Field(description="the line's name, such as rear brake")
    work: Literal["brake", "shift", "dropper", "lockout", "hose"] = Field(description="what the line does")
    lever: Name = Field(description="the lever or shifter it starts at, by its name")
    inner: Name | None = Field(default=None, description="inner, from the parts catalogue; none for a hose")
    housing: Name = Field(description="housing or hose, from the parts catalogue")
    indexing: Name | None = Field(
        default=None, description="the shifter's steps, from the parts catalogue, such as 9 speed, short step"
    )
    liner: Name | None = Field(
        default=None, description="liner of inside spans with a bare inner, from the parts catalogue"
    )
    routing: Name = Field(default=AS_WRITTEN, description="what this routing is called beside the line's options")
    station: Stations = Field(description="its stations, from the lever to the anchor")
    option: tuple[Option, ...] = Field(
        default=(), max_length=MOST_OPTIONS, description="other ways to route this line, to compare with this one"
    )

    @field_validator("option", mode="after")
    @classmethod
    def _options_apart(cls, options: tuple[Option, ...]) -> tuple[Option, ...]:
        _names_apart("option", options)
        return options

    @model_validator(mode="after")
    def _options_fit(self) -> Self:
        for number, option in enumerate(self.option, start=1):
            if option.name == self.routing:
                raise PydanticCustomError(
                    "options",
                    'has the name "{name}" for its own routing and for option {number}: give each its own',
                    {"name": option.name, "number": number},
                )
            if option.station is not None and option.station[0].name != self.station[0].name:
                raise PydanticCustomError(
                    "options",
                    'has an option "{option}" that starts at "{start}": start it at the line\'s own lever, "{lever}"',
                    {"option": option.name, "start": option.station[0].name, "lever": self.station[0].name},
                )
        return self


def _stations_given(line: object) -> Iterator[list[object]]:
    """Return the lists of stations of a line and its options, whatever a file holds in their place."""
    if not isinstance(line, dict):
        return
    options = line.get("option")
    for entry in (line, *(options if isinstance(options, list) else ())):
        if isinstance(entry, dict) and isinstance(entry.get("station"), list):
            yield entry["station"]


class Frame(Strict):
    """One bike: chart, tubes, cockpit, levers and lines."""

    format: Literal[1] = Field(description="version of this file format: 1")
    name: Name = Field(description="the bike's name")
    note: Note = Field(default="", description="anything worth knowing about this bike")
    chart: Chart = Field(description="the geometry chart")
    tubes: Tubes = Field(description="the frame's tubes")
    cockpit: Cockpit = Field(description="spacers, stem and bar")
    lever: tuple[Lever, ...] = Field(min_length=1, max_length=12, description="levers and shifters")
    travel: Travel = Field(default=Travel(), description="suspension and dropper post")
    fold: tuple[Fold, ...] = Field(default=(), max_length=2, description="folding hinges; they open and shut together")
    obstacle: tuple[Obstacle, ...] = Field(
        default=(), max_length=24, description="things inside tubes that lines have to pass"
    )
    opening: tuple[Opening, ...] = Field(
        default=(), max_length=24, description="openings that join tubes on the inside"
    )
    line: tuple[Line, ...] = Field(min_length=1, max_length=MOST_LINES, description="the lines")

    @model_validator(mode="before")
    @classmethod
    def _small_enough(cls, given: object) -> object:
        if isinstance(given, dict) and isinstance(given.get("line"), list):
            count = sum(len(stations) for line in given["line"] for stations in _stations_given(line))
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
