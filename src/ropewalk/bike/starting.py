"""Starting a frame file from the fleet: the nearest bike of a kind, its chart moved to another size."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

import tomlkit
from tomlkit.items import AoT, Comment, Table, Whitespace

from ropewalk.bike.closure import check_chart
from ropewalk.bike.editing import with_values
from ropewalk.bike.faults import Path
from ropewalk.bike.fields import Field, fields_of
from ropewalk.bike.fleet import FleetBike, fleet
from ropewalk.bike.framefile import Frame
from ropewalk.bike.reading import loads
from ropewalk.bike.skeleton import skeleton
from ropewalk.bike.tubes import tubes
from ropewalk.bike.wording import one_line
from ropewalk.errors import FrameFileError

#: a frame's reach grows by so much for every millimetre its seat tube grows (common practice of size runs)
_REACH_FOR_SEAT_TUBE = 0.2
#: least room between top and down tube on the head tube [mm]
_HEAD_ROOM = 5.0
#: figures that only check others: of another size they are not known before they are measured
_CHECKS = ("wheelbase", "trail", "front_centre")
_WORKED_OUT, _AS_ON = "worked out: measure", "as on the fleet's bike: measure"


@dataclass(frozen=True, slots=True)
class Size:
    """What is known of a bike that is to be started: its name, and stack and reach or else the seat tube.

    Attributes
    ----------
    name : str
        The bike's name.
    stack, reach, seat_tube : float or None
        As in the chart [mm]; None where not known.
    """

    name: str
    stack: float | None = None
    reach: float | None = None
    seat_tube: float | None = None


@cache
def fleet_frames() -> tuple[tuple[FleetBike, Frame], ...]:
    """Return the fleet's bikes with their frame files read."""
    return tuple((bike, loads(bike.path.read_bytes(), bike.path.name)) for bike in fleet())


def kind_of(frame: Frame) -> str:
    """Return what kind of bike a frame file describes, as a mechanic would say it from across the workshop."""
    if frame.chart.boom is not None:
        return "tandem"
    if frame.fold:
        return "folding bike"
    if frame.travel.rear is not None:
        return "full suspension"
    if frame.chart.chainstay > 550:
        return "long cargo bike"
    bars = {"drop": "drop bar", "base": "time trial", "swept": "swept city bar"}
    return bars.get(frame.cockpit.bar.shape, "flat or riser bar")


def kinds() -> tuple[str, ...]:
    """Return the kinds of bike that the fleet holds."""
    return tuple(dict.fromkeys(kind_of(frame) for _, frame in fleet_frames()))


def nearest_bikes(kind: str, size: Size) -> tuple[FleetBike, ...]:
    """Return the fleet's bikes of a kind, the one nearest in size first."""
    found = [(bike, frame) for bike, frame in fleet_frames() if kind_of(frame) == kind]
    return tuple(bike for bike, _ in sorted(found, key=lambda pair: _distance(pair[1], size)))


def started_from(bike: FleetBike, size: Size) -> str:
    """Return the text of a new frame file: a bike of the fleet, moved to another size.

    Parameters
    ----------
    bike : FleetBike
        The bike to start from.
    size : Size
        What is known of the new one.

    Raises
    ------
    FrameFileError
        When the bike cannot be moved so far, in one line.

    Notes
    -----
    Stack and reach move the head tube; what it gains in height its own length takes up, so that fork and wheels stay as
    they are and the chart agrees with itself. The seat tube, and where tubes meet it, rise by as much. Without stack
    and reach, both are estimated from the seat tube. Wheelbase, trail and front centre are left out: they check a
    chart only when they were measured. Nothing in the text counts as measured: comments say so figure by figure.
    """
    text = bike.path.read_text(encoding="utf-8")
    fields = {field.path: field for field in fields_of(text)}
    values = _moved_chart(fields, size)
    named: dict[Path, object] = {
        ("name",): size.name,
        ("note",): f"Started from {bike.title} of the hire fleet; not measured yet.",
        **values,
        **{("chart", key): None for key in _CHECKS if ("chart", key) in fields},
    }
    _check_bounds(bike, fields, values)
    new = _told(with_values(_without_comments(text), named), bike, size, set(values))
    try:
        frame = loads(new, "new bike")
        check_chart(frame)
        new = with_values(new, dict(_guide_tubes(loads(text, bike.path.name), frame)))
    except FrameFileError as error:
        told = str(error).removeprefix("new bike: ")
        raise FrameFileError(one_line(f"{bike.title} cannot be moved to this size: {told}"), error.path) from None
    return new


def _distance(frame: Frame, size: Size) -> float:
    given = ((size.stack, frame.chart.stack), (size.reach, frame.chart.reach), (size.seat_tube, frame.chart.seat_tube))
    return math.hypot(*(wanted - float(has) for wanted, has in given if wanted is not None))


def _moved_chart(fields: Mapping[Path, Field], size: Size) -> dict[Path, object]:
    """Return the figures of the chart and tubes that change with the size."""

    def now(*path: str) -> float:
        return float(fields[path].value)

    head, seat = math.radians(now("chart", "head_angle")), math.radians(now("chart", "seat_angle"))
    longer = 0.0 if size.seat_tube is None else size.seat_tube - now("chart", "seat_tube")
    rise = size.stack - now("chart", "stack") if size.stack is not None else longer * math.sin(seat)
    ahead = size.reach - now("chart", "reach") if size.reach is not None else longer * _REACH_FOR_SEAT_TUBE
    seat_rise = rise / math.sin(seat)
    values: dict[Path, float] = {
        ("chart", "stack"): now("chart", "stack") + rise,
        ("chart", "reach"): now("chart", "reach") + ahead,
        ("chart", "head_tube"): now("chart", "head_tube") + rise / math.sin(head),
        ("chart", "seat_tube"): now("chart", "seat_tube") + (longer if size.seat_tube is not None else seat_rise),
    }
    if fields["chart", "boom"].value is None:
        seat_rise = values["chart", "seat_tube"] - now("chart", "seat_tube")
        for tube in ("top_tube", "seat_stay"):
            if fields["tubes", tube, "at_seat"].value is not None:
                values["tubes", tube, "at_seat"] = now("tubes", tube, "at_seat") + seat_rise
    else:
        for path in (("tubes", "top_tube", "at_seat"), ("tubes", "rear_top_tube", "at_front")):
            if fields[path].value is not None:
                values[path] = now(*path) + seat_rise
    values |= _head_joins(fields, values["chart", "head_tube"])
    return {path: round(value, 1) for path, value in values.items() if abs(value - now(*map(str, path))) > 0.05}


def _head_joins(fields: Mapping[Path, Field], head_tube: float) -> dict[Path, float]:
    """Return where top and down tube meet a head tube that has become too short for where they met it."""
    joins = {("tubes", tube, "at_head"): fields["tubes", tube, "at_head"].value for tube in ("top_tube", "down_tube")}
    held = {path: float(value) for path, value in joins.items() if value is not None}
    room = head_tube - _HEAD_ROOM
    if sum(held.values()) <= room or room <= 0.0:
        return {}
    return {path: math.floor(10.0 * value * room / sum(held.values())) / 10.0 for path, value in held.items()}


def _guide_tubes(before: Frame, after: Frame) -> Iterator[tuple[Path, float]]:
    """Yield the lengths of formed guide tubes, each longer or shorter by as much as the tubes that it runs through."""
    old, new = tubes(before, skeleton(before)), tubes(after, skeleton(after))
    for place, line in enumerate(before.line):
        for number, station in enumerate(line.station):
            if station.then == "inside" and station.arc is not None:
                grown = sum(new[name].length - old[name].length for name in station.through if name in old)
                if abs(grown) > 0.05:
                    yield ("line", place, "station", number, "arc"), round(float(station.arc) + grown, 1)


def _check_bounds(bike: FleetBike, fields: Mapping[Path, Field], values: Mapping[Path, object]) -> None:
    """Refuse a size that takes a figure beyond its bounds."""
    for path, value in values.items():
        low, high = fields[path].bounds[0]
        if isinstance(value, float) and not low <= value <= high:
            where = ".".join(map(str, path))
            raise FrameFileError(
                f"{bike.title} cannot be moved to this size: {where} would be {value:g} mm, and it has to be between "
                f"{low:g} and {high:g} mm; start from another bike, or from a size nearer to this one",
                path,
            )


def _without_comments(text: str) -> str:
    """Return a frame file's text without its comments: they speak of the bike it was written for."""
    document = tomlkit.parse(text)
    for container in _containers(document):
        for _, item in container:
            if isinstance(item, Comment):
                item.trivia.indent = item.trivia.comment_ws = item.trivia.comment = item.trivia.trail = ""
            elif not isinstance(item, Whitespace):
                item.trivia.comment_ws = item.trivia.comment = ""
    return re.sub(r"\n{3,}", "\n\n", tomlkit.dumps(document)).lstrip("\n")


def _containers(table: Any) -> Iterator[Any]:
    body = table.value.body if isinstance(table, Table) else table.body
    yield body
    for _, item in body:
        if isinstance(item, Table):
            yield from _containers(item)
        elif isinstance(item, AoT):
            for entry in item.body:
                yield from _containers(entry)


def _told(text: str, bike: FleetBike, size: Size, worked_out: set[Path]) -> str:
    """Return the text with comments that say what has to be measured on the bike."""
    known = {key: getattr(size, key) for key in ("stack", "reach", "seat_tube")}
    given = {("chart", key) for key, value in known.items() if value is not None}
    head = [
        f"# Started from {one_line(bike.title)} of the hire fleet. Measure what the comments say on the bike itself,",
        "# write it here and delete the comment; cut nothing before.",
    ]
    lines, table = [], ""
    for line in text.splitlines():
        heading = re.match(r"\[+([a-z_.]+)\]+$", line)
        if heading:
            table = heading[1]
            lines += [f"# {note}" for note in (_NOTES.get(line.strip()),) if note]
        key = re.match(r"([a-z_]+) = ", line)
        if key and table in ("chart", "cockpit", "tubes", "travel"):
            path = (table, key[1])
            moved = any(other[: len(path)] == path for other in worked_out)
            if path not in given:
                line += f"  # {_WORKED_OUT if moved else _AS_ON}"
        lines.append(line)
    return "\n".join([*head, *lines]) + "\n"


#: what to do about whole tables, by their headings
_NOTES: Mapping[str, str] = {
    "[chart]": "Wheelbase, trail and front centre are left out: measure and add them, and they check the chart.",
    "[[lever]]": "Pull the levers on the bike: which works which brake, and where each sits.",
    "[[line]]": "Go along this line on the bike: parts, stations, and where each station sits.",
    "[[line.option]]": "Another way to route the line above: go along it too, or delete it.",
    "[[fold]]": "Measure the hinge on the bike.",
    "[[obstacle]]": "Look inside this bike's tube.",
    "[[opening]]": "Look inside this bike's tubes.",
}
