"""What is drawn already, as a map of what it would cost to cover it with a note."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ropewalk.drawing.scene import Area, Box, Points, Polyline

Array = NDArray[np.float64]

#: side of the map's cells [mm]
CELL = 0.5
#: what covering a cell costs, and how many cells around count too: edges of the bike, lines, stations and signs
_EDGE, _LINE, _MARK = (0.12, 0), (1.0, 1), (1.5, 2)


@dataclass(frozen=True, slots=True, eq=False)
class Field:
    """What is drawn already, as a cost for each cell of a box, summed from its lower left corner."""

    box: Box
    cost: Array
    total: Array

    def over(self, boxes: Array) -> Array:
        """Return the cost of covering boxes (n, 4): left, bottom, right, top."""
        last = np.array(self.total.shape) - 1
        low = np.clip(((boxes[:, :2] - [self.box.left, self.box.bottom]) / CELL).astype(int), 0, last)
        high = np.clip(np.ceil((boxes[:, 2:] - [self.box.left, self.box.bottom]) / CELL).astype(int), 0, last)
        sums: Array = (
            self.total[high[:, 0], high[:, 1]]
            - self.total[low[:, 0], high[:, 1]]
            - self.total[high[:, 0], low[:, 1]]
            + self.total[low[:, 0], low[:, 1]]
        )
        return sums

    def at(self, points: Array) -> Array:
        """Return the cost at points (..., 2)."""
        cells = ((points - [self.box.left, self.box.bottom]) / CELL).astype(int)
        cells = np.clip(cells, 0, np.array(self.cost.shape) - 1)
        found: Array = self.cost[cells[..., 0], cells[..., 1]]
        return found


def field_of(box: Box, strokes: Sequence[Polyline], areas: Sequence[Area], marks: Sequence[Points]) -> Field:
    """Return what is drawn in a box as costs: lines and stations dear, edges of the bike cheap."""
    shape = (max(int(box.width / CELL), 1), max(int(box.height / CELL), 1))
    cost = np.zeros(shape)

    def add(points: Points, amount: float, spread: int) -> None:
        cells = ((points - [box.left, box.bottom]) / CELL).astype(int)
        for right in range(-spread, spread + 1):
            for up in range(-spread, spread + 1):
                moved = cells + np.array([right, up])
                kept = moved[((moved >= 0) & (moved < shape)).all(axis=1)]
                cost[kept[:, 0], kept[:, 1]] = np.maximum(cost[kept[:, 0], kept[:, 1]], amount)

    edges = [dense(np.concatenate([ring, ring[:1]]), CELL) for area in areas for ring in area.rings]
    paths = [dense(stroke.points, CELL) for stroke in strokes]
    for found, (amount, spread) in ((edges, _EDGE), (paths, _LINE), ([np.array(marks)], _MARK)):
        if found and len(found[0]):
            add(np.concatenate(found), amount, spread)
    total = np.zeros((shape[0] + 1, shape[1] + 1))
    total[1:, 1:] = cost.cumsum(axis=0).cumsum(axis=1)
    return Field(box, cost, total)


def dense(points: Points, step: float) -> Points:
    """Return a path with points no further apart than a step."""
    gaps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    along = np.concatenate([[0.0], np.cumsum(gaps)])
    if along[-1] == 0.0:
        return points[:1]
    at = np.linspace(0.0, along[-1], max(math.ceil(along[-1] / step), 1) + 1)
    return np.stack([np.interp(at, along, points[:, axis]) for axis in (0, 1)], axis=1)
