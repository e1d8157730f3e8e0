"""What a span is on a built bike: a loop between two mouths, a course of known path, or one wound by steering."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ropewalk.mechanics import curves
from ropewalk.mechanics.wrap import wound, wound_points

Points = NDArray[np.float64]
Vector = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Loop:
    """Housing free in the air between two mouths, each on its body.

    Attributes
    ----------
    start_body, end_body : str
    start, end : (3,) array
        Mouths [mm] in the axes of their bodies.
    start_direction, end_direction : (3,) array
        Unit tangents of travel from lever to work.
    """

    start_body: str
    end_body: str
    start: Vector
    start_direction: Vector
    end: Vector
    end_direction: Vector


@dataclass(frozen=True, slots=True)
class Corner:
    """A bend of an inside span.

    Attributes
    ----------
    place : (3,) array
        Middle of the bend [mm] in the span's body's axes.
    radius : float
        Largest radius that stays between the walls [mm]; infinite from 2 m on.
    turn : float
        [rad]
    at : str
        What it bends round, in words: a joint of two tubes, or an obstacle.
    """

    place: Vector
    radius: float
    turn: float
    at: str


@dataclass(frozen=True, slots=True)
class Course:
    """A span of known path: strapped, bare, inside or rigid.

    Attributes
    ----------
    body : str
        The body it runs on.
    points : (n, 3) array
        Its path [mm] in that body's axes.
    length : float
        Shortest length [mm].
    slack : float
        What it can hold beyond that, the upper end of its window [mm].
    turn : float
        Turn of the path, angles at its ends included [rad].
    least_radius : float
        Smallest bend radius along it [mm]; infinite when straight.
    reached : bool
        False when no way leads through the tubes.
    reason, advice : str
        Why not, and what to do, in words; empty when reached.
    corners : tuple of Corner
        The bends of an inside span between its ends, in order.
    """

    body: str
    points: Points
    length: float
    slack: float
    turn: float
    least_radius: float
    reached: bool = True
    reason: str = ""
    advice: str = ""
    corners: tuple[Corner, ...] = ()

    def length_in(self, steer: ArrayLike) -> Vector:
        """Return its shortest length at steering angles (K,): the same at all [mm]."""
        return np.full(np.shape(np.atleast_1d(steer)), self.length)

    def turn_in(self, steer: ArrayLike) -> Vector:
        """Return its turn at steering angles (K,): the same at all [rad]."""
        return np.full(np.shape(np.atleast_1d(steer)), self.turn)


class Wrapped(NamedTuple):
    """A span wound about the steerer, at K steering angles."""

    #: shortest length [mm], (K,)
    length: Vector
    #: turn, angles at its ends included [rad], (K,)
    turn: Vector
    #: smallest bend radius along it [mm], (K,); infinite where straight
    radius: Vector
    #: angle over which it lies on the steerer [rad], (K,)
    contact: Vector


@dataclass(frozen=True, slots=True)
class Wrap:
    """An inside span from a port that turns with the bars down beside the steerer, and on into the frame's tubes.

    Its length depends on the steering angle alone. All places are in the bike's axes as it stands straight ahead.

    Attributes
    ----------
    start_body, end_body : str
        The bodies of its ports; the first turns about the steering axis against the second.
    axis_point, axis, forward : (3,) arrays
        The steering axis: a point [mm], its unit direction, down, and a unit direction square to it.
    radius : float
        Of the steerer with half the line's diameter [mm].
    lead_in : (m, 3) array
        From the port to where the line comes beside the steerer [mm]; turns with the first body.
    lead_out : (n, 3) array
        From the opening of the head tube to the other port [mm].
    start_onward, end_onward : (3,) arrays
        Unit directions of travel through both ports.
    angle : float
        Angle about the axis from the end of `lead_in` to the start of `lead_out`, straight ahead [rad], signed, on the
        side on which the line passes the steerer.
    corners : tuple of Corner
        The bends from the opening on.
    slack : float
        What housing can hold beyond the shortest length at every angle [mm].
    least_radius : float
        Smallest bend radius along it between the locks [mm].
    reached : bool
        False when no way leads through.
    reason, advice : str
        Why not, and what to do, in words; empty when reached.

    Notes
    -----
    A positive steering angle turns the first body right-handed about the axis. The line is taut: it lies on the steerer
    where it touches it, and never on the bore of the head tube.
    """

    start_body: str
    end_body: str
    axis_point: Vector
    axis: Vector
    forward: Vector
    radius: float
    lead_in: Points
    lead_out: Points
    start_onward: Vector
    end_onward: Vector
    angle: float
    corners: tuple[Corner, ...]
    slack: float
    least_radius: float
    reached: bool = True
    reason: str = ""
    advice: str = ""

    @property
    def length(self) -> float:
        """Shortest length straight ahead [mm]."""
        return float(self.at(0.0).length[0])

    def length_in(self, steer: ArrayLike) -> Vector:
        """Return its shortest length at steering angles (K,) [mm]."""
        return self.at(steer).length

    def turn_in(self, steer: ArrayLike) -> Vector:
        """Return its turn at steering angles (K,) [rad]."""
        return self.at(steer).turn

    def at(self, steer: ArrayLike) -> Wrapped:
        """Return length, turn, radius and contact at steering angles.

        Parameters
        ----------
        steer : array_like, shape (K,)
            Positive to the rider's right [rad].
        """
        start, end = self._round(self.lead_in[-1]), self._round(self.lead_out[0])
        path = wound(self.angle - np.atleast_1d(steer), start[0], end[0], self.radius, end[2] - start[2])
        arrives = self._last_way()
        leaves = self.lead_out[1] - self.lead_out[0] if len(self.lead_out) > 1 else self.end_onward
        before = np.concatenate([[self.lead_in[0] - self.start_onward], self.lead_in])
        after = np.concatenate([self.lead_out, [self.lead_out[-1] + self.end_onward]])
        turn = (
            float(curves.turn(before))
            + _angles(path.start_direction @ self._axes(start[1]), arrives)
            + path.turn
            + _angles(path.end_direction @ self._axes(end[1]), leaves)
            + float(curves.turn(after))
        )
        fixed = float(curves.arc_length(self.lead_in)) + float(curves.arc_length(self.lead_out))
        bends = min((corner.radius for corner in self.corners), default=math.inf)
        return Wrapped(path.length + fixed, turn, np.minimum(path.radius, bends), path.contact)

    def lock_kept(self, kink_radius: float, lock: float) -> tuple[float, float]:
        """Return how far the bars turn to the left and to the right [rad] before the line is bent below a radius.

        Parameters
        ----------
        kink_radius : float
            [mm]
        lock : float
            Largest steering angle to a side [rad].
        """
        steps = np.linspace(0.0, lock, 1 + max(1, math.ceil(lock / _LOCK_STEP)))
        left, right = (
            float(steps[np.logical_and.accumulate(self.at(hand * steps).radius >= kink_radius)].max(initial=0.0))
            for hand in (-1.0, 1.0)
        )
        return left, right

    def points(self, steer: float) -> Points:
        """Return its path (n, 3) in the end body's axes at a steering angle [rad], for drawing [mm]."""
        start, end = self._round(self.lead_in[-1]), self._round(self.lead_out[0])
        beside = wound_points(self.angle - steer, start[0], end[0], self.radius, end[2] - start[2], step=0.02)
        bearing = start[1] + steer + beside[:, 1]
        middle = self.axis_point + (start[2] + beside[:, 2])[:, None] * self.axis
        wound_part = middle + beside[:, :1] * self._outward(bearing)
        return np.concatenate([self._turned(self.lead_in, steer)[:-1], wound_part, self.lead_out[1:]])

    def _last_way(self) -> Vector:
        """Return the direction in which the line comes to the steerer."""
        way = self.lead_in[-1] - self.lead_in[-2] if len(self.lead_in) > 1 else self.start_onward
        return np.asarray(way)

    def _round(self, place: Vector) -> tuple[float, float, float]:
        """Return a place's distance from the steering axis, angle about it from forward [rad], and way down it."""
        off = place - self.axis_point
        down = float(off @ self.axis)
        ahead, aside = float(off @ self.forward), float(off @ np.cross(self.axis, self.forward))
        return max(math.hypot(ahead, aside), self.radius), math.atan2(aside, ahead), down

    def _outward(self, bearing: ArrayLike) -> Points:
        angle = np.atleast_1d(np.asarray(bearing, dtype=float))[:, None]
        return np.asarray(np.cos(angle) * self.forward + np.sin(angle) * np.cross(self.axis, self.forward))

    def _axes(self, bearing: float) -> Points:
        """Return the unit directions outward, about the axis and along it at an angle about it, (3, 3)."""
        return np.concatenate([self._outward(bearing), self._outward(bearing + math.pi / 2), self.axis[None, :]])

    def _turned(self, places: Points, steer: float) -> Points:
        off = places - self.axis_point
        along = (off @ self.axis)[:, None] * self.axis
        square = off - along
        return np.asarray(
            self.axis_point + along + math.cos(steer) * square + math.sin(steer) * np.cross(self.axis, square)
        )


#: steps in which the steering angle that keeps a radius is looked for [rad]
_LOCK_STEP = math.radians(0.5)


def _angles(directions: Points, other: Vector) -> Vector:
    """Return the angles between directions (K, 3) and one direction [rad], (K,)."""
    sine = np.linalg.norm(np.cross(directions, other), axis=-1)
    return np.asarray(np.arctan2(sine, directions @ other))


#: a span of known path, whether it moves or not
Way = Course | Wrap
