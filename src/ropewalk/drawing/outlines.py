"""Outlines of signs and boxes, so that every writer draws the same ones."""

from __future__ import annotations

import math

import numpy as np

from ropewalk.drawing.scene import Box, Mark, Points, Sign

#: corners of the signs about their middle, for a size of 1; sizes are evened so that all look equally large
_ARM = 0.17
_CORNERS: dict[Sign, tuple[tuple[float, float], ...]] = {
    "square": ((-0.44, -0.44), (0.44, -0.44), (0.44, 0.44), (-0.44, 0.44)),
    "triangle": ((-0.58, -0.40), (0.58, -0.40), (0.0, 0.60)),
    "wedge": ((-0.58, 0.40), (0.58, 0.40), (0.0, -0.60)),
    "diamond": ((0.0, -0.64), (0.60, 0.0), (0.0, 0.64), (-0.60, 0.0)),
    "bar": ((-0.6, -0.18), (0.6, -0.18), (0.6, 0.18), (-0.6, 0.18)),
    "cross": (
        (-_ARM, -0.58), (_ARM, -0.58), (_ARM, -_ARM), (0.58, -_ARM), (0.58, _ARM), (_ARM, _ARM),
        (_ARM, 0.58), (-_ARM, 0.58), (-_ARM, _ARM), (-0.58, _ARM), (-0.58, -_ARM), (-_ARM, -_ARM),
    ),
}  # fmt: skip


def sign_outline(mark: Mark) -> Points | None:
    """Return the corners (n, 2) of a mark's sign, or None for a disc."""
    if mark.sign == "disc":
        return None
    return mark.centre + mark.size * np.array(_CORNERS[mark.sign])


def rounded(box: Box, radius: float) -> Points:
    """Return the outline (n, 2) of a box with round corners."""
    radius = min(radius, box.width / 2.0, box.height / 2.0)
    quarter = np.linspace(0.0, math.pi / 2.0, 6)
    corners = (
        (box.right - radius, box.top - radius),
        (box.left + radius, box.top - radius),
        (box.left + radius, box.bottom + radius),
        (box.right - radius, box.bottom + radius),
    )
    parts = [
        np.array(corner) + radius * np.stack([np.cos(turn + quarter), np.sin(turn + quarter)], axis=1)
        for corner, turn in zip(corners, np.arange(4) * math.pi / 2.0, strict=True)
    ]
    return np.concatenate(parts)
