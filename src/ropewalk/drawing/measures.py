"""Dimensions of the side view, as lines, arrows and figures that any program shows alike."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from ropewalk.bike.mechanism import Placement
from ropewalk.bike.model import Bike
from ropewalk.drawing.lettering import text_width
from ropewalk.drawing.scene import Area, Label, Points, Polyline, Shape
from ropewalk.drawing.silhouettes import from_the_right

#: how far dimensions stand off, size of their text, length of an arrow [mm]
OFF, SIZE, ARROW = 70.0, 14.0, 16.0


def measures(bike: Bike, placed: Mapping[str, Placement], *, folded: bool) -> Iterator[Shape]:
    """Return wheelbase, wheel diameter and height of the bottom bracket; those that a folded bike has.

    Parameters
    ----------
    bike : Bike
    placed : mapping of str to Placement
        Where each body is.
    folded : bool
    """
    bones = bike.skeleton

    def at(body: str, point: Points) -> Points:
        seen: Points = from_the_right(placed[body].points(point))[0]
        return seen

    rear = at(bike.mounts["rear axle"].body, bones.rear_axle)
    radius = bones.wheel_radius
    aside = rear[0] - radius - OFF
    low, high = np.array([rear[0], rear[1] - radius]), np.array([rear[0], rear[1] + radius])
    yield from _upright(low, high, aside, "wheel")
    if folded:
        return
    front = at(bike.mounts["front axle"].body, bones.front_axle)
    yield from _level(rear, front, min(rear[1], front[1]) - radius - OFF, "wheelbase")
    bracket = at(bike.tubes["shell"].body, bones.bottom_bracket)
    share = (bracket[0] - rear[0]) / (front[0] - rear[0])
    ground = np.array([bracket[0], rear[1] - radius + share * (front[1] - rear[1])])
    yield from _upright(ground, bracket, bracket[0] + OFF, "bottom bracket")


def _level(start: Points, end: Points, height: float, name: str) -> Iterator[Shape]:
    left, right = np.array([start[0], height]), np.array([end[0], height])
    yield from _lines(start, end, left, right)
    text = f"{name} {right[0] - left[0]:.1f}"
    yield Label((left + right) / 2.0 + np.array([0.0, 0.5 * SIZE]), text, SIZE, "dimension text", "middle")


def _upright(low: Points, high: Points, aside: float, name: str) -> Iterator[Shape]:
    bottom, top = np.array([aside, low[1]]), np.array([aside, high[1]])
    yield from _lines(low, high, bottom, top)
    text = f"{name} {top[1] - bottom[1]:.1f}"
    left = aside < low[0]
    beside = -0.6 * SIZE - text_width(text, SIZE) if left else 0.6 * SIZE
    yield Label((bottom + top) / 2.0 + np.array([beside, -0.35 * SIZE]), text, SIZE, "dimension text")


def _lines(start: Points, end: Points, first: Points, last: Points) -> Iterator[Shape]:
    """Draw a dimension line with arrows from a first point to a last, and the two lines that lead to it."""
    for point, foot in ((start, first), (end, last)):
        gap = foot - point
        length = float(np.linalg.norm(gap))
        if length > ARROW:
            over = point + gap * (length + 0.5 * ARROW) / length
            yield Polyline(np.stack([point + gap * 0.5 * ARROW / length, over]), "dimension")
    yield Polyline(np.stack([first, last]), "dimension")
    along = (last - first) / np.linalg.norm(last - first)
    across = np.array([-along[1], along[0]])
    for tip, way in ((first, along), (last, -along)):
        foot = tip + ARROW * way
        yield Area((np.stack([tip, foot + ARROW / 6.0 * across, foot - ARROW / 6.0 * across]),), "dimension fill")
