"""What the parts catalogue holds, as people and programs read it: names, main figures, where they come from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ropewalk.bike.parts import KINDS_OF_PART, Catalogue, Kind
from ropewalk.bike.rows import Named, Row
from ropewalk.bike.sourced import Sourced, Triple
from ropewalk.bike.wording import listed, nearest, shortened
from ropewalk.errors import ChoiceError
from ropewalk.units import degrees

#: what a list shows of a row, by kind of part; the JSON object holds all
_MAIN: Mapping[str, tuple[str, ...]] = {
    "housing": ("work", "outside", "bore", "kink_radius", "advised_radius"),
    "inner": ("work", "diameter", "strand", "heads", "stock"),
    "strand": ("gross_modulus", "breaking_factor", "grade"),
    "liner": ("work", "outside", "bore", "advised_radius"),
    "guide_tube": ("work", "outside", "bore"),
    "sleeve": ("work", "outside", "bore"),
    "ferrule": ("housings", "insertion", "floor", "outside", "wire_hole"),
    "end_cap": ("work", "bore", "holds"),
    "formed": ("length", "turn", "radius"),
    "inline": ("work", "replaces", "travel", "pitch", "clamps"),
    "lever": ("sits_on", "end", "nipple", "inners", "pull_kind", "pull", "advantage"),
    "mover": ("work", "mount", "end", "formed", "nipple", "pull_kind", "setting_length", "straddle_wire"),
    "friction": ("new", "worn", "corroded"),
    "indexing": ("pull", "spacing"),
}
#: fields whose words stand behind them or are others than their names
_SAID = {
    "work": "for {}",
    "end": "held by its {}",
    "nipple": "{} nipple",
    "pull_kind": "{} pull",
    "sits_on": "sits on: {}",
    "mount": "at the {}",
    "formed": "with {}",
}
_DIGITS = 6


@dataclass(frozen=True, slots=True)
class PartEntry:
    """One part as a list shows it.

    Attributes
    ----------
    name : str
        What frame files call it.
    figures : str
        Its main figures.
    origin : str
        The kinds of its numbers.
    own : bool
        Whether it stands in a shop's own file.
    """

    name: str
    figures: str
    origin: str
    own: bool


def kinds_asked(word: str | None) -> tuple[Kind, ...]:
    """Return the kinds of part a word means: all of them for None.

    Raises
    ------
    ChoiceError
        When there is no such kind; the text names those there are.

    Examples
    --------
    >>> [kind.word for kind in kinds_asked("Housings")]
    ['housing']
    """
    if word is None:
        return KINDS_OF_PART
    wanted = word.strip().lower().replace(" ", "_").replace("-", "_")
    for kind in KINDS_OF_PART:
        if wanted in (kind.word, f"{kind.word}s"):
            return (kind,)
    near = nearest(wanted, [kind.word for kind in KINDS_OF_PART])
    known = listed([kind.word for kind in KINDS_OF_PART], last="and")
    hint = f'did you mean "{near}"?' if near else f"the catalogue holds {known}"
    raise ChoiceError(f'there is no kind of part "{shortened(word)}": {hint}')


def part_entries(kind: Kind, catalogue: Catalogue) -> tuple[PartEntry, ...]:
    """Return the parts of one kind in the catalogue's order, a shop's own last."""
    return tuple(
        PartEntry(name, "; ".join(_main_figures(kind, row)), _origin(row), (kind.word, name) in catalogue.own)
        for name, row in catalogue.rows(kind).items()
    )


def parts_as_json(kinds: Sequence[Kind], catalogue: Catalogue) -> dict[str, Any]:
    """Return parts as plain data: every field, every number with value, spread, unit, kind and source; angles in °."""
    return {
        "format": 1,
        "parts": {
            kind.word: [
                {"name": name, "own": (kind.word, name) in catalogue.own, **_plain_row(row)}
                for name, row in catalogue.rows(kind).items()
            ]
            for kind in kinds
        },
    }


def _main_figures(kind: Kind, row: Named) -> Iterator[str]:
    yield from _told(row, _MAIN[kind.word])
    for work, leaving in getattr(row, "exits", {}).items():
        yield f"{work}: {', '.join(_told(leaving, _MAIN[kind.word]))}"


def _told(row: Row, fields: Sequence[str]) -> Iterator[str]:
    for field in fields:
        value = getattr(row, field, None)
        # what kind of nipple says that it is one
        if value is None or value == () or (field == "end" and getattr(row, "nipple", None)):
            continue
        said = _SAID.get(field, field.replace("_", " ") + " {}")
        match value:
            case Sourced():
                yield said.format(_shown(value))
            case tuple() if all(isinstance(one, Sourced) for one in value):
                yield said.format(f"{', '.join(f'{one:g}' for one in value)} {value[0].unit}")
            case tuple():
                yield said.format(listed(value, last="and"))
            case _:
                yield said.format(value)


def _shown(value: Sourced) -> str:
    number, spread, unit = _in_degrees(value)
    told = f"{number:g} ± {spread:g}" if spread else f"{number:g}"
    return told if unit == "1" else f"{told} {unit}".replace(" deg", "°")


def _in_degrees(value: Sourced) -> tuple[float, float, str]:
    number, spread, unit = float(value), value.spread, value.unit
    if unit == "rad":
        number, spread, unit = degrees(number), degrees(spread), "deg"
    return round(number, _DIGITS), round(spread, _DIGITS), unit


def _origin(row: Row) -> str:
    """Return the kinds of a row's numbers, the commonest first."""
    kinds = [figure.kind for figure in _figures(row)]
    return ", ".join(sorted(set(kinds), key=lambda kind: (-kinds.count(kind), kind)))


def _figures(row: Row) -> Iterator[Sourced | Triple]:
    for _, value in row:
        if isinstance(value, Sourced | Triple):
            yield value
        elif isinstance(value, tuple):
            yield from (one for one in value if isinstance(one, Sourced))
        elif isinstance(value, dict):
            for inner in value.values():
                yield from _figures(inner)


def _plain_row(row: Row) -> dict[str, Any]:
    fields = type(row).model_fields
    return {fields[name].alias or name: _plain(value) for name, value in row if value is not None and name != "name"}


def _plain(value: Any) -> Any:
    match value:
        case Sourced():
            number, spread, unit = _in_degrees(value)
            return {"value": number, "spread": spread, "unit": unit, "kind": value.kind, "source": value.source}
        case Triple():
            spread, unit = (degrees(value.spread), "deg") if value.unit == "rad" else (value.spread, value.unit)
            numbers = [round(one, _DIGITS) for one in value]
            return {
                "value": numbers,
                "spread": round(spread, _DIGITS),
                "unit": unit,
                "kind": value.kind,
                "source": value.source,
            }
        case tuple():
            return [_plain(one) for one in value]
        case dict():
            return {key: _plain_row(inner) for key, inner in value.items()}
    return value
