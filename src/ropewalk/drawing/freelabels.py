"""Labels that lie free of each other, each beside what it names, joined to it by a leader where it has to stand off."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ropewalk.drawing.covering import dense
from ropewalk.drawing.lettering import ASCENT, DESCENT, shortened, text_width
from ropewalk.drawing.scene import Box, Label, Points, Polyline, Shape

#: longest label [mm in sizes of text], directions and distances it is tried at [sizes of text], free room about it
_LONGEST = 34.0
_WAYS = [angle * math.pi / 8.0 for angle in (1, 7, 15, 9, 2, 6, 14, 10, 3, 5, 13, 11, 0, 8, 4, 12)]
_DISTANCES = (0.9, 1.8, 3.0, 4.5, 6.5, 9.0, 12.0, 16.0, 21.0, 27.0, 34.0)
_GAP = 0.25
#: strokes are looked at in steps of this [mm]
_STEP = 4.0
#: a leader joins a label that stands farther off than this [sizes of text]
_LEADER = 1.5


@dataclass(frozen=True, slots=True, eq=False)
class Wish:
    """A label wanted: its text and size [mm], its role, the place of its line, and points (n, 2) it may name."""

    text: str
    size: float
    role: str
    line: int
    path: Points


def free_labels(wishes: Sequence[Wish], drawn: Iterable[Points] = ()) -> Iterator[tuple[Shape, ...]]:
    """Return the shapes of each label in turn; the earlier ones choose first.

    Parameters
    ----------
    wishes : sequence of Wish
    drawn : iterable of (n, 2) array
        Strokes that are better not covered, beside the paths of the wishes.
    """
    taken: list[Box] = []
    strokes = [dense(path, _STEP) for path in (*(wish.path for wish in wishes), *drawn) if len(path) > 1]
    points = np.concatenate([*strokes, *(wish.path for wish in wishes)]) if wishes else np.zeros((0, 2))
    for wish in wishes:
        text = shortened(wish.text, wish.size, _LONGEST * wish.size)
        width = text_width(text, wish.size)
        box, at = _place(wish, width, taken, points)
        taken.append(box)
        yield tuple(_label(wish, text, box, at))


def _place(wish: Wish, width: float, taken: Sequence[Box], points: Points) -> tuple[Box, Points]:
    """Return the nearest place clear of other labels, and of points (n, 2) if it can be, and the point it names."""
    middle = len(wish.path) // 2
    anchors = wish.path[np.unique(np.linspace(0, len(wish.path) - 1, 5).round().astype(int))]
    anchors = anchors[np.argsort(np.linalg.norm(anchors - wish.path[middle], axis=1), kind="stable")]
    fallback = None
    for distance in _DISTANCES:
        for at in anchors:
            for way in _WAYS:
                box = _beside(at, way, distance * wish.size, width, wish.size)
                if any(box.overlaps(other, _GAP * wish.size) for other in taken):
                    continue
                fallback = fallback or (box, at)
                if not _covers(box, points):
                    return box, at
    return fallback or (_beside(anchors[0], _WAYS[0], _DISTANCES[-1] * wish.size, width, wish.size), anchors[0])


def _beside(at: Points, way: float, distance: float, width: float, size: float) -> Box:
    x, y = at[0] + distance * math.cos(way), at[1] + distance * math.sin(way)
    left = x - width / 2.0 + math.copysign(width / 2.0, math.cos(way)) if abs(math.cos(way)) > 0.3 else x - width / 2.0
    return Box(left, y - size / 2.0, left + width, y + (ASCENT + DESCENT - 0.5) * size)


def _covers(box: Box, points: Points) -> bool:
    x, y = points.T
    return bool(np.any((x > box.left) & (x < box.right) & (y > box.bottom) & (y < box.top)))


def _label(wish: Wish, text: str, box: Box, at: Points) -> Iterator[Shape]:
    near = np.array([min(max(at[0], box.left), box.right), min(max(at[1], box.bottom), box.top)])
    if float(np.linalg.norm(near - at)) > _LEADER * wish.size:
        yield Polyline(np.stack([near, at]), f"{wish.role} leader", None, wish.line)
    base = np.array([box.left, box.bottom + DESCENT * wish.size])
    yield Label(base, text, wish.size, f"{wish.role} text", line=wish.line)
