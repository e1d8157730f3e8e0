"""The numbers of a catalogue row, checked while they are read.

A number is a row of four, ``[value, spread, "unit", "mark"]``, and becomes a
:class:`~ropewalk.bike.sourced.Sourced` (or a :class:`~ropewalk.bike.sourced.Triple` for a place or a direction).
A number without one of them, with another unit than its field wants, beyond all measure, or with an unknown mark is
refused.
"""

import math
from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import PlainValidator, ValidationInfo

from ropewalk.bike.sourced import Source, Sourced, Triple, direction, sourced
from ropewalk.bike.wording import listed, shortened

#: beyond this a figure is a slip of the pen, by unit
_MOST: Mapping[str, float] = {
    "mm": 2e4,
    "m": 1e4,
    "deg": 360.0,
    "h": 12.0,
    "N": 1e7,
    "N/mm2": 1e6,
    "N mm2": 1e8,
    "N m": 1e3,
    "1": 1e2,
}
#: most that a place of a part lies from its mount [mm], and that a direction is unsure by [°]
_FARTHEST, _WIDEST = 1000.0, 60.0


def _row(raw: object, info: ValidationInfo, unit: str) -> tuple[Any, float, Source]:
    """Return value, spread and source of a row ``[value, spread, "unit", "mark"]``, checked."""
    shape = f'write it as [value, spread, "{unit}", "mark"]'
    if not isinstance(raw, list) or len(raw) != 4:
        raise ValueError(f"{_shown(raw)} is not a row of four; {shape}")
    value, spread, given_unit, mark = raw
    sources: Mapping[str, Source] = (info.context or {})["sources"]
    if given_unit != unit:
        raise ValueError(f"the unit is {_shown(given_unit)}, wanted {unit!r}; {shape}")
    if not isinstance(mark, str) or mark not in sources:
        known, home = listed(sources), (info.context or {})["source_home"]
        raise ValueError(f"the mark {_shown(mark)} is not in {home}; use {known}, or write a source there")
    half_width = _number(spread, "spread", unit)
    if half_width < 0:
        raise ValueError(f"the spread {spread:g} is below 0; it is a half-width, 0 or more")
    return value, half_width, sources[mark]


def _shown(raw: object) -> str:
    return shortened(repr(raw))


def _number(raw: object, what: str, unit: str) -> float:
    if isinstance(raw, bool) or not isinstance(raw, int | float) or raw != raw:
        raise ValueError(f"the {what} {_shown(raw)} is not a number; write a plain number")
    # Compared before it is made a float, which the longest whole numbers do not fit into.
    if abs(raw) > _MOST[unit]:
        raise ValueError(f"the {what} {_shown(raw)} {unit} is beyond all measure; it may be at most {_MOST[unit]:g}")
    return float(raw)


def _three(raw: object, unit: str) -> tuple[float, float, float]:
    if not isinstance(raw, list) or len(raw) != 3:
        raise ValueError(f"{_shown(raw)} is not three numbers in square brackets")
    return _number(raw[0], "value", unit), _number(raw[1], "value", unit), _number(raw[2], "value", unit)


def _single(unit: str, *, above: float = -math.inf, least: float = -math.inf, most: float = math.inf) -> PlainValidator:
    def read(raw: object, info: ValidationInfo) -> Sourced:
        value, spread, source = _row(raw, info, unit)
        number = _number(value, "value", unit)
        if number < least or number <= above:
            bound = f"above {above:g}" if above > -math.inf else f"at least {least:g}"
            raise ValueError(f"the value {number:g} {unit} is too small; it must be {bound}")
        for what, figure in (("value", number), ("spread", spread)):
            if figure > most:
                raise ValueError(f"the {what} {figure:g} {unit} is too large; it may be at most {most:g}")
        return sourced(number, spread, unit, source)

    return PlainValidator(read)


def _several(unit: str) -> PlainValidator:
    def read(raw: object, info: ValidationInfo) -> tuple[Sourced, ...]:
        values, spread, source = _row(raw, info, unit)
        if not isinstance(values, list) or not 0 < len(values) <= 100:
            raise ValueError(f"{_shown(values)} is not a list of numbers, at most 100, in square brackets")
        numbers = [_number(value, "value", unit) for value in values]
        if numbers != sorted(set(numbers)) or numbers[0] <= 0:
            raise ValueError(f"{_shown(values)} must rise from above 0")
        return tuple(sourced(number, spread, unit, source) for number in numbers)

    return PlainValidator(read)


def _count(raw: object, info: ValidationInfo) -> Sourced:
    value, spread, source = _row(raw, info, "1")
    number = _number(value, "value", "1")
    if number not in (1.0, 2.0) or spread:
        raise ValueError(f"{_shown(raw)} is no such count; it must be 1 or 2, with the spread 0")
    return sourced(number, spread, "1", source)


def _place(raw: object, info: ValidationInfo) -> Triple:
    values, spread, source = _row(raw, info, "mm")
    place = _three(values, "mm")
    if math.hypot(*place) > _FARTHEST or spread > _FARTHEST:
        raise ValueError(f"{_shown(values)} lies too far out; the place and its spread may be {_FARTHEST:g} mm at most")
    return Triple(place, spread, "mm", source)


def _direction(raw: object, info: ValidationInfo) -> Triple:
    values, spread, source = _row(raw, info, "deg")
    if spread > _WIDEST:
        raise ValueError(f"the spread {spread:g} deg is too large; a direction is known within {_WIDEST:g} deg at most")
    return direction(_three(values, "1"), spread, "deg", source)


Length = Annotated[Sourced, _single("mm", least=0.0, most=1000.0)]
Size = Annotated[Sourced, _single("mm", above=0.0, most=600.0)]
#: how far a housing goes into what ends it, and how thick that is
Depth = Annotated[Sourced, _single("mm", least=0.0, most=60.0)]
Lengths = Annotated[tuple[Sourced, ...], _several("mm")]
Rolls = Annotated[tuple[Sourced, ...], _several("m")]
Angle = Annotated[Sourced, _single("deg", least=0.0)]
Hours = Annotated[Sourced, _single("h", least=0.0)]
Force = Annotated[Sourced, _single("N", least=0.0, most=5000.0)]
#: what a spring pulls: never nothing
Pull = Annotated[Sourced, _single("N", above=0.0, most=5000.0)]
Stiffness = Annotated[Sourced, _single("N", least=100.0)]
BendingStiffness = Annotated[Sourced, _single("N mm2", above=0.0)]
Stress = Annotated[Sourced, _single("N/mm2", above=0.0)]
Torque = Annotated[Sourced, _single("N m", above=0.0)]
Ratio = Annotated[Sourced, _single("1", above=0.0)]
#: how many inners a lever pulls
Count = Annotated[Sourced, PlainValidator(_count)]
Place = Annotated[Triple, PlainValidator(_place)]
Direction = Annotated[Triple, PlainValidator(_direction)]
