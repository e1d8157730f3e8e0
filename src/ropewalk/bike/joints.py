"""The joints of a bike: steering, fork travel, swing arm, folding hinges, dropper post."""

from __future__ import annotations

import math
from collections.abc import Mapping

from ropewalk.bike.framefile import Frame
from ropewalk.bike.mechanism import ROOT, Joint, Mechanism
from ropewalk.bike.movement import Fold
from ropewalk.bike.skeleton import Skeleton
from ropewalk.bike.tube import Tube
from ropewalk.bike.vectors import unit, vector


def mechanism(frame: Frame, skeleton: Skeleton, tubes: Mapping[str, Tube]) -> Mechanism:
    """Return the joints of a bike.

    Parameters
    ----------
    frame : Frame
        Its travel and folds are used.
    skeleton : Skeleton
    tubes : mapping of str to Tube
        Folding hinges are placed on them.

    Notes
    -----
    The steering axis points down, so a positive "steer" [rad] turns the bars to the rider's right. "fork" slides the
    lower legs up the steering axis, "post" the post down the seat tube [mm]. "rear" is how far the rear axle rises
    [mm]; the swing arm is stiff, so it goes round its pivot. Folding hinges share one "fold" [rad], the first one's
    angle; a second turns in proportion.
    """
    travel = frame.travel
    hinges = {fold.moves: fold for fold in frame.fold}
    joints: list[Joint] = []
    front = ROOT
    if "front half" in hinges:
        front = "front half"
        joints.append(_hinge(front, ROOT, frame, hinges["front half"], tubes))
    point, axis = skeleton.steering_axis_point, skeleton.steering_axis
    joints.append(Joint("fork", front, "turn", point, axis, "steer"))
    if "bar" in hinges:
        joints.append(_hinge("bar", "fork", frame, hinges["bar"], tubes))
    else:
        joints.append(Joint("bar", front, "turn", point, axis, "steer"))
    if travel.fork is not None:
        joints.append(Joint("lower", "fork", "slide", point, -axis, "fork"))
    if travel.rear is not None and travel.pivot is not None:
        joints.append(_swing(skeleton, float(travel.pivot[0]), float(travel.pivot[1])))
    if travel.post is not None:
        joints.append(Joint("post", ROOT, "slide", skeleton.seat_top, -tubes["seat tube"].axis, "post"))
    return Mechanism(tuple(joints))


def _hinge(body: str, parent: str, frame: Frame, fold: Fold, tubes: Mapping[str, Tube]) -> Joint:
    point = tubes[fold.on].place(float(fold.along), fold.from_, beyond=1e3) + vector(0.0, 0.0, float(fold.aside))
    ratio = float(fold.turn_deg) / abs(float(frame.fold[0].turn_deg))
    axis = unit(vector(*(float(part) for part in fold.axis)))
    return Joint(body, parent, "turn", point, axis, "fold", ratio)


def _swing(skeleton: Skeleton, forward: float, up: float) -> Joint:
    pivot = vector(forward, up, 0.0)
    back, rise, _ = (pivot - skeleton.rear_axle).tolist()
    # about the axis to the rider's left a turn lifts what lies behind the pivot
    return Joint(
        "rear",
        ROOT,
        "swing",
        pivot,
        vector(0.0, 0.0, -1.0),
        "rear",
        arm=(math.hypot(back, rise), math.atan2(-rise, back)),
    )
