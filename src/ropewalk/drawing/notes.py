"""Where notes go: each beside its line, clear of the other notes and of what is drawn, joined to it by a leader.

Every note is tried in many places round many points of its line. A place costs what it covers, what its leader
crosses and how far it lies away; places off the paper or on another note are never taken. Notes are settled one
after the other and then each once more against all others.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ropewalk.drawing.badges import Placed, note_size
from ropewalk.drawing.covering import CELL, Array, Field, dense
from ropewalk.drawing.scene import Box, Points, Polyline, Wanted

#: free room between notes, and between a note and the edge [mm]
GAP = 0.9
#: directions and distances in which a note is tried round a point
_DIRECTIONS = np.arange(24) * math.pi / 12.0
_DISTANCES = np.array([2.2, 3.5, 5.0, 7.0, 9.5, 12.5, 16.0, 20.0, 25.0, 31.0])
#: points of a line that a note may point to, points looked at along a leader
_ANCHORS, _LEADER = 14, 14
#: what counts against a place: each cell covered, leader crossing a line, mm away, pointing where lines run together
_COVERED, _CROSSED, _AWAY, _CROWDED = 0.35, 0.5, 0.16, 4.0
#: another line nearer than this to the point makes it unclear which one is meant [mm]
_CLEAR = 2.5
#: what two crossing leaders cost, a leader that runs beneath a note, and what may never be
_LEADERS_CROSS, _BENEATH, _NEVER = 12.0, 80.0, 1e9
#: a leader keeps off other notes by this [mm]
_BESIDE = 0.3
_ROUNDS = 2
#: how many places are weighed against the other notes at once
_AT_ONCE = 250
#: step in which the whole box is searched for a note that finds no place near its line [mm]
_ANYWHERE = 2.0


def place_notes(
    wanted: Sequence[Wanted], field: Field, strokes: Sequence[Polyline], size: float, taken: Sequence[Box] = ()
) -> tuple[list[Placed], list[Wanted]]:
    """Find a place for each note.

    Parameters
    ----------
    wanted : sequence of Wanted
        The notes, with their paths on the paper.
    field : Field
        What is drawn, and the box to stay in.
    strokes : sequence of Polyline
        The lines on the paper.
    size : float
        Size of a tag's text [mm].
    taken : sequence of Box
        Places to leave free.

    Returns
    -------
    list of Placed, list of Wanted
        The notes in place, in the order asked for, and those there was no room for.
    """
    order = sorted(range(len(wanted)), key=lambda place: -math.prod(note_size(wanted[place], size)))
    tries = {place: _tries(wanted[place], field, strokes, size) for place in order}
    found: dict[int, Placed] = {}
    full: list[Wanted] = []
    for turn in range(_ROUNDS):
        for place in order:
            settled = _settled([placed for other, placed in found.items() if other != place], taken)
            best = _best(wanted[place], tries[place], settled)
            if best is None and turn == 0 and not _no_smaller(wanted[place], full, size):
                best = _best(wanted[place], _anywhere(wanted[place], field, size), settled)
            if best is not None:
                found[place] = best
            elif turn == 0:
                full.append(wanted[place])
    return [found[place] for place in sorted(found)], [note for place, note in enumerate(wanted) if place not in found]


def _no_smaller(note: Wanted, full: Sequence[Wanted], size: float) -> bool:
    """Return whether a note takes as much room as one that found none."""
    width, height = note_size(note, size)
    return any(width >= least[0] and height >= least[1] for least in (note_size(other, size) for other in full))


@dataclass(frozen=True, slots=True, eq=False)
class _Tries:
    """Places tried for one note: boxes (n, 4), leaders (n, 2, 2), and what they cost whatever the other notes do.

    The cheapest come first.
    """

    boxes: Array
    leaders: Array
    cost: Array


def _tries(note: Wanted, field: Field, strokes: Sequence[Polyline], size: float) -> _Tries:
    width, height = note_size(note, size)
    anchors = _anchors(note, field.box)
    ways = np.stack([np.cos(_DIRECTIONS), np.sin(_DIRECTIONS)], axis=1)
    half = np.array([width, height]) / 2.0
    # the middle of a box that starts at a distance from the point: as far again as the box reaches that way
    reach = 1.0 / np.maximum(np.abs(ways[:, 0]) / half[0], np.abs(ways[:, 1]) / half[1])
    off = (_DISTANCES[:, None] + reach[None, :])[..., None] * ways[None]
    centres = (anchors[:, None, None, :] + off[None]).reshape(-1, 2)
    starts = np.repeat(anchors, off.shape[0] * off.shape[1], axis=0)
    boxes = np.concatenate([centres - half, centres + half], axis=1)
    edge = field.box.shrunk(GAP)
    outside = (
        (boxes[:, 0] < edge.left) | (boxes[:, 1] < edge.bottom) | (boxes[:, 2] > edge.right) | (boxes[:, 3] > edge.top)
    )
    boxes, starts, centres = boxes[~outside], starts[~outside], centres[~outside]
    ends = np.clip(starts, centres - half, centres + half)
    # a leader meets its box no nearer to a corner than the corner's rounding
    inset = np.minimum(half, 0.5)
    ends = np.where(
        np.abs(ends - centres) >= half - 1e-9, ends, np.clip(ends, centres - half + inset, centres + half - inset)
    )
    away = np.linalg.norm(ends - starts, axis=1)
    share = np.linspace(0.25, 1.0, _LEADER)
    seen = starts[:, None, :] + share[None, :, None] * (ends - starts)[:, None, :]
    crossed = field.at(seen).sum(axis=1) * np.minimum(away / (_LEADER * CELL), 1.0)
    crowd = np.repeat(_crowding(note, anchors, strokes), off.shape[0] * off.shape[1])[~outside]
    cost = _COVERED * field.over(boxes) + _CROSSED * crossed + _AWAY * away + _CROWDED * crowd
    return _cheapest_first(boxes, np.stack([starts, ends], axis=1), cost)


def _cheapest_first(boxes: Array, leaders: Array, cost: Array) -> _Tries:
    order = np.argsort(cost, kind="stable")
    return _Tries(boxes[order], leaders[order], cost[order])


def _anchors(note: Wanted, box: Box) -> Points:
    """Return points of a note's path inside the box, evenly along it."""
    x, y = note.path.T
    inside = note.path[(x > box.left) & (x < box.right) & (y > box.bottom) & (y < box.top)]
    path = inside if len(inside) else note.path
    picked: Points = path[np.unique(np.linspace(0, len(path) - 1, _ANCHORS).round().astype(int))]
    return picked


def _crowding(note: Wanted, anchors: Points, strokes: Sequence[Polyline]) -> Array:
    """Return by how much other lines come too near to points (n, 2), 0 to 1."""
    others = [dense(stroke.points, 1.0) for stroke in strokes if stroke.line != note.line]
    if not others or len(note.path) == 1:
        return np.zeros(len(anchors))
    gaps = np.linalg.norm(anchors[:, None, :] - np.concatenate(others)[None], axis=2).min(axis=1)
    crowding: Array = np.clip(1.0 - gaps / _CLEAR, 0.0, 1.0)
    return crowding


@dataclass(frozen=True, slots=True, eq=False)
class _Settled:
    """Notes that are in place: their boxes and boxes to leave free (m, 4), their leaders (k, 2, 2)."""

    boxes: Array
    leaders: Array


def _settled(notes: Sequence[Placed], taken: Sequence[Box]) -> _Settled:
    boxes = [(box.left, box.bottom, box.right, box.top) for box in (*(note.box for note in notes), *taken)]
    return _Settled(np.array(boxes).reshape(-1, 4), np.array([note.leader for note in notes]).reshape(-1, 2, 2))


def _best(note: Wanted, tries: _Tries, settled: _Settled) -> Placed | None:
    """Return the cheapest place that leaves the other notes alone."""
    best, found = _NEVER, None
    for first in range(0, len(tries.cost), _AT_ONCE):
        if tries.cost[first] >= best:
            break
        some = slice(first, first + _AT_ONCE)
        cost = tries.cost[some] + _quarrels(tries.boxes[some], tries.leaders[some], settled)
        at = int(np.argmin(cost))
        if float(cost[at]) < best:
            best, found = float(cost[at]), first + at
    if found is None:
        return None
    return Placed(note, Box(*tries.boxes[found].tolist()), tries.leaders[found])


def _quarrels(boxes: Array, leaders: Array, settled: _Settled) -> Array:
    """Return what places cost for the other notes: none may lie on another, nor should one on another's leader."""
    cost = np.full(len(boxes), _NEVER)
    other_low, other_high = settled.boxes[None, :, :2], settled.boxes[None, :, 2:]
    on_note = np.all((boxes[:, None, :2] < other_high + GAP) & (boxes[:, None, 2:] > other_low - GAP), axis=2)
    free = ~np.any(on_note, axis=1)
    low, high = boxes[free][:, None, :2], boxes[free][:, None, 2:]
    starts, ends = leaders[free][:, None, 0], leaders[free][:, None, 1]
    first, last = settled.leaders[None, :, 0], settled.leaders[None, :, 1]
    through_note = _meets(starts, ends, other_low - _BESIDE, other_high + _BESIDE)
    on_leader = _meets(first, last, low - _BESIDE, high + _BESIDE)
    crossings = np.sum(_cross(starts, ends, first, last), axis=1)
    beneath = np.sum(through_note, axis=1) + np.sum(on_leader, axis=1)
    cost[free] = _LEADERS_CROSS * crossings + _BENEATH * beneath
    return cost


def _meets(starts: Points, ends: Points, low: Points, high: Points) -> NDArray[np.bool_]:
    """Return whether segments meet boxes: they do where they are between both pairs of sides at once."""
    way = ends - starts
    way = np.where(np.abs(way) < 1e-9, 1e-9, way)
    one, other = (low - starts) / way, (high - starts) / way
    enter, leave = np.minimum(one, other).max(axis=-1), np.maximum(one, other).min(axis=-1)
    met: NDArray[np.bool_] = (enter <= leave) & (leave >= 0.0) & (enter <= 1.0)
    return met


def _cross(starts: Points, ends: Points, first: Points, last: Points) -> NDArray[np.bool_]:
    """Return whether segments cross others."""

    def side(origin: Points, towards: Points, point: Points) -> Array:
        along, off = towards - origin, point - origin
        turned: Array = along[..., 0] * off[..., 1] - along[..., 1] * off[..., 0]
        return turned

    apart = side(starts, ends, first) * side(starts, ends, last) < 0.0
    crossing: NDArray[np.bool_] = apart & (side(first, last, starts) * side(first, last, ends) < 0.0)
    return crossing


def _anywhere(note: Wanted, field: Field, size: float) -> _Tries:
    """Return places all over the box, for a note that finds none near its line."""
    width, height = note_size(note, size)
    edge = field.box.shrunk(GAP)
    x, y = np.meshgrid(
        np.arange(edge.left, edge.right - width, _ANYWHERE), np.arange(edge.bottom, edge.top - height, _ANYWHERE)
    )
    boxes = np.stack([x.ravel(), y.ravel(), x.ravel() + width, y.ravel() + height], axis=1)
    anchors = _anchors(note, field.box)
    anchor = anchors[len(anchors) // 2]
    ends = np.clip(anchor, boxes[:, :2], boxes[:, 2:])
    leaders = np.stack([np.broadcast_to(anchor, ends.shape), ends], axis=1)
    cost = _COVERED * field.over(boxes) + _AWAY * np.linalg.norm(ends - anchor, axis=1)
    return _cheapest_first(boxes, leaders, cost)
