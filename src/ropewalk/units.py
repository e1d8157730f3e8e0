"""Conversions at the edges; inside the package lengths are mm, forces N, angles radians.

Examples
--------
>>> round(radians(180.0), 6)
3.141593
>>> clock_angle(3.0) == radians(90.0)
True
"""

import math

#: Newton per pound-force (exact by definition of the pound and standard gravity).
NEWTON_PER_POUND_FORCE = 0.45359237 * 9.80665
#: Millimetres per inch (exact).
MM_PER_INCH = 25.4


def radians(angle_deg: float) -> float:
    """Return an angle given in degrees as radians."""
    return math.radians(angle_deg)


def degrees(angle: float) -> float:
    """Return an angle given in radians as degrees."""
    return math.degrees(angle)


def clock_angle(hours: float) -> float:
    """Return the angle [rad] of a clock place, clockwise from 12."""
    return math.radians(30.0 * hours)
