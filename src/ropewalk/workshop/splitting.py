"""Housing parted by an adjuster or splitter: two lengths to cut that, with the part, make what the route needs."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from statistics import NormalDist

from ropewalk.analysis.findings import Finding
from ropewalk.analysis.pieces import PieceStudy, Term
from ropewalk.analysis.tolerance import rounded_up
from ropewalk.bike.parts import Catalogue
from ropewalk.errors import FrameFileError
from ropewalk.routing.additions import InlinePart
from ropewalk.routing.lines import Route
from ropewalk.routing.stations import where
from ropewalk.workshop.jobplan import InlinePlan, PiecePlan


def parted(route: Route, piece: PiecePlan, study: PieceStudy, catalogue: Catalogue) -> tuple[PiecePlan, ...]:
    """Return the lengths of housing to cut for one run from seat to seat.

    Parameters
    ----------
    route : Route
    piece : PiecePlan
        The run as if it were one piece.
    study : PieceStudy
        What was found of it.
    catalogue : Catalogue

    Returns
    -------
    tuple of PiecePlan
        The run itself; or, with a part in it, the housing before the part, of the length the frame file gives, and the
        rest, which has the run's window, target and first cut less the part and the housing before it.

    Raises
    ------
    FrameFileError
        When the part lies beyond the run's end.

    Notes
    -----
    Least radius and its pose are those of the whole run. How surely the part's own length is known is added to the
    rest's: for normal errors the distances from the mean to a quantile add as their squares do.
    """
    inline = study.piece.inline
    if inline is None:
        return (piece,)
    _check_room(route, study)
    before = _before(piece, inline, turn_before(study))
    return before, _rest(piece, inline, piece.turn - before.turn, catalogue)


def _before(piece: PiecePlan, inline: InlinePart, turn: float) -> PiecePlan:
    """Return the housing before a part: of the length that the frame file gives."""
    given = "the frame file gives its length"
    return replace(
        piece,
        end=inline.part.name,
        window=None if piece.window is None else (inline.at, inline.at),
        target=inline.at,
        first_cut=None if piece.first_cut is None else inline.at,
        sigma=0.0,
        quantile=None if piece.quantile is None else inline.at,
        turn=turn,
        why_shortest=piece.why_shortest if piece.window is None else given,
        why_longest=piece.why_longest if piece.window is None else given,
        ends=(piece.ends[0], seat_of(inline.part.name)),
        terms=(
            Term(
                "housing up to the part",
                inline.at,
                f"inline_at; then the {inline.part.name} of {inline.part.replaces:.0f} mm",
            ),
        ),
    )


def _rest(piece: PiecePlan, inline: InlinePart, turn: float, catalogue: Catalogue) -> PiecePlan:
    """Return the housing after a part: what the run needs, less the part and the housing before it."""
    part, taken = inline.part, inline.taken
    quantile = None
    if piece.quantile is not None and piece.window is not None:
        sure = NormalDist().inv_cdf(1.0 - float(catalogue.settings.cut.short_risk)) * part.replaces.sigma
        quantile = piece.window[0] + math.hypot(max(piece.quantile - piece.window[0], 0.0), sure) - taken
    target, step = piece.target - taken, float(catalogue.settings.cut.round_up)
    return replace(
        piece,
        tag=inline.tag,
        start=part.name,
        window=None if piece.window is None else (piece.window[0] - taken, piece.window[1] - taken),
        target=target,
        first_cut=None if quantile is None else rounded_up(max(target, quantile), step),
        sigma=math.hypot(piece.sigma, part.replaces.sigma),
        quantile=quantile,
        turn=turn,
        ends=(seat_of(part.name), piece.ends[1]),
        terms=(
            *piece.terms,
            Term(f"less housing {piece.tag}", -inline.at, f"it ends in the {part.name}"),
            Term(f"less the {part.name}", -float(part.replaces), "it takes the place of its own length of housing"),
        ),
    )


def seat_of(part: str) -> str:
    """Return what is told of an end of housing that lies in a part's own seat.

    Examples
    --------
    >>> seat_of("inline adjuster")
    'seat of the inline adjuster'
    """
    return f"seat of the {part}"


def judge_parted(study: PieceStudy, pieces: Sequence[PiecePlan]) -> Iterator[Finding]:
    """Return findings on a part in a run: out of reach in a tube, or beside housing that must not be cut."""
    route, inline, place = study.route, study.piece.inline, span_of_part(study)
    if inline is not None and place is not None and route.spans[place].kind == "inside":
        span, stations = route.spans[place], route.line.station
        yield Finding(
            "look",
            f"{route.line.name}, {pieces[0].tag}",
            f"the {inline.part.name} lies inside the frame, between {stations[span.start].name} and "
            f"{stations[span.end].name}, out of reach",
            "choose inline_at so that it lies in the open",
            inline.at,
            None,
            "mm",
        )
    if len(pieces) == 2 and pieces[0].first_cut is None:
        before, rest = pieces
        yield Finding(
            "stop",
            f"{route.line.name}, {before.tag}",
            f"it is one run of housing with {rest.tag}, which must not be cut",
            f"settle what was found of {rest.tag} first",
        )


def _check_room(route: Route, study: PieceStudy) -> None:
    """Refuse a part beyond the end of its run: what is left has to reach into both its seats."""
    piece, inline = study.piece, study.piece.inline
    assert inline is not None
    seats = float(piece.start_ferrule.insertion + piece.end_ferrule.insertion)
    most = study.target - float(inline.part.replaces) - seats
    if inline.at > most:
        stations = route.line.station
        advice = f"write {most:.0f} mm or less" if most >= 20 else "leave inline out"
        raise FrameFileError(
            f"{where(route.line, stations[piece.start])}: inline_at is {inline.at:g} mm, but the housing from here to "
            f'"{stations[piece.end].name}" is {study.target:.0f} mm and the {inline.part.name} takes '
            f"{inline.part.replaces:.0f} mm of it: {advice}"
        )


def run_first_cut(study: PieceStudy, pieces: Sequence[PiecePlan]) -> float | None:
    """Return the first cut of a run, parts in the place of housing counted in [mm]; None where it must not be cut."""
    inline, cut = study.piece.inline, pieces[-1].first_cut
    return cut if inline is None or cut is None else cut + inline.taken


def rest_of(study: PieceStudy) -> PieceStudy:
    """Return what was found of a run, told of the housing after its part: what findings are about."""
    inline = study.piece.inline
    if inline is None:
        return study
    window = None if study.window is None else (study.window[0] - inline.taken, study.window[1] - inline.taken)
    return replace(
        study,
        piece=replace(study.piece, tag=inline.tag),
        fixed=study.fixed - inline.taken,
        window=window,
        target=study.target - inline.taken,
    )


def turn_before(study: PieceStudy) -> float:
    """Return the turn straight ahead of a run's housing up to its part [rad].

    Notes
    -----
    Within the span that the part lies in the turn is shared by length.
    """
    inline = study.piece.inline
    if inline is None:
        return study.turn
    turn = 0.0
    for _, share, own in _up_to(study, inline.at):
        turn += share * own
    return turn


def span_of_part(study: PieceStudy) -> int | None:
    """Return the place of the span that a run's part begins in; None where it has none."""
    inline = study.piece.inline
    if inline is None:
        return None
    return next((place for place, share, _ in _up_to(study, inline.at) if share < 1.0), study.piece.spans[-1])


def _up_to(study: PieceStudy, length: float) -> Iterator[tuple[int, float, float]]:
    """Return each span of a run, which share of it lies within a length of housing, and its turn straight ahead."""
    left = length - float(study.piece.start_ferrule.insertion)
    loops, courses = iter(study.loops), iter(study.courses)
    for place in study.piece.spans:
        if study.route.spans[place].kind == "loop":
            loop = next(loops)
            own, turn = loop.target, float(loop.sweep.turn[loop.case.home])
        else:
            course = next(courses)
            own, turn = course.length, float(course.turn_in(0.0)[0])
        yield place, min(max(left / own, 0.0), 1.0), turn
        left -= own


def inlines_of(studies: Sequence[PieceStudy]) -> tuple[InlinePlan, ...]:
    """Return the adjusters and splitters of a line."""
    return tuple(
        InlinePlan(
            inline.part.name,
            study.piece.tag,
            inline.tag,
            inline.at,
            float(inline.part.replaces),
            None if inline.part.travel is None else float(inline.part.travel),
            inline.part.splits_inner,
            span,
        )
        for study in studies
        if (inline := study.piece.inline) is not None and (span := span_of_part(study)) is not None
    )


def settling(route: Route) -> float:
    """Return by how much the joints of a line's housing give when first pulled hard [mm]; 0 for a hose.

    Notes
    -----
    Every end of housing is a joint, in a ferrule or in the seat of a part, and gives what its housing's ferrule does.
    An adjuster with less travel than this cannot take it up.
    """
    total = 0.0
    for piece in route.pieces:
        ends = [piece.start_ferrule, piece.end_ferrule]
        if piece.inline is not None:
            ends += [piece.start_ferrule, piece.end_ferrule]
        total += sum(float(ferrule.settling or 0.0) for ferrule in ends)
    return total
