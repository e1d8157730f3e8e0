"""The side view: the bike from the rider's right in a pose, with every line in place."""

from __future__ import annotations

import numpy as np

from ropewalk.bike.model import Bike
from ropewalk.bike.poses import poses
from ropewalk.drawing.bikeview import bike_shapes
from ropewalk.drawing.lineshapes import by_depth, part_marks, span_shape, station_marks, tags_wanted
from ropewalk.drawing.posing import Pose, placements
from ropewalk.drawing.scene import Box, View, bounds
from ropewalk.drawing.silhouettes import circle, from_the_right
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.posed import posed_lines

NAME = "side"
#: free room about the bike [mm]
ROOM = 25.0
#: how far levers stand out from the bar, upwards and forward [mm]
LEVER_UP, LEVER_OUT = 35.0, 75.0
_ACROSS = np.array([0.0, 0.0, 1.0])


def side_view(job: JobPlan, pose: Pose, *, steady: bool = False) -> View:
    """Return the bike from the rider's right.

    Parameters
    ----------
    job : JobPlan
    pose : mapping of str to float
        Steering angle, positive to the rider's right, and what else moves [rad, mm].
    steady : bool
        Whether the box about it has room for every steering angle, so that the scale stays while the bars turn.

    Returns
    -------
    View
        Its points are x and y of the bike's axes [mm].

    Raises
    ------
    ChoiceError
        When the bike does not move so, or not so far.
    """
    posed = posed_lines(job, pose)
    bike = job.model
    travel = {name: value for name, value in pose.items() if name not in ("steer", "fold")}
    spans = by_depth(((place, span) for place, line in enumerate(posed) for span in line.spans), axis=2)
    lines = tuple(span_shape(job, place, span, from_the_right) for place, span in spans)
    backdrop = tuple(bike_shapes(job, placements(bike, pose), placements(bike, travel)))
    return View(
        NAME,
        backdrop,
        lines,
        (*station_marks(posed, from_the_right), *part_marks(job, posed, from_the_right)),
        tuple(tags_wanted(job, posed, spans, from_the_right)),
        _room(bounds((*backdrop, *lines)), _swept(bike) if steady else None),
    )


def _room(now: Box, ever: Box | None) -> Box:
    """Return the box about what is seen, and about what may be seen as the bars turn."""
    if ever is None:
        return Box(now.left - ROOM, now.bottom - ROOM / 2.0, now.right + ROOM, now.top + ROOM)
    left, right = min(now.left, ever.left - ROOM), max(now.right, ever.right + ROOM)
    return Box(left, now.bottom - ROOM / 2.0, right, max(now.top + ROOM / 2.0, ever.top + ROOM))


def _swept(bike: Bike) -> Box:
    """Return the box about bar, levers and wheels at every steering angle."""
    bones = bike.skeleton
    sweep = poses(bike.frame)
    turned = {"steer": np.linspace(-sweep.lock, sweep.lock, 25)}
    ring = circle(bones.front_axle, _ACROSS, bones.wheel_radius)
    wheel = bike.mechanism.placement(bike.mounts["front axle"].body, turned).points(ring)
    curves = [*bike.bars.values(), *(bike.extensions or {}).values()]
    bar = bike.mechanism.placement("bar", turned).points(
        np.concatenate([curve.points() + bones.bar_clamp for curve in curves])
    )
    rear = float(bones.rear_axle[0]) - bones.wheel_radius
    seen = np.concatenate([wheel.reshape(-1, 3), bar.reshape(-1, 3)])
    right = max(float(seen[:, 0].max()), float(bar[..., 0].max()) + LEVER_OUT)
    return Box(rear, bones.ground, right, float(bar[..., 1].max()) + LEVER_UP)
