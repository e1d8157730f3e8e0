"""Where one round tube's surface meets another's: the line of a joint, on the first one rolled flat; how near it is.

Examples
--------
A tube of 30 mm that starts on the axis of one of 40 mm, square to it: along its sides it meets the surface 20 mm from
there, on top and below, where the other falls away, at sqrt(20² - 15²).

>>> this = Cylinder(np.zeros(3), np.array([200.0, 0.0, 0.0]), 30.0)
>>> other = Cylinder(np.array([0.0, -90.0, 0.0]), np.array([0.0, 90.0, 0.0]), 40.0)
>>> line = joint_line(this, np.array([0.0, 1.0, 0.0]), other)
>>> line[:, 0].min().round(2), line[:, 0].max().round(2)
(np.float64(13.23), np.float64(20.0))
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ropewalk.mechanics.vectors import cross, dot, norm, unit

__all__ = ["Cylinder", "flat_distance", "inside", "joint_line"]

Array = NDArray[np.float64]
#: lines along the tube on which the joint is looked for
_LINES = 720
#: an end counts as on the other tube when it lies beyond it by no more than this [mm]
_END = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Cylinder:
    """A straight round tube's outer surface: ends of its axis, (3,) each [mm], and its diameter [mm]."""

    start: Array
    end: Array
    diameter: float

    @property
    def length(self) -> float:
        """Length of its axis [mm]."""
        return float(norm(self.end - self.start))

    @property
    def axis(self) -> Array:
        """Unit vector from start to end, (3,)."""
        return unit(self.end - self.start)


def joint_line(this: Cylinder, outward: Array, other: Cylinder) -> Array:
    """Return the line in which another tube's surface meets this one's.

    Parameters
    ----------
    this, other : Cylinder
    outward : (3,) array
        Unit vector square to this tube's axis from which places round it are counted, towards
        axis × outward.

    Returns
    -------
    (n, 2) array
        Points of the line: along this tube from its start, and round it, on its surface [mm]; empty where they do not
        meet between the ends of both.

    Notes
    -----
    The lines along this tube's surface pierce the other's infinite cylinder; what lies beyond the ends of either tube's
    axis is left out.
    """
    axis, angle = this.axis, np.linspace(-math.pi, math.pi, _LINES, endpoint=False)
    round_ = cross(axis, outward)
    foot = this.start + this.diameter / 2.0 * (np.cos(angle)[:, None] * outward + np.sin(angle)[:, None] * round_)
    gap = foot - other.start
    along = axis - dot(axis, other.axis) * other.axis
    across = gap - dot(gap, other.axis)[:, None] * other.axis
    a, b = float(dot(along, along)), dot(across, along)
    c = dot(across, across) - (other.diameter / 2.0) ** 2
    if a < 1e-12:
        return np.empty((0, 2))
    root = b**2 - a * c
    meets = root >= 0.0
    found = []
    for sign in (-1.0, 1.0):
        x = (-b[meets] + sign * np.sqrt(root[meets])) / a
        place = dot(gap[meets] + x[:, None] * axis, other.axis)
        on = (x >= -_END) & (x <= this.length + _END) & (place >= -_END) & (place <= other.length + _END)
        found.append(np.stack([x[on], this.diameter / 2.0 * angle[meets][on]], axis=-1))
    return np.concatenate(found)


def inside(points: Array, other: Cylinder) -> bool:
    """Return whether any of some points (n, 3) lies inside a tube, between its ends."""
    gap = points - other.start
    along = dot(gap, other.axis)
    away = norm(gap - along[:, None] * other.axis)
    return bool(((along > 0.0) & (along < other.length) & (away < other.diameter / 2.0)).any())


def flat_distance(outline: Array, line: Array, circumference: float) -> tuple[float, int]:
    """Return the least distance on a tube's surface between two lines rolled flat, and where on the second it is.

    Parameters
    ----------
    outline, line : (n, 2), (m, 2) array
        Along the tube and round it, on its surface [mm]; not empty.
    circumference : float
        Length once round the tube [mm].

    Examples
    --------
    The short way round a tube of 100 mm circumference from 10 to 95 is 15 mm.

    >>> flat_distance(np.array([[0.0, 10.0]]), np.array([[0.0, 50.0], [0.0, 95.0]]), 100.0)
    (15.0, 1)
    """
    along = outline[:, None, 0] - line[None, :, 0]
    # once round is no way: both are counted from 0, so that they lie less than that apart
    around = np.abs(outline[:, None, 1] % circumference - line[None, :, 1] % circumference)
    squared = along**2 + np.minimum(around, circumference - around) ** 2
    nearest = np.unravel_index(int(squared.argmin()), squared.shape)
    return math.sqrt(squared[nearest]), int(nearest[1])
