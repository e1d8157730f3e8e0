"""A string pulled tight round given circles in a plane, by the tangents between them, to check taut paths by."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

#: centre, radius, and which way the string turns there: +1 to the left, -1 to the right
Circle = tuple[tuple[float, float], float, int]


def taut_string(start: tuple[float, float], circles: Sequence[Circle], end: tuple[float, float]) -> tuple[float, float]:
    """Return length [mm] and turn [rad] of a string from a point round circles to a point.

    A directed tangent has each centre at its radius on the left where it turns left, on the right where it turns right;
    with d between the centres and k the difference of the signed radii it is sqrt(d^2 - k^2) long.
    """
    stops: list[Circle] = [(start, 0.0, 1), *circles, (end, 0.0, 1)]
    headings, length = [], 0.0
    for (one, radius, hand), (other, second, other_hand) in pairwise(stops):
        apart = math.dist(one, other)
        shift = other_hand * second - hand * radius
        headings.append(math.atan2(other[1] - one[1], other[0] - one[0]) - math.asin(shift / apart))
        length += math.sqrt(apart**2 - shift**2)
    turn = 0.0
    for (_, radius, hand), before, after in zip(circles, headings, headings[1:], strict=False):
        bend = (after - before + math.pi) % (2 * math.pi) - math.pi
        assert bend * hand >= 0.0, "the string does not touch this circle on that side"
        turn += abs(bend)
        length += radius * abs(bend)
    return length, turn
