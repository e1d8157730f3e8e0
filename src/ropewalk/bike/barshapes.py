"""Shapes of bars: the right half of each as straight lines and arcs, from the middle of the clamp outwards.

Axes as the bike's, origin in the middle of the clamp: x forward, y up, z to the rider's right [mm]. The frame file
gives a bar's size; radii and proportions that it leaves out are common practice.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from ropewalk.bike.cockpit import DropBar, FlatBar, SweptBar
from ropewalk.errors import FrameFileError

Triple = tuple[float, float, float]

#: bend from the tops of a drop bar into its ramps [mm]
TOP_CORNER = 42.0
#: straight ramp behind the hooks [mm]
RAMP = 3.0
#: slope of the drops, down towards their ends [rad]
DROP_SLOPE = math.radians(8.0)
#: how far the drops end behind the tops [mm]
DROP_END_BEHIND = 60.0
#: tightest bend that a bar is made with [mm]
LEAST_RADIUS = 15.0

#: straight middle part of a flat or swept bar, to each side of its middle [mm]
CLAMP_HALF = 35.0
#: bends of flat and riser bars [mm]
FLAT_RADIUS = 60.0
#: least run of the two bends of a riser, and least straight grip part outside them [mm]
RISE_RUN = 40.0
LEAST_GRIP = 130.0
#: bend of a swept bar into its grips, and at the clamp [mm]
SWEEP_RADIUS = 75.0
SWEEP_CLAMP_RADIUS = 50.0
#: slope of the bar before that bend, for the bend's size only [rad]
SWEEP_OUT = math.radians(15.0)
#: share of the line between both bends that the one into the grips may take
SWEEP_SHARE = 0.75


@dataclass(frozen=True, slots=True)
class Segment:
    """A straight line or an arc."""

    origin: Triple
    #: unit vector along the start, outwards
    tangent: Triple
    length: float
    #: unit vector from the start to the arc's centre; zeros for a line
    bend: Triple = (0.0, 0.0, 0.0)
    curvature: float = 0.0


def drop_segments(bar: DropBar) -> list[Segment]:
    """Return a drop bar: tops, a bend into a level ramp, a hook of two radii, and the drops.

    Parameters
    ----------
    bar : DropBar
        Width at the hoods, reach, drop and flare.

    Notes
    -----
    The hook's upper quarter takes up the reach, its lower arc the rest of the drop, so that the drops end 60 mm behind
    the tops and slope down by 8°. Flare tilts the hook's plane about the ramp. The drop is measured to the bar's end.
    """
    reach, drop = float(bar.reach), float(bar.drop)
    flare = math.radians(bar.flare_deg)
    cos, sin = math.cos(DROP_SLOPE), math.sin(DROP_SLOPE)
    corner = min(TOP_CORNER, 0.45 * reach, 0.4 * bar.width)
    depth = drop / math.cos(flare)
    upper = min(reach - corner - RAMP, 0.45 * depth)
    ramp = reach - corner - upper
    back = reach + DROP_END_BEHIND
    # depth = upper + lower·cos + drops·sin and back = lower·(1 − sin) + drops·cos, solved for the lower radius
    lower = (depth - upper - back * sin / cos) * cos / (1.0 - sin)
    drops = (back - lower * (1.0 - sin)) / cos
    if min(upper, lower) < LEAST_RADIUS or drops < 0.0:
        raise FrameFileError(
            f"cockpit.bar has reach {reach:g} mm and drop {drop:g} mm: no hook can be bent to these; measure both again"
        )
    down = (0.0, -math.cos(flare), math.sin(flare))
    path = _Path((0.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    path.line(bar.width / 2.0 - corner)
    path.arc(corner, math.pi / 2.0, (1.0, 0.0, 0.0))
    path.line(ramp)
    path.arc(upper, math.pi / 2.0, down)
    path.arc(lower, math.pi / 2.0 - DROP_SLOPE, (-1.0, 0.0, 0.0))
    path.line(drops)
    return path.segments


def flat_segments(bar: FlatBar) -> list[Segment]:
    """Return a flat or riser bar: a straight middle, two bends that make the rise, and the swept grips.

    Parameters
    ----------
    bar : FlatBar
        Width end to end, backsweep, upsweep and rise.

    Notes
    -----
    Backsweep is seen from above, upsweep from the front. The rise is that of the second bend over the clamp, before
    the upsweep adds to it.
    """
    half, rise = bar.width / 2.0, float(bar.rise)
    run = max(min(max(RISE_RUN, abs(rise)), half - CLAMP_HALF - LEAST_GRIP), 10.0)
    bend = (0.0, rise, CLAMP_HALF + run)
    grip = half - bend[2]
    back, up = math.tan(math.radians(bar.backsweep_deg)), math.tan(math.radians(bar.upsweep_deg))
    end = (-grip * back, rise + grip * up, half)
    points = [(0.0, 0.0, 0.0), (0.0, 0.0, CLAMP_HALF), bend, end]
    between = math.dist(points[1], bend)
    first, second, third = _headings(points)
    return _filleted(
        points,
        [
            min(_trim(first, second, FLAT_RADIUS), CLAMP_HALF, between / 2.0),
            min(_trim(second, third, FLAT_RADIUS), between / 2.0, grip / 2.0),
        ],
    )


def swept_segments(bar: SweptBar) -> list[Segment]:
    """Return a swept city bar: it runs ahead and up from the clamp, then bends back into level grips.

    Parameters
    ----------
    bar : SweptBar
        Width end to end, backsweep, length of the grips, reach ahead and rise.

    Notes
    -----
    The straight part at the end is as long as the grip; the bend before it touches `reach` at its foremost point.
    """
    half, rise, reach = bar.width / 2.0, float(bar.rise), float(bar.reach)
    sweep = math.radians(bar.backsweep_deg)
    grip = (-math.sin(sweep), 0.0, math.cos(sweep))
    clamp = (0.0, 0.0, CLAMP_HALF)
    # of what grip and clamp leave of the width, the bend may take its share
    left = half - CLAMP_HALF - bar.grip * grip[2]
    trim = min(SWEEP_RADIUS * math.tan((sweep + SWEEP_OUT) / 2.0), SWEEP_SHARE * left / (1.0 + SWEEP_SHARE * grip[2]))
    if trim < LEAST_RADIUS * math.tan(sweep / 2.0):
        raise FrameFileError(
            f"cockpit.bar.grip is {bar.grip:g} mm: on a bar {bar.width:g} mm wide with {bar.backsweep_deg:g}° of "
            "backsweep it leaves no room for the bend; shorten the grip or measure the width again"
        )
    aside = half - (bar.grip + trim) * grip[2]

    def missing(ahead: float) -> float:
        """Return how far the bend stays behind the reach with its corner so far ahead."""
        corner = (ahead, rise, aside)
        return reach - _foremost(corner, _unit(_less(corner, clamp)), grip, trim)

    from scipy.optimize import brentq  # here, as it takes long to import and only swept bars need it

    # the bend's foremost point lies between its corner and its start, one trim away
    ahead = float(brentq(missing, reach, reach + trim, xtol=1e-9)) if reach > 0.0 else reach
    corner = (ahead, rise, aside)
    out = _unit(_less(corner, clamp))
    end = _sum(corner, grip, bar.grip + trim)
    first = min(_trim((0.0, 0.0, 1.0), out, SWEEP_CLAMP_RADIUS), CLAMP_HALF, math.dist(corner, clamp) - trim)
    return _filleted([(0.0, 0.0, 0.0), clamp, corner, end], [first, trim])


class _Path:
    """A pen that draws lines and arcs one after the other."""

    def __init__(self, point: Triple, heading: Triple) -> None:
        self.point, self.heading = point, heading
        self.segments: list[Segment] = []

    def line(self, length: float) -> None:
        if length > 1e-9:
            self.segments.append(Segment(self.point, self.heading, length))
            self.point = _sum(self.point, self.heading, length)

    def arc(self, radius: float, angle: float, bend: Triple) -> None:
        """Bend through an angle towards `bend`, a unit vector square to the heading."""
        if angle > 1e-9:
            self.segments.append(Segment(self.point, self.heading, radius * angle, bend, 1.0 / radius))
            cos, sin = math.cos(angle), math.sin(angle)
            self.point = _sum(_sum(self.point, self.heading, radius * sin), bend, radius * (1.0 - cos))
            self.heading = _sum(_scaled(self.heading, cos), bend, sin)


def _headings(points: Sequence[Triple]) -> list[Triple]:
    return [_unit(_less(after, before)) for before, after in pairwise(points)]


def _filleted(points: Sequence[Triple], trims: Sequence[float]) -> list[Segment]:
    """Return a polyline with its inner corners rounded by arcs, each taking its trim off the lines beside it."""
    headings = _headings(points)
    path = _Path(points[0], headings[0])
    used = 0.0
    for i, trim in enumerate(trims):
        turn = _turn(headings[i], headings[i + 1])
        path.line(math.dist(points[i], points[i + 1]) - used - trim)
        if turn > 1e-7:
            bend = _unit(_sum(headings[i + 1], headings[i], -_dot(headings[i], headings[i + 1])))
            path.arc(trim / math.tan(turn / 2.0), turn, bend)
        else:
            path.line(2.0 * trim)
        used = trim
    path.line(math.dist(points[-2], points[-1]) - used)
    return path.segments


def _foremost(corner: Triple, before: Triple, after: Triple, trim: float) -> float:
    """Return the largest x on the arc that rounds a corner [mm]."""
    turn = _turn(before, after)
    start = _sum(corner, before, -trim)
    bend = _unit(_sum(after, before, -_dot(before, after)))
    angle = min(max(math.atan2(before[0], -bend[0]), 0.0), turn)
    radius = trim / math.tan(turn / 2.0)
    return start[0] + radius * (math.sin(angle) * before[0] + (1.0 - math.cos(angle)) * bend[0])


def _trim(before: Triple, after: Triple, radius: float) -> float:
    """Return how much of each line a corner's arc of that radius uses up [mm]."""
    return radius * math.tan(_turn(before, after) / 2.0)


def _turn(before: Triple, after: Triple) -> float:
    cross = (
        before[1] * after[2] - before[2] * after[1],
        before[2] * after[0] - before[0] * after[2],
        before[0] * after[1] - before[1] * after[0],
    )
    return math.atan2(math.hypot(*cross), _dot(before, after))


def _dot(first: Triple, second: Triple) -> float:
    return first[0] * second[0] + first[1] * second[1] + first[2] * second[2]


def _less(first: Triple, second: Triple) -> Triple:
    return (first[0] - second[0], first[1] - second[1], first[2] - second[2])


def _sum(first: Triple, second: Triple, factor: float) -> Triple:
    return (first[0] + factor * second[0], first[1] + factor * second[1], first[2] + factor * second[2])


def _scaled(given: Triple, factor: float) -> Triple:
    return (given[0] * factor, given[1] * factor, given[2] * factor)


def _unit(given: Triple) -> Triple:
    return _scaled(given, 1.0 / math.hypot(*given))
