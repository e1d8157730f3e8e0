"""Mounts: named places with axes of their own, from which a part's stations are measured."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from ropewalk.bike.framefile import Frame
from ropewalk.bike.skeleton import Skeleton
from ropewalk.bike.tube import Tube
from ropewalk.bike.vectors import Vector, cross, vector

# All of these are common practice, no standard.
#: brake hole below the crown race [mm]
CROWN_HOLE_DROP = 15.0
#: brake hole of the bridge outside the bead seat; at least so far outside the tyre [mm]
BRIDGE_OVER_BEAD = 50.0
BRIDGE_OVER_TYRE = 10.0
#: middle of a disc caliper's mount from the axle [mm]
DISC_MOUNT = 75.0
#: pivots of rim brake arms inside the bead seat, and from the middle plane [mm]
BOSS_UNDER_BEAD = 27.0
BOSS_SPREAD = 40.0
#: collar and head of a dropper post over its travel [mm]
POST_COLLAR = 50.0
#: derailleur hanger's bolt from the rear axle: back, down, right [mm]
HANGER = (8.0, 28.0, 67.0)

_RIGHT = vector(0.0, 0.0, 1.0)
_FORWARD = vector(1.0, 0.0, 0.0)
_UP = vector(0.0, 1.0, 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class Mount:
    """A named place with its own axes, on one body, as the bike stands straight ahead."""

    name: str
    body: str
    #: (3,) [mm]
    origin: Vector
    #: unit vectors, (3,)
    forward: Vector
    up: Vector
    right: Vector

    def place(self, forward: float, up: float, right: float) -> Vector:
        """Return the point so far forward, up and right of the mount [mm], (3,)."""
        return self.origin + self.direction(forward, up, right)

    def direction(self, forward: float, up: float, right: float) -> Vector:
        """Return a direction told in the mount's axes, in the bike's, (3,); its length is kept."""
        return forward * self.forward + up * self.up + right * self.right


def mounts(frame: Frame, skeleton: Skeleton, tubes: Mapping[str, Tube]) -> Mapping[str, Mount]:
    """Lay out the mounts of a bike.

    Parameters
    ----------
    frame : Frame
        The frame file.
    skeleton : Skeleton
        Its skeleton.
    tubes : mapping of str to Tube
        Its tubes, by name.

    Returns
    -------
    mapping of str to Mount
        Mounts by name. Level axes (forward, plumb up) at bottom bracket, front axle, rear axle, derailleur hanger and
        bar clamp; along the steering axis at the fork crown; along the tube at the others.

    Notes
    -----
    Where a mount sits on fork, stays and rim is common practice; a bike that differs is told by the station's offset.
    """
    rear = tubes["left chainstay"].body
    leg = tubes.get("left lower leg", tubes["left fork leg"])
    made = [
        Mount("bottom bracket", "frame", skeleton.bottom_bracket, _FORWARD, _UP, _RIGHT),
        Mount("rear bottom bracket", "frame", skeleton.rear_bottom_bracket, _FORWARD, _UP, _RIGHT),
        Mount("front axle", leg.body, skeleton.front_axle, _FORWARD, _UP, _RIGHT),
        Mount("rear axle", rear, skeleton.rear_axle, _FORWARD, _UP, _RIGHT),
        Mount("derailleur hanger", rear, _hanger(skeleton), _FORWARD, _UP, _RIGHT),
        Mount("bar clamp", "bar", skeleton.bar_clamp, _FORWARD, _UP, _RIGHT),
        _along("seat tube", "frame", skeleton.bottom_bracket, tubes["seat tube"].axis),
        *_post(frame, skeleton, tubes),
        _fork_crown(skeleton),
        _brake_bridge(skeleton, tubes["left seat stay"]),
        _front_disc(skeleton, leg),
        _rear_disc(skeleton, tubes["left chainstay"]),
        *_bosses(skeleton, tubes),
    ]
    return {mount.name: mount for mount in made}


def on_tube(tube: Tube, along: float, from_: str, *, beyond: float = 0.0) -> Mount:
    """Return a mount at a place of a tube's axis, with `up` along the tube and `forward` square to it.

    Parameters
    ----------
    tube : Tube
        The tube, such as the seat tube that a front derailleur is clamped on.
    along, from_, beyond
        The place, as in `Tube.place`.

    Returns
    -------
    Mount
        Its `up` is the direction along the tube that rises, in the side view.
    """
    axis = tube.axis
    place = tube.place(along, from_, beyond=beyond)
    return _along(tube.name, tube.body_at(place), place, axis if axis[1] >= 0.0 else -axis)


def _post(frame: Frame, skeleton: Skeleton, tubes: Mapping[str, Tube]) -> list[Mount]:
    """Return the head of a dropper post's sinking part, as it stands up: in line with the seat tube."""
    if frame.travel.post is None:
        return []
    axis = tubes["seat tube"].axis
    # fully up, the head stands over the seat tube by its travel and its collar
    return [_along("post head", "post", skeleton.seat_top + (float(frame.travel.post) + POST_COLLAR) * axis, axis)]


def _hanger(skeleton: Skeleton) -> Vector:
    back, down, right = HANGER
    return skeleton.rear_axle + vector(-back, -down, right)


def _fork_crown(skeleton: Skeleton) -> Mount:
    origin = skeleton.crown + CROWN_HOLE_DROP * skeleton.steering_axis
    return Mount("fork crown", "fork", origin, skeleton.steering_square, -skeleton.steering_axis, _RIGHT)


def _along(name: str, body: str, origin: Vector, direction: Vector) -> Mount:
    """Return a mount with `up` along a direction of the side view and `forward` square to it."""
    x, y, _ = direction.tolist()
    level = math.hypot(x, y)
    up = vector(x / level, y / level, 0.0)
    return Mount(name, body, origin, cross(up, _RIGHT), up, _RIGHT)


def _brake_bridge(skeleton: Skeleton, stay: Tube) -> Mount:
    """Return the bridge's brake hole: on the middle plane between the seat stays."""
    reach = max(skeleton.bead_radius + BRIDGE_OVER_BEAD, skeleton.wheel_radius + BRIDGE_OVER_TYRE)
    mount = _along("brake bridge", stay.body, skeleton.rear_axle, -stay.axis)
    return Mount(mount.name, mount.body, mount.origin + reach * mount.up, mount.forward, mount.up, mount.right)


def _front_disc(skeleton: Skeleton, leg: Tube) -> Mount:
    """Return the caliper's mount behind the left fork leg, moved to the middle plane."""
    mount = _along("front disc mount", leg.body, skeleton.front_axle, -leg.axis)
    origin = mount.place(-leg.diameter / 2.0, DISC_MOUNT, 0.0)
    return Mount(mount.name, mount.body, origin, mount.forward, mount.up, mount.right)


def _rear_disc(skeleton: Skeleton, chainstay: Tube) -> Mount:
    """Return the caliper's mount on top of the left chainstay, moved to the middle plane; `forward` along the stay."""
    along = _along("rear disc mount", chainstay.body, skeleton.rear_axle, -chainstay.axis)
    origin = along.place(-chainstay.diameter / 2.0, DISC_MOUNT, 0.0)
    return Mount(along.name, along.body, origin, along.up, -along.forward, _RIGHT)


def _bosses(skeleton: Skeleton, tubes: Mapping[str, Tube]) -> list[Mount]:
    """Return the pivots of rim brake arms, on fork legs and seat stays, left and right."""
    reach = skeleton.bead_radius - BOSS_UNDER_BEAD
    bosses = []
    for side, sign in (("left", -1.0), ("right", 1.0)):
        leg = tubes.get(f"{side} lower leg", tubes[f"{side} fork leg"])
        for short, tube in (("fork", leg), ("stay", tubes[f"{side} seat stay"])):
            axle = skeleton.front_axle if short == "fork" else skeleton.rear_axle
            mount = _along(f"{side} {short} boss", tube.body, axle, -tube.axis)
            origin = axle + reach * mount.up + sign * BOSS_SPREAD * _RIGHT
            bosses.append(Mount(mount.name, mount.body, origin, mount.forward, mount.up, mount.right))
    return bosses
