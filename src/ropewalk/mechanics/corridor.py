"""Flat corridors made of outlines joined by openings, and the taut path of a line in them.

A corridor is a shapely polygon in which a line may lie; shrunk by half the line's diameter it is where the line's
centre may lie. A line under tension takes the shortest path in it: straight pieces from corner to corner.

The taut path is exact: only vertices at which the corridor is not convex can be corners of a shortest path, and only
segments that touch the wall at both ends can be pieces of it, so the search (Dijkstra's, 1959) runs over those.
An obstacle inside the corridor is taken out of the polygon; the shorter way round it is found.

Examples
--------
An elbow of two channels 10 wide; the line pulls tight round the inner corner:

>>> from shapely.geometry import box
>>> elbow = box(0, 0, 100, 10).union(box(90, 0, 100, 80))
>>> path = taut_path(elbow, (0, 10), (90, 80))
>>> path.reached, round(path.length, 6), round(math.degrees(path.turn), 6)
(True, 160.0, 90.0)
"""

import heapq
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely.geometry import MultiPolygon, Point, Polygon

Corridor: TypeAlias = Polygon | MultiPolygon
Floats: TypeAlias = NDArray[np.float64]

#: A segment may cut a wall by this much [mm]; it covers the rounding of vertices that lie on one line.
GRAZE = 1e-6
#: Vertices that turn the same way and lie closer than this [mm] are one rounded corner.
ONE_CORNER = 3.0
#: Half the thickness of a wall left between two outlines that touch or overlap [mm].
HALF_WALL = 0.01
#: A rounded corner is drawn by chords that lie inside it by no more than this [mm].
SAGITTA = 0.02


@dataclass(frozen=True, slots=True)
class Corner:
    """A corner that a taut path touches.

    Parameters
    ----------
    first, last : int
        Indices into the path's points of the first and last vertex of the corner (equal at a sharp one).
    turn : float
        Angle the path turns through here [rad], positive to the left.
    """

    first: int
    last: int
    turn: float


@dataclass(frozen=True, slots=True)
class TautPath:
    """The shortest path between two points in a corridor.

    Parameters
    ----------
    reached : bool
        Whether start and end are connected; if not, there are no points, and length and turn are infinite.
    points : array, shape (n, 2)
        Start, the vertices where it turns, end [mm].
    length : float
        Its length [mm].
    turn : float
        Sum of the angles of all corners, whichever way they turn [rad].
    corners : tuple of Corner
        The corners touched, in order.
    """

    reached: bool
    points: Floats
    length: float
    turn: float
    corners: tuple[Corner, ...]


def corridor(outlines: Sequence[Polygon], openings: Sequence[shapely.Geometry]) -> Corridor:
    """Return the room inside outlines that are joined only through openings.

    Parameters
    ----------
    outlines : sequence of Polygon
        The insides of channels, those that run through first: where two overlap, the room belongs to the earlier
        one, whose outline is a wall to the later one.
    openings : sequence of shapely geometry
        Each lets a line through the walls inside it, and is room itself, so it may bridge a gap between outlines.

    Returns
    -------
    Polygon or MultiPolygon
        In more than one part where outlines are not joined.

    Notes
    -----
    A wall between outlines that touch is 0.02 mm thick, so that it stays when the corridor is shrunk.
    """
    taken: Corridor = Polygon()
    own: list[shapely.Geometry] = []
    for outline in outlines:
        own.append(outline.difference(taken))
        taken = _polygonal(taken.union(outline))
    walls = [
        outline.boundary.buffer(HALF_WALL, quad_segs=1, join_style="mitre").intersection(
            shapely.union_all(own[index + 1 :]).buffer(2.0 * HALF_WALL, join_style="mitre")
        )
        for index, outline in enumerate(outlines[:-1])
    ]
    return _polygonal(taken.difference(shapely.union_all(walls)).union(shapely.union_all(list(openings))))


def less(room: Corridor, obstacles: shapely.Geometry) -> Corridor:
    """Return a room without what stands in it; of a room already shrunk take obstacles grown by as much."""
    return _polygonal(room.difference(obstacles))


def shrunk(room: Corridor, half_diameter: float) -> Corridor:
    """Return where the centre of a line of a given half diameter [mm] may lie in a room."""
    if half_diameter == 0.0:
        return room
    return _polygonal(room.buffer(-half_diameter, quad_segs=quarter_segments(half_diameter)))


def quarter_segments(radius: float) -> int:
    """Return how many chords draw a quarter circle of a radius [mm] well enough."""
    return max(2, math.ceil(math.pi / 4.0 / math.acos(max(1.0 - SAGITTA / radius, 0.0))))


def _polygonal(shape: shapely.Geometry) -> Corridor:
    """Return the polygons of a geometry, without stray lines and points."""
    parts = [part for part in shapely.get_parts(shape) if isinstance(part, Polygon) and not part.is_empty]
    return parts[0] if len(parts) == 1 else MultiPolygon(parts)


def taut_path(
    room: Corridor,
    start: ArrayLike,
    end: ArrayLike,
    *,
    half_diameter: float = 0.0,
    reach: float = 0.0,
    blocked: shapely.Geometry | None = None,
) -> TautPath:
    """Return the shortest path between two points in a room.

    Parameters
    ----------
    room : Polygon or MultiPolygon
        Where the line may lie; holes are obstacles.
    start, end : array_like, shape (2,)
        The ends [mm].
    half_diameter : float
        If given, the room is shrunk by it first [mm].
    reach : float
        How far an end may lie outside the (shrunk) room [mm], as one in a wall does; a short fan of free
        space then joins it.
    blocked : shapely geometry, optional
        What such a fan may not cross: the obstacles, grown by half the line's diameter.

    Returns
    -------
    TautPath
        With the verdict ``reached``.

    Notes
    -----
    Rounded corners of the polygon are chains of short edges; the sum of their turns is the turn of the corner.
    """
    ends = np.array([start, end], dtype=float)
    room = shrunk(room, half_diameter)
    room = with_ends(room, (ends[0], ends[1]), reach, blocked)
    part = _part_holding(room, ends)
    if part is None:
        return TautPath(False, np.empty((0, 2)), math.inf, math.inf, ())
    nodes, sides = _nodes(part, ends)
    order = _shortest(nodes, sides, part.buffer(GRAZE, join_style="mitre"))
    if order is None:
        return TautPath(False, np.empty((0, 2)), math.inf, math.inf, ())
    return _finished(nodes[order])


def with_ends(
    room: Corridor, ends: Sequence[Floats], reach: float, blocked: shapely.Geometry | None = None
) -> Corridor:
    """Return a room with the points just outside it joined to it, as :func:`taut_path` does with its ends."""
    for point in ends:
        room = _with_fan(room, point, reach, blocked)
    return room


def _with_fan(room: Corridor, point: Floats, reach: float, blocked: shapely.Geometry | None) -> Corridor:
    """Join a point just outside to the room by the hull of it and the nearest part of the room nearby."""
    place = Point(point)
    gap = room.distance(place)
    if gap == 0.0 or not gap <= reach:
        return room
    near = min(shapely.get_parts(room.intersection(place.buffer(4.0 * gap))), key=place.distance)
    fan = near.union(place).convex_hull
    return _polygonal(room.union(fan if blocked is None else fan.difference(blocked)))


def _part_holding(room: Corridor, ends: Floats) -> Polygon | None:
    for part in room.geoms if isinstance(room, MultiPolygon) else (room,):
        if not part.is_empty and all(part.distance(Point(point)) <= GRAZE / 2.0 for point in ends):
            return part
    return None


def _nodes(part: Polygon, ends: Floats) -> tuple[Floats, Floats]:
    """Return the ends and the vertices where the part is not convex, with both neighbours of each.

    Returns
    -------
    nodes : array, shape (n, 2)
        Start, end, vertices.
    sides : array, shape (n, 2, 2)
        The vertices before and after each along the wall; for start and end the point itself.
    """
    turned = shapely.orient_polygons(part)
    nodes, sides = [ends], [np.stack([ends, ends], axis=1)]
    for ring in (turned.exterior, *turned.interiors):
        here = shapely.get_coordinates(ring)[:-1]
        before, after = np.roll(here, 1, axis=0), np.roll(here, -1, axis=0)
        inward = _cross(here - before, after - here) < 0.0
        nodes.append(here[inward])
        sides.append(np.stack([before, after], axis=1)[inward])
    return np.concatenate(nodes), np.concatenate(sides)


def _cross(first: Floats, second: Floats) -> Floats:
    result: Floats = first[..., 0] * second[..., 1] - first[..., 1] * second[..., 0]
    return result


def _touching(nodes: Floats, sides: Floats) -> tuple[NDArray[np.intp], NDArray[np.intp], Floats]:
    """Return the pairs of nodes whose segment leaves the walls on one side of it at both ends, and its length."""
    x, y = nodes.T
    across, up = x - x[:, None], y - y[:, None]
    length = np.hypot(across, up)
    arms = sides - nodes[:, None, :]
    one, other = (across * arms[:, side, 1, None] - up * arms[:, side, 0, None] for side in (0, 1))
    give = GRAZE * length
    touches = ((one >= -give) & (other >= -give)) | ((one <= give) & (other <= give))
    first, second = np.nonzero(np.triu(touches & touches.T, 1))
    return first, second, length[first, second]


def _shortest(nodes: Floats, sides: Floats, room: Polygon) -> list[int] | None:
    """Return the node indices of the shortest way from node 0 to node 1 in a room, None without one."""
    shapely.prepare(room)
    first, second, length = _touching(nodes, sides)
    free = shapely.covers(room, shapely.linestrings(np.stack([nodes[first], nodes[second]], axis=1)))
    ways: list[list[tuple[int, float]]] = [[] for _ in nodes]
    for one, other, far in zip(first[free].tolist(), second[free].tolist(), length[free].tolist(), strict=True):
        ways[one].append((other, far))
        ways[other].append((one, far))
    best, parent = [math.inf] * len(nodes), [-1] * len(nodes)
    best[0] = 0.0
    queue = [(0.0, 0)]
    while queue:
        reached, here = heapq.heappop(queue)
        if here == 1:
            return _traced(parent)
        if reached > best[here]:
            continue
        for other, far in ways[here]:
            if reached + far < best[other]:
                best[other], parent[other] = reached + far, here
                heapq.heappush(queue, (reached + far, other))
    return None


def _traced(parent: Sequence[int]) -> list[int]:
    order = [1]
    while order[-1] != 0:
        order.append(parent[order[-1]])
    return order[::-1]


def _finished(points: Floats) -> TautPath:
    steps = np.diff(points, axis=0)
    keep = np.hypot(*steps.T) > GRAZE
    if keep.any():
        points = np.concatenate([points[:-1][keep], points[-1:]])
        steps = np.diff(points, axis=0)
    lengths = np.hypot(*steps.T)
    turns = np.arctan2(_cross(steps[:-1], steps[1:]), np.sum(steps[:-1] * steps[1:], axis=1))
    corners = _corners(turns, lengths)
    return TautPath(True, points, float(lengths.sum()), float(np.abs(turns).sum()), corners)


def _corners(turns: Floats, lengths: Floats) -> tuple[Corner, ...]:
    """Gather vertices that turn the same way and lie close together into corners."""
    corners: list[Corner] = []
    for index, turn in enumerate(turns.tolist(), start=1):
        last = corners[-1] if corners else None
        if last and last.turn * turn > 0.0 and last.last == index - 1 and lengths[index - 1] <= ONE_CORNER:
            corners[-1] = Corner(last.first, index, last.turn + turn)
        else:
            corners.append(Corner(index, index, turn))
    return tuple(corners)
