"""Poses of a drawing: where each body of the bike is, and the pose in words."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from ropewalk.bike.mechanism import BODIES, Placement
from ropewalk.bike.model import Bike
from ropewalk.bike.poses import STEER, pose_of, pose_words
from ropewalk.units import degrees

#: values of the coordinates that move, by name [rad, mm]; those left out are 0
Pose = Mapping[str, float]
#: straight ahead, unladen, unfolded, the post up
STRAIGHT: Pose = MappingProxyType({})


def placements(bike: Bike, pose: Pose) -> dict[str, Placement]:
    """Return where every body of a bike is in a pose."""
    values = pose_of(pose)[None]
    return {body: bike.mechanism.at(body, values) for body in BODIES}


def shown_words(pose: Pose) -> str:
    """Return a pose in the words of a drawing.

    Examples
    --------
    >>> import math
    >>> shown_words({}), shown_words({"steer": math.radians(-40.0), "fork": 120.0})
    ('bars straight ahead', 'bars turned 40° to the left, fork 120 mm in')
    """
    values = pose_of(pose)
    angle = degrees(float(values[STEER]))
    words = ["bars straight ahead"]
    if abs(angle) >= 0.05:
        shown = f"{abs(angle):.1f}".removesuffix(".0")
        words = [f"bars turned {shown}° to the {'right' if angle > 0 else 'left'}"]
    values[STEER] = 0.0
    others = pose_words(values)
    return ", ".join(words if others == pose_words(pose_of(STRAIGHT)) else [*words, others])
