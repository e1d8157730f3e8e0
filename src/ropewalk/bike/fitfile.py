"""The dry-fit file: how long each piece of housing was cut, and how it was found to fit on the bike.

The file holds a table for every piece that was cut; pieces not yet cut are left out::

    format = 1
    bike = "Quay tourer"

    [[piece]]
    tag = "A1"
    as_cut = 612
    fit = "tight at left lock"
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from typing import Annotated, Any, Literal, Self, get_args

from pydantic import AfterValidator, Field, StringConstraints, ValidationError, field_validator, model_validator
from pydantic_core import PydanticCustomError

from ropewalk.bike.faults import say_first
from ropewalk.bike.figures import Figure
from ropewalk.bike.tomltext import Wanted, file_tables, text_tables
from ropewalk.bike.wording import one_line, shortened, shortened_path
from ropewalk.bike.written import PLAIN_TEXT, Name, Strict, length
from ropewalk.errors import DryFitError

Fit = Literal["not tried", "tight at left lock", "tight at right lock", "tight at both locks", "tight", "fine", "long"]
#: what may be found of a piece, in the file's own words
FITS: tuple[Fit, ...] = get_args(Fit)
#: shortest and longest that a piece may have been cut to [mm]
SHORTEST, LONGEST = 10, 6000
#: most pieces of one file
MOST_PIECES = 100

_DRY_FIT_FILE = Wanted("dry-fit file", "write format = 1 and a [[piece]] table for each piece cut", DryFitError)


def _exact(figure: Figure) -> Figure:
    if figure.within is not None:
        raise PydanticCustomError("figure", "takes a plain number of mm, without within", {})
    return figure


class PieceFit(Strict):
    """What was found of one piece."""

    tag: Annotated[
        str, StringConstraints(strip_whitespace=True, to_upper=True, min_length=1, max_length=12, pattern=PLAIN_TEXT)
    ] = Field(description="the piece's tag in the cut list, such as A1")
    as_cut: Annotated[Figure, length(SHORTEST, LONGEST), AfterValidator(_exact)] = Field(
        description="length it was cut to, mm without ferrules"
    )
    fit: Fit = Field(description="how it fits, such as tight at left lock")


class DryFit(Strict):
    """What was found at the dry fit of one bike."""

    format: Literal[1] = Field(description="version of this file format: 1")
    bike: Name | None = Field(default=None, description="the bike's name, so that no other bike's file is taken")
    piece: tuple[PieceFit, ...] = Field(default=(), max_length=MOST_PIECES, description="the pieces that were cut")

    @field_validator("format", mode="before")
    @classmethod
    def _one_format(cls, given: object) -> object:
        if given != 1 or isinstance(given, bool):
            raise PydanticCustomError("format", "has to be 1, the only format there is so far", {})
        return given

    @model_validator(mode="after")
    def _each_once(self) -> Self:
        first: dict[str, int] = {}
        for number, piece in enumerate(self.piece, start=1):
            if piece.tag in first:
                raise PydanticCustomError(
                    "twice",
                    'piece {number} is "{tag}" once more, after piece {other}: tell of each piece once',
                    {"number": number, "tag": shortened(piece.tag), "other": first[piece.tag]},
                )
            first[piece.tag] = number
        return self


def read_fit(path: str | os.PathLike[str]) -> DryFit:
    """Read a dry-fit file.

    Parameters
    ----------
    path : str or path-like
        The file.

    Returns
    -------
    DryFit

    Raises
    ------
    DryFitError
        When it cannot be read; the text is one line that begins with the path.
    """
    return _fit(file_tables(path, _DRY_FIT_FILE), os.fspath(path))


def fit_text(text: str | bytes, where: str) -> DryFit:
    """Return the same from the file's text; `where` is what messages call it."""
    return _fit(text_tables(text, where, _DRY_FIT_FILE), where)


def written_fit(bike: str, pieces: Iterable[tuple[str, float, Fit, str]]) -> str:
    """Return a dry-fit file.

    Parameters
    ----------
    bike : str
        The bike's name.
    pieces : iterable of (str, float, str, str)
        For each piece its tag, the length it was cut to [mm], how it fits, and a remark.

    Examples
    --------
    >>> fit_text(written_fit("tug", [("A1", 612.0, "fine", "lever to caliper")]), "tug").piece[0].as_cut
    612.0
    """
    import tomlkit

    document = tomlkit.document()
    document.add(tomlkit.comment("What was found at the dry fit. Set as_cut to the length each piece was cut to [mm]"))
    document.add(tomlkit.comment("and leave out what is not cut yet. For fit write one of:"))
    document.add(tomlkit.comment(", ".join(FITS)))
    document.add("format", tomlkit.item(1))
    document.add("bike", tomlkit.item(bike))
    tables = tomlkit.aot()
    for tag, as_cut, fit, remark in pieces:
        table = tomlkit.table()
        table.add("tag", tomlkit.item(tag).comment(one_line(remark)) if remark else tomlkit.item(tag))
        table.add("as_cut", int(as_cut) if float(as_cut).is_integer() else float(as_cut))
        table.add("fit", fit)
        tables.append(table)
    document.add("piece", tables)
    return tomlkit.dumps(document)


def _fit(given: dict[str, Any], where: str) -> DryFit:
    try:
        return DryFit.model_validate(given)
    except ValidationError as error:
        fault = say_first(error.errors(include_url=False), given, DryFit)
        raise DryFitError(one_line(f"{shortened_path(where)}: {fault}")) from None
