"""How far a hole in a tube's wall lies from the welds: from where other tubes' surfaces meet this one's."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ropewalk.analysis.loops import Array
from ropewalk.bike.model import Bike
from ropewalk.bike.tube import Tube
from ropewalk.mechanics.joint import Cylinder, flat_distance, inside, joint_line
from ropewalk.mechanics.vectors import cross


@dataclass(frozen=True, slots=True)
class Weld:
    """The nearest weld on one side of a hole.

    Attributes
    ----------
    to : str
        The tube that is joined there, the hinge, or the tube's own end where no tube's surface meets it.
    side : str
        Name of the end of the tube on that side.
    distance : float
        From the hole's edge over the tube's surface [mm]; 0 where the hole reaches into the joint.
    is_end : bool
        Whether it is the tube's own end instead of a weld.
    """

    to: str
    side: str
    distance: float
    is_end: bool = False


def welds_about(bike: Bike, tube: Tube, edge: Array, outward: Array) -> tuple[Weld, ...]:
    """Return the nearest weld towards the start and towards the end of a tube.

    Parameters
    ----------
    bike : Bike
    tube : Tube
    edge : (n, 3) array
        Edge of the hole on the tube's outer surface, in the bike's axes [mm].
    outward : (3,) array
        Unit vector out of the tube at the hole, square to its axis.

    Notes
    -----
    Tubes are straight round cylinders; the bead of the weld itself, lugs, gussets and butts are left out. Towards an
    end that no tube meets (a fork leg's crown, a dropout) the distance is that to the end of the axis.
    """
    flat = _flat(tube, edge, outward)
    middle = float(flat[:, 0].mean())
    found = list(_welds(bike, tube, edge, flat, outward))
    chosen = []
    for name, before in ((tube.start_name, True), (tube.end_name, False)):
        near = [weld for weld, at in found if (at < middle) == before]
        end = float(flat[:, 0].min()) if before else tube.length - float(flat[:, 0].max())
        own = Weld(name, name, max(end, 0.0), is_end=True)
        best = min(near, key=lambda weld: weld.distance, default=own)
        chosen.append(Weld(best.to, name, best.distance, best.is_end))
    return tuple(chosen)


def _welds(bike: Bike, tube: Tube, edge: Array, flat: Array, outward: Array) -> Iterator[tuple[Weld, float]]:
    """Yield every weld with where along the tube it is nearest to the hole."""
    this = Cylinder(tube.start, tube.end, tube.diameter)
    body = tube.body_at(edge.mean(axis=0))
    middle = float(flat[:, 0].mean())
    for other in bike.tubes.values():
        if other is tube or other.body not in (tube.body, body) or _meet_in_dropout(tube, other):
            continue
        solid = Cylinder(other.start, other.end, other.diameter)
        line = joint_line(this, outward, solid)
        if not len(line):
            continue
        if inside(edge, solid):
            side = -1.0 if float(line[:, 0].mean()) < middle else 1.0
            yield Weld(other.name, "", 0.0), middle + side
            continue
        distance, nearest = flat_distance(flat, line, math.pi * tube.diameter)
        yield Weld(other.name, "", distance), float(line[nearest, 0])
    if tube.hinge > -math.inf:
        gap = float(np.abs(flat[:, 0] - tube.hinge).min())
        yield Weld("hinge", "", gap), tube.hinge


def _meet_in_dropout(tube: Tube, other: Tube) -> bool:
    """Return whether both are stays: at the axle a plate joins them, and they end before they touch."""
    return all(name.endswith(("chainstay", "seat stay")) for name in (tube.name, other.name))


def _flat(tube: Tube, points: Array, outward: Array) -> Array:
    """Return points of a tube's surface (n, 3) rolled flat: along it from its start, and round it from outward."""
    gap = points - tube.start
    angle = np.arctan2(gap @ cross(tube.axis, outward), gap @ outward)
    return np.stack([gap @ tube.axis, tube.diameter / 2.0 * angle], axis=-1)
