"""Clearance: how far a curve stays from what it must not rub, in any pose."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ropewalk.analysis.findings import Grade
from ropewalk.analysis.loops import Array
from ropewalk.bike.model import Bike
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.poses import ridden

#: free distance reported where a curve has no part that could rub [mm]
_FAR = 1e3


@dataclass(frozen=True, slots=True)
class Obstacle:
    """A thing that loops may touch.

    Attributes
    ----------
    name : str
    distance : callable
        Takes curves (K, n, 3) and poses (K, 5) to their distance (K, n) [mm].
    limits : bool
        Whether a loop that touches it is longer than tidy.
    grade : str
        Of the finding when a loop touches it at its target.
    advice : str
        What to do then.
    """

    name: str
    distance: Callable[[Array, Array], Array]
    limits: bool = True
    grade: Grade = "look"
    advice: str = "hold it clear with a clip, or move the stations on either side of it"


@dataclass(frozen=True, slots=True)
class Clearance:
    """The free distance of a line of some thickness to obstacles.

    Attributes
    ----------
    obstacles : tuple of Obstacle
    half_diameter : float
        Of the line [mm].
    """

    obstacles: tuple[Obstacle, ...]
    half_diameter: float

    def __call__(self, curves: Array, poses: Array) -> Array:
        """Return the least free distance (K,) [mm]; the fifth of a curve next to either end is held and left out."""
        middle = _middle(curves)
        free = np.full(len(curves), _FAR)
        for obstacle in self.obstacles:
            if obstacle.limits:
                free = np.minimum(free, _least(obstacle.distance(middle, poses)) - self.half_diameter)
        return free

    def free_of(self, obstacle: Obstacle, curves: Array, poses: Array) -> Array:
        """Return the free distance (K,) [mm] of curves (K, n, 3) to one obstacle; their ends are left out."""
        return np.asarray(_least(obstacle.distance(_middle(curves), poses)) - self.half_diameter)

    def nearest(self, curve: Array, pose: Array) -> str:
        """Return the name of what limits a curve (n, 3) and comes nearest to it in a pose (5,)."""
        middle, posed = _middle(curve[np.newaxis]), pose[np.newaxis]
        limiting = [obstacle for obstacle in self.obstacles if obstacle.limits]
        return min(limiting, key=lambda obstacle: float(obstacle.distance(middle, posed).min())).name


def _least(distance: Array) -> Array:
    """Return the least distance (K,) from that at points (K, n): a parabola through the lowest three."""
    rows = np.arange(len(distance))
    nearest = distance.argmin(axis=1)
    inner = np.clip(nearest, 1, distance.shape[1] - 2)
    before, at, after = distance[rows, inner - 1], distance[rows, inner], distance[rows, inner + 1]
    bend = before - 2.0 * at + after
    dips = (nearest == inner) & (bend > 0.0)
    return np.asarray(
        at - np.where(dips, (before - after) ** 2 / (8.0 * np.where(dips, bend, 1.0)), at - distance[rows, nearest])
    )


def _middle(curves: Array) -> Array:
    skip = max(curves.shape[1] // 5, 1)
    return curves[:, skip:-skip]


def obstacles(bike: Bike, catalogue: Catalogue) -> tuple[Obstacle, ...]:
    """Return what loops may touch.

    Notes
    -----
    No loop is tidy that rubs a tyre, the fork crown or a crank. Nearly every good loop touches the head tube; how large
    the chainring is, and where a rider's knees are, is estimated: these limit no length.
    """
    bones, clear = bike.skeleton, catalogue.settings.clearance
    crown = bones.crown + 0.5 * float(clear.crown_height) * bones.steering_axis
    tube = bike.tubes["head tube"]
    middle, half = (tube.start + tube.end) / 2, tube.length / 2
    return (
        Obstacle("the front tyre", _tyre(bike, bike.mounts["front axle"].body, bones.front_axle)),
        Obstacle("the rear tyre", _tyre(bike, bike.mounts["rear axle"].body, bones.rear_axle)),
        Obstacle(
            "the fork crown",
            _cylinder(
                bike, "fork", crown, bones.steering_axis, 0.5 * float(clear.crown_height), float(clear.crown_radius)
            ),
        ),
        Obstacle("the crank", _cranks(bike, catalogue)),
        Obstacle(
            "the chainring",
            _chainring(bike, catalogue),
            limits=False,
            advice="hold it clear with a clip; a large chainring is reckoned with, so measure yours",
        ),
        Obstacle(
            "the head tube",
            _cylinder(bike, tube.body, middle, tube.axis, half, tube.diameter / 2),
            limits=False,
            grade="note",
            advice="a patch of clear tape there keeps the paint; the real loop lies against it instead of running "
            "through, so try the length with the bars turned",
        ),
        Obstacle(
            "a rider's knee",
            _knees(bike, catalogue),
            limits=False,
            advice="shorten it within its window, or lead it closer to the bars; where knees are is a rough estimate",
        ),
    )


def _cylinder(
    bike: Bike, body: str, middle: Array, axis: Array, half_length: float, radius: float
) -> Callable[[Array, Array], Array]:
    """Return the distance to a cylinder on a body, negative inside."""

    def distance(curves: Array, poses: Array) -> Array:
        own = _in_body(bike, body, curves, poses) - middle
        along = own @ axis
        across = np.linalg.norm(own - along[..., np.newaxis] * axis, axis=-1)
        return _outside(across - radius, np.abs(along) - half_length)

    return distance


def _outside(*gaps: Array) -> Array:
    """Return the distance to a body from the gaps (K, n) to each pair of its sides, negative inside."""
    outside = np.stack(gaps)
    beyond = np.linalg.norm(np.maximum(outside, 0.0), axis=0)
    return np.asarray(beyond + np.minimum(outside.max(axis=0), 0.0))


def _cranks(bike: Bike, catalogue: Catalogue) -> Callable[[Array, Array], Array]:
    """Return how far points are from the circle of a crank, on either side, about each bottom bracket."""
    clear, bones = catalogue.settings.clearance, bike.skeleton

    def distance(curves: Array, poses: Array) -> Array:
        inside = float(clear.crank_inside) - np.abs(curves[..., 2])
        reach = np.minimum(
            *(
                np.hypot(curves[..., 0] - centre[0], curves[..., 1] - centre[1])
                for centre in (bones.bottom_bracket, bones.rear_bottom_bracket)
            )
        )
        return np.asarray(np.maximum(reach - float(clear.crank_length), inside))

    return distance


def _chainring(bike: Bike, catalogue: Catalogue) -> Callable[[Array, Array], Array]:
    """Return how far points are from the circle of a large chainring, on the right, where the chain leaves it."""
    clear, centre = catalogue.settings.clearance, bike.skeleton.rear_bottom_bracket

    def distance(curves: Array, poses: Array) -> Array:
        reach = np.hypot(curves[..., 0] - centre[0], curves[..., 1] - centre[1]) - float(clear.chainring_radius)
        return np.asarray(np.maximum(reach, float(clear.chainring_inside) - curves[..., 2]))

    return distance


def _knees(bike: Bike, catalogue: Catalogue) -> Callable[[Array, Array], Array]:
    """Return how far points are from where a rider's knees may be while riding: beside the frame, behind the bars."""
    clear, top = catalogue.settings.clearance, bike.skeleton.head_top
    low = np.array([top[0] - clear.knee_reach, top[1] - clear.knee_below, float(clear.knee_inside)])
    high = np.array([top[0] - clear.knee_behind, top[1] + clear.knee_above, float(clear.knee_outside)])
    riding = float(catalogue.settings.sweep.riding)

    def distance(curves: Array, poses: Array) -> Array:
        own = np.concatenate([curves[..., :2], np.abs(curves[..., 2:])], axis=-1)
        gaps = np.abs(own - (low + high) / 2) - (high - low) / 2
        away = _outside(gaps[..., 0], gaps[..., 1], gaps[..., 2])
        return np.where(ridden(poses, riding)[:, np.newaxis], away, _FAR)

    return distance


def _in_body(bike: Bike, body: str, curves: Array, poses: Array) -> Array:
    """Return curves (K, n, 3) in the axes of a body, each in its own pose."""
    placed = bike.mechanism.at(body, poses).inverse()
    turned = np.matmul(curves, np.swapaxes(placed.rotation, -1, -2))
    return np.asarray(turned + placed.translation[:, np.newaxis])


def _tyre(bike: Bike, body: str, axle: Array) -> Callable[[Array, Array], Array]:
    """Return the distance to a tyre: a ring about the axle as thick as the tyre is wide."""
    width = bike.skeleton.tyre_width
    ring = bike.skeleton.wheel_radius - width / 2

    def distance(curves: Array, poses: Array) -> Array:
        own = _in_body(bike, body, curves, poses) - axle
        from_ring = np.hypot(own[..., 0], own[..., 1]) - ring
        return np.asarray(np.hypot(from_ring, own[..., 2]) - width / 2)

    return distance
