"""The frame file's moving parts besides the bars: suspension, dropper post, folding hinges."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from ropewalk.bike.figures import Figure, Measure
from ropewalk.bike.written import Name, Strict, angle, length


class Travel(Strict):
    """What slides or swings on its springs, and the dropper post."""

    fork: Annotated[Figure, length(10, 250)] | None = Field(
        default=None,
        description="how far the lower legs slide up from top-out, as the chart shows it, to bottom-out [mm]",
    )
    rear: Annotated[Figure, length(10, 300)] | None = Field(
        default=None, description="how far the rear axle rises from top-out, as the chart shows it, to bottom-out [mm]"
    )
    pivot: (
        tuple[
            Annotated[Figure, length(-400, 400, "station.offset")],
            Annotated[Figure, length(-200, 500, "station.offset")],
        ]
        | None
    ) = Field(default=None, description="pivot of the swing arm from the bottom bracket: forward, up [mm]")
    post: Annotated[Figure, length(10, 300)] | None = Field(
        default=None, description="how far the dropper post's upper part sinks [mm]"
    )


class Fold(Strict):
    """A folding hinge."""

    moves: Literal["front half", "bar"] = Field(
        description="what it folds: the frame's front half with fork and bar, or the bar with its post"
    )
    on: Name = Field(description="the tube it sits in: a frame tube for the front half, the steerer for the bar")
    from_: Name = Field(alias="from", description="tube or point from which along is measured")
    along: Annotated[Figure, length(-400, 1500, "station.along")] = Field(
        description="the hinge: mm on the tube's axis from there"
    )
    aside: Annotated[Figure, length(-80, 80, "station.offset")] = Field(
        default=Figure(0), description="the hinge pin to the rider's right of the middle plane [mm]"
    )
    axis: tuple[
        Annotated[Figure, Measure("", -1, 1)],
        Annotated[Figure, Measure("", -1, 1)],
        Annotated[Figure, Measure("", -1, 1)],
    ] = Field(description="direction of the hinge pin: forward, up, right")
    turn_deg: Annotated[Figure, angle(-180, 180)] = Field(
        alias="turn",
        description="from open to shut [°]: right-handed about the pin, so positive about a pin pointing up folds "
        "the front to the rider's left",
    )
    steer_deg: Annotated[Figure, angle(-90, 90)] = Field(
        default=Figure(0), alias="steer", description="where the bars point while it is folded [°]"
    )
