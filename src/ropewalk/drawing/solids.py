"""Solids: the round and flat things a bike is drawn from, in space on its bodies, and what they look like."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from ropewalk.bike.mechanism import Placement
from ropewalk.bike.tube import Tube
from ropewalk.drawing.scene import Area, Circle, Polyline, Shape
from ropewalk.drawing.silhouettes import Eye, Places, band, circle, hull, ribbon

#: where a body is that has not moved
STILL = Placement(np.eye(3)[None], np.zeros((1, 3)))
_WHEEL = np.linspace(0.0, 2.0 * math.pi, 91)[:-1]


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


@dataclass(frozen=True, slots=True, eq=False)
class Plate:
    """A flat thing, by its outline (n, 3) [mm]."""

    outline: Places
    role: str


@dataclass(frozen=True, slots=True, eq=False)
class Ring:
    """A closed round rod: its middle line (n, 3) and width [mm]."""

    path: Places
    width: float
    role: str


@dataclass(frozen=True, slots=True, eq=False)
class Ball:
    """What looks round from any side, by its middle (3,) and radius [mm]."""

    centre: Places
    radius: float
    role: str


@dataclass(frozen=True, slots=True, eq=False)
class Wires:
    """Thin straight wires: their ends (k, 2, 3) [mm]."""

    ends: Places
    role: str


Solid: TypeAlias = Rod | Barrel | Block | Plate | Ring | Ball | Wires
#: a solid and the body it goes with
OnBody: TypeAlias = tuple[str, Solid]


def tube_barrel(tube: Tube, role: str) -> Barrel:
    """Return a tube of the bike."""
    return Barrel(tube.start, tube.end, tube.diameter / 2.0, role)


def ring_about(centre: Places, axis: Places, radius: float, width: float, role: str) -> Ring:
    """Return a ring of round section: its middle at a radius, about an axis (3,)."""
    return Ring(circle(centre, axis, radius, _WHEEL), width, role)


def extent(solid: Solid) -> Places:
    """Return points (n, 3) of a solid: the middle line of a rod or ring, the outline of a plate, the ends of wires.

    Of barrels and blocks, which have no hollows, they are points whose convex hull is the outline from any side; of a
    ball the middle.
    """
    if isinstance(solid, Rod | Ring):
        return solid.path
    if isinstance(solid, Block):
        return solid.corners
    if isinstance(solid, Plate):
        return solid.outline
    if isinstance(solid, Ball):
        return solid.centre[None]
    if isinstance(solid, Wires):
        return solid.ends.reshape(-1, 3)
    axis = (solid.end - solid.start) / np.linalg.norm(solid.end - solid.start)
    last = solid.radius if solid.end_radius is None else solid.end_radius
    return np.concatenate([circle(solid.start, axis, solid.radius), circle(solid.end, axis, last)])


def seen(solid: Solid, placed: Placement, eye: Eye) -> Iterator[Shape]:
    """Return what a solid on a placed body looks like from one side: one shape, of wires one each."""
    points = eye(placed.points(extent(solid))[0])
    if isinstance(solid, Rod):
        yield _rod(solid, points)
    elif isinstance(solid, Ring):
        yield band(points, solid.width, solid.role)
    elif isinstance(solid, Plate):
        yield Area((points,), solid.role)
    elif isinstance(solid, Ball):
        yield Circle(points[0], solid.radius, solid.role)
    elif isinstance(solid, Wires):
        yield from (Polyline(ends, solid.role) for ends in points.reshape(-1, 2, 2))
    else:
        yield hull(points, solid.role)


def _rod(rod: Rod, points: Places) -> Area:
    if not rod.filled:
        return ribbon(points, rod.width, rod.role, round_ends=rod.round_ends)
    closed = np.concatenate([points, points[:2]])
    return Area(ribbon(closed, rod.width, rod.role, round_ends=True).rings[:1], rod.role)
