"""Lines taken apart: stations in order, the spans between them, and the pieces of housing those make.

Nothing here depends on where the stations lie; `ropewalk.routing.spans` joins this to a built bike.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from ropewalk.bike.framefile import Frame, Line, Side
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.rows import Exit, Ferrule, Housing, Inner, Liner, Mover
from ropewalk.bike.station import Station
from ropewalk.errors import FrameFileError
from ropewalk.routing.additions import InlinePart, check_additions, inline_at, pull_shares, setting_of
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
    """Housing from seat to seat: covered spans, one uncut length unless a part takes the place of some of it.

    Attributes
    ----------
    tag : str
        Letter of the line and number of the piece; with a part in it, of the housing before that.
    spans : tuple of int
        Places of its spans in the line.
    start, end : int
        Places of the stations it seats in.
    housing : Housing
        What it is cut from.
    start_ferrule, end_ferrule : Ferrule
        What ends it.
    inline : InlinePart or None
        An adjuster or splitter in it.
    """

    tag: str
    spans: tuple[int, ...]
    start: int
    end: int
    housing: Housing
    start_ferrule: Ferrule
    end_ferrule: Ferrule
    inline: InlinePart | None = None


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
    share : float
        Share of its lever's pull: one half where a lever works two lines alike.
    setting : float or None
        Exact length of bare inner from the last seat of housing to the anchor [mm]; None where there is none to keep.
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
    share: float = 1.0
    setting: float | None = None

    def housing_of(self, span: Span) -> Housing | None:
        """Return the housing that covers a span, or None."""
        for piece in self.pieces:
            if any(self.spans[place] is span for place in piece.spans):
                return piece.housing
        return None


def slides_at(route: Route, place: int) -> bool:
    """Return whether housing slides into or out of a span, so that it shares its slack with a neighbour."""
    span, stations = route.spans[place], route.line.station
    joined = [end for end in (span.start, span.end) if stations[end].slides]
    return span.covered and bool(joined)


def routes(frame: Frame, catalogue: Catalogue) -> tuple[Route, ...]:
    """Take every line of a completed frame apart.

    Raises
    ------
    FrameFileError
        When a line's stations cannot follow each other as written, or a lever works more lines than it takes.
    PartError
        When a part is not in the catalogue.
    """
    parts = {lever.name: catalogue.lever(lever.part) for lever in frame.lever}
    exits = {line.name: parts[line.lever].exit(line.work) for line in frame.line}
    shares = pull_shares(frame, exits)
    return tuple(
        _route(frame, place, exits[line.name], shares[place], catalogue) for place, line in enumerate(frame.line)
    )


def trims_moved(route: Route, trims: Mapping[int, float]) -> dict[int, float]:
    """Return what the targets of a line's loops have to trim, none of it at an exact setting.

    Parameters
    ----------
    route : Route
    trims : mapping of int to float
        By span, what each loop's target would have over its shortest safe length [mm].

    Notes
    -----
    The loop that ends where an exact setting is measured from gives its part to the other loops of its piece, in equal
    shares; it keeps it where it is the piece's only loop.
    """
    moved = dict(trims)
    last, others = _exact_loop(route)
    if last is not None and others:
        more = moved[last] / len(others)
        moved |= {span: moved[span] + more for span in others}
        moved[last] = 0.0
    return moved


def slack_at_setting(route: Route) -> bool:
    """Return whether the loop at an exact setting has to keep its allowance, its piece having no other loop."""
    last, others = _exact_loop(route)
    return last is not None and not others


def _exact_loop(route: Route) -> tuple[int | None, list[int]]:
    """Return the loop that ends where an exact setting is measured from, and the other loops of its piece."""
    if route.setting is None or not route.pieces:
        return None, []
    spans = route.pieces[-1].spans
    loops = [span for span in spans if route.spans[span].kind == "loop"]
    return (spans[-1], loops[:-1]) if loops and loops[-1] == spans[-1] else (None, loops)


def _route(frame: Frame, place: int, exit_: Exit, share: float, catalogue: Catalogue) -> Route:
    line = frame.line[place]
    _check_order(line)
    spans = tuple(_spans(line))
    check_additions(line, catalogue, covered=[span.covered for span in spans])
    lever = next(lever for lever in frame.lever if lever.name == line.lever)
    mover = catalogue.mover(str(line.station[-1].part))
    inner = None if line.inner is None else catalogue.inner(line.inner)
    needs_liner = any(span.kind == "inside" and not span.covered for span in spans)
    if needs_liner and line.liner is None:
        raise FrameFileError(f'line "{line.name}": liner is missing: an inside span carries a liner, so name one')
    pieces = tuple(_pieces(line, spans, chr(ord("A") + place), catalogue))
    if sum(piece.inline is not None and piece.inline.part.splits_inner for piece in pieces) > 1:
        raise FrameFileError(f'line "{line.name}": it has more than one splitter: an inner is parted in two at most')
    return Route(
        place=place,
        line=line,
        side=lever.side,
        spans=spans,
        pieces=pieces,
        exit=exit_,
        mover=mover,
        inner=inner,
        liner=catalogue.liner(line.liner) if needs_liner and line.liner is not None else None,
        share=share,
        setting=setting_of(line, mover) if pieces and inner is not None else None,
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
            tag = f"{letter}{number}"
            inline = inline_at(line, start, f"{letter}{number + 1}", catalogue)
            number += inline is not None
            yield Piece(tag, tuple(held), start, span.end, housing, ferrule, ferrule, inline)
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
