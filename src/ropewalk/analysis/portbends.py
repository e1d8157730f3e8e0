"""How a line bends just inside and just outside a port."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ropewalk.analysis.loops import Array, LoopWindow
from ropewalk.bike.poses import pose_words
from ropewalk.bike.rows import Housing, Liner
from ropewalk.mechanics.outline import RodInWall
from ropewalk.mechanics.vectors import unit
from ropewalk.routing.course import Course, Wrap
from ropewalk.routing.lines import Span
from ropewalk.routing.spans import PlacedLine

#: a radius over this is as good as straight [mm]
STRAIGHT = 2000.0
#: points at which a loop's bend is looked at
_POINTS = 129


@dataclass(frozen=True, slots=True)
class Bend:
    """How a line bends beside a port.

    Attributes
    ----------
    kind : str
        The span there: loop, strapped, bare, inside or rigid.
    angle : float
        Between the port's direction and the path there [rad].
    radius : float or None
        Of what bends there [mm], infinite when straight; None where it bends over the edge.
    what : Housing or Liner or None
        What bends there; None for a bare inner.
    when : str
        The pose it is found in, in words; empty where nothing moves.
    """

    kind: str
    angle: float
    radius: float | None
    what: Housing | Liner | None
    when: str = ""


def passing_of(line: PlacedLine, span: Span) -> Housing | Liner:
    """Return what runs through an inside span: its housing, or the liner of a bare inner."""
    housing = line.route.housing_of(span)
    if housing is not None:
        return housing
    assert line.route.liner is not None
    return line.route.liner


def bend_inside(line: PlacedLine, place: int, span: Span, rod: RodInWall | None) -> Bend | None:
    """Return the bend from a port into its tube.

    Parameters
    ----------
    line : PlacedLine
    place : int
        Place of the port in the line.
    span : Span
        The inside span.
    rod : RodInWall or None
        How it passes the wall; None where it does not.

    Notes
    -----
    The radius is that of the widest arc that turns from the port's direction into the tube's before what passes meets
    the far wall; it starts at the inner surface.
    """
    shape = line.spans[place if span.start == place else place - 1]
    if not isinstance(shape, (Course, Wrap)):
        return None
    angle = _angle(-line.stations[place].direction, _leaving(shape, first=span.start == place))
    passing = passing_of(line, span)
    if rod is None:
        return Bend(span.kind, angle, None, passing)
    half, bore = float(passing.outside) / 2.0, rod.tube_diameter / 2.0 - rod.wall
    off = (rod.tube_diameter / 2.0 + rod.height) * math.sin(rod.skew)
    depth = math.sqrt(bore**2 - off**2) + math.sqrt(max(bore - half, abs(off)) ** 2 - off**2)
    radius = depth / (1.0 - math.cos(rod.lean))
    return Bend(span.kind, angle, radius if radius < STRAIGHT else math.inf, passing)


def bend_outside(line: PlacedLine, place: int, loops: Mapping[int, LoopWindow], within: float) -> Bend | None:
    """Return the bend just outside a port.

    Parameters
    ----------
    line : PlacedLine
    place : int
        Place of the port in the line.
    loops : mapping of int to LoopWindow
        The line's loops by the place of their span.
    within : float
        How far out a loop's bend is looked at [mm].

    Returns
    -------
    Bend or None
        Of a loop at its target length, in the pose in which it is tightest there; None where the loop is not known.
    """
    inside_leaves = place < len(line.route.spans) and line.route.spans[place].kind == "inside"
    number = place - 1 if inside_leaves else place
    if not 0 <= number < len(line.route.spans):
        return None
    span, shape = line.route.spans[number], line.spans[number]
    first = span.start == place
    if isinstance(shape, (Course, Wrap)):
        angle = _angle(line.stations[place].direction, _leaving(shape, first=first))
        return Bend(span.kind, angle, shape.least_radius if span.covered else None, line.route.housing_of(span))
    housing = line.route.housing_of(span)
    return _bend_of_loop(loops[number], housing, within, first=first) if number in loops else None


def _bend_of_loop(loop: LoopWindow, housing: Housing | None, within: float, *, first: bool) -> Bend:
    """Return the tightest bend of a loop at its target length near one end, over all poses."""
    fine = np.flatnonzero(loop.sweep.converged)
    if not fine.size:
        return Bend("loop", 0.0, 0.0, housing)
    arc = np.linspace(0.0, 1.0, _POINTS) * loop.target
    near = arc <= within if first else arc >= loop.target - within
    tightest = loop.sweep.curvature(_POINTS)[fine][:, near].max(axis=1)
    worst = int(fine[tightest.argmax()])
    points = loop.sweep.points(_POINTS)[worst][near]
    points = points if first else points[::-1]
    angle = _angle(points[1] - points[0], points[-1] - points[-2])
    radius = 1.0 / max(float(tightest.max()), 1.0 / STRAIGHT)
    when = pose_words(loop.case.poses[worst]) if loop.case.moves else ""
    return Bend("loop", angle, radius if radius < STRAIGHT else math.inf, housing, when)


def _leaving(shape: Course | Wrap, *, first: bool) -> Array:
    """Return the direction in which a path leaves its first or last point, away from it."""
    if isinstance(shape, Course):
        points = shape.points if first else shape.points[::-1]
    else:
        points = shape.lead_in if first else shape.lead_out[::-1]
        if len(points) < 2:
            return shape.start_onward if first else -shape.end_onward
    return np.asarray(points[1] - points[0])


def _angle(one: Array, two: Array) -> float:
    a, b = unit(one), unit(two)
    return 2.0 * math.atan2(float(np.linalg.norm(a - b)), float(np.linalg.norm(a + b)))
