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
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any, TypeVar

from ropewalk.bike.crossrefs import dangling
from ropewalk.bike.rowreading import Home, read_row, read_rows, read_sources
from ropewalk.bike.rows import (
    ContactPair,
    Covering,
    EndCap,
    Ferrule,
    Formed,
    Housing,
    Indexing,
    Inline,
    Inner,
    Lever,
    Liner,
    Mover,
    Named,
    Strand,
)
from ropewalk.bike.settingrows import Settings, Tolerances
from ropewalk.bike.sourced import Source, Sourced
from ropewalk.bike.wording import listed, nearest, one_line, shortened
from ropewalk.errors import PartError


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of part.

    Attributes
    ----------
    word : str
        What messages, and the tables of a shop's own file, call one of it.
    field : str
        Where the catalogue holds its rows.
    file : str
        Where the built-in rows stand.
    model : type of Named
        What a row may hold.
    """

    word: str
    field: str
    file: str
    model: type[Named]


KINDS_OF_PART = (
    Kind("housing", "housings", "housings.toml", Housing),
    Kind("inner", "inners", "inners.toml", Inner),
    Kind("strand", "strands", "strands.toml", Strand),
    Kind("liner", "liners", "liners.toml", Liner),
    Kind("guide_tube", "guide_tubes", "guidetubes.toml", Covering),
    Kind("sleeve", "sleeves", "sleeves.toml", Covering),
    Kind("ferrule", "ferrules", "ferrules.toml", Ferrule),
    Kind("end_cap", "end_caps", "endcaps.toml", EndCap),
    Kind("formed", "formed", "formed.toml", Formed),
    Kind("inline", "inlines", "inlines.toml", Inline),
    Kind("lever", "levers", "levers.toml", Lever),
    Kind("mover", "movers", "movers.toml", Mover),
    Kind("friction", "friction_pairs", "friction.toml", ContactPair),
    Kind("indexing", "indexings", "indexing.toml", Indexing),
)


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Everything in ``data/``: one mapping from trade name to row for each kind of part.

    Parameters
    ----------
    housings, inners, strands, liners, guide_tubes, sleeves, ferrules, end_caps : Mapping
        Rows by name.
    formed, inlines, levers, movers, friction_pairs, indexings : Mapping
        Rows by name.
    sources : Mapping
        Sources by mark.
    settings : Settings
        Choices of the shop.
    tolerances : Tolerances
        Default half-widths (95 %) of measured figures.
    own : frozenset
        Kind and name of every row that a shop's own file has put beside the built-in ones.
    """

    housings: Mapping[str, Housing]
    inners: Mapping[str, Inner]
    strands: Mapping[str, Strand]
    liners: Mapping[str, Liner]
    guide_tubes: Mapping[str, Covering]
    sleeves: Mapping[str, Covering]
    ferrules: Mapping[str, Ferrule]
    end_caps: Mapping[str, EndCap]
    formed: Mapping[str, Formed]
    inlines: Mapping[str, Inline]
    levers: Mapping[str, Lever]
    movers: Mapping[str, Mover]
    friction_pairs: Mapping[str, ContactPair]
    indexings: Mapping[str, Indexing]
    sources: Mapping[str, Source]
    settings: Settings
    tolerances: Tolerances
    own: frozenset[tuple[str, str]] = frozenset()

    def rows(self, kind: Kind) -> Mapping[str, Named]:
        """Return every row of one kind by name."""
        found: Mapping[str, Named] = getattr(self, kind.field)
        return found

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
        """Return a noodle or guide by its trade name, or raise PartError."""
        return _found("formed piece", name, self.formed)

    def inline(self, name: str) -> Inline:
        """Return an adjuster or splitter by its trade name, or raise PartError with the nearest name."""
        return _found("adjuster or splitter", name, self.inlines)

    def sleeve(self, name: str) -> Covering:
        """Return an anti-rattle sleeve by its trade name, or raise PartError with the nearest name."""
        return _found("sleeve", name, self.sleeves)

    def guide_tube(self, name: str) -> Covering:
        """Return a guide tube by its trade name, or raise PartError with the nearest name."""
        return _found("guide tube", name, self.guide_tubes)

    def end_cap_for(self, inner: Inner) -> EndCap | None:
        """Return the narrowest end cap that goes over an inner's cut end, or None.

        Examples
        --------
        >>> parts = catalogue()
        >>> parts.end_cap_for(parts.inner("brake 1.5")).name
        'brake end cap'
        """
        wide_enough = [
            cap for cap in self.end_caps.values() if cap.bore > inner.diameter and set(cap.work) & set(inner.work)
        ]
        return min(wide_enough, key=lambda cap: float(cap.bore), default=None)

    def indexing(self, name: str) -> Indexing:
        """Return a shifter family by its name, or raise PartError with the nearest name."""
        return _found("indexing", name, self.indexings)

    def ferrule_for(self, housing: Housing | str) -> Ferrule:
        """Return the ferrule that ends a housing (each housing has exactly one)."""
        name = housing if isinstance(housing, str) else housing.name
        own = _found("housing", name, self.housings).ferrule
        if own is not None:
            return _found("ferrule", own, self.ferrules)
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


#: most names that one message lists
MOST_TOLD = 12
_T = TypeVar("_T")


def _found(what: str, name: str, among: Mapping[str, _T]) -> _T:
    try:
        return among[name]
    except KeyError:
        near = nearest(name, among)
        if near:
            hint = f'did you mean "{near}"?'
        elif len(among) > MOST_TOLD:
            hint = f'it has {len(among)}; "ropewalk parts" lists them'
        else:
            hint = "it has " + listed([f'"{known}"' for known in among], "and")
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
    sources = read_sources(_tables(folder, "sources.toml"), Home("sources.toml"))
    rows: dict[str, Any] = {
        kind.field: read_rows(_tables(folder, kind.file), kind.model, sources, Home(kind.file))
        for kind in KINDS_OF_PART
    }
    found = Catalogue(
        sources=sources,
        settings=read_row(_tables(folder, "settings.toml"), Settings, sources, Home("settings.toml")),
        tolerances=read_row(_tables(folder, "tolerances.toml"), Tolerances, sources, Home("tolerances.toml")),
        **rows,
    )
    files_of = {kind.word: kind.file for kind in KINDS_OF_PART}
    for word, name, complaint in dangling(found):
        raise PartError(one_line(f"{Home(files_of[word]).row(name)} {complaint}"))
    return found


def _tables(folder: Traversable, file: str) -> dict[str, Any]:
    try:
        return tomllib.loads((folder / file).read_text(encoding="utf-8"))
    except OSError:
        raise PartError(f"{file}: the catalogue file cannot be read; restore it in ropewalk/data") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise PartError(f"{file}: not valid TOML: {error}") from None
