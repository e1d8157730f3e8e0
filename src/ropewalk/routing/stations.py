"""Stations placed on a bike: seat, direction and body, worked out from what a mechanic measures."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ropewalk.bike.bars import BarCurve
from ropewalk.bike.framefile import Line, Side
from ropewalk.bike.model import Bike, lever_clamp
from ropewalk.bike.station import Station
from ropewalk.errors import FrameFileError
from ropewalk.units import radians

Vector = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class PlacedStation:
    """A station on its body.

    Attributes
    ----------
    name, type, body : str
        What it is called, what it is, and the body it belongs to.
    place : (3,) array
        The seat, or where the line is held or passes [mm], in the body's axes (the bike's axes at straight ahead).
    direction : (3,) array
        Unit direction: of the housing from its seat (lever, stop), outside (port), onwards (clip); a guide's has no
        meaning, as the wire bends over it as its neighbours ask.
    """

    name: str
    type: str
    body: str
    place: Vector
    direction: Vector


def place_station(bike: Bike, line: Line, station: Station, side: Side, beyond: float = 0.0) -> PlacedStation:
    """Place one station of a completed line on a bike.

    Parameters
    ----------
    bike : Bike
        The built bike.
    line : Line
        The line, for messages and its lever.
    station : Station
        The station, completed from the catalogue.
    side : str
        Rider's side of the line's lever; stations on the bar or an extension are on this side.
    beyond : float
        How far it may lie past its tube's or bar's end [mm].

    Raises
    ------
    FrameFileError
        When what it is on does not exist, or it lies beyond its tube's or bar's end.
    """
    if station.type == "lever":
        return _on_lever(bike, line, station, beyond)
    curve = bike.curve(str(station.on), side)
    if curve is not None:
        return _on_curve(bike, line, station, curve, beyond)
    if station.on in bike.tubes and station.offset is not None and station.along is not None:
        return _off_axis(bike, line, station, beyond)
    if station.on in bike.mounts and station.offset is not None:
        return _on_mount(bike, line, station)
    if station.on in bike.tubes:
        return _on_tube(bike, line, station, beyond)
    if station.on in bike.mounts:
        _needed(line, station, "offset")
    bar = ["bar", "extension"] if bike.extensions is not None else ["bar"]
    known = ", ".join(dict.fromkeys([*bike.tubes, *bar, *bike.mounts]))
    raise FrameFileError(f'{where(line, station)}: on is "{station.on}": write one of {known}')


def where(line: Line, station: Station) -> str:
    """Return the place of a station as messages say it."""
    return f'line "{line.name}", station "{station.name}"'


def _needed(line: Line, station: Station, *fields: str) -> None:
    for field in fields:
        if getattr(station, field) is None:
            shown = field.removesuffix("_deg").removesuffix("_")
            raise FrameFileError(
                f"{where(line, station)}: {shown} is missing: a {station.type} on {station.on} needs it"
            )


def _unit(vector: Vector, line: Line, station: Station) -> Vector:
    length = math.sqrt(float(vector @ vector))
    if length < 1e-9:
        raise FrameFileError(
            f"{where(line, station)}: towards has no direction: give at least one number that is not 0"
        )
    return vector / length


def _on_tube(bike: Bike, line: Line, station: Station, beyond: float) -> PlacedStation:
    _needed(line, station, "along", "from_", "clock", "facing")
    assert station.along is not None and station.clock is not None and station.height is not None
    assert station.lean_deg is not None and station.skew_deg is not None
    tube = bike.tubes[str(station.on)]
    try:
        on_axis = tube.place(float(station.along), str(station.from_), beyond=beyond)
        axis = tube.towards(str(station.facing))
    except FrameFileError as error:
        raise FrameFileError(f"{where(line, station)}: {error}") from None
    outward = tube.radial(float(station.clock))
    around = tube.radial(float(station.clock) + 3.0)
    lean, skew = radians(station.lean_deg), radians(station.skew_deg)
    direction = math.cos(lean) * axis + math.sin(lean) * (math.cos(skew) * outward + math.sin(skew) * around)
    place = on_axis + (tube.diameter / 2 + station.height) * outward
    return PlacedStation(station.name, station.type, tube.body_at(on_axis), place, direction)


def _on_curve(bike: Bike, line: Line, station: Station, curve: BarCurve, beyond: float) -> PlacedStation:
    """Place a station on the bar or an extension."""
    _needed(line, station, "along", "clock", "facing")
    assert station.along is not None and station.clock is not None and station.height is not None
    assert station.lean_deg is not None and station.skew_deg is not None
    ends = (curve.end_name, "stem")
    along = float(station.along)
    if station.from_ == "stem":
        along = curve.stem - along
    for field, value in (("from", station.from_ or curve.end_name), ("facing", station.facing)):
        if value not in ends:
            raise FrameFileError(
                f'{where(line, station)}: {field} is "{value}": on the {station.on} write "{ends[0]}" or "stem"'
            )
    try:
        point, inward = curve.at(along, beyond=beyond)
        outward = curve.radial(along, float(station.clock), beyond=beyond)
        around = curve.radial(along, float(station.clock) + 3.0, beyond=beyond)
    except FrameFileError as error:
        raise FrameFileError(f"{where(line, station)}: {error}") from None
    onwards = inward if station.facing == "stem" else -inward
    lean, skew = radians(station.lean_deg), radians(station.skew_deg)
    direction = math.cos(lean) * onwards + math.sin(lean) * (math.cos(skew) * outward + math.sin(skew) * around)
    radius = curve.diameter / 2 + station.height
    place = bike.skeleton.bar_clamp + point + radius * outward
    return PlacedStation(station.name, station.type, "bar", place, direction)


def _on_mount(bike: Bike, line: Line, station: Station) -> PlacedStation:
    if station.type != "guide":
        _needed(line, station, "towards")
    mount = bike.mounts[str(station.on)]
    axes = np.stack([mount.forward, mount.up, mount.right])
    return _at(mount.body, mount.origin, axes, line, station)


def _off_axis(bike: Bike, line: Line, station: Station, beyond: float) -> PlacedStation:
    """Place a part that sits on a tube: from the tube's axis, in the bike's own axes."""
    _needed(line, station, "from_", "towards")
    assert station.along is not None
    tube = bike.tubes[str(station.on)]
    try:
        on_axis = tube.place(float(station.along), str(station.from_), beyond=beyond)
    except FrameFileError as error:
        raise FrameFileError(f"{where(line, station)}: {error}") from None
    return _at(tube.body_at(on_axis), on_axis, np.eye(3), line, station)


def _at(body: str, origin: Vector, axes: Vector, line: Line, station: Station) -> PlacedStation:
    place = origin + np.asarray(station.offset) @ axes
    if station.type == "guide":
        return PlacedStation(station.name, station.type, body, place, -axes[0])
    direction = _unit(np.asarray(station.towards, dtype=np.float64), line, station) @ axes
    return PlacedStation(station.name, station.type, body, place, direction)


def _on_lever(bike: Bike, line: Line, station: Station, beyond: float) -> PlacedStation:
    assert station.offset is not None and station.towards is not None
    lever = next(lever for lever in bike.frame.lever if lever.name == line.lever)
    try:
        clamp = lever_clamp(bike, lever, beyond=beyond)
    except FrameFileError as error:
        raise FrameFileError(f'lever "{lever.name}": {error}') from None
    axes = np.stack([clamp.inward, clamp.forward, clamp.up])
    return _at(clamp.body, clamp.origin, axes, line, station)
