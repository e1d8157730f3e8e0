"""Points and directions in the bike's axes: x forward, y up, z to the rider's right [mm]."""

from __future__ import annotations

import math
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

#: points (3,) and curves (n, 3) [mm], or directions (unit)
Vector: TypeAlias = NDArray[np.float64]


def vector(x: float, y: float, z: float) -> Vector:
    """Return a read-only array of three numbers."""
    made = np.array((x, y, z), dtype=np.float64)
    made.flags.writeable = False
    return made


def cross(first: Vector, second: Vector) -> Vector:
    """Return the outer product of two vectors, at a fifth of the cost of the general routine."""
    a, b, c = first.tolist()
    d, e, f = second.tolist()
    return vector(b * f - c * e, c * d - a * f, a * e - b * d)


def unit(direction: Vector) -> Vector:
    """Return a vector scaled to length one."""
    x, y, z = direction.tolist()
    length = math.sqrt(x * x + y * y + z * z)
    return vector(x / length, y / length, z / length)
