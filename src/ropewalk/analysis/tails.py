"""Tails: whether what is left of an inner past its anchor bolt can reach tyre or spokes."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ropewalk.analysis.findings import Finding
from ropewalk.analysis.loops import Array
from ropewalk.bike.model import Bike
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.vectors import Vector
from ropewalk.routing.spans import PlacedLine

#: points along a tail at which its distance is taken
_POINTS = 61
#: bodies that carry the front wheel
_FRONT = ("fork", "lower")


def judge_tail(bike: Bike, line: PlacedLine, tail: float, catalogue: Catalogue) -> Iterator[Finding]:
    """Return a look where a tail comes too near to a wheel.

    Notes
    -----
    The tail is taken straight on through the bolt, the way the inner comes; the bike stands straight ahead. It stays
    beside the wheel as it steers, for the anchor steers along.
    """
    found = anchor(bike, line)
    if found is None or line.route.inner is None:
        return
    place, direction = found
    front = line.stations[-1].body in _FRONT
    points = place + np.linspace(0.0, tail, _POINTS)[:, np.newaxis] * direction
    thickness = float(line.route.inner.diameter) / 2
    free = wheel_distance(bike, points, catalogue, axle="front axle" if front else "rear axle").min() - thickness
    limit = float(catalogue.settings.findings.tail_clear)
    if free >= limit:
        return
    yield Finding(
        "look",
        line.route.line.name,
        f"the inner's tail of {tail:.0f} mm points at the {'front' if front else 'rear'} wheel and ends "
        f"{free:.0f} mm from tyre or spokes" if free > 0 else
        f"the inner's tail of {tail:.0f} mm reaches tyre or spokes of the {'front' if front else 'rear'} wheel",
        "cut the tail shorter, cap it and tuck it away from the wheel",
        round(float(free), 1),
        round(limit, 1),
        "mm",
    )  # fmt: skip


def anchor(bike: Bike, line: PlacedLine) -> tuple[Vector, Vector] | None:
    """Return place [mm] and direction of an inner behind its anchor bolt, or None where it has none at the work."""
    mover, station, placed = line.route.mover, line.route.line.station[-1], line.stations[-1]
    if mover.end != "anchor" or mover.anchor is None:
        return None
    axes = np.eye(3)
    if station.on in bike.mounts and not (station.on in bike.tubes and station.along is not None):
        mount = bike.mounts[str(station.on)]
        axes = np.stack([mount.forward, mount.up, mount.right])
    step = np.asarray(mover.anchor, dtype=np.float64) @ axes
    size = float(np.linalg.norm(step))
    if size > 1.0:
        return placed.place + step, step / size
    # the bare inner comes right up to the bolt
    shape = line.spans[-1]
    points = getattr(shape, "points", None)
    if points is None or len(points) < 2:
        return None
    leg = points[-1] - points[-2]
    return placed.place + step, leg / float(np.linalg.norm(leg))


def wheel_distance(bike: Bike, points: Array, catalogue: Catalogue, *, axle: str) -> Array:
    """Return how far points (n, 3) are from a wheel's tyre and spokes (n,) [mm], negative inside."""
    bones = bike.skeleton
    own = points - bike.mounts[axle].origin
    radius, aside = np.hypot(own[:, 0], own[:, 1]), np.abs(own[:, 2])
    half = bones.tyre_width / 2
    tyre = np.hypot(radius - (bones.wheel_radius - half), aside) - half
    # spokes fan out from the rim's middle to the hub's flanges; the slope is slight enough to measure straight aside
    spokes = np.where(
        radius < bones.bead_radius,
        aside - float(catalogue.settings.findings.hub_flange) * (1.0 - radius / bones.bead_radius),
        np.inf,
    )
    return np.asarray(np.minimum(tyre, spokes))
