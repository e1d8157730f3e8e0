"""Silhouettes: what round tubes, bent bars and wheels look like from one side, in any pose."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from shapely import BufferCapStyle, LinearRing, LineString, MultiPoint, MultiPolygon, Polygon

from ropewalk.bike.mechanism import Placement
from ropewalk.bike.tube import Tube
from ropewalk.drawing.scene import Area, Points

Solid = NDArray[np.float64]
#: takes points (n, 3) of the bike to points (n, 2) of the view
Eye = Callable[[Solid], Points]

#: angles at which circles are sampled
_ROUND = np.linspace(0.0, 2.0 * math.pi, 25)[:-1]
_WHEEL = np.linspace(0.0, 2.0 * math.pi, 91)[:-1]


def from_the_right(points: Solid) -> Points:
    """Look at points (n, 3) from the rider's right: forward is right, up is up."""
    return points[:, :2]


def from_above(points: Solid) -> Points:
    """Look at points (n, 3) from above: the rider's right is right, forward is up."""
    return points[:, [2, 0]]


def square_to(axis: Solid) -> tuple[Solid, Solid]:
    """Return two unit vectors square to a unit vector (3,) and to each other."""
    aside = np.eye(3)[int(np.argmin(np.abs(axis)))]
    first = np.cross(axis, aside)
    first /= np.linalg.norm(first)
    return first, np.cross(axis, first)


def circle(centre: Solid, axis: Solid, radius: float, angles: NDArray[np.float64] = _ROUND) -> Solid:
    """Return points (n, 3) of a circle about an axis (3,)."""
    first, second = square_to(axis)
    return centre + radius * (np.cos(angles)[:, None] * first + np.sin(angles)[:, None] * second)


def cylinder(start: Solid, end: Solid, radius: float, eye: Eye, role: str, end_radius: float | None = None) -> Area:
    """Return the silhouette of a round tube between two points (3,), which may taper."""
    length = float(np.linalg.norm(end - start))
    axis = (end - start) / length
    rims = [circle(start, axis, radius), circle(end, axis, radius if end_radius is None else end_radius)]
    return hull(eye(np.concatenate(rims)), role)


def tube_area(tube: Tube, placed: Placement, eye: Eye, role: str) -> Area:
    """Return the silhouette of a tube of the bike on its placed body."""
    ends = placed.points(np.stack([tube.start, tube.end]))[0]
    return cylinder(ends[0], ends[1], tube.diameter / 2.0, eye, role)


def hull(points: Points, role: str) -> Area:
    """Return the convex outline of points (n, 2)."""
    return _area(MultiPoint(points).convex_hull, role)


def ribbon(path: Points, width: float, role: str, *, round_ends: bool = False) -> Area:
    """Return the outline of a stroke of some width along a path (n, 2)."""
    line = LineString(path)
    ends = BufferCapStyle.round if round_ends else BufferCapStyle.flat
    return _area(line.buffer(width / 2.0, quad_segs=6, cap_style=ends), role)


def wheel_ring(centre: Solid, axis: Solid, radius: float, width: float, eye: Eye, role: str) -> Area:
    """Return the silhouette of a ring of round section: its middle at a radius, about an axis (3,)."""
    ring = eye(circle(centre, axis, radius, _WHEEL))
    return _area(LinearRing(ring).buffer(width / 2.0, quad_segs=4), role)


def spokes(centre: Solid, axis: Solid, inner: float, outer: float, count: int) -> list[Solid]:
    """Return spokes (2, 3) that leave the hub at a tangent, to one side and the other by turns."""
    angles = np.arange(count) * 2.0 * math.pi / count
    lean = np.where(np.arange(count) % 2, 1.0, -1.0) * math.radians(70.0)
    near, far = circle(centre, axis, inner, angles + lean), circle(centre, axis, outer, angles)
    return [np.stack(pair) for pair in zip(near, far, strict=True)]


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
