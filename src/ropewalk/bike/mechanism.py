"""The mechanism: bodies hung on each other by one-degree joints, and the poses it is swept through."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ropewalk.bike.framefile import Frame
from ropewalk.bike.skeleton import Skeleton
from ropewalk.bike.vectors import Vector
from ropewalk.errors import ChoiceError

#: the body that all others hang on, directly or not
ROOT = "frame"
#: bodies a bike is made of; one without a joint is fixed to the frame
BODIES = (ROOT, "bar", "fork", "rear")

#: steering angle to a side that is swept when no lock is given [rad]
ASSUMED_LOCK = math.radians(90.0)
#: steering angle to a side met while riding, and while shifting [rad]
RIDING = math.radians(45.0)
INDEXING = math.radians(30.0)
#: largest step between poses of a sweep [rad]
STEP = math.radians(5.0)

#: one value of each coordinate, or (P,) values of it; coordinates left out are 0
Pose = Mapping[str, ArrayLike]


class Placement(NamedTuple):
    """Where a body is in P poses: world = rotation @ place + translation."""

    #: (P, 3, 3)
    rotation: NDArray[np.float64]
    #: (P, 3) [mm]
    translation: NDArray[np.float64]

    def points(self, places: ArrayLike) -> Vector:
        """Carry points along.

        Parameters
        ----------
        places : array_like, shape (3,) or (n, 3)
            Points of the body as it stands in the zero pose [mm].

        Returns
        -------
        ndarray, shape (P, 3) or (P, n, 3)
            The same points in each pose [mm].
        """
        given = np.asarray(places, dtype=np.float64)
        turned = self.directions(given)
        return turned + (self.translation if given.ndim == 1 else self.translation[:, None, :])

    def directions(self, directions: ArrayLike) -> Vector:
        """Turn directions along; shapes as `points`."""
        given = np.asarray(directions, dtype=np.float64)
        turned: Vector = np.swapaxes(self.rotation @ np.atleast_2d(given).T, 1, 2)
        return turned[:, 0, :] if given.ndim == 1 else turned

    def inverse(self) -> Placement:
        """Return the placement that brings world points back to the body."""
        back = np.swapaxes(self.rotation, 1, 2)
        return Placement(back, -(back @ self.translation[:, :, None])[:, :, 0])


@dataclass(frozen=True, slots=True, eq=False)
class Joint:
    """A joint that lets a body turn about an axis of its parent, or slide along one."""

    body: str
    parent: str
    kind: Literal["turn", "slide"]
    #: a point of the axis in the zero pose, (3,) [mm]
    point: Vector
    #: unit vector along the axis in the zero pose, (3,)
    axis: Vector
    #: name of the value that moves it: an angle [rad] or a travel [mm]
    coordinate: str
    #: +1 where the value turns right-handed about the axis or slides along it, −1 where it goes against it
    sign: float = 1.0

    def moves_as(self, other: Joint) -> bool:
        """Whether two joints always move alike."""
        return (
            self.parent == other.parent
            and self.kind == other.kind
            and self.coordinate == other.coordinate
            and self.sign == other.sign
            and bool(np.array_equal(self.point, other.point) and np.array_equal(self.axis, other.axis))
        )

    def motion(self, value: NDArray[np.float64]) -> Placement:
        """Return the joint's own motion for (P,) values of its coordinate."""
        amount = self.sign * value
        count = amount.size
        if self.kind == "slide":
            return Placement(np.broadcast_to(np.eye(3), (count, 3, 3)).copy(), amount[:, None] * self.axis)
        x, y, z = self.axis
        spin = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
        # Rodrigues' formula
        rotation = (
            np.eye(3)
            + np.sin(amount)[:, None, None] * spin
            + (1.0 - np.cos(amount))[:, None, None] * (np.outer(self.axis, self.axis) - np.eye(3))
        )
        return Placement(rotation, self.point - rotation @ self.point)


@dataclass(frozen=True, slots=True, eq=False)
class Mechanism:
    """A bike's joints; bodies without one are fixed to the frame."""

    joints: tuple[Joint, ...]

    @property
    def coordinates(self) -> tuple[str, ...]:
        """Names of the values that make up a pose."""
        return tuple(dict.fromkeys(joint.coordinate for joint in self.joints))

    def placement(self, body: str, pose: Pose) -> Placement:
        """Place a body in one pose or a batch of them.

        Parameters
        ----------
        body : str
            Name of the body.
        pose : mapping of str to float or ndarray, shape (P,)
            Value of each coordinate [rad or mm]; those left out are 0.

        Returns
        -------
        Placement
            rotation (P, 3, 3) and translation (P, 3) [mm], P = 1 for single values.

        Raises
        ------
        ChoiceError
            When the pose names a coordinate that the bike has not, or the body is unknown.
        """
        values = self._values(pose)
        count = max((value.size for value in values.values()), default=1)
        placed = Placement(np.broadcast_to(np.eye(3), (count, 3, 3)), np.zeros((count, 3)))
        for joint in self._chain(body):
            value = values.get(joint.coordinate, np.zeros(1))
            own = joint.motion(np.broadcast_to(value, (count,)))
            # the chain is walked outwards: what the parent does comes last
            placed = Placement(
                placed.rotation @ own.rotation,
                (placed.rotation @ own.translation[:, :, None])[:, :, 0] + placed.translation,
            )
        return placed

    def moves_between(self, first: str, second: str) -> bool:
        """Whether two bodies can move against each other in any pose."""
        one, other = self._chain(first), self._chain(second)
        return len(one) != len(other) or not all(a.moves_as(b) for a, b in zip(one, other, strict=True))

    def _chain(self, body: str) -> list[Joint]:
        """Return the joints from the frame out to a body."""
        hung = {joint.body: joint for joint in self.joints}
        if body not in BODIES and body not in hung:
            known = ", ".join(dict.fromkeys((*BODIES, *hung)))
            raise ChoiceError(f'body is "{body}": the bike has none of that name; use one of {known}')
        chain: list[Joint] = []
        while body in hung and len(chain) <= len(self.joints):
            chain.insert(0, hung[body])
            body = hung[body].parent
        return chain

    def _values(self, pose: Pose) -> dict[str, NDArray[np.float64]]:
        known = self.coordinates
        for name in pose:
            if name not in known:
                raise ChoiceError(
                    f'pose has a value for "{name}": nothing on this bike moves so; use {", ".join(known)}'
                )
        return {name: np.atleast_1d(np.asarray(value, dtype=np.float64)) for name, value in pose.items()}


def mechanism(skeleton: Skeleton) -> Mechanism:
    """Return the joints of a bike with a rigid frame and fork: bar and fork turn about the steering axis.

    Notes
    -----
    The axis points down, so a positive "steer" [rad] turns the bars to the rider's right.
    """
    point, axis = skeleton.steering_axis_point, skeleton.steering_axis
    return Mechanism(tuple(Joint(body, ROOT, "turn", point, axis, "steer") for body in ("fork", "bar")))


@dataclass(frozen=True, slots=True, eq=False)
class Poses:
    """The poses a bike is swept through: steering angles from left lock to right lock."""

    #: steering angles in rising order, 0 among them, (P,) [rad]
    steer: NDArray[np.float64]
    #: which of them lie in the riding range and in the range for shifting, (P,)
    riding: NDArray[np.bool_]
    indexing: NDArray[np.bool_]
    #: largest steering angle to a side [rad]
    lock: float
    #: whether the lock is assumed, as the chart gives none
    lock_assumed: bool

    @property
    def straight(self) -> int:
        """Index of the straight-ahead pose."""
        return self.steer.size // 2


def poses(frame: Frame) -> Poses:
    """Return the steering sweep of a bike.

    Parameters
    ----------
    frame : Frame
        The frame file; its chart's lock is used, ±90° where it has none.

    Returns
    -------
    Poses
        Lock to lock in steps of at most 5°; ±30° and ±45° are among the poses where the lock reaches that far.
    """
    given = frame.chart.lock_deg
    lock = ASSUMED_LOCK if given is None else math.radians(given)
    ranges = [min(INDEXING, lock), min(RIDING, lock), lock]
    right, last = [np.zeros(1)], 0.0
    for end in ranges:
        # a hair off, so that 30° is six steps of 5° in spite of rounding
        count = math.ceil((end - last) / STEP - 1e-9)
        right.append(np.linspace(last, end, count + 1)[1:])
        last = end
    half = np.concatenate(right)
    steer = np.concatenate((-half[:0:-1], half))
    reach = np.abs(steer)
    return Poses(steer, reach <= ranges[1], reach <= ranges[0], lock, given is None)
