"""The frame file's stations, and what joins or blocks the tubes that lines run through."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from ropewalk.bike.figures import Figure, Measure
from ropewalk.bike.written import Name, Strict, angle, length


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
        description="tube (top tube, down tube, left chainstay, …), bar, extension, or mount "
        "(fork crown, rear axle, …)",
    )
    from_: Name | None = Field(
        default=None,
        alias="from",
        description="tube or point from which along is measured; on the bar: bar end or stem; "
        "on an extension: extension end or stem",
    )
    along: Annotated[Figure, length(-400, 1500, "station.along")] | None = Field(
        default=None, description="mm on the tube's axis from where it meets the axis of the tube named in from"
    )
    clock: Annotated[Figure, Measure("h", 0, 12, "station.clock")] | None = Field(
        default=None,
        description="place round the tube in hours: 3 is the rider's right, 12 the side facing up "
        "(forward on upright tubes); round the bar at the stem: 12 up, 3 forward; where the bar or an extension "
        "points ahead: 12 up, 3 towards the middle",
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
        default=None, description="bend radius of a guide, a rigid part or a formed guide tube inside [mm]"
    )
    turn_deg: Annotated[Figure, angle(0, 180)] | None = Field(
        default=None, alias="turn", description="turn of a rigid part or a formed guide tube inside [°]"
    )
    arc: Annotated[Figure, length(1, 1600)] | None = Field(
        default=None, description="length of the wire's path in a rigid part, or of a formed guide tube inside [mm]"
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
    slides: bool = Field(
        default=False, description="true where housing slides through a clip or port instead of being held"
    )
    sleeve: Name | None = Field(
        default=None, description="anti-rattle sleeve over the housing of an inside span, from the parts catalogue"
    )
    inline: Name | None = Field(
        default=None,
        description="adjuster or splitter that takes the place of housing in the piece that starts here, "
        "from the parts catalogue",
    )
    inline_at: Annotated[Figure, length(20, 3000)] | None = Field(
        default=None, description="length of the housing from this station to the adjuster or splitter [mm]"
    )
    drag: Annotated[Figure, Measure("N", 0, 30)] | None = Field(
        default=None, description="what a seal or boot here holds the wire back by [N]"
    )
    setting: Annotated[Figure, length(5, 400, "station.along")] | None = Field(
        default=None,
        description="exact length of bare inner from the last stop's seat to its anchor, as a hub gear asks",
    )


class Opening(Strict):
    """An opening that joins two tubes on the inside."""

    between: tuple[Name, Name] = Field(description="the two tubes it joins")
    size: Annotated[Figure, length(3, 80)] = Field(description="clear width of the opening in side view [mm]")


class Obstacle(Strict):
    """A thing inside a tube that a line has to pass: a bottle boss, a shock mount, a bolt."""

    name: Name = Field(description="what messages call it")
    inside: Name = Field(description="the tube it stands in")
    from_: Name = Field(alias="from", description="tube or point from which along is measured")
    along: Annotated[Figure, length(-400, 1500)] = Field(description="its middle: mm on the tube's axis from there")
    wall: Literal["upper", "lower", "middle"] = Field(
        description="the wall it stands on in side view (upper: towards 12 o'clock), or the tube's middle"
    )
    depth: Annotated[Figure, length(1, 80)] = Field(
        description="how far it stands in from the wall; its width in side view when in the middle [mm]"
    )
    length_: Annotated[Figure, length(1, 300)] = Field(alias="length", description="its length along the tube [mm]")
