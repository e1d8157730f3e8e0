"""How widely a thick line rounds the corners of a corridor, and how much slack it can hide between the walls.

Examples
--------
A right-angled elbow of two channels in which the line's centre may swing 10 mm: the widest arc leaves one outer
wall, passes the inner corner and meets the other outer wall, R = 10 (2 + sqrt 2).

>>> from shapely.geometry import box
>>> from ropewalk.mechanics.corridor import taut_path
>>> elbow = box(0, 0, 200, 10).union(box(190, 0, 200, 200))
>>> path = taut_path(elbow, (0, 10), (190, 200))
>>> [round(radius) for radius in corner_radii(elbow, path)]
[34]
"""

import math

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, Polygon

from ropewalk.mechanics.corridor import Corner, Corridor, Floats, TautPath

#: Radii below and above these are not told apart [mm].
SMALLEST_RADIUS = 0.01
LARGEST_RADIUS = 2000.0
#: An arc is tested at points this far apart [rad], and at least at so many.
ARC_STEP = math.radians(3.0)
LEAST_POINTS = 25
#: Walls give by this much [mm]; it covers the edges of arcs drawn as polygons.
GIVE = 0.005
#: A radius is found within this share of itself.
RADIUS_TOLERANCE = 0.002


def largest_corner_radius(room: Corridor, path: TautPath, index: int) -> float:
    """Return the largest radius [mm] with which the centre of a line can round one corner of a taut path.

    Parameters
    ----------
    room : Polygon or MultiPolygon
        Where the centre of the line may lie: the corridor less half its diameter.
    path : TautPath
        The taut path in that room.
    index : int
        Which of its corners.

    Returns
    -------
    float
        Between 0 (no arc fits) and 2000 mm (as good as straight).

    Notes
    -----
    The arc turns through the corner's turn, from the direction of the straight piece before it to that after it,
    passes the corner on its outside and lies between the middles of the two pieces (an end piece counts whole).
    Its centre is free. The centres for which the whole arc is inside are the intersection of the room moved back
    by each of its points; the largest radius for which there is one is found by halving. Where the line
    has no play at a rounded corner, the radius is that of the rounding.
    """
    corner = path.corners[index]
    before, after = _headings(path, corner)
    vertices = path.points[corner.first : corner.last + 1]
    local = shapely.buffer(_between(room, path, index, before, after), GIVE)
    least, most = SMALLEST_RADIUS, LARGEST_RADIUS
    holds, fits = 0.0, 0.0
    radius = most
    while most > least * (1.0 + RADIUS_TOLERANCE):
        arc = _arc(before, after, radius)
        centres = _holding(arc, vertices)
        if shapely.is_empty(centres):
            least = holds = radius
        elif _fits(local, arc, vertices, centres):
            least = fits = radius
        else:
            most = radius
        radius = math.sqrt(least * most)
    return fits or min(holds, _tightest(vertices, abs(corner.turn)))


def corner_radii(room: Corridor, path: TautPath) -> tuple[float, ...]:
    """Return :func:`largest_corner_radius` of every corner of a taut path, in order."""
    return tuple(largest_corner_radius(room, path, index) for index in range(len(path.corners)))


def _headings(path: TautPath, corner: Corner) -> tuple[float, float]:
    """Return the directions [rad] before and after a corner, the second reached by its turn."""
    step = path.points[corner.first] - path.points[corner.first - 1]
    before = math.atan2(step[1], step[0])
    return before, before + corner.turn


def _between(room: Corridor, path: TautPath, index: int, before: float, after: float) -> shapely.Geometry:
    """Cut the room at the middles of the straight pieces before and after a corner (at the path's ends, there)."""
    corner = path.corners[index]
    first, last = path.points[corner.first], path.points[corner.last]
    start = path.points[corner.first - 1]
    if index > 0:
        start = 0.5 * (start + first)
    end = path.points[corner.last + 1]
    if index + 1 < len(path.corners):
        end = 0.5 * (end + last)
    reach = 4.0 * LARGEST_RADIUS
    ahead = _half_plane(start, before, reach)
    behind = _half_plane(end, after + math.pi, reach)
    return room.intersection(ahead).intersection(behind)


def _half_plane(place: Floats, heading: float, reach: float) -> Polygon:
    along = reach * np.array([math.cos(heading), math.sin(heading)])
    across = np.array([-along[1], along[0]])
    return Polygon([place + across, place - across, place - across + along, place + across + along])


def _arc(before: float, after: float, radius: float) -> Floats:
    """Return points of an arc about the origin that heads from one direction to another."""
    count = max(LEAST_POINTS, math.ceil(abs(after - before) / ARC_STEP) + 1)
    # An arc to the left has its centre on the left: its points stand to the right of their heading.
    bearing = np.linspace(before, after, count) - math.copysign(math.pi / 2.0, after - before)
    return radius * np.stack([np.cos(bearing), np.sin(bearing)], axis=1)


def _holding(arc: Floats, vertices: Floats) -> shapely.Geometry:
    """Return the centres about which the arc's sector holds every vertex of a corner."""
    sector = shapely.buffer(Polygon([(0.0, 0.0), *arc]), GIVE)
    return shapely.intersection_all([_moved(sector, -1.0, vertex) for vertex in vertices])


def _fits(local: shapely.Geometry, arc: Floats, vertices: Floats, centres: shapely.Geometry) -> bool:
    """Tell whether the arc lies inside about one of the centres."""
    for point in arc[_coarse_first(len(arc))]:
        if shapely.is_empty(centres):
            return False
        centres = shapely.intersection(centres, _moved(local, 1.0, -point))
    middle = vertices[len(vertices) // 2]
    return any(_inside(local, arc, middle, part) for part in shapely.get_parts(centres))


def _tightest(vertices: Floats, turn: float) -> float:
    """Return the radius of the path's own rounding at a corner drawn as a chain of vertices, 0 at a sharp one."""
    if len(vertices) == 1:
        return 0.0
    return float(np.hypot(*np.diff(vertices, axis=0).T).sum()) / turn


def _coarse_first(count: int) -> NDArray[np.int_]:
    """Return the order in which points are tried: ends and middle first, where arcs fail soonest."""
    first = [0, count - 1, count // 2]
    return np.array(first + [index for index in range(count) if index not in first])


def _moved(shape: shapely.Geometry, factor: float, offset: Floats) -> shapely.Geometry:
    return shapely.transform(shape, lambda points: factor * points + offset)


def _inside(local: shapely.Geometry, arc: Floats, corner: Floats, centres: shapely.Geometry) -> bool:
    """Confirm the arc at one possible centre against the walls, and that no wall parts it from its corner."""
    if shapely.is_empty(centres):
        return False
    centre = shapely.get_coordinates(shapely.point_on_surface(centres))[0]
    radius = float(np.hypot(*arc[0]))
    outward = corner - centre
    abreast = centre + radius * outward / max(float(np.hypot(*outward)), 1e-12)
    sagitta = 0.01 + radius * (1.0 - math.cos(ARC_STEP / 2.0))
    lines = [LineString(arc + centre), LineString([corner, abreast])]
    return bool(shapely.covers(shapely.buffer(local, sagitta), lines).all())


def wall_to_wall_extra(free_width: float, diameter: float, advised_radius: float, length: float) -> float:
    """Return the most extra length [mm] a slack line can take by snaking from wall to wall.

    Parameters
    ----------
    free_width, diameter : float
        Width of the corridor and diameter of the line [mm].
    advised_radius : float
        Radius its bends keep [mm].
    length : float
        Length of the corridor [mm].

    Notes
    -----
    Arcs of the advised radius R swing a = (free width - diameter)/2 to either side; where they cross the middle the
    slope is s with s^2 = 2a/R, and the extra length is the mean of half the slope squared, s^2/6 = a/(3R) of the
    length. Small slopes: 1 % low at a/R = 0.02.

    Examples
    --------
    >>> round(wall_to_wall_extra(25.0, 5.0, 50.0, 600.0), 6)
    40.0
    """
    swing = max(0.0, (free_width - diameter) / 2.0)
    return swing / (3.0 * advised_radius) * length
