"""Silhouettes: outlines of strokes, rings and what has no hollows, as seen from one side."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray
from shapely import BufferCapStyle, LinearRing, LineString, MultiPoint, MultiPolygon, Polygon

from ropewalk.drawing.scene import Area, Points

#: points (n, 3), or one (3,), of the bike [mm]
Places: TypeAlias = NDArray[np.float64]
#: takes points (n, 3) of the bike to points (n, 2) of the view
Eye = Callable[[Places], Points]

#: angles at which circles are sampled
_ROUND = np.linspace(0.0, 2.0 * math.pi, 25)[:-1]


def from_the_right(points: Places) -> Points:
    """Look at points (n, 3) from the rider's right: forward is right, up is up."""
    return points[:, :2]


def from_above(points: Places) -> Points:
    """Look at points (n, 3) from above: the rider's right is right, forward is up."""
    return points[:, [2, 0]]


def _square_to(axis: Places) -> tuple[Places, Places]:
    """Return two unit vectors square to a unit vector (3,) and to each other."""
    aside = np.eye(3)[int(np.argmin(np.abs(axis)))]
    first = np.cross(axis, aside)
    first /= np.linalg.norm(first)
    return first, np.cross(axis, first)


def circle(centre: Places, axis: Places, radius: float, angles: NDArray[np.float64] = _ROUND) -> Places:
    """Return points (n, 3) of a circle about an axis (3,)."""
    first, second = _square_to(axis)
    return centre + radius * (np.cos(angles)[:, None] * first + np.sin(angles)[:, None] * second)


def hull(points: Points, role: str) -> Area:
    """Return the convex outline of points (n, 2)."""
    return _area(MultiPoint(points).convex_hull, role)


def ribbon(path: Points, width: float, role: str, *, round_ends: bool = False) -> Area:
    """Return the outline of a stroke of some width along a path (n, 2)."""
    line = LineString(path)
    ends = BufferCapStyle.round if round_ends else BufferCapStyle.flat
    return _area(line.buffer(width / 2.0, quad_segs=6, cap_style=ends), role)


def band(path: Points, width: float, role: str) -> Area:
    """Return the outline of a stroke of some width along a path (n, 2) that closes on itself."""
    return _area(LinearRing(path).buffer(width / 2.0, quad_segs=4), role)


def _area(shape: object, role: str) -> Area:
    """Return a shape's rings; a shape seen edge on becomes a hair of some width."""
    if isinstance(shape, MultiPolygon):
        shape = max(shape.geoms, key=lambda part: part.area)
    if not isinstance(shape, Polygon):
        assert isinstance(shape, LineString)
        shape = shape.buffer(0.5)
    # the last point of a ring repeats its first
    rings = (np.array(ring.coords)[:-1] for ring in (shape.exterior, *shape.interiors))
    return Area(tuple(rings), role)
