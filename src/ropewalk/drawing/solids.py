"""Solids: the round and flat things a bike is drawn from, in space on its bodies, before anyone looks at them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from ropewalk.bike.mechanism import Placement
from ropewalk.drawing.scene import Area
from ropewalk.drawing.silhouettes import Eye, circle, cylinder, hull, ribbon

Places = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Rod:
    """A bent round rod: its middle line (n, 3) and width [mm]; a closed one is filled."""

    path: Places
    width: float
    role: str
    round_ends: bool = True
    filled: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Barrel:
    """A straight round tube between two points (3,), which may taper [mm]."""

    start: Places
    end: Places
    radius: float
    role: str
    end_radius: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """A body without hollows, by its corners (n, 3) [mm]."""

    corners: Places
    role: str


Solid: TypeAlias = Rod | Barrel | Block


def silhouette(solid: Solid, placed: Placement, eye: Eye) -> Area:
    """Return what a solid on a placed body looks like from one side."""
    if isinstance(solid, Rod):
        seen = eye(placed.points(solid.path)[0])
        if not solid.filled:
            return ribbon(seen, solid.width, solid.role, round_ends=solid.round_ends)
        closed = np.concatenate([seen, seen[:2]])
        return Area(ribbon(closed, solid.width, solid.role, round_ends=True).rings[:1], solid.role)
    if isinstance(solid, Barrel):
        start, end = placed.points(np.stack([solid.start, solid.end]))[0]
        return cylinder(start, end, solid.radius, eye, solid.role, solid.end_radius)
    return hull(eye(placed.points(solid.corners)[0]), solid.role)


def corners(solid: Barrel | Block, count: int = 16) -> Places:
    """Return points (n, 3) of a solid without hollows whose outline, from any side, is their convex hull."""
    if isinstance(solid, Block):
        return solid.corners
    axis = (solid.end - solid.start) / np.linalg.norm(solid.end - solid.start)
    angles = np.arange(count) * 2.0 * np.pi / count
    last = solid.radius if solid.end_radius is None else solid.end_radius
    rims = [circle(solid.start, axis, solid.radius, angles), circle(solid.end, axis, last, angles)]
    return np.concatenate(rims)
