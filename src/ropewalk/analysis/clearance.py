"""Clearance: how far a curve stays from what it must not rub, in any pose."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ropewalk.analysis.loops import Array
from ropewalk.bike.model import Bike
from ropewalk.bike.parts import Catalogue

#: free distance reported where a curve has no part that could rub [mm]
_FAR = 1e3


@dataclass(frozen=True, slots=True)
class Obstacle:
    """A thing not to rub: its name, and its distance (K, n) [mm] from curves (K, n, 3) in poses (K, 5)."""

    name: str
    distance: Callable[[Array, Array], Array]


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
            free = np.minimum(free, _least(obstacle.distance(middle, poses)) - self.half_diameter)
        return free

    def nearest(self, curve: Array, pose: Array) -> str:
        """Return the name of what a curve (n, 3) comes nearest to in a pose (5,)."""
        middle, posed = _middle(curve[np.newaxis]), pose[np.newaxis]
        return min(self.obstacles, key=lambda obstacle: float(obstacle.distance(middle, posed).min())).name


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
    """Return what no loop may rub: both tyres, the fork crown, the cranks on either side."""
    clear = catalogue.settings.clearance
    bones = bike.skeleton
    crown = bones.crown + 0.5 * float(clear.crown_height) * bones.steering_axis

    def crown_distance(curves: Array, poses: Array) -> Array:
        own = _in_body(bike, "fork", curves, poses) - crown
        along = own @ bones.steering_axis
        across = np.linalg.norm(own - along[..., np.newaxis] * bones.steering_axis, axis=-1)
        outside = np.stack([across - float(clear.crown_radius), np.abs(along) - 0.5 * float(clear.crown_height)])
        beyond = np.maximum(outside, 0.0)
        return np.asarray(np.hypot(beyond[0], beyond[1]) + np.minimum(outside.max(axis=0), 0.0))

    def crank_distance(curves: Array, poses: Array) -> Array:
        reach = np.hypot(curves[..., 0], curves[..., 1]) - float(clear.crank_length)
        inside = float(clear.crank_inside) - np.abs(curves[..., 2])
        return np.asarray(np.maximum(reach, inside))

    return (
        Obstacle("the front tyre", _tyre(bike, bike.mounts["front axle"].body, bones.front_axle)),
        Obstacle("the rear tyre", _tyre(bike, bike.mounts["rear axle"].body, bones.rear_axle)),
        Obstacle("the fork crown", crown_distance),
        Obstacle("the crank", crank_distance),
    )


def _in_body(bike: Bike, body: str, curves: Array, poses: Array) -> Array:
    """Return curves (K, n, 3) in the axes of a body, each in its own pose."""
    placed = bike.mechanism.at(body, poses).inverse()
    turned = np.einsum("kij,knj->kni", np.broadcast_to(placed.rotation, (len(curves), 3, 3)), curves)
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
