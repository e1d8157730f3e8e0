"""The builder's study of ports: the hole each asks for, where it lies, how the line bends there, what water finds.

A port here is every place at which a line passes a tube's wall: a port, or a stop beside an inside span.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ropewalk.analysis.loops import Array, LoopWindow
from ropewalk.analysis.portbends import Bend, bend_inside, bend_outside, passing_of
from ropewalk.analysis.welds import Weld, welds_about
from ropewalk.bike.model import Bike
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.rows import Covering, Housing, Liner
from ropewalk.bike.station import Station
from ropewalk.bike.tube import Tube
from ropewalk.mechanics.outline import Hole, Passage, RodInWall, hole_outline, passage
from ropewalk.mechanics.vectors import cross, unit
from ropewalk.routing.lines import Span
from ropewalk.routing.spans import PlacedLine


@dataclass(frozen=True, slots=True)
class Water:
    """How open a port is to rain.

    Attributes
    ----------
    face, mouth : float
        How far the tube's wall at the port, and the port's mouth, look up; down below 0 [rad].
    from_top : float
        Angle round the tube from its upper side; infinite on an upright tube [rad].
    above_lowest : float
        Height over the lowest point of the axes of the tubes run through [mm].
    """

    face: float
    mouth: float
    from_top: float
    above_lowest: float


@dataclass(frozen=True, slots=True, eq=False)
class PortStudy:
    """What was found of one port.

    Attributes
    ----------
    line, station, type : str
        Names of the line and the station, and the station's type.
    number : int
        Place of the station in its line.
    tube : Tube
    from_ : str
        The join from which `along` is measured.
    along : float
        Along the tube [mm].
    clock : float
        Place round the tube [h].
    facing : str
        End of the tube that the mouth looks to.
    lean, skew : float
        [rad]
    passing : Housing or Liner
        What passes the wall.
    sleeve : Covering or None
        What lies over it inside; soft, it is squeezed in and ends short of the ports.
    hole : float or None
        Diameter the frame file gives [mm].
    wanted : float
        Diameter that lets it pass with clearance [mm].
    passage : str
        Whether a straight drill of the hole's diameter passes the wall: as `ropewalk.mechanics.outline.Passage`, or
        "open end" where the line enters at the tube's end, or beside a tube that it does not run in.
    outline : Hole or None
        Of the hole as given, else as wanted; None where it does not pass.
    edge : (n, 3) array
        Its outer edge in the axes of the tube's body [mm]; the port's place alone where there is no outline.
    welds : tuple of Weld
        Nearest weld, or end, towards each end of the tube.
    from_head : float or None
        Distance from the head tube's axis, along a tube that starts there; None at its other half or elsewhere [mm].
    inside, outside : Bend or None
        The bends just inside and just outside.
    water : Water
    """

    line: str
    station: str
    type: str
    number: int
    tube: Tube
    from_: str
    along: float
    clock: float
    facing: str
    lean: float
    skew: float
    passing: Housing | Liner
    sleeve: Covering | None
    hole: float | None
    wanted: float
    passage: Passage | str
    outline: Hole | None
    edge: Array
    welds: tuple[Weld, ...]
    from_head: float | None
    inside: Bend | None
    outside: Bend | None
    water: Water

    @property
    def diameter(self) -> float:
        """Diameter of the hole as given, else as wanted [mm]."""
        return self.wanted if self.hole is None else self.hole


@dataclass(frozen=True, slots=True)
class _Axes:
    """A port's own axes: x along its tube towards its mouth, outward, round; and where it is in them."""

    along: Array
    outward: Array
    around: Array
    #: place along the tube from its start, and over its surface [mm]
    at: float
    height: float
    lean: float
    skew: float


def study_ports(
    bike: Bike, line: PlacedLine, loops: Mapping[int, LoopWindow], catalogue: Catalogue
) -> tuple[PortStudy, ...]:
    """Study every port of a line, from lever to work.

    Parameters
    ----------
    bike : Bike
    line : PlacedLine
    loops : mapping of int to LoopWindow
        What was found of the line's loops, by the place of their span in the line; the bend outside a port is left
        out where its loop is not among them.
    catalogue : Catalogue

    Returns
    -------
    tuple of PortStudy
        Empty where the line passes no wall of a tube.
    """
    return tuple(
        _study(bike, line, span, place, loops, catalogue)
        for span in line.route.spans
        if span.kind == "inside"
        for place in (span.start, span.end)
        if _may_pass_wall(line.route.line.station[place]) and line.route.line.station[place].on in bike.tubes
    )


def _may_pass_wall(station: Station) -> bool:
    """Return whether a station is a port, or a stop in a wall; a part that the line moves is none, though inside."""
    return station.type in ("port", "stop") and station.part is None


def _study(
    bike: Bike, line: PlacedLine, span: Span, place: int, loops: Mapping[int, LoopWindow], catalogue: Catalogue
) -> PortStudy:
    station, settings = line.route.line.station[place], catalogue.settings.ports
    start = line.route.line.station[span.start]
    tube, passing = bike.tubes[str(station.on)], passing_of(line, span)
    axes = _axes(line, place, tube)
    wanted = float(passing.outside) + float(settings.hole_clearance)
    hole = None if station.hole is None else float(station.hole)
    rod = RodInWall(tube.diameter, tube.wall, hole or wanted, axes.lean, axes.skew, axes.height)
    # in at a tube's end, or beside a steerer through the headset: no wall is cut
    open_ = axes.height < -tube.wall or not 0.0 < axes.at < tube.length or tube.name not in start.through
    way = "open end" if open_ else passage(rod)
    outline = hole_outline(rod) if way == "through" else None
    edge = line.stations[place].place[None, :] if outline is None else _in_space(tube, axes, outline.outer)
    join, along = _from(tube, axes.at, station.from_)
    return PortStudy(
        line=line.route.line.name,
        station=station.name,
        type=station.type,
        number=place,
        tube=tube,
        from_=join,
        along=along,
        clock=_clock(tube, axes.outward),
        facing=tube.end_name if float(axes.along @ tube.axis) > 0.0 else tube.start_name,
        lean=axes.lean,
        skew=axes.skew,
        passing=passing,
        sleeve=None if start.sleeve is None else catalogue.sleeve(start.sleeve),
        hole=hole,
        wanted=wanted,
        passage=way,
        outline=outline,
        edge=edge,
        welds=() if way == "open end" else welds_about(bike, tube, edge, axes.outward),
        from_head=_from_head(tube, axes.at),
        inside=bend_inside(line, place, span, rod if way == "through" else None),
        outside=bend_outside(line, place, loops, float(settings.bend_within)),
        water=_water(bike, line, place, span, tube, axes),
    )


def _axes(line: PlacedLine, place: int, tube: Tube) -> _Axes:
    """Return a port's axes from its place and direction, however the frame file tells them."""
    station, placed = line.route.line.station[place], line.stations[place]
    gap = placed.place - tube.start
    at = float(gap @ tube.axis)
    across = gap - at * tube.axis
    over = math.sqrt(float(across @ across))
    towards = float(placed.direction @ tube.axis)
    if station.clock is not None and station.towards is None:
        outward = tube.radial(float(station.clock))
    elif over > 1e-6:
        outward = across / over
    else:
        outward = unit(placed.direction - towards * tube.axis)
    sign = -1.0 if towards < 0.0 or (towards == 0.0 and station.facing == tube.start_name) else 1.0
    along = sign * tube.axis
    # round the tube the way the clock goes, as skew is counted
    around = cross(outward, tube.axis) if _clockwise(tube, outward) else cross(tube.axis, outward)
    out, side = float(placed.direction @ outward), float(placed.direction @ around)
    lean = math.atan2(math.hypot(out, side), abs(towards))
    skew = math.atan2(side, out) if math.hypot(out, side) > 1e-9 else 0.0
    if abs(skew) > math.pi / 2.0 + 1e-9:
        lean, skew = -lean, skew - math.copysign(math.pi, skew)
    return _Axes(along, outward, around, at, over - tube.diameter / 2.0, lean, skew)


def _clockwise(tube: Tube, outward: Array) -> bool:
    """Return whether going from outward to outward × axis is the way the clock goes round a tube."""
    return bool(cross(tube.radial(0.0), tube.axis) @ tube.radial(3.0) > 0.0)


def _clock(tube: Tube, outward: Array) -> float:
    hours = math.atan2(float(outward @ tube.radial(3.0)), float(outward @ tube.radial(0.0))) * 6.0 / math.pi
    return round(hours % 12.0, 6) % 12.0 or 12.0


def _in_space(tube: Tube, axes: _Axes, points: Array) -> Array:
    """Return points told in a port's axes (n, 3) in the bike's."""
    origin = tube.start + axes.at * tube.axis
    return np.asarray(origin + points @ np.stack([axes.along, axes.outward, axes.around]))


def _from(tube: Tube, at: float, join: str | None) -> tuple[str, float]:
    """Return the join a place is measured from and how far, counted into the longer part of the tube."""
    nearest = min(tube.joins, key=lambda one: abs(tube.joins[one] - at))
    name = join if join is not None and join in tube.joins else nearest
    start = tube.joins[name]
    return name, at - start if start <= tube.length - start else start - at


def _from_head(tube: Tube, at: float) -> float | None:
    if "head tube" not in tube.joins:
        return None
    gap = abs(at - tube.joins["head tube"])
    return gap if gap <= tube.length / 2.0 else None


def _water(bike: Bike, line: PlacedLine, place: int, span: Span, tube: Tube, axes: _Axes) -> Water:
    names = line.route.line.station[span.start].through
    tubes = [tube, *(bike.tubes[name] for name in names if name in bike.tubes)]
    lowest = min(float(end[1]) for one in tubes for end in (one.start, one.end))
    top = math.inf if tube.upright else math.acos(min(1.0, max(-1.0, float(axes.outward @ tube.radial(0.0)))))
    return Water(
        face=math.asin(float(axes.outward[1])),
        mouth=math.asin(min(1.0, max(-1.0, float(line.stations[place].direction[1])))),
        from_top=top,
        above_lowest=float(line.stations[place].place[1]) - lowest,
    )
