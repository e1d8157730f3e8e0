"""A shop's own parts, in one file beside the built-in catalogue and checked in the same way.

The file holds tables named by the kind of part and the trade name, and a table for each source of its own::

    [source.caliper]
    kind = "measured"
    source = "our sliding caliper, five pieces"

    [housing."quay brake 5.0"]
    work = ["brake"]
    contact = "lined housing"
    ferrule = "ferrule 5"
    outside = [5.05, 0.05, "mm", "caliper"]

and so on, with every figure that the built-in rows of its kind have. Numbers may carry the built-in marks too.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from ropewalk.bike.crossrefs import dangling
from ropewalk.bike.faults import show
from ropewalk.bike.parts import KINDS_OF_PART, Catalogue, Kind
from ropewalk.bike.rowreading import Home, read_rows, read_sources
from ropewalk.bike.rows import Named
from ropewalk.bike.sourced import Source
from ropewalk.bike.tomltext import Wanted, file_tables, text_tables
from ropewalk.bike.wording import listed, nearest, one_line, shortened, shortened_path
from ropewalk.errors import PartError

_PARTS_FILE = Wanted("parts file", 'write a part into it, starting with [housing."its name"]', PartError)
_SOURCE = "source"
_MARKS = "the sources"


def with_own_parts(path: str | os.PathLike[str], beside: Catalogue) -> Catalogue:
    """Return a catalogue with a shop's own parts in it.

    Parameters
    ----------
    path : str or path-like
        The shop's parts file.
    beside : Catalogue
        The catalogue it stands beside, such as the built-in one; no name in it may be taken again.

    Raises
    ------
    PartError
        When the file cannot be read or a row is wrong; the text is one line that names file, row and field.
    """
    return _joined(file_tables(path, _PARTS_FILE), shortened_path(os.fspath(path)), beside)


def own_parts_text(text: str | bytes, where: str, beside: Catalogue) -> Catalogue:
    """Return the same from the file's text; `where` is what messages call it."""
    return _joined(text_tables(text, where, _PARTS_FILE), shortened_path(where), beside)


def _joined(tables: Mapping[str, Any], file: str, beside: Catalogue) -> Catalogue:
    kinds = {kind.word: kind for kind in KINDS_OF_PART}
    for word in tables:
        if word not in kinds and word != _SOURCE:
            near = nearest(word, [*kinds, _SOURCE])
            hint = f'did you mean "{near}"?' if near else f"it takes {listed([*kinds, _SOURCE], last='and')}"
            raise PartError(one_line(f"{file}: has the unknown table {show(word)}: {hint}"))
    sources = _sources(tables.get(_SOURCE, {}), file, beside)
    own = {word: _rows(tables[word], kind, sources, file, beside) for word, kind in kinds.items() if word in tables}
    names = frozenset((word, name) for word, rows in own.items() for name in rows)
    if not names:
        raise PartError(f"{file}: holds no part: {_PARTS_FILE.begin}")
    fields: dict[str, Any] = {
        kinds[word].field: MappingProxyType({**beside.rows(kinds[word]), **rows}) for word, rows in own.items()
    }
    joined = replace(beside, sources=sources, own=beside.own | names, **fields)
    for complaint in _complaints(joined, file):
        raise PartError(complaint)
    return joined


def _sources(tables: object, file: str, beside: Catalogue) -> Mapping[str, Source]:
    home = Home(file, f"{_SOURCE}.")
    found = read_sources(tables, home)
    for mark in found:
        if mark in beside.sources:
            raise PartError(one_line(f"{home.row(mark)} is the name of a built-in source: give it another name"))
    return MappingProxyType({**beside.sources, **found})


def _rows(
    tables: object, kind: Kind, sources: Mapping[str, Source], file: str, beside: Catalogue
) -> Mapping[str, Named]:
    home = Home(file, f"{kind.word}.", f"{_MARKS} (a table [{_SOURCE}.mark] with kind and source)")
    taken = {name.casefold(): name for name in beside.rows(kind)}
    if isinstance(tables, dict):
        for name in tables:
            if name.casefold() in taken:
                built_in = shortened(taken[name.casefold()])
                what = f'"{built_in}" is built in already: give yours another name, or use that one'
                raise PartError(one_line(f"{home.row(name)} {what}"))
    return read_rows(tables, kind.model, sources, home)


def _complaints(joined: Catalogue, file: str) -> Iterator[str]:
    for word, name, complaint in dangling(joined):
        yield one_line(f"{Home(file, f'{word}.').row(name)} {complaint}")
