"""The room inside a bike's tubes in side view: bores joined by openings, less what stands in them.

Everything is seen from the side, so a line passes an obstacle above or below it, never beside it: an obstacle narrower
than its tube sideways is taken as wide as the tube.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Geometry
from shapely.geometry import Point, Polygon

from ropewalk.bike.model import Bike
from ropewalk.bike.station import Obstacle, Opening
from ropewalk.bike.tube import Tube
from ropewalk.mechanics import corridor
from ropewalk.mechanics.corridor import Corridor

Points = NDArray[np.float64]

#: outside diameter of the sleeve round a bottom bracket's spindle, between its cups [mm] (common practice, from memory)
SPINDLE_SLEEVE = 28.0
#: what the sleeve and the steerer are called
SLEEVE, STEERER = "bottom bracket's spindle", "steerer"
#: tubes that come nearer to each other than this are joined [mm]
TOUCHING = 3.0


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """A thing that stands in tubes.

    Attributes
    ----------
    name : str
        What messages call it.
    core : shapely geometry
        In side view [mm]: its shape is what lies within `half` of this.
    half : float
        [mm]
    """

    name: str
    core: Geometry
    half: float = 0.0

    def grown(self, by: float) -> Geometry:
        """Return its shape with so much round it [mm]."""
        return shapely.buffer(self.core, self.half + by, quad_segs=corridor.quarter_segments(self.half + by))


@dataclass(frozen=True, slots=True, eq=False)
class Room:
    """Where a line may lie in some tubes.

    Attributes
    ----------
    tubes : tuple of Tube
        In the order in which it runs through them.
    passed : tuple of Tube
        Bottom bracket shells on which neighbouring tubes meet, without being named.
    standing : tuple of Standing
        What it has to pass.
    diameter : float
        The line's [mm].
    empty : Polygon or MultiPolygon
        Where its centre could lie in side view if nothing stood there [mm].
    blocked : shapely geometry or None
        Where its centre may not lie because of what stands there; None where nothing does.
    free : Polygon or MultiPolygon
        Where its centre may lie.
    """

    tubes: tuple[Tube, ...]
    passed: tuple[Tube, ...]
    standing: tuple[Standing, ...]
    diameter: float
    empty: Corridor
    blocked: Geometry | None
    free: Corridor

    def with_only(self, name: str) -> Corridor:
        """Return where the line's centre could lie if only the thing of that name stood in the tubes."""
        grown = [thing.grown(self.diameter / 2) for thing in self.standing if thing.name == name]
        return corridor.less(self.empty, shapely.union_all(grown))


@dataclass(frozen=True, slots=True)
class _Plan:
    """What a room depends on, as plain values to know it again by, and the tubes and openings to build it from."""

    values: tuple[object, ...]
    tubes: tuple[Tube, ...] = field(compare=False)
    passed: tuple[Tube, ...] = field(compare=False)
    ways: tuple[Opening, ...] = field(compare=False)
    standing: tuple[Standing, ...] = field(compare=False)
    diameter: float


def room(bike: Bike, tubes: Sequence[Tube], diameter: float) -> Room:
    """Return the room of a line in tubes.

    Parameters
    ----------
    bike : Bike
        Its file names the openings and obstacles.
    tubes : sequence of Tube
        Those the line runs through, in order.
    diameter : float
        The line's [mm].

    Notes
    -----
    Where two tubes overlap, the room belongs to the one that runs through; the wall it makes there is open only where
    the file names an opening. Two tubes that meet on a bottom bracket also open into its shell, past the spindle.
    Rooms are kept, so that a line placed again with only its ports moved finds its own.
    """
    passed = tuple(_shells_passed(bike, tubes))
    openings = [opening_between(bike, first.name, second.name) for first, second in pairwise(tubes)]
    ways = tuple(opening for opening in openings if opening is not None and float(opening.size) >= diameter)
    standing = obstacles_in(bike, tubes)
    values = (
        *((*tube.start.tolist(), *tube.end.tolist(), tube.diameter, tube.wall) for tube in (*tubes, *passed)),
        *((opening.between, float(opening.size)) for opening in ways),
        *((thing.name, shapely.to_wkb(thing.core), thing.half) for thing in standing),
    )
    return _built(_Plan(values, tuple(tubes), passed, ways, standing, diameter))


@lru_cache(maxsize=64)
def _built(plan: _Plan) -> Room:
    channels = _first_those_that_run_through([*plan.tubes, *plan.passed])
    bores = {tube.name: tube.bore() for tube in channels}
    inside = shapely.union_all(list(bores.values()))
    named = {tube.name: tube for tube in plan.tubes}
    ways = []
    for opening in plan.ways:
        first, second = (named[name] for name in opening.between)
        gap = _gap_between(bores[first.name], bores[second.name], float(opening.size))
        room_there = inside if gap is None else shapely.union(inside, gap)
        ways.append(shapely.intersection(way(first, second, float(opening.size)), room_there))
    empty = corridor.shrunk(corridor.corridor(list(bores.values()), ways), plan.diameter / 2)
    blocked, free = None, empty
    if plan.standing:
        blocked = shapely.union_all([thing.grown(plan.diameter / 2) for thing in plan.standing])
        free = corridor.less(empty, blocked)
    return Room(plan.tubes, plan.passed, plan.standing, plan.diameter, empty, blocked, free)


def opening_between(bike: Bike, first: str, second: str) -> Opening | None:
    """Return the widest opening that the file names between two tubes, or None."""
    found = [opening for opening in bike.frame.opening if set(opening.between) == {first, second}]
    return max(found, key=lambda opening: float(opening.size), default=None)


def meeting(first: Tube, second: Tube) -> Points:
    """Return where two tubes' axes meet in side view, (2,); between their ends where they run alike."""
    a, b = first.axis[:2], second.axis[:2]
    cross = a[0] * b[1] - a[1] * b[0]
    if across(first) or across(second):
        return np.asarray((first if across(first) else second).start[:2])
    if abs(cross) < 1e-6:
        ends = [(one[:2], other[:2]) for one in (first.start, first.end) for other in (second.start, second.end)]
        one, other = min(ends, key=lambda pair: math.dist(*pair))
        return np.asarray((one + other) / 2)
    gap = second.start[:2] - first.start[:2]
    return np.asarray(first.start[:2] + (gap[0] * b[1] - gap[1] * b[0]) / cross * a)


def across(tube: Tube) -> bool:
    """Tell whether a tube lies across the bike, as a bottom bracket's shell does: a circle in side view."""
    return bool(abs(tube.end[0] - tube.start[0]) + abs(tube.end[1] - tube.start[1]) < 1e-6)


def touch(first: Tube, second: Tube) -> bool:
    """Tell whether two tubes meet in side view."""
    return bool(first.outline().distance(second.outline()) <= TOUCHING)


def way(first: Tube, second: Tube, size: float) -> Geometry:
    """Return the free way of an opening: a strip along both axes from where they meet, as wide as the opening."""
    meet, reach = meeting(first, second), max(first.diameter, second.diameter)
    strips: list[Geometry] = [Point(meet).buffer(size / 2)]
    for tube in (first, second):
        if not across(tube):
            middle = (tube.start[:2] + tube.end[:2]) / 2
            strips.append(_strip(meet, meet + (middle - meet) / max(math.dist(middle, meet), 1e-9) * reach, size))
    return shapely.union_all(strips)


def _gap_between(one: Geometry, other: Geometry, size: float) -> Geometry | None:
    """Return the way through the walls between two bores that do not overlap; None where they do."""
    if shapely.distance(one, other) == 0.0:
        return None
    return shapely.buffer(shapely.shortest_line(one, other), size / 2, cap_style="flat")


def _strip(start: Points, end: Points, width: float) -> Polygon:
    along = (end - start) / math.dist(start, end)
    aside = np.array([-along[1], along[0]]) * width / 2
    return Polygon(np.stack([start + aside, end + aside, end - aside, start - aside]))


def _shells_passed(bike: Bike, tubes: Sequence[Tube]) -> list[Tube]:
    """Return the bottom bracket shells on which two neighbouring tubes meet, without the line naming them."""
    return [
        shell
        for shell in bike.tubes.values()
        if across(shell)
        and shell not in tubes
        and any(_ends_on(first, shell) and _ends_on(second, shell) for first, second in pairwise(tubes))
    ]


def _ends_on(tube: Tube, shell: Tube) -> bool:
    centre = shell.start[:2]
    return min(math.dist(tube.start[:2], centre), math.dist(tube.end[:2], centre)) <= shell.diameter / 2


def _first_those_that_run_through(tubes: Sequence[Tube]) -> list[Tube]:
    """Order tubes so that one on which others end comes before them."""
    return sorted(tubes, key=lambda tube: -sum(_runs_through(tube, other) for other in tubes if other is not tube))


def _runs_through(tube: Tube, other: Tube) -> bool:
    """Tell whether another tube ends on this one, away from its own ends."""
    if across(tube):
        return _ends_on(other, tube)
    start, axis = tube.start[:2], tube.end[:2] - tube.start[:2]
    length = math.hypot(*axis)
    for end in (other.start[:2], other.end[:2]):
        along = float((end - start) @ axis) / length
        if 1.0 < along < length - 1.0 and math.dist(end, start + along / length * axis) <= tube.diameter / 2:
            return True
    return False


def obstacles_in(bike: Bike, tubes: Sequence[Tube]) -> tuple[Standing, ...]:
    """Return what a line has to pass in tubes: what the file names, and the spindle and the steerer of every bike."""
    names = [tube.name for tube in tubes]
    found = [
        Standing(thing.name, _standing(bike.tubes[thing.inside], thing))
        for thing in bike.frame.obstacle
        if thing.inside in names and thing.inside in bike.tubes
    ]
    shells = [tube for tube in tubes if across(tube)] + _shells_passed(bike, tubes)
    found += [Standing(SLEEVE, Point(shell.start[:2]), SPINDLE_SLEEVE / 2) for shell in shells]
    if "head tube" in names and STEERER not in names and STEERER in bike.tubes:
        found.append(Standing(STEERER, bike.tubes[STEERER].outline()))
    return tuple(found)


def _standing(tube: Tube, thing: Obstacle) -> Polygon:
    """Return an obstacle in side view: a rectangle along its tube, from the wall it stands on."""
    middle = tube.place(float(thing.along), thing.from_, beyond=math.inf)[:2]
    level = math.hypot(*tube.axis[:2])
    half = tube.axis[:2] / level * float(thing.length_) / 2
    # from the wall it stands on towards the middle; out through that wall, so that no slit is left
    up, depth = tube.radial(12.0)[:2], float(thing.depth)
    if thing.wall == "lower":
        up = -up
    low, high = tube.diameter / 2 - tube.wall - depth, tube.diameter / 2
    if thing.wall == "middle":
        low, high = -depth / 2, depth / 2
    corners = [middle - half + low * up, middle + half + low * up, middle + half + high * up, middle - half + high * up]
    return Polygon(corners)
