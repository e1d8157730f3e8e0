"""The parts catalogue: housing, wire, liners, ferrules, levers, brakes and derailleurs, by trade names.

The rows live in ``ropewalk/data/*.toml``, one file a kind. A number there is ``[value, spread, "unit", "mark"]``,
the mark naming kind and source in ``sources.toml``. Here it is a :class:`~ropewalk.bike.sourced.Sourced`:
a float that keeps its spread, unit, kind and source, angles in radians.

Examples
--------
>>> housing = catalogue().housing("spiral brake 5.0")
>>> housing.outside, housing.outside.spread, housing.outside.unit, housing.outside.kind
(5.0, 0.1, 'mm', 'common practice')
>>> catalogue().housing("spiral brake 5")
Traceback (most recent call last):
ropewalk.errors.PartError: there is no housing "spiral brake 5" in the catalogue: did you mean "spiral brake 5.0"?
"""

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from types import MappingProxyType
from typing import Any, TypeVar

from pydantic import ValidationError

from ropewalk.bike.rows import (
    ContactPair,
    Ferrule,
    Formed,
    Housing,
    Indexing,
    Inner,
    Lever,
    Liner,
    Mover,
    Named,
    Row,
    Settings,
    Strand,
    Tolerances,
)
from ropewalk.bike.sourced import KINDS, Source, Sourced
from ropewalk.bike.wording import listed, nearest, shortened
from ropewalk.errors import PartError

#: An estimate says so in these words, wherever it is shown.
ESTIMATE_SOURCE = "default: ask the maker"
_RowT = TypeVar("_RowT", bound=Row)
_NamedT = TypeVar("_NamedT", bound=Named)


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Everything in ``data/``: one mapping from trade name to row for each kind of part.

    Parameters
    ----------
    housings, inners, strands, liners, ferrules, formed, levers, movers, friction_pairs, indexings : Mapping
        Rows by name.
    settings : Settings
        Choices of the shop.
    tolerances : Tolerances
        Default half-widths (95 %) of measured figures.
    """

    housings: Mapping[str, Housing]
    inners: Mapping[str, Inner]
    strands: Mapping[str, Strand]
    liners: Mapping[str, Liner]
    ferrules: Mapping[str, Ferrule]
    formed: Mapping[str, Formed]
    levers: Mapping[str, Lever]
    movers: Mapping[str, Mover]
    friction_pairs: Mapping[str, ContactPair]
    indexings: Mapping[str, Indexing]
    settings: Settings
    tolerances: Tolerances

    def housing(self, name: str) -> Housing:
        """Return a housing or hose by its trade name, or raise PartError with the nearest name."""
        return _found("housing", name, self.housings)

    def inner(self, name: str) -> Inner:
        """Return an inner wire by its trade name, or raise PartError with the nearest name."""
        return _found("inner", name, self.inners)

    def strand(self, name: str) -> Strand:
        """Return how a wire is laid by its designation (``1x19``), or raise PartError."""
        return _found("strand", name, self.strands)

    def liner(self, name: str) -> Liner:
        """Return a liner by its trade name, or raise PartError with the nearest name."""
        return _found("liner", name, self.liners)

    def lever(self, name: str) -> Lever:
        """Return a lever or shifter by its trade name, or raise PartError with the nearest name."""
        return _found("lever", name, self.levers)

    def mover(self, name: str) -> Mover:
        """Return a moving end (brake, derailleur, post) by its trade name, or raise PartError."""
        return _found("moving end", name, self.movers)

    def formed_piece(self, name: str) -> Formed:
        """Return a noodle, guide or inline adjuster by its trade name, or raise PartError."""
        return _found("formed piece", name, self.formed)

    def indexing(self, name: str) -> Indexing:
        """Return a shifter family by its name, or raise PartError with the nearest name."""
        return _found("indexing", name, self.indexings)

    def ferrule_for(self, housing: Housing | str) -> Ferrule:
        """Return the ferrule that ends a housing (each housing has exactly one)."""
        name = housing if isinstance(housing, str) else housing.name
        _found("housing", name, self.housings)
        return next(ferrule for ferrule in self.ferrules.values() if name in ferrule.housings)

    def friction(self, contact: str, condition: str) -> Sourced:
        """Return the friction coefficient of a contact pair.

        Parameters
        ----------
        contact : str
            A row of ``friction.toml``, such as ``lined housing``.
        condition : str
            ``new``, ``worn`` or ``corroded``.

        Examples
        --------
        >>> catalogue().friction("lined housing", "worn")
        0.15
        """
        pair = _found("contact pair", contact, self.friction_pairs)
        conditions = {"new": pair.new, "worn": pair.worn, "corroded": pair.corroded}
        return _found("condition", condition, conditions)


_T = TypeVar("_T")


def _found(what: str, name: str, among: Mapping[str, _T]) -> _T:
    try:
        return among[name]
    except KeyError:
        near = nearest(name, among)
        hint = f'did you mean "{near}"?' if near else "it has " + listed([f'"{known}"' for known in among], "and")
        raise PartError(f'there is no {what} "{shortened(name)}" in the catalogue: {hint}') from None


@cache
def catalogue() -> Catalogue:
    """Return the catalogue that comes with Ropewalk, read once."""
    return read_catalogue(files("ropewalk.data"))


def read_catalogue(folder: Traversable) -> Catalogue:
    """Read and check the catalogue files in a folder.

    Parameters
    ----------
    folder : Traversable
        A folder (a ``pathlib.Path`` will do) with every file of ``ropewalk/data``.

    Raises
    ------
    PartError
        If a file is missing or a row is wrong; the message names file, row and field.
    """
    sources = _sources(folder)
    found = Catalogue(
        housings=_named(folder, "housings.toml", Housing, sources),
        inners=_named(folder, "inners.toml", Inner, sources),
        strands=_named(folder, "strands.toml", Strand, sources),
        liners=_named(folder, "liners.toml", Liner, sources),
        ferrules=_named(folder, "ferrules.toml", Ferrule, sources),
        formed=_named(folder, "formed.toml", Formed, sources),
        levers=_named(folder, "levers.toml", Lever, sources),
        movers=_named(folder, "movers.toml", Mover, sources),
        friction_pairs=_named(folder, "friction.toml", ContactPair, sources),
        indexings=_named(folder, "indexing.toml", Indexing, sources),
        settings=_checked("settings.toml", "", _tables(folder, "settings.toml"), Settings, sources),
        tolerances=_checked("tolerances.toml", "", _tables(folder, "tolerances.toml"), Tolerances, sources),
    )
    for complaint in _dangling(found):
        raise PartError(complaint)
    return found


def _tables(folder: Traversable, file: str) -> dict[str, Any]:
    try:
        return tomllib.loads((folder / file).read_text(encoding="utf-8"))
    except OSError:
        raise PartError(f"{file}: the catalogue file cannot be read; restore it in ropewalk/data") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise PartError(f"{file}: not valid TOML: {error}") from None


def _sources(folder: Traversable) -> Mapping[str, Source]:
    sources = {}
    for mark, table in _tables(folder, "sources.toml").items():
        if not isinstance(table, dict) or set(table) != {"kind", "source"} or not all(table.values()):
            raise PartError(f"sources.toml: [{mark}] must hold kind and source, both filled in, and nothing else")
        if table["kind"] not in KINDS:
            raise PartError(f"sources.toml: [{mark}] kind {table['kind']!r} is none of {', '.join(KINDS)}")
        if table["kind"] == "estimate" and not table["source"].startswith(ESTIMATE_SOURCE):
            raise PartError(f"sources.toml: [{mark}] is an estimate; its source must begin {ESTIMATE_SOURCE!r}")
        sources[mark] = Source(table["kind"], table["source"])
    return MappingProxyType(sources)


def _named(
    folder: Traversable, file: str, model: type[_NamedT], sources: Mapping[str, Source]
) -> Mapping[str, _NamedT]:
    rows = {}
    for name, table in _tables(folder, file).items():
        filled = {**table, "name": name} if isinstance(table, dict) else table
        rows[name] = _checked(file, name, filled, model, sources)
    return MappingProxyType(rows)


def _checked(file: str, row: str, table: object, model: type[_RowT], sources: Mapping[str, Source]) -> _RowT:
    try:
        return model.model_validate(table, context={"sources": sources})
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        field = ".".join(str(part) for part in first["loc"])
        place = " ".join(part for part in (f"[{row}]" if row else "", field) if part)
        raise PartError(f"{file}: {place}: {first['msg'].removeprefix('Value error, ')}") from None


def _dangling(found: Catalogue) -> Iterator[str]:
    """Yield complaints about names in one file that another does not hold."""
    for housing in found.housings:
        if sum(housing in ferrule.housings for ferrule in found.ferrules.values()) != 1:
            yield f"ferrules.toml: the housing {housing!r} must stand in exactly one ferrule's list"
    for ferrule in found.ferrules.values():
        for housing in ferrule.housings:
            if housing not in found.housings:
                yield f"ferrules.toml: [{ferrule.name}] fits {housing!r}, which housings.toml does not hold"
    for inner in found.inners.values():
        if inner.strand not in found.strands:
            yield f"inners.toml: [{inner.name}] strand {inner.strand!r} is not in strands.toml"
    for mover in found.movers.values():
        if mover.formed is not None and mover.formed not in found.formed:
            yield f"movers.toml: [{mover.name}] formed {mover.formed!r} is not in formed.toml"
    contacts = [
        *(("housings.toml", row.name, row.contact) for row in found.housings.values()),
        *(("liners.toml", row.name, row.contact) for row in found.liners.values()),
        *(("formed.toml", row.name, row.contact) for row in found.formed.values()),
        *(("movers.toml", row.name, row.anchor_contact) for row in found.movers.values()),
    ]
    for file, name, contact in contacts:
        if contact is not None and contact not in found.friction_pairs:
            yield f"{file}: [{name}] contact {contact!r} is not in friction.toml"
