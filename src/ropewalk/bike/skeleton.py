"""The skeleton: the joints of a bike's side view, worked out from its geometry chart.

Origin at the bottom bracket's centre, x forward, y up, z to the rider's right [mm].
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ropewalk.bike.framefile import Frame
from ropewalk.bike.vectors import Vector, vector
from ropewalk.errors import ChartError


@dataclass(frozen=True, slots=True)
class Wheel:
    """A tyre on its rim, as ISO 5775 names it.

    Examples
    --------
    >>> wheel("32-597").radius * 2
    661.0
    """

    #: nominal width of the tyre [mm]
    tyre_width: float
    #: radius of the bead seat [mm]
    bead_radius: float

    @property
    def radius(self) -> float:
        """Outside radius of the tyre [mm]: the tyre stands as high over its bead seat as it is wide."""
        return self.bead_radius + self.tyre_width


@dataclass(frozen=True, slots=True, eq=False)
class Skeleton:
    """Points, axis and figures of the side view; every point (3,) [mm]."""

    bottom_bracket: Vector
    #: a tandem's rear one; the bottom bracket itself on other bikes
    rear_bottom_bracket: Vector
    head_top: Vector
    head_bottom: Vector
    #: seat of the crown race: the head tube's lower end less the lower cup, on the steering axis
    crown: Vector
    front_axle: Vector
    rear_axle: Vector
    seat_top: Vector
    #: middle of the stem's clamp, on the steering axis
    stem_point: Vector
    #: upper end of the stem's clamp, on the steering axis
    steerer_top: Vector
    #: middle of the bar in the stem
    bar_clamp: Vector
    #: a point of the steering axis: the head tube's upper end
    steering_axis_point: Vector
    #: unit vector along the steering axis, down
    steering_axis: Vector
    #: unit vector square to the steering axis, forward
    steering_square: Vector
    wheel_radius: float
    tyre_width: float
    bead_radius: float
    #: axle to axle, level [mm]
    wheelbase: float
    #: how far the front tyre touches the ground behind the steering axis [mm]
    trail: float
    #: (front) bottom bracket to front axle, straight [mm]
    front_centre: float
    #: height of the ground under the rear wheel, from the bottom bracket [mm]
    ground: float


def wheel(designation: str) -> Wheel:
    """Read an ISO 5775 designation.

    Parameters
    ----------
    designation : str
        Tyre width, a hyphen and bead seat diameter [mm], such as "37-622".

    Returns
    -------
    Wheel
        Tyre width and bead seat radius [mm].
    """
    width, _, bead = designation.partition("-")
    return Wheel(float(width), float(bead) / 2.0)


def trail(head_angle: float, fork_offset: float, wheel_radius: float) -> float:
    """Return the trail on the ground [mm].

    Parameters
    ----------
    head_angle : float
        Angle of the steering axis to the ground [rad].
    fork_offset : float
        Distance of the front axle ahead of the steering axis, square to it [mm].
    wheel_radius : float
        Outside radius of the front wheel [mm].

    Notes
    -----
    (r cos HTA − offset) / sin HTA, for a bike standing level.

    Examples
    --------
    >>> round(trail(math.radians(71.5), 50.0, 350.0))
    64
    """
    return (wheel_radius * math.cos(head_angle) - fork_offset) / math.sin(head_angle)


def rear_reach(chainstay: float, bb_drop: float) -> float:
    """Return how far the rear axle lies behind the bottom bracket, level [mm].

    Raises
    ------
    ChartError
        When the chainstay is no longer than the drop.
    """
    if chainstay <= abs(bb_drop):
        raise ChartError(
            f"chart.chainstay is {chainstay:g} mm: it has to be longer than bb_drop, {bb_drop:g} mm; measure both again"
        )
    return math.sqrt(chainstay * chainstay - bb_drop * bb_drop)


def skeleton(frame: Frame) -> Skeleton:
    """Work out the skeleton of a frame's side view.

    Parameters
    ----------
    frame : Frame
        The frame file; its chart and its cockpit's stem are used.

    Returns
    -------
    Skeleton
        All points in the bike's axes [mm].

    Notes
    -----
    The head tube stands at `reach` and `stack`; all before it hangs on the steering axis, so the front axle's height
    follows from the fork. Whether it agrees with `bb_drop` is for `ropewalk.bike.closure.check_chart` to say.
    """
    chart, cockpit = frame.chart, frame.cockpit
    head_angle, seat_angle = math.radians(chart.head_angle_deg), math.radians(chart.seat_angle_deg)
    cos, sin = math.cos(head_angle), math.sin(head_angle)
    reach, stack = float(chart.reach), float(chart.stack)
    tyre = wheel(chart.wheel)

    def on_axis(down: float, ahead: float = 0.0) -> tuple[float, float]:
        """Return the point `down` the steering axis from the head tube's top and `ahead` square to it."""
        return reach + down * cos + ahead * sin, stack - down * sin + ahead * cos

    crown_down = chart.head_tube + chart.lower_cup
    stem_up = cockpit.upper_cup + cockpit.post + cockpit.spacers + cockpit.stem_clamp / 2.0
    stem_angle = math.radians(cockpit.stem_angle_deg)
    front_x, front_y = on_axis(crown_down + chart.fork, chart.fork_offset)
    boom = float(chart.boom or 0.0)
    rear_x = -boom - rear_reach(chart.chainstay, chart.bb_drop)
    stem_ahead, stem_rise = cockpit.stem * math.cos(stem_angle), cockpit.stem * math.sin(stem_angle)
    head_top = vector(reach, stack, 0.0)
    return Skeleton(
        bottom_bracket=vector(0.0, 0.0, 0.0),
        rear_bottom_bracket=vector(-boom, 0.0, 0.0),
        head_top=head_top,
        head_bottom=vector(*on_axis(chart.head_tube), 0.0),
        crown=vector(*on_axis(crown_down), 0.0),
        front_axle=vector(front_x, front_y, 0.0),
        rear_axle=vector(rear_x, chart.bb_drop, 0.0),
        seat_top=vector(-chart.seat_tube * math.cos(seat_angle), chart.seat_tube * math.sin(seat_angle), 0.0),
        stem_point=vector(*on_axis(-stem_up), 0.0),
        steerer_top=vector(*on_axis(-stem_up - cockpit.stem_clamp / 2.0), 0.0),
        bar_clamp=vector(*on_axis(-stem_up - stem_rise, stem_ahead), 0.0),
        steering_axis_point=head_top,
        steering_axis=vector(cos, -sin, 0.0),
        steering_square=vector(sin, cos, 0.0),
        wheel_radius=tyre.radius,
        tyre_width=tyre.tyre_width,
        bead_radius=tyre.bead_radius,
        wheelbase=front_x - rear_x,
        trail=trail(head_angle, chart.fork_offset, tyre.radius),
        front_centre=math.hypot(front_x, front_y),
        ground=chart.bb_drop - tyre.radius,
    )
