"""The whole bike: everything that the routing of lines needs to know about one frame file's geometry."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ropewalk.bike.bars import BarCurve, bar_curve
from ropewalk.bike.framefile import Frame, Lever
from ropewalk.bike.joints import mechanism
from ropewalk.bike.mechanism import Mechanism
from ropewalk.bike.mounts import Mount, mounts
from ropewalk.bike.skeleton import Skeleton, skeleton
from ropewalk.bike.tubes import Tube, tubes
from ropewalk.bike.vectors import Vector, cross, unit, vector


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


@dataclass(frozen=True, slots=True, eq=False)
class LeverClamp:
    """Axes at the middle of a lever's clamp, in the bike's axes as it stands straight ahead."""

    body: str
    #: middle of the bar under the clamp, (3,) [mm]
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
    right = bar_curve(frame.cockpit.bar, "right")
    return Bike(
        frame=frame,
        skeleton=bones,
        tubes=laid,
        bars={"left": right.mirrored(), "right": right},
        mechanism=mechanism(frame, bones, laid),
        mounts=mounts(frame, bones, laid),
    )


def lever_clamp(bike: Bike, lever: Lever, *, beyond: float = 0.0) -> LeverClamp:
    """Return the axes at a lever's clamp on the bar.

    Parameters
    ----------
    bike : Bike
        The bike.
    lever : Lever
        A lever of its frame file.
    beyond : float
        How far past the bar's end it may sit [mm]; leave it 0 to check what somebody wrote.

    Returns
    -------
    LeverClamp
        On the bar's body. On tops and on flat and swept bars `forward` is level and `up` square to it; on the ramps,
        hooks and drops of a drop bar `forward` is the outside of the curve and `up` the side away from the middle
        plane, as a lever of a flat bar would lie that is pushed along the bar into the hook.

    Raises
    ------
    FrameFileError
        When the lever sits beyond the bar's end.
    """
    curve = bike.bars[lever.side]
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
