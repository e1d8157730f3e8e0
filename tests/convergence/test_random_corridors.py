"""Taut paths in 200 random corridors against Dijkstra (scipy) over every pair of vertices that see each other."""

import itertools
import math

import numpy as np
import pytest
import shapely
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon

from ropewalk.mechanics.corridor import taut_path


def random_corridor(seed):
    """A crooked channel of changing width, crossed by another, with some obstacles in it; and two ends."""
    source = np.random.default_rng(seed)
    pieces = []
    main = np.cumsum(source.uniform(-1, 1, (5, 2)) * 160 + [60, 0], axis=0)
    cross = main[2] + np.array([[-150, -120], [0, 0], [130, 170]]) * source.uniform(0.3, 1.0, (3, 1))
    for line in (main, cross):
        for first, second in itertools.pairwise(line):
            pieces.append(
                LineString([first, second]).buffer(source.uniform(6, 22), quad_segs=int(source.integers(1, 5)))
            )
    room = shapely.union_all(pieces)
    for _ in range(int(source.integers(0, 4))):
        along = LineString(main).interpolate(source.uniform(0.2, 0.8), normalized=True)
        obstacle = Point(along.x + source.uniform(-8, 8), along.y + source.uniform(-8, 8))
        room = room.difference(obstacle.buffer(source.uniform(2, 10), quad_segs=2))
    return room, main[0], main[-1]


def by_visibility(room, start, end):
    """Shortest distance and its turn by brute force: all vertices, all pairs, segments that lie inside all along."""
    corners = np.concatenate([[start, end], np.unique(shapely.get_coordinates(room), axis=0)])
    first, second = np.triu_indices(len(corners), 1)
    lengths = np.hypot(*(corners[first] - corners[second]).T)
    segments = shapely.linestrings(np.stack([corners[first], corners[second]], axis=1))
    outside = shapely.length(shapely.difference(segments, room))
    seen = outside < 1e-6
    graph = csr_array((lengths[seen], (first[seen], second[seen])), shape=(len(corners),) * 2)
    lengths, before = dijkstra(graph, directed=False, indices=0, return_predecessors=True)
    if not math.isfinite(lengths[1]):
        return lengths[1], math.inf
    way = [1]
    while way[-1] != 0:
        way.append(before[way[-1]])
    steps = np.diff(corners[way], axis=0)
    turns = np.diff(np.unwrap(np.arctan2(steps[:, 1], steps[:, 0])))
    return lengths[1], np.abs(turns).sum()


def checked(room, start, end):
    path = taut_path(room, start, end)
    if path.reached:
        assert path.points[0] == pytest.approx(start)
        assert path.points[-1] == pytest.approx(end)
        assert path.length >= math.dist(start, end) - 1e-9
        assert path.length == pytest.approx(LineString(path.points).length)
        assert room.buffer(1e-5).covers(LineString(path.points))
        steps = np.diff(path.points, axis=0)
        headings = np.unwrap(np.arctan2(steps[:, 1], steps[:, 0]))
        assert path.turn == pytest.approx(np.abs(np.diff(headings)).sum(), abs=1e-9)
        assert path.turn == pytest.approx(sum(abs(corner.turn) for corner in path.corners), abs=1e-9)
    return path


@pytest.mark.parametrize("block", range(10))
def test_as_short_as_brute_force(block):
    reached = 0
    for seed in range(20 * block, 20 * block + 20):
        room, start, end = random_corridor(seed)
        path = checked(room, start, end)
        shortest, turn = by_visibility(room, start, end)
        assert path.reached == math.isfinite(shortest), seed
        if path.reached:
            assert path.length == pytest.approx(shortest, abs=1e-4), seed
            assert path.turn == pytest.approx(turn, abs=math.radians(0.1)), seed
            reached += 1
    assert reached >= 8


@pytest.mark.parametrize("seed", range(0, 200, 10))
def test_turning_mirroring_scaling_and_swapping_ends_changes_nothing_else(seed):
    room, start, end = random_corridor(seed)
    path = taut_path(room, start, end)
    if not path.reached:
        assert not taut_path(room, end, start).reached
        return
    back = taut_path(room, end, start)
    assert (back.length, back.turn) == pytest.approx((path.length, path.turn), abs=1e-4)
    # Rotate by 37 degrees, mirror and double: a similarity of the plane.
    similarity = [2 * math.cos(0.6458), 2 * math.sin(0.6458), 2 * math.sin(0.6458), -2 * math.cos(0.6458), 300.0, -40.0]
    moved = [affinity.affine_transform(item, similarity) for item in (room, Point(start), Point(end))]
    other = taut_path(moved[0], moved[1].coords[0], moved[2].coords[0])
    assert other.length == pytest.approx(2 * path.length, abs=1e-3)
    assert other.turn == pytest.approx(path.turn, abs=1e-4)


def test_the_taut_path_gets_no_shorter_as_the_line_gets_thicker():
    room, start, end = Polygon([(0, 0), (300, 0), (300, 200), (260, 200), (260, 40), (0, 40)]), (20, 20), (280, 180)
    lengths = [taut_path(room, start, end, half_diameter=half).length for half in (0, 1, 2, 4, 8, 16)]
    assert lengths == sorted(lengths)
    assert lengths[0] < lengths[-1]
