"""Lines taken apart: stations in order, the spans between them, and the pieces of housing those make.

Nothing here depends on where the stations lie; `ropewalk.routing.spans` joins this to a built bike.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ropewalk.bike.framefile import Frame, Line, Side
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.rows import Exit, Ferrule, Housing, Inner, Liner, Mover
from ropewalk.bike.station import Station
from ropewalk.errors import FrameFileError
from ropewalk.routing.stations import where

#: span kinds that a piece of housing covers
COVERED = ("loop", "strapped")


@dataclass(frozen=True, slots=True)
class Span:
    """What lies between two neighbouring stations.

    Attributes
    ----------
    kind : str
        loop, strapped, bare, inside or rigid.
    start, end : int
        Places of its stations in the line.
    covered : bool
        Whether housing (or hose) runs through it.
    """

    kind: str
    start: int
    end: int
    covered: bool


@dataclass(frozen=True, slots=True)
class Piece:
    """One uncut length of housing: covered spans between two seats.

    Attributes
    ----------
    tag : str
        Letter of the line and number of the piece.
    spans : tuple of int
        Places of its spans in the line.
    start, end : int
        Places of the stations it seats in.
    housing : Housing
        What it is cut from.
    start_ferrule, end_ferrule : Ferrule
        What ends it.
    """

    tag: str
    spans: tuple[int, ...]
    start: int
    end: int
    housing: Housing
    start_ferrule: Ferrule
    end_ferrule: Ferrule


@dataclass(frozen=True, slots=True)
class Route:
    """A line with its spans, pieces and parts.

    Attributes
    ----------
    place : int
        Place of the line in the frame file.
    line : Line
        The completed line.
    side : str
        Rider's side of its lever.
    spans : tuple of Span
    pieces : tuple of Piece
    exit : Exit
        What the lever does for this line.
    mover : Mover
        What the line moves.
    inner : Inner or None
        None for a hose.
    liner : Liner or None
        Liner of inside spans with a bare inner.
    """

    place: int
    line: Line
    side: Side
    spans: tuple[Span, ...]
    pieces: tuple[Piece, ...]
    exit: Exit
    mover: Mover
    inner: Inner | None
    liner: Liner | None

    def housing_of(self, span: Span) -> Housing | None:
        """Return the housing that covers a span, or None."""
        for piece in self.pieces:
            if any(self.spans[place] is span for place in piece.spans):
                return piece.housing
        return None


def routes(frame: Frame, catalogue: Catalogue) -> tuple[Route, ...]:
    """Take every line of a completed frame apart.

    Raises
    ------
    FrameFileError
        When a line's stations cannot follow each other as written.
    PartError
        When a part is not in the catalogue.
    """
    return tuple(_route(frame, place, catalogue) for place in range(len(frame.line)))


def _route(frame: Frame, place: int, catalogue: Catalogue) -> Route:
    line = frame.line[place]
    _check_order(line)
    spans = tuple(_spans(line))
    lever = next(lever for lever in frame.lever if lever.name == line.lever)
    mover = catalogue.mover(str(line.station[-1].part))
    inner = None if line.inner is None else catalogue.inner(line.inner)
    needs_liner = any(span.kind == "inside" and not span.covered for span in spans)
    if needs_liner and line.liner is None:
        raise FrameFileError(f'line "{line.name}": liner is missing: an inside span carries a liner, so name one')
    return Route(
        place=place,
        line=line,
        side=lever.side,
        spans=spans,
        pieces=tuple(_pieces(line, spans, chr(ord("A") + place), catalogue)),
        exit=catalogue.lever(lever.part).exit(line.work),
        mover=mover,
        inner=inner,
        liner=catalogue.liner(line.liner) if needs_liner and line.liner is not None else None,
    )


def _spans(line: Line) -> Iterator[Span]:
    for start, station in enumerate(line.station[:-1]):
        covered = station.then in COVERED or (station.then == "inside" and station.carries != "liner")
        yield Span(str(station.then), start, start + 1, covered)


def _pieces(line: Line, spans: tuple[Span, ...], letter: str, catalogue: Catalogue) -> Iterator[Piece]:
    number, held = 0, list[int]()
    for place, span in enumerate(spans):
        if not span.covered:
            continue
        held.append(place)
        end = line.station[span.end]
        if end.type == "stop":
            number += 1
            start = spans[held[0]].start
            housing = catalogue.housing(line.station[start].housing or line.housing)
            ferrule = catalogue.ferrule_for(housing)
            yield Piece(f"{letter}{number}", tuple(held), start, span.end, housing, ferrule, ferrule)
            held = []


def _check_order(line: Line) -> None:
    """Refuse stations that cannot follow each other."""
    stations = line.station
    for place, station in enumerate(stations):
        _check_ends(line, station, first=place == 0, last=place == len(stations) - 1)
    before: Station | None = None
    for station in stations:
        _check_neighbours(line, station, before)
        before = station
    if line.work == "hose" and any(s.then in ("bare", "rigid") or s.carries == "liner" for s in stations):
        raise FrameFileError(f'line "{line.name}": a hose has no bare inner: use loop, strapped or inside')


def _check_ends(line: Line, station: Station, *, first: bool, last: bool) -> None:
    here = where(line, station)
    if first != (station.type == "lever"):
        raise FrameFileError(f"{here}: type is {station.type}: a line starts at its lever, and only there")
    if last:
        if station.part is None or station.type not in ("stop", "anchor"):
            raise FrameFileError(f"{here}: a line ends at a stop or an anchor with the part that it moves: add part")
        if station.then is not None:
            raise FrameFileError(f"{here}: then is {station.then}: nothing follows the last station, so leave it out")
        return
    if station.type == "anchor":
        raise FrameFileError(f"{here}: type is anchor: only the last station is one")
    if station.then is None:
        raise FrameFileError(f"{here}: then is missing: say how the line goes on (loop, strapped, bare, inside, rigid)")
    if station.then == "inside" and not station.through:
        raise FrameFileError(f"{here}: through is missing: name the tubes that the inside span runs through")
    if station.then == "inside" and station.carries is None:
        raise FrameFileError(f"{here}: carries is missing: an inside span carries housing or a liner")
    if station.then == "rigid" and (station.arc is None or station.turn_deg is None):
        raise FrameFileError(f"{here}: arc and turn are needed: a rigid part has a given length and turn")
    if station.type == "guide" and station.radius is None:
        raise FrameFileError(f"{here}: radius is missing: a guide bends the inner over a radius")


def _covered_after(station: Station | None) -> bool:
    return station is not None and (
        station.then in COVERED or (station.then == "inside" and station.carries == "housing")
    )


def _check_neighbours(line: Line, station: Station, before: Station | None) -> None:
    """Refuse a station that does not fit what comes before and after it."""
    here = where(line, station)
    covered_before, covered_after = _covered_after(before), _covered_after(station)
    kinds = (before.then if before is not None else None, station.then)
    if station.type == "clip" and not (covered_before and covered_after):
        raise FrameFileError(f"{here}: a clip holds housing that runs on: it needs housing before and after it")
    if station.type == "guide" and kinds != ("bare", "bare"):
        raise FrameFileError(f"{here}: a guide bends bare inner: the spans before and after it have to be bare")
    if station.type == "port" and "inside" not in kinds:
        raise FrameFileError(f"{here}: a port leads into or out of a tube: one span beside it has to be inside")
    if station.type == "anchor" and covered_before:
        raise FrameFileError(
            f"{here}: housing does not run to an anchor: let it end at a stop, and go on bare from there"
        )
    if station.type == "port" and covered_before != covered_after:
        raise FrameFileError(f"{here}: housing ends at this port: make it a stop, or let the housing run on")
    if station.type in ("lever", "stop", "anchor"):
        return
    if station.type == "port" and kinds == ("inside", "inside"):
        raise FrameFileError(f"{here}: a port has one side inside: name one span with all its tubes in through")
