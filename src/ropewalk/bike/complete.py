"""A frame file filled in from the catalogue: stations with place and direction, figures with their spread."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from ropewalk.bike.cockpit import BaseBar
from ropewalk.bike.deviations import with_default_spread
from ropewalk.bike.figures import Figure
from ropewalk.bike.framefile import Frame, Lever, Line
from ropewalk.bike.options import telling_options
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.sourced import Triple
from ropewalk.bike.station import Station
from ropewalk.bike.wording import one_line
from ropewalk.errors import FrameFileError, PartError
from ropewalk.units import degrees

#: what a lever of the catalogue's `sits_on` fits: the bar or an extension, and shapes of bars
_FITS: Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "drop bar": (("bar",), ("drop",)),
    "flat bar": (("bar",), ("flat", "riser", "swept")),
    "bar end": (("bar", "extension"), ("drop", "flat", "riser", "swept", "base")),
    "base bar": (("bar",), ("base",)),
    "extension": (("extension",), ("base",)),
}
#: levers that plug into an end, how far from it they can be told to sit [mm], and the least bar with room for a plug
_PLUGGED, _PLUG, _LEAST_PLUGGED = ("bar end", "base bar", "extension"), 20.0, 22.0


def complete(frame: Frame, catalogue: Catalogue) -> Frame:
    """Fill in what the file leaves to the catalogue.

    Levers and moving parts give their stations an offset and a direction, ferrules and housings the height of
    stops and clips over their tube, and every figure without a half-width gets the default of its kind.

    Parameters
    ----------
    frame : Frame
        As read.
    catalogue : Catalogue
        The parts catalogue.

    Raises
    ------
    FrameFileError
        When a lever that a line names does not exist or does not fit the bar.
    PartError
        When a part is not in the catalogue.
    """
    levers = {lever.name: lever for lever in frame.lever}
    for lever in frame.lever:
        _check_fit(frame, lever, catalogue)
    lines = []
    for line in frame.line:
        if line.lever not in levers:
            known = ", ".join(levers)
            raise FrameFileError(f'line "{line.name}": lever is "{line.lever}": write one of {known}')
        if line.inner is None and line.work != "hose":
            raise FrameFileError(f'line "{line.name}": inner is missing: only a hose has none')
        lines.append(_complete_line(line, levers[line.lever], catalogue))
    return with_default_spread(frame.model_copy(update={"line": tuple(lines)}), half_widths(catalogue))


def half_widths(catalogue: Catalogue) -> Mapping[str, float]:
    """Return the default half-widths by section and key, in the units of the frame file (mm, °, hours)."""
    found: dict[str, float] = {}
    for section, group in (
        ("chart", catalogue.tolerances.chart),
        ("cockpit", catalogue.tolerances.cockpit),
        ("station", catalogue.tolerances.station),
    ):
        for key, value in group:
            found[f"{section}.{key}"] = degrees(value) if value.unit == "rad" else float(value)
    found["station.clock"] /= 30.0
    found["station.direction"] = float(catalogue.tolerances.station.lean)
    return found


def _check_fit(frame: Frame, lever: Lever, catalogue: Catalogue) -> None:
    try:
        row = catalogue.lever(lever.part)
    except PartError as error:
        raise PartError(f'lever "{lever.name}": {error}') from None
    here, bar = f'lever "{lever.name}"', frame.cockpit.bar
    extensions = bar.extensions if isinstance(bar, BaseBar) else None
    if row.sits_on == "down tube":
        if lever.on in ("bar", "extension"):
            raise FrameFileError(
                f'{here}: part is "{lever.part}", made for the down tube: write on = "down tube", and along from the '
                "head tube"
            )
        return
    places, shapes = _FITS[row.sits_on]
    if lever.on not in ("bar", "extension"):
        raise FrameFileError(
            f'{here}: part is "{lever.part}", which does not sit on the {lever.on}: choose one made for a tube, or '
            f'write on = "{places[-1]}"'
        )
    if lever.on == "extension" and extensions is None:
        raise FrameFileError(
            f'{here}: on is "extension": the {bar.shape} bar has none; write cockpit.bar.extensions, or on = "bar"'
        )
    if bar.shape not in shapes:
        raise FrameFileError(
            f'{here}: part is "{lever.part}", made for a {row.sits_on}: it does not fit the {bar.shape} bar'
        )
    if lever.on not in places:
        raise FrameFileError(f'{here}: part is "{lever.part}", made for the {row.sits_on}: write on = "{places[0]}"')
    if row.sits_on in _PLUGGED:
        _check_plugged(here, lever, bar.diameter if lever.on == "bar" or extensions is None else extensions.diameter)


def _check_plugged(here: str, lever: Lever, diameter: float) -> None:
    """Refuse a lever that plugs into an end anywhere else, or into an end that is too thin for it."""
    if lever.along > _PLUG:
        raise FrameFileError(
            f'{here}: along is {lever.along:g} mm: part "{lever.part}" plugs into the end; write 0 to {_PLUG:g} mm'
        )
    if diameter < _LEAST_PLUGGED:
        raise FrameFileError(
            f'{here}: part is "{lever.part}", whose plug needs {_LEAST_PLUGGED:g} mm outside diameter at least: the '
            f"{lever.on} has {diameter:g} mm; choose another, or measure it again"
        )


#: fields that mean something only on some stations: which, and in words
_ONLY: Mapping[str, tuple[Callable[[Station], bool], str]] = {
    "part": (lambda station: station.type in ("stop", "anchor"), "a stop or anchor"),
    "radius": (
        lambda station: station.type == "guide" or station.then in ("rigid", "inside"),
        "a guide, or before a rigid part or a formed guide tube inside",
    ),
    "arc": (
        lambda station: station.then in ("rigid", "inside"),
        "a station before a rigid part or a formed guide tube inside",
    ),
    "turn_deg": (
        lambda station: station.then in ("rigid", "inside"),
        "a station before a rigid part or a formed guide tube inside",
    ),
    "through": (lambda station: station.then == "inside", "a station before an inside span"),
    "carries": (lambda station: station.then == "inside", "a station before an inside span"),
    "slides": (lambda station: station.type in ("clip", "port"), "a clip or port that housing runs on through"),
    "hole": (lambda station: station.type == "port", "a port"),
    "towards": (lambda station: station.type not in ("lever", "guide"), "a station that is no lever or guide"),
    "housing": (lambda station: station.type in ("lever", "stop"), "a lever or stop, where a piece starts"),
    **{
        field: (
            lambda station: station.type != "lever",
            "a station that is no lever; the lever's own place says where it is",
        )
        for field in ("on", "from_", "along", "clock", "height", "facing", "lean_deg", "skew_deg", "offset")
    },
}


def belongs(field: str, type_: str, then: str | None) -> bool:
    """Return whether a field, as the models call it, means something on a station of a type that goes on so.

    Examples
    --------
    >>> belongs("hole", "port", "inside"), belongs("hole", "clip", "loop")
    (True, False)
    """
    told: dict[str, Any] = {"type": type_, "then": then}
    return field not in _ONLY or _ONLY[field][0](Station.model_construct(**told))


def _check_fields(line: Line) -> None:
    """Refuse fields that mean nothing on their station, so that nothing written is passed over."""
    for station in line.station:
        for field, (fits, where) in _ONLY.items():
            if getattr(station, field) not in (None, (), False) and not fits(station):
                shown = field.removesuffix("_deg").removesuffix("_")
                raise FrameFileError(
                    f'line "{line.name}", station "{station.name}": {shown} means nothing here: it belongs to {where}'
                )


def _complete_line(line: Line, lever: Lever, catalogue: Catalogue) -> Line:
    """Return a line filled in, without its options: a bike is built with one routing of each line."""
    with telling_options([line]):
        _check_fields(line)
        try:
            stations = tuple(_complete_stations(line, lever, catalogue))
        except PartError as error:
            raise PartError(f'line "{line.name}": {error}') from None
    return line.model_copy(update={"station": stations, "option": ()})


def _complete_stations(line: Line, lever: Lever, catalogue: Catalogue) -> Iterable[Station]:
    for station in line.station:
        update: dict[str, Any] = {}
        if station.type == "lever":
            try:
                exit_ = catalogue.lever(lever.part).exit(line.work)
            except PartError as error:
                raise PartError(f"{error}; lever {one_line(lever.name)} cannot work this line") from None
            update |= {"offset": _place(exit_.seat), "towards": _direction(exit_.leaves)}
        elif station.part is not None:
            mover = catalogue.mover(station.part)
            update |= {
                "on": station.on or mover.mount,
                "offset": station.offset or _place(mover.seat),
                "towards": station.towards or _direction(mover.leaves),
            }
        if station.height is None:
            update["height"] = _height(line, station, catalogue)
        update |= {name: Figure(0.0) for name in ("lean_deg", "skew_deg") if getattr(station, name) is None}
        if station.on in ("bar", "extension") and station.facing is None:
            update["facing"] = "stem"
        yield station.model_copy(update=update)


def _height(line: Line, station: Station, catalogue: Catalogue) -> Figure:
    """Return how far the line's centre stands off its tube: resting on it, but for ports."""
    housing = catalogue.housing(station.housing or line.housing)
    if station.type == "port":
        return Figure(0.0)
    if station.type == "stop":
        return Figure(catalogue.ferrule_for(housing).outside / 2)
    return Figure(housing.outside / 2)


def _place(place: Triple) -> tuple[Figure, ...]:
    return tuple(Figure(value, place.spread) for value in place)


def _direction(direction: Triple) -> tuple[Figure, ...]:
    return tuple(Figure(value, math.sin(direction.spread)) for value in direction)
