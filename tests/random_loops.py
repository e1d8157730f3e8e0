"""Random loops between a clamp that turns about a steering axis and one that stands still, as bars and frame do."""

from __future__ import annotations

import numpy as np
from makers import loop_case
from numpy.typing import NDArray

from ropewalk.analysis.loops import LoopCase
from ropewalk.bike.poses import STEER
from ropewalk.mechanics.elastica import Clamps

Array = NDArray[np.float64]

#: the steering axis, pointing down, of a head angle of 71.5°
_AXIS = np.array([np.cos(np.radians(71.5)), -np.sin(np.radians(71.5)), 0.0])
_RADII = ((30.0, 50.0), (30.0, 60.0), (45.0, 75.0))


def random_loop(seed: int) -> LoopCase:
    """Return one loop of that seed: mouths, directions, lock, radii to keep, and in two of five a ball not to rub."""
    draw = np.random.default_rng(seed)
    start = np.array([draw.uniform(60, 200), draw.uniform(-40, 160), draw.uniform(-260, 260)])
    leaving = _unit([draw.uniform(-0.3, 1), draw.uniform(-1, 0.2), -np.sign(start[2]) * draw.uniform(0, 1.2)])
    end = np.array([draw.uniform(-120, 0), draw.uniform(-160, 0), draw.uniform(-25, 25)])
    arriving = _unit([-1.0, draw.uniform(-1, 0.3), draw.uniform(-0.3, 0.3)])
    lock = int(draw.choice([60, 75, 90]))
    kink, advised = _RADII[draw.integers(3)]

    def clamps(poses: Array) -> Clamps:
        turned = _turned(poses[:, STEER])
        count = len(turned)
        return Clamps(turned @ start, turned @ leaving, np.tile(end, (count, 1)), np.tile(arriving, (count, 1)))

    has_ball = draw.random() < 0.4
    centre, size = (start + end) / 2 + draw.normal(0, 60, 3), draw.uniform(10, 40)

    def free(curves: Array, _poses: Array) -> Array:
        ahead = np.diff(curves, axis=1)
        back = centre - curves[:, :-1]
        share = np.clip((back * ahead).sum(axis=-1) / (ahead**2).sum(axis=-1), 0.0, 1.0)
        return np.asarray(np.linalg.norm(back - share[..., None] * ahead, axis=-1).min(axis=1) - size)

    return loop_case(
        np.arange(-lock, lock + 1, 5.0),
        clamps,
        kink,
        advised,
        name=f"random loop {seed}",
        clearance=free if has_ball else None,
    )


def _unit(direction: list[float]) -> Array:
    return np.asarray(direction) / np.linalg.norm(direction)


def _turned(angle: Array) -> Array:
    """Return the rotations (K, 3, 3) about the axis by Rodrigues' formula."""
    x, y, z = _AXIS
    cross = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    return np.asarray(
        np.eye(3) + np.sin(angle)[:, None, None] * cross + (1 - np.cos(angle))[:, None, None] * (cross @ cross)
    )
