"""Shapes of bars: the right half of each as straight lines and arcs, from the middle of the clamp outwards.

Axes as the bike's, origin in the middle of the clamp: x forward, y up, z to the rider's right [mm]. The frame file
gives a bar's size; radii and proportions that it leaves out are common practice.
"""

from __future__ import annotations

import math
from itertools import pairwise

from ropewalk.bike.cockpit import BaseBar, DropBar, Extensions, FlatBar, SweptBar
from ropewalk.bike.segments import (
    Path,
    Segment,
    Triple,
    dot,
    filleted,
    headings,
    less,
    plus,
    trim_for,
    turn_between,
    unit_of,
)
from ropewalk.errors import FrameFileError

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

#: bends of a base bar at its clamp and into its grips [mm]
BASE_CLAMP_RADIUS = 40.0
BASE_RADIUS = 45.0
#: bends of extensions [mm]
EXTENSION_RADIUS = 60.0
#: level runs of an extension's bent end: a ski's tip; the slope of an S and its tip [mm]
SKI_TIP = 110.0
S_SLOPE, S_TIP = 110.0, 90.0
#: least straight part of an extension ahead of its clamp [mm]
LEAST_STRAIGHT = 30.0
# a bar's reach is met so closely [mm]
_SETTLED = 1e-9


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
    path = Path((0.0, 0.0, 0.0), (0.0, 0.0, 1.0))
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
    first, second, third = headings(points)
    return filleted(
        points,
        [
            min(trim_for(first, second, FLAT_RADIUS), CLAMP_HALF, between / 2.0),
            min(trim_for(second, third, FLAT_RADIUS), between / 2.0, grip / 2.0),
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

    # the bend's foremost point lies behind its corner: by how far hardly changes as the corner moves to make up for it
    ahead, missing = reach, reach
    while abs(missing) > _SETTLED:
        corner = (ahead, rise, aside)
        missing = reach - _foremost(corner, unit_of(less(corner, clamp)), grip, trim)
        ahead += missing
    corner = (ahead, rise, aside)
    out = unit_of(less(corner, clamp))
    end = plus(corner, grip, bar.grip + trim)
    first = min(trim_for((0.0, 0.0, 1.0), out, SWEEP_CLAMP_RADIUS), CLAMP_HALF, math.dist(corner, clamp) - trim)
    return filleted([(0.0, 0.0, 0.0), clamp, corner, end], [first, trim])


def base_segments(bar: BaseBar) -> list[Segment]:
    """Return a base bar: out to the sides, up or down by its rise, and one bend into level grips that point forward.

    Parameters
    ----------
    bar : BaseBar
        Width and reach of the grips, and rise.
    """
    half, rise, reach = bar.width / 2.0, float(bar.rise), float(bar.reach)
    points = [(0.0, 0.0, 0.0), (0.0, 0.0, CLAMP_HALF), (0.0, rise, half), (reach, rise, half)]
    first, second, third = headings(points)
    between = math.dist(points[1], points[2])
    corner = min(trim_for(second, third, BASE_RADIUS), 0.6 * between)
    return filleted(points, [min(trim_for(first, second, BASE_CLAMP_RADIUS), CLAMP_HALF, 0.4 * between), corner])


def extension_segments(given: Extensions) -> list[Segment]:
    """Return the right extension of a base bar, from its rear end forward.

    Parameters
    ----------
    given : Extensions
        Spread, length and rise, and how it bends.

    Raises
    ------
    FrameFileError
        When it is too short for its bend, or bends without a rise.

    Notes
    -----
    A straight one slopes from its clamp to its end; a ski's end slopes up over its last 110 mm; an S slopes over
    110 mm and is level again for its last 90 mm.
    """
    reach, rise, aside = float(given.length_), float(given.rise), given.spread / 2.0
    behind = float(given.behind)
    if given.bend == "straight":
        slope = rise / reach
        run = behind / math.hypot(1.0, slope)
        start, end = (-run, given.height - run * slope, aside), (reach, given.height + rise, aside)
        return filleted([start, end], [])
    run = {"ski": SKI_TIP, "S": S_SLOPE + S_TIP}[given.bend]
    if rise == 0.0:
        raise FrameFileError(
            f"cockpit.bar.extensions.rise is 0 mm: a bend of kind {given.bend} rises; measure how far the end stands "
            'above the clamp, or write bend = "straight"'
        )
    if reach < run + LEAST_STRAIGHT:
        raise FrameFileError(
            f"cockpit.bar.extensions.length is {reach:g} mm: a bend of kind {given.bend} takes {run:g} mm and the "
            f"clamp {LEAST_STRAIGHT:g} mm; measure it again from the base bar's clamp"
        )
    low, high = float(given.height), given.height + rise
    points = [(-behind, low, aside), (reach - run, low, aside)]
    if given.bend == "S":
        points.append((reach - S_TIP, high, aside))
    points.append((reach, high, aside))
    ways = headings(points)
    trims = [min(trim_for(before, after, EXTENSION_RADIUS), LEAST_STRAIGHT) for before, after in pairwise(ways)]
    return filleted(points, trims)


def _foremost(corner: Triple, before: Triple, after: Triple, trim: float) -> float:
    """Return the largest x on the arc that rounds a corner [mm]."""
    turn = turn_between(before, after)
    start = plus(corner, before, -trim)
    bend = unit_of(plus(after, before, -dot(before, after)))
    angle = min(max(math.atan2(before[0], -bend[0]), 0.0), turn)
    radius = trim / math.tan(turn / 2.0)
    return start[0] + radius * (math.sin(angle) * before[0] + (1.0 - math.cos(angle)) * bend[0])
