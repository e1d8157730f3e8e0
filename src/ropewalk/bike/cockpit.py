"""The frame file's cockpit: spacers, stem and bar."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from ropewalk.bike.figures import Figure
from ropewalk.bike.written import Strict, angle, length


class DropBar(Strict):
    """A drop bar."""

    shape: Literal["drop"] = Field(description="the bar's shape")
    width: Annotated[Figure, length(300, 600, "cockpit.bar_length")] = Field(
        description="centre to centre at the hoods [mm]"
    )
    reach: Annotated[Figure, length(40, 120, "cockpit.bar_length")] = Field(
        description="how far the hooks reach ahead of the tops [mm]"
    )
    drop: Annotated[Figure, length(80, 180, "cockpit.bar_length")] = Field(
        description="tops to drops, centre to centre [mm]"
    )
    flare_deg: Annotated[Figure, angle(0, 40)] = Field(
        default=Figure(0), alias="flare", description="how far the drops splay outwards [°]"
    )
    diameter: Annotated[Figure, length(20, 36)] = Field(
        default=Figure(23.8), description="outside diameter where the levers sit [mm]"
    )
    roll_deg: Annotated[Figure, angle(-30, 30, "cockpit.bar_turn")] = Field(
        default=Figure(0), alias="roll", description="bar turned up in its clamp [°]"
    )


class FlatBar(Strict):
    """A flat or riser bar."""

    shape: Literal["flat", "riser"] = Field(description="the bar's shape")
    width: Annotated[Figure, length(450, 900, "cockpit.bar_length")] = Field(description="end to end [mm]")
    backsweep_deg: Annotated[Figure, angle(0, 30)] = Field(
        default=Figure(7), alias="backsweep", description="how far the grips point back [°]"
    )
    upsweep_deg: Annotated[Figure, angle(0, 15)] = Field(
        default=Figure(4), alias="upsweep", description="how far the grips point up [°]"
    )
    rise: Annotated[Figure, length(0, 120)] = Field(default=Figure(0), description="grips above the clamp [mm]")
    diameter: Annotated[Figure, length(20, 36)] = Field(
        default=Figure(22.2), description="outside diameter where the levers sit [mm]"
    )
    roll_deg: Annotated[Figure, angle(-30, 30, "cockpit.bar_turn")] = Field(
        default=Figure(0), alias="roll", description="bar turned up in its clamp [°]"
    )


class SweptBar(Strict):
    """A swept city bar."""

    shape: Literal["swept"] = Field(description="the bar's shape")
    width: Annotated[Figure, length(450, 800, "cockpit.bar_length")] = Field(description="end to end [mm]")
    backsweep_deg: Annotated[Figure, angle(20, 90)] = Field(
        alias="backsweep", description="how far the grips point back [°]"
    )
    grip: Annotated[Figure, length(100, 250)] = Field(
        default=Figure(150), description="length of the straight grip part [mm]"
    )
    reach: Annotated[Figure, length(0, 120)] = Field(
        default=Figure(30), description="how far the bar first runs ahead of the clamp [mm]"
    )
    rise: Annotated[Figure, length(-40, 150)] = Field(default=Figure(40), description="grips above the clamp [mm]")
    diameter: Annotated[Figure, length(20, 36)] = Field(
        default=Figure(22.2), description="outside diameter where the levers sit [mm]"
    )
    roll_deg: Annotated[Figure, angle(-30, 30, "cockpit.bar_turn")] = Field(
        default=Figure(0), alias="roll", description="bar turned up in its clamp [°]"
    )


class Extensions(Strict):
    """The pair of extensions on a time-trial base bar."""

    bend: Literal["straight", "ski", "S"] = Field(
        description="straight, ski (turns up at its end) or S (rises, and runs on level)"
    )
    spread: Annotated[Figure, length(60, 300, "cockpit.bar_length")] = Field(
        description="centre to centre of the two at their clamps [mm]"
    )
    length_: Annotated[Figure, length(150, 450, "cockpit.bar_length")] = Field(
        alias="length", description="how far they reach ahead of the base bar's clamp [mm]"
    )
    rise: Annotated[Figure, length(-60, 140, "cockpit.bar_length")] = Field(
        default=Figure(0), description="their ends above their clamps [mm]"
    )
    height: Annotated[Figure, length(0, 140, "cockpit.bar_length")] = Field(
        default=Figure(45), description="their centres above the base bar's at the clamps [mm]"
    )
    behind: Annotated[Figure, length(0, 120, "cockpit.bar_length")] = Field(
        default=Figure(30), description="how far they stick out behind their clamps [mm]"
    )
    diameter: Annotated[Figure, length(18, 30)] = Field(default=Figure(22.2), description="outside diameter [mm]")


class BaseBar(Strict):
    """A time-trial base bar with grips that point forward, and extensions on it."""

    shape: Literal["base"] = Field(description="the bar's shape")
    width: Annotated[Figure, length(300, 500, "cockpit.bar_length")] = Field(
        description="centre to centre of the grips [mm]"
    )
    reach: Annotated[Figure, length(90, 220, "cockpit.bar_length")] = Field(
        description="how far the grips reach ahead of the clamp [mm]"
    )
    rise: Annotated[Figure, length(-80, 60, "cockpit.bar_length")] = Field(
        default=Figure(0), description="grips above the clamp [mm]; negative when they drop"
    )
    diameter: Annotated[Figure, length(20, 36)] = Field(
        default=Figure(22.2), description="outside diameter where the levers sit [mm]"
    )
    roll_deg: Annotated[Figure, angle(-30, 30, "cockpit.bar_turn")] = Field(
        default=Figure(0), alias="roll", description="bar turned up in its clamp, extensions with it [°]"
    )
    extensions: Extensions | None = Field(default=None, description="its extensions, if it has any")


Bar = Annotated[DropBar | FlatBar | SweptBar | BaseBar, Field(discriminator="shape")]


class Cockpit(Strict):
    """What sits on the steerer: spacers, stem and bar."""

    spacers: Annotated[Figure, length(0, 120, "cockpit.spacers")] = Field(
        default=Figure(0), description="spacers under the stem [mm]"
    )
    post: Annotated[Figure, length(0, 450, "cockpit.spacers")] = Field(
        default=Figure(0),
        description="height of a tall post between headset and stem clamp, along the steering axis [mm]",
    )
    upper_cup: Annotated[Figure, length(0, 40, "chart.lower_cup")] = Field(
        default=Figure(12), description="height of the upper headset cup and its cover over the head tube [mm]"
    )
    stem: Annotated[Figure, length(0, 160, "cockpit.stem_length")] = Field(
        description="stem length, steerer centre to bar centre [mm]"
    )
    stem_angle_deg: Annotated[Figure, angle(-35, 60, "cockpit.stem_angle")] = Field(
        alias="stem_angle", description="stem's rise over the square to the steerer [°]; negative when it points down"
    )
    stem_clamp: Annotated[Figure, length(25, 60)] = Field(
        default=Figure(40), description="height of the stem's clamp on the steerer [mm]"
    )
    bar: Bar = Field(description="the bar")
