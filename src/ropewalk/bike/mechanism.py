"""The mechanism: bodies hung on each other by one-degree joints."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ropewalk.bike.poses import COORDINATES
from ropewalk.bike.vectors import Vector
from ropewalk.errors import ChoiceError

#: the body that all others hang on, directly or not
ROOT = "frame"
#: bodies a bike is made of; one without a joint is fixed to the frame
BODIES = (ROOT, "front half", "bar", "fork", "lower", "rear", "post")

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
    """A joint that lets a body turn about an axis of its parent, swing about one, or slide along one."""

    body: str
    parent: str
    kind: Literal["turn", "slide", "swing"]
    #: a point of the axis in the zero pose, (3,) [mm]
    point: Vector
    #: unit vector along the axis in the zero pose, (3,)
    axis: Vector
    #: name of the value that moves it: an angle [rad] or a travel [mm]
    coordinate: str
    #: what the value is taken times: −1 where it goes against the axis, a ratio where several joints share one value
    sign: float = 1.0
    #: for a swing, whose value is how far its end rises: the arm's length [mm] and angle over the level at 0 [rad]
    arm: tuple[float, float] = (1.0, 0.0)

    def moves_as(self, other: Joint) -> bool:
        """Whether two joints always move alike."""
        return (
            self.kind == other.kind
            and self.coordinate == other.coordinate
            and self.sign == other.sign
            and self.arm == other.arm
            and bool(np.array_equal(self.point, other.point) and np.array_equal(self.axis, other.axis))
        )

    def motion(self, value: NDArray[np.float64]) -> Placement:
        """Return the joint's own motion for (P,) values of its coordinate."""
        amount = self.sign * value
        count = amount.size
        if self.kind == "swing":
            length, start = self.arm
            amount = np.arcsin(math.sin(start) + amount / length) - start
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

    def at(self, body: str, values: NDArray[np.float64]) -> Placement:
        """Place a body in poses (P, 5), in the order of `ropewalk.bike.poses.COORDINATES`."""
        known = self.coordinates
        return self.placement(
            body,
            {name: values[:, place] for place, name in enumerate(COORDINATES) if name in known} if known else {},
        )

    def moves_between(self, first: str, second: str) -> bool:
        """Whether two bodies can move against each other in any pose."""
        return bool(self.coordinates_between(first, second))

    def coordinates_between(self, first: str, second: str) -> frozenset[str]:
        """Return the coordinates that move two bodies against each other."""
        one, other = self._chain(first), self._chain(second)
        shared = 0
        for a, b in zip(one, other, strict=False):
            if not a.moves_as(b):
                break
            shared += 1
        return frozenset(joint.coordinate for joint in (*one[shared:], *other[shared:]))

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
