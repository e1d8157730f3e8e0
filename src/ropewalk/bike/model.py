"""The whole bike: everything that the routing of lines needs to know about one frame file's geometry."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ropewalk.bike.bars import BarCurve, bar_curve, extension_curve
from ropewalk.bike.framefile import Frame, Lever
from ropewalk.bike.joints import mechanism
from ropewalk.bike.mechanism import Mechanism
from ropewalk.bike.mounts import Mount, mounts
from ropewalk.bike.skeleton import Skeleton, skeleton
from ropewalk.bike.tube import Tube
from ropewalk.bike.tubes import tubes
from ropewalk.bike.vectors import Vector, cross, unit, vector
from ropewalk.errors import FrameFileError


@dataclass(frozen=True, slots=True, eq=False)
class Bike:
    """One bike's geometry, standing straight ahead."""

    frame: Frame
    skeleton: Skeleton
    tubes: Mapping[str, Tube]
    #: the bar's halves by side, in axes with their origin at `skeleton.bar_clamp`
    bars: Mapping[str, BarCurve]
    mechanism: Mechanism
    mounts: Mapping[str, Mount]
    #: a time-trial bar's extensions by side, in the bar's axes; None where it has none
    extensions: Mapping[str, BarCurve] | None = None

    def curve(self, on: str, side: str) -> BarCurve | None:
        """Return half the bar or an extension, whichever is named, on a side; None where there is none."""
        if on == "bar":
            return self.bars[side]
        return self.extensions[side] if on == "extension" and self.extensions is not None else None


@dataclass(frozen=True, slots=True, eq=False)
class LeverClamp:
    """Axes at the middle of a lever's clamp, in the bike's axes as it stands straight ahead."""

    body: str
    #: middle of the bar under the clamp, or the wall of a tube where the lever's boss is, (3,) [mm]
    origin: Vector
    #: along the bar towards the stem; square to it away from the rider; square to both: unit vectors, (3,)
    inward: Vector
    forward: Vector
    up: Vector

    def place(self, inward: float, forward: float, up: float) -> Vector:
        """Return the point so far inward, forward and up of the clamp [mm], (3,)."""
        return self.origin + self.direction(inward, forward, up)

    def direction(self, inward: float, forward: float, up: float) -> Vector:
        """Return a direction told in the clamp's axes, in the bike's, (3,); its length is kept."""
        return inward * self.inward + forward * self.forward + up * self.up


def build(frame: Frame) -> Bike:
    """Build a bike's geometry from its frame file.

    Parameters
    ----------
    frame : Frame
        The frame file. Nothing is checked here that can be built all the same:
        `ropewalk.bike.closure.check_chart` says whether the chart agrees with itself.

    Returns
    -------
    Bike
        Skeleton, tubes, bar, mechanism and mounts.
    """
    bones = skeleton(frame)
    laid = tubes(frame, bones)
    right, extension = bar_curve(frame.cockpit.bar, "right"), extension_curve(frame.cockpit.bar, "right")
    return Bike(
        frame=frame,
        skeleton=bones,
        tubes=laid,
        bars={"left": right.mirrored(), "right": right},
        mechanism=mechanism(frame, bones, laid),
        mounts=mounts(frame, bones, laid),
        extensions=None if extension is None else {"left": extension.mirrored(), "right": extension},
    )


def lever_clamp(bike: Bike, lever: Lever, *, beyond: float = 0.0) -> LeverClamp:
    """Return the axes at a lever's clamp on the bar, an extension or a tube.

    Parameters
    ----------
    bike : Bike
        The bike.
    lever : Lever
        A lever of its frame file.
    beyond : float
        How far past the bar's or tube's end it may sit [mm]; leave it 0 to check what somebody wrote.

    Returns
    -------
    LeverClamp
        On the bar's body, or on the tube's. On tops and on flat and swept bars `forward` is level and `up` square to
        it; on the ramps, hooks and drops of a drop bar `forward` is the outside of the curve and `up` the side away
        from the middle plane, as a lever of a flat bar would lie that is pushed along the bar into the hook. On
        extensions and on a base bar's grips, which point ahead, `forward` is the side of the middle plane.

    Raises
    ------
    FrameFileError
        When the lever sits beyond the bar's or tube's end, or on what it cannot sit on.
    """
    curve = bike.curve(lever.on, lever.side)
    if curve is None:
        return _on_tube(bike, lever, beyond)
    point, inward, twelve, three = curve.cross_at(lever.along, beyond=beyond)
    outward = np.negative(inward)
    hand = 1.0 if lever.side == "right" else -1.0
    if curve.shape == "drop" and abs(outward[2]) < 0.7:
        forward, up = twelve, np.negative(three)
    else:
        # square to plumb and bar; y × outward points forward on the right half
        forward = unit(vector(hand * outward[2], 0.0, -hand * outward[0]))
        up = hand * cross(outward, forward)
    return LeverClamp("bar", bike.skeleton.bar_clamp + point, inward, forward, up)


def _on_tube(bike: Bike, lever: Lever, beyond: float) -> LeverClamp:
    """Return axes on the side of a tube: `inward` away from the head tube, `up` out of the wall, `forward` at 12."""
    fitting = [name for name, tube in bike.tubes.items() if "head tube" in tube.joins]
    if lever.on not in fitting:
        places = ["bar", *(["extension"] if bike.extensions else []), *fitting]
        raise FrameFileError(f'on is "{lever.on}": a lever sits on one of {", ".join(places)}; write where it is')
    tube = bike.tubes[lever.on]
    on_axis = tube.place(float(lever.along), "head tube", beyond=beyond)
    inward = np.negative(tube.towards("head tube"))
    outward = tube.radial(3.0 if lever.side == "right" else 9.0)
    return LeverClamp(
        tube.body_at(on_axis), on_axis + tube.diameter / 2.0 * outward, inward, tube.radial(12.0), outward
    )
