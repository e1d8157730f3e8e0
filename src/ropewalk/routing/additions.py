"""What a line carries besides its housing and inner: parts in the place of housing, an exact setting, shared levers."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

from ropewalk.bike.framefile import Frame, Line
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.rows import Exit, Inline, Mover
from ropewalk.bike.station import Station
from ropewalk.bike.wording import listed
from ropewalk.errors import FrameFileError, PartError
from ropewalk.routing.stations import where

_Row = TypeVar("_Row")


@dataclass(frozen=True, slots=True)
class InlinePart:
    """An adjuster or splitter that takes the place of its own length of housing.

    Attributes
    ----------
    part : Inline
        What it is; its own seats take the housing's ends.
    at : float
        Length of the housing before it, towards the lever [mm].
    tag : str
        Tag of the housing after it.
    """

    part: Inline
    at: float
    tag: str

    @property
    def taken(self) -> float:
        """What it and the housing before it take of the piece's length [mm]."""
        return self.at + float(self.part.replaces)


def inline_at(line: Line, start: int, tag: str, catalogue: Catalogue) -> InlinePart | None:
    """Return the part in the place of housing in the piece that starts at a station, or None.

    Parameters
    ----------
    line : Line
        The completed line, its stations in a possible order.
    start : int
        Place of the station the piece starts at.
    tag : str
        Tag for the housing after the part.
    catalogue : Catalogue

    Raises
    ------
    PartError
        When the catalogue holds no such part.
    FrameFileError
        When the part does not take the place of such a line's housing.
    """
    station = line.station[start]
    if station.inline is None or station.inline_at is None:
        return None
    here = where(line, station)
    part = _found(here, catalogue.inline, station.inline)
    if part.replaces <= 0 or line.work not in part.work:
        fit = listed(
            f'"{row.name}"' for row in catalogue.inlines.values() if row.replaces > 0 and line.work in row.work
        )
        raise FrameFileError(
            f'{here}: inline is "{part.name}", which does not take the place of housing in a {line.work} line: '
            f"choose {fit}"
        )
    return InlinePart(part, float(station.inline_at), tag)


def check_additions(line: Line, catalogue: Catalogue, *, covered: Sequence[bool]) -> None:
    """Refuse inline parts, sleeves and settings where they mean nothing.

    Parameters
    ----------
    line : Line
        The completed line, its stations in a possible order.
    catalogue : Catalogue
    covered : sequence of bool
        For every span, whether housing or hose runs through it.
    """
    for place, station in enumerate(line.station):
        last = place == len(line.station) - 1
        _check_inline(line, station, starts=not last and covered[place] and station.type in ("lever", "stop"))
        here = where(line, station)
        if station.sleeve is not None and (last or station.then != "inside" or not covered[place]):
            raise FrameFileError(f"{here}: sleeve means nothing here: it goes over the housing of an inside span")
        if station.sleeve is not None:
            _found(here, catalogue.sleeve, station.sleeve)
        if station.setting is not None and not last:
            raise FrameFileError(f"{here}: setting means nothing here: it belongs to the last station of a line")
        if station.setting is not None and (line.work == "hose" or not any(covered)):
            raise FrameFileError(
                f"{here}: setting is the length of bare inner from the end of the last housing: this line has none"
            )


def _found(here: str, look_up: Callable[[str], _Row], name: str) -> _Row:
    """Return a part that a station names, or raise the catalogue's error with the station."""
    try:
        return look_up(name)
    except PartError as error:
        raise PartError(f"{here}: {error}") from None


def _check_inline(line: Line, station: Station, *, starts: bool) -> None:
    here = where(line, station)
    if station.inline is None:
        if station.inline_at is not None:
            raise FrameFileError(f"{here}: inline_at means nothing without inline: name the adjuster or splitter")
        return
    if line.work == "hose":
        raise FrameFileError(f'{here}: inline is "{station.inline}": a hose takes none, so leave it out')
    if not starts:
        goes_on = f"then is {station.then}" if station.then is not None else "the line ends"
        raise FrameFileError(
            f'{here}: inline is "{station.inline}", but no housing starts here ({goes_on}): '
            "write it at the lever or stop where its piece of housing starts"
        )
    if station.inline_at is None:
        raise FrameFileError(f'{here}: inline_at is missing: say how long the housing before the "{station.inline}" is')


def setting_of(line: Line, mover: Mover) -> float | None:
    """Return the exact length of bare inner from the last seat of housing to the anchor [mm], or None.

    The station's own figure wins over the catalogue's.
    """
    own = line.station[-1].setting
    if own is not None:
        return float(own)
    return None if mover.setting_length is None else float(mover.setting_length)


def pull_shares(frame: Frame, exits: Mapping[str, Exit]) -> tuple[float, ...]:
    """Return which share of its lever's pull each line gets.

    Parameters
    ----------
    frame : Frame
        The completed frame.
    exits : mapping of str to Exit
        What its lever does for each line, by the line's name.

    Raises
    ------
    FrameFileError
        When a lever works more lines of one kind than it takes inners.

    Notes
    -----
    The lines of one lever and one work share its pull alike, as a yoke or a double seat shares it.
    """
    shares = []
    for line in frame.line:
        together = [other for other in frame.line if (other.lever, other.work) == (line.lever, line.work)]
        room = exits[line.name].inner_count
        if len(together) > room:
            takes = "one inner" if room == 1 else f"{room} inners"
            what = "line" if room == 1 else "lines"
            others = listed((f'"{other.name}"' for other in together[:room]), last="and")
            raise FrameFileError(
                f'line "{together[room].name}": lever is "{line.lever}", which works the {what} {others} already and '
                f"takes {takes} for {line.work}: name another lever, or give it a part made for more"
            )
        shares.append(1.0 / len(together))
    return tuple(shares)
