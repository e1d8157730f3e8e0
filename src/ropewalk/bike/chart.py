"""The frame file's chart and tubes: what makers publish of a frame, and what a tape measures on it."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, field_validator
from pydantic_core import PydanticCustomError

from ropewalk.bike.figures import Figure
from ropewalk.bike.written import Strict, angle, length


class Chart(Strict):
    """The geometry chart, as makers publish it."""

    stack: Annotated[Figure, length(250, 800, "chart.stack")] = Field(
        description="height of the head tube's upper end over the bottom bracket [mm]"
    )
    reach: Annotated[Figure, length(200, 600, "chart.reach")] = Field(
        description="how far the head tube's upper end lies ahead of the bottom bracket [mm]"
    )
    head_angle_deg: Annotated[Figure, angle(55, 85, "chart.head_angle")] = Field(
        alias="head_angle", description="angle of the steering axis to the ground [°]"
    )
    seat_angle_deg: Annotated[Figure, angle(55, 85, "chart.seat_angle")] = Field(
        alias="seat_angle", description="angle of the seat tube to the ground [°]"
    )
    head_tube: Annotated[Figure, length(60, 320, "chart.head_tube")] = Field(description="length of the head tube [mm]")
    lower_cup: Annotated[Figure, length(0, 30, "chart.lower_cup")] = Field(
        description="height of the lower headset cup below the head tube [mm]; 0 when it is inside"
    )
    fork: Annotated[Figure, length(200, 700, "chart.fork")] = Field(
        description="fork length along the steering axis, from the crown race to the point square to the axle [mm]"
    )
    fork_offset: Annotated[Figure, length(-10, 90, "chart.fork_offset")] = Field(
        description="distance of the front axle ahead of the steering axis, square to it [mm]"
    )
    bb_drop: Annotated[Figure, length(-80, 120, "chart.bb_drop")] = Field(
        description="how far the bottom bracket lies below the rear axle [mm]; negative when above"
    )
    chainstay: Annotated[Figure, length(300, 1000, "chart.chainstay")] = Field(
        description="bottom bracket to rear axle, straight [mm]"
    )
    seat_tube: Annotated[Figure, length(200, 750, "chart.stack")] = Field(
        description="bottom bracket to the seat tube's upper end, along the tube [mm]"
    )
    boom: Annotated[Figure, length(400, 900, "chart.boom")] | None = Field(
        default=None, description="a tandem's boom tube: front to rear bottom bracket, level [mm]"
    )
    wheel: str = Field(
        description="tyre and rim by their ISO 5775 designation: tyre width, a hyphen, bead seat diameter [mm]"
    )
    wheelbase: Annotated[Figure, length(700, 2500)] | None = Field(
        default=None, description="axle to axle, level [mm]; when given, the chart is checked against it"
    )
    trail: Annotated[Figure, length(-20, 200)] | None = Field(
        default=None, description="trail on the ground [mm]; when given, the chart is checked against it"
    )
    front_centre: Annotated[Figure, length(400, 1000)] | None = Field(
        default=None,
        description="bottom bracket to front axle, straight [mm]; when given, the chart is checked against it",
    )
    lock_deg: Annotated[Figure, angle(10, 90)] | None = Field(
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

    diameter: Annotated[Figure, length(10, 80)] = Field(description="outside diameter [mm]")
    wall: Annotated[Figure, length(0.3, 8)] = Field(default=Figure(1.0), description="wall thickness [mm]")


class MainTube(RoundTube):
    """A tube that ends on the head tube."""

    at_head: Annotated[Figure, length(0, 300, "station.along")] = Field(
        description="where its axis meets the head tube's axis: mm from the head tube's nearer end "
        "(top tube: upper, down tube: lower)"
    )


class TopTube(MainTube):
    """The top tube."""

    at_seat: Annotated[Figure, length(50, 740, "station.along")] = Field(
        description="where its axis meets the seat tube's axis: mm up from the bottom bracket"
    )


class Stay(RoundTube):
    """A pair of stays or fork legs, left and right."""

    spread_near: Annotated[Figure, length(0, 80)] = Field(
        description="distance of its axis from the middle plane at the frame's end [mm]"
    )
    spread_axle: Annotated[Figure, length(30, 120)] = Field(
        description="distance of its axis from the middle plane at the axle [mm]"
    )


class SeatStay(Stay):
    """The seat stays."""

    at_seat: Annotated[Figure, length(50, 740, "station.along")] = Field(
        description="where their plane meets the seat tube's axis: mm up from the bottom bracket"
    )


class LowerLeg(RoundTube):
    """The sliding lower legs of a suspension fork, left and right, in line with the upper ones."""

    height: Annotated[Figure, length(100, 450)] = Field(
        description="their upper end over the axle, along the steering axis [mm]"
    )


class RearSeatTube(RoundTube):
    """A tandem's rear seat tube, on the rear bottom bracket at the chart's seat angle."""

    length_: Annotated[Figure, length(200, 750)] = Field(
        alias="length", description="rear bottom bracket to its upper end, along the tube [mm]"
    )


class RearTopTube(RoundTube):
    """A tandem's rear top tube, from seat tube to rear seat tube."""

    at_front: Annotated[Figure, length(50, 740, "station.along")] = Field(
        description="where its axis meets the seat tube's axis: mm up from the front bottom bracket"
    )
    at_rear: Annotated[Figure, length(50, 740, "station.along")] = Field(
        description="where its axis meets the rear seat tube's axis: mm up from the rear bottom bracket"
    )


class Tubes(Strict):
    """The frame's tubes: diameters, walls and where they meet."""

    head_tube: RoundTube = Field(description="the head tube")
    top_tube: TopTube | None = Field(default=None, description="the top tube; none on a frame with a single main tube")
    down_tube: MainTube = Field(description="the down tube")
    seat_tube: RoundTube = Field(description="the seat tube")
    seat_stay: SeatStay = Field(description="the seat stays")
    chainstay: Stay = Field(description="the chainstays")
    fork_leg: Stay = Field(description="the fork legs; of a suspension fork, the upper legs")
    lower_leg: LowerLeg | None = Field(default=None, description="the sliding lower legs of a suspension fork")
    boom_tube: RoundTube | None = Field(default=None, description="a tandem's tube between its bottom brackets")
    rear_seat_tube: RearSeatTube | None = Field(default=None, description="a tandem's rear seat tube")
    rear_top_tube: RearTopTube | None = Field(default=None, description="a tandem's rear top tube")
    shell: RoundTube = Field(
        default=RoundTube(diameter=Figure(40.0), wall=Figure(3.0)), description="the bottom bracket shell"
    )
