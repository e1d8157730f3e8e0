"""What is wrong with inside spans, openings and obstacles as they are written, each said in one line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from ropewalk.bike.framefile import Line
from ropewalk.bike.model import Bike
from ropewalk.bike.station import Obstacle, Opening, Station
from ropewalk.bike.tube import Tube
from ropewalk.bike.wording import listed, nearest, shortened
from ropewalk.errors import FrameFileError
from ropewalk.routing import bores
from ropewalk.routing.course import Points
from ropewalk.routing.lines import Route, Span
from ropewalk.routing.stations import PlacedStation, Vector, where
from ropewalk.units import radians

#: how far a station that is measured from a mount may lie off the tube it leads into [mm]
OFF_TUBE = 12.0
#: a port may lead out of its tube by less than this [rad]
OUTWARD = radians(5.0)
#: a line that turns back by more than this at its port goes the wrong way [rad]
BACK = radians(120.0)


def tubes_through(bike: Bike, line: Line, station: Station) -> list[Tube]:
    """Return the tubes an inside span runs through, in order.

    Raises
    ------
    FrameFileError
        When the bike has no such tube, one is named twice running, or two neighbours do not meet.
    """
    here = where(line, station)
    for name in station.through:
        if name not in bike.tubes:
            raise FrameFileError(f'{here}: through names "{shortened(name)}": {_hint(name, bike)}')
    tubes = [bike.tubes[name] for name in station.through]
    for first, second in pairwise(tubes):
        if first is second:
            raise FrameFileError(f"{here}: through names the {first.name} twice running: name each tube once")
        if not bores.touch(first, second):
            raise FrameFileError(f"{here}: {_gap(bike, first, second)}")
    return tubes


def _hint(name: str, bike: Bike) -> str:
    near = nearest(name, bike.tubes)
    return f'did you mean "{near}"?' if near else f"write {listed(bike.tubes)}"


def _gap(bike: Bike, first: Tube, second: Tube) -> str:
    between = [tube.name for tube in bike.tubes.values() if bores.touch(first, tube) and bores.touch(tube, second)]
    such = f", such as {between[0]}" if between else ""
    return (
        f"through goes from the {first.name} to the {second.name}, which do not meet: name the tube between them{such}"
    )


def check_bores(bike: Bike) -> None:
    """Refuse obstacles and openings that cannot be where the file puts them.

    Raises
    ------
    FrameFileError
        In one line: which one, its value, and what to do.
    """
    for thing in bike.frame.obstacle:
        _check_obstacle(bike, thing)
    for number, opening in enumerate(bike.frame.opening, start=1):
        _check_opening(bike, f"opening {number}", opening)


def _check_obstacle(bike: Bike, thing: Obstacle) -> None:
    here = f'obstacle "{thing.name}"'
    if thing.inside not in bike.tubes:
        raise FrameFileError(f'{here}: inside is "{shortened(thing.inside)}": {_hint(thing.inside, bike)}')
    tube = bike.tubes[thing.inside]
    if bores.across(tube):
        raise FrameFileError(
            f"{here}: inside is {tube.name}: only its spindle is counted there, on every bike; leave this one out"
        )
    try:
        tube.place(float(thing.along), thing.from_)
    except FrameFileError as error:
        raise FrameFileError(f"{here}: {error}") from None
    width = tube.diameter - 2 * tube.wall
    if thing.depth > width:
        raise FrameFileError(
            f"{here}: depth is {thing.depth:g} mm, but the {tube.name} is {width:g} mm wide inside: measure both again"
        )


def _check_opening(bike: Bike, here: str, opening: Opening) -> None:
    for name in opening.between:
        if name not in bike.tubes:
            raise FrameFileError(f'{here}: between names "{shortened(name)}": {_hint(name, bike)}')
    first, second = (bike.tubes[name] for name in opening.between)
    if first is second:
        raise FrameFileError(f"{here}: between names the {first.name} twice: an opening joins two tubes")
    if not bores.touch(first, second):
        raise FrameFileError(
            f"{here}: between names the {first.name} and the {second.name}, which do not meet: "
            "name two tubes that touch each other"
        )
    widths = [tube.diameter - 2 * tube.wall for tube in (first, second)]
    if opening.size > max(widths):
        raise FrameFileError(
            f"{here}: size is {opening.size:g} mm, wider than the {first.name} ({widths[0]:g} mm inside) and "
            f"the {second.name} ({widths[1]:g} mm): measure it again"
        )


def check_inside(bike: Bike, route: Route, span: Span, ends: Sequence[PlacedStation], onward: Points) -> None:
    """Refuse an inside span whose tubes, ports or guide tube do not fit each other.

    Parameters
    ----------
    bike, route, span
        The bike, the line and its inside span.
    ends : sequence of PlacedStation
        The stations it enters and leaves at.
    onward : (2, 3) array
        Directions of travel through them.

    Raises
    ------
    FrameFileError
        In one line: which station, what is wrong, what to do.
    """
    line = route.line
    stations = (line.station[span.start], line.station[span.end])
    tubes = tubes_through(bike, line, stations[0])
    headset = tubes[0].name == "head tube" and bike.mechanism.moves_between(ends[0].body, tubes[0].body)
    _check_bodies(bike, line, stations[0], tubes, ends[1])
    if headset:
        _check_headset(bike, where(line, stations[0]), stations[0], tubes[0], ends[0].place)
    for at in (0, 1):
        if at == 0 and headset:
            continue
        here = where(line, stations[at])
        tube = tubes[-at]
        _check_tube(bike, here, stations[at], tube, ends[at], ("starts", "first") if at == 0 else ("ends", "last"))
        target = ends[1 - at].place if len(tubes) == 1 else _towards(tubes, at)
        _check_facing(here, stations[at], tube, ends[at], onward[0] if at == 0 else -onward[1], target)
    _check_guide(where(line, stations[0]), stations[0], math.dist(ends[0].place, ends[1].place))


def _check_headset(bike: Bike, here: str, station: Station, head: Tube, place: Vector) -> None:
    axis = bike.skeleton.steering_axis
    if max(float((place - end) @ axis) for end in (head.start, head.end)) > 0.0:
        raise FrameFileError(
            f"{here}: it lies below the head tube's upper end, inside the head tube: put it above "
            "(along counts into the longer part of its tube; the other way it is negative)"
        )
    if station.arc is not None:
        raise FrameFileError(f"{here}: arc means nothing here: a line that turns with the bars has no guide tube")


def _check_bodies(bike: Bike, line: Line, station: Station, tubes: Sequence[Tube], last: PlacedStation) -> None:
    for tube in tubes:
        if bike.mechanism.moves_between(tube.body, last.body):
            raise FrameFileError(
                f"{where(line, station)}: through names the {tube.name}, which moves against the place of "
                f'"{last.name}": an inside span stays in tubes that keep still to each other'
            )


def _towards(tubes: Sequence[Tube], at: int) -> Vector:
    pair = (tubes[0], tubes[1]) if at == 0 else (tubes[-2], tubes[-1])
    meet = bores.meeting(*pair)
    return np.array([meet[0], meet[1], 0.0])


def _check_tube(
    bike: Bike, here: str, station: Station, tube: Tube, placed: PlacedStation, words: tuple[str, str]
) -> None:
    """Refuse a station that is not on the tube it leads into or out of."""
    if station.on in bike.tubes and station.on != tube.name:
        raise FrameFileError(
            f"{here}: it is on the {station.on}, but through {words[0]} with the {tube.name}: "
            f"name the {station.on} {words[1]} in through, or move it to the {tube.name}"
        )
    _, radial = _beside(tube, placed.place)
    off = math.hypot(*radial) - tube.diameter / 2
    if station.offset is not None and off > OFF_TUBE:
        raise FrameFileError(
            f"{here}: it lies {off:.0f} mm off the {tube.name}, which through names {words[1]}: "
            "measure its offset again, or name another tube"
        )


def _beside(tube: Tube, place: Vector) -> tuple[float, Vector]:
    """Return how far along a tube a place lies, and the way to it from the nearest point of the axis."""
    along = min(max(float((place - tube.start) @ tube.axis), 0.0), tube.length)
    return along, place - tube.start - along * tube.axis


def _check_facing(here: str, station: Station, tube: Tube, placed: PlacedStation, into: Vector, target: Vector) -> None:
    """Refuse a station that leads out of its tube, or back from where the line goes."""
    _, radial = _beside(tube, placed.place)
    out = math.hypot(*radial)
    if station.lean_deg is None or station.offset is not None or bores.across(tube):
        return
    if out > tube.diameter / 4 and float(into @ radial) / out > math.sin(OUTWARD):
        raise FrameFileError(
            f"{here}: lean is {station.lean_deg:g}°, so it leads out of the {tube.name} instead of into it: "
            "give the angle between mouth and tube, outward, as a positive number"
        )
    way = target - placed.place
    far = math.hypot(*way)
    if far > tube.diameter and float(into @ way) / far < math.cos(BACK):
        raise FrameFileError(
            f"{here}: facing is {station.facing}, so the line would have to turn back inside the {tube.name}: "
            "name the end that the housing goes towards outside"
        )


def _check_guide(here: str, station: Station, apart: float) -> None:
    """Refuse a guide tube that is half described or shorter than its ends are apart."""
    if station.arc is None and station.turn_deg is None and station.radius is None:
        return
    for key, value in (("arc", station.arc), ("turn", station.turn_deg)):
        if value is None:
            raise FrameFileError(f"{here}: {key} is missing: a formed guide tube inside has a given arc and turn")
    if station.arc is not None and station.arc < apart - 0.5:
        raise FrameFileError(
            f"{here}: arc is {station.arc:g} mm, but the guide tube's ends are {apart:.0f} mm apart: measure both again"
        )
