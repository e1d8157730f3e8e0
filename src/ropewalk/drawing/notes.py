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

from ropewalk.drawing.covering import CELL, Array, Field, dense
from ropewalk.drawing.lettering import ASCENT, DESCENT, LEADING, text_width
from ropewalk.drawing.outlines import rounded
from ropewalk.drawing.scene import Area, Box, Label, Mark, Points, Polyline, Shape, Wanted
from ropewalk.drawing.style import sign

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
#: what two crossing leaders cost, what may never be
_LEADERS_CROSS, _NEVER = 12.0, 1e9
#: a leader keeps off other notes by this [mm]
_BESIDE = 0.3
_ROUNDS = 2
#: how many places are weighed against the other notes at once
_AT_ONCE = 250


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """A note in its place: its box and its leader (2, 2) from the line to the box."""

    wanted: Wanted
    box: Box
    leader: Points


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
    for _ in range(_ROUNDS):
        for place in order:
            others = [placed for other, placed in found.items() if other != place]
            best = _best(wanted[place], tries[place], others, taken) or _anywhere(
                wanted[place], field, size, others, taken
            )
            if best is not None:
                found[place] = best
    return [found[place] for place in sorted(found)], [note for place, note in enumerate(wanted) if place not in found]


def note_size(note: Wanted, size: float) -> tuple[float, float]:
    """Return width and height of a note [mm]."""
    if note.role == "tag":
        return text_width(note.text[0], size, bold=True) + 2.05 * size, 1.6 * size
    small = 0.9 * size
    width = max(text_width(text, small, bold=place == 0) for place, text in enumerate(note.text))
    return width + 0.9 * size, LEADING * small * len(note.text) + 0.45 * size


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


def _best(note: Wanted, tries: _Tries, others: Sequence[Placed], taken: Sequence[Box]) -> Placed | None:
    """Return the cheapest place that leaves the other notes alone."""
    best, found = _NEVER, None
    for first in range(0, len(tries.cost), _AT_ONCE):
        if tries.cost[first] >= best:
            break
        some = slice(first, first + _AT_ONCE)
        cost = tries.cost[some] + _quarrels(tries.boxes[some], tries.leaders[some], others, taken)
        at = int(np.argmin(cost))
        if float(cost[at]) < best:
            best, found = float(cost[at]), first + at
    if found is None:
        return None
    return Placed(note, Box(*tries.boxes[found].tolist()), tries.leaders[found])


def _quarrels(boxes: Array, leaders: Array, others: Sequence[Placed], taken: Sequence[Box]) -> Array:
    """Return what places cost for the other notes: no two may lie on each other, nor one on another's leader."""
    starts, ends = leaders[:, 0], leaders[:, 1]
    cost = np.zeros(len(boxes))
    seen = starts[:, None] + np.linspace(0.0, 1.0, _LEADER)[None, :, None] * (ends - starts)[:, None]
    for box in (*(placed.box for placed in others), *taken):
        low, high = np.array([box.left, box.bottom]), np.array([box.right, box.top])
        on_it = np.all((boxes[:, :2] < high + GAP) & (boxes[:, 2:] > low - GAP), axis=1)
        through = np.all((seen > low - _BESIDE) & (seen < high + _BESIDE), axis=2)
        cost[on_it | np.any(through, axis=1)] = _NEVER
    for placed in others:
        points = dense(placed.leader, 1.0)[:, None, :]
        on_leader = np.all((points > boxes[:, :2] - _BESIDE) & (points < boxes[:, 2:] + _BESIDE), axis=2)
        cost[np.any(on_leader, axis=0)] = _NEVER
        cost += np.where(_cross(starts, ends, placed.leader), _LEADERS_CROSS, 0.0)
    return cost


def _cross(starts: Points, ends: Points, other: Points) -> NDArray[np.bool_]:
    """Return whether each of the segments (n, 2) crosses another one."""

    def side(origin: Points, towards: Points, point: Points) -> Array:
        along, off = towards - origin, point - origin
        turned: Array = along[..., 0] * off[..., 1] - along[..., 1] * off[..., 0]
        return turned

    first, last = other
    apart = side(starts, ends, first) * side(starts, ends, last) < 0.0
    crossing: NDArray[np.bool_] = apart & (side(first, last, starts) * side(first, last, ends) < 0.0)
    return crossing


def _anywhere(note: Wanted, field: Field, size: float, others: Sequence[Placed], taken: Sequence[Box]) -> Placed | None:
    """Return the cheapest free place in the whole box, for a note that found none near its line."""
    width, height = note_size(note, size)
    edge = field.box.shrunk(GAP)
    x, y = np.meshgrid(
        np.arange(edge.left, edge.right - width, 1.0), np.arange(edge.bottom, edge.top - height, 1.0), indexing="ij"
    )
    boxes = np.stack([x.ravel(), y.ravel(), x.ravel() + width, y.ravel() + height], axis=1)
    anchor = _anchors(note, field.box)
    anchor = anchor[len(anchor) // 2]
    ends = np.clip(anchor, boxes[:, :2], boxes[:, 2:])
    leaders = np.stack([np.broadcast_to(anchor, ends.shape), ends], axis=1)
    cost = _COVERED * field.over(boxes) + _AWAY * np.linalg.norm(ends - anchor, axis=1)
    return _best(note, _cheapest_first(boxes, leaders, cost), others, taken)


def note_shapes(placed: Placed, size: float) -> list[Shape]:
    """Return a note in its place as shapes: leader, box, sign, text."""
    note, box = placed.wanted, placed.box
    shapes: list[Shape] = [
        Polyline(placed.leader, "leader"),
        Mark(placed.leader[0], "disc", 0.35 * size, "leader end", note.line),
        Area((rounded(box, 0.3 * size),), note.role, note.line),
    ]
    middle = (box.bottom + box.top) / 2.0
    if note.role == "tag":
        centre = np.array([box.left + 0.95 * size, middle])
        shapes.append(Mark(centre, sign(note.line), 0.85 * size, "sign", note.line))
        at = np.array([box.left + 1.55 * size, middle - 0.36 * size])
        return [*shapes, Label(at, note.text[0], size, "tag text", bold=True, line=note.line)]
    small = 0.9 * size
    role = "stop text" if note.role == "stop" else "text"
    first = middle + (len(note.text) - 1) / 2.0 * LEADING * small - (ASCENT - DESCENT) / 2.0 * small
    for place, text in enumerate(note.text):
        at = np.array([box.left + 0.45 * size, first - place * LEADING * small])
        shapes.append(Label(at, text, small, role, bold=place == 0, line=note.line))
    return shapes
