"""The inner of a line, or its two where a splitter joins them, and the lengths they are picked at."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from ropewalk.analysis.pieces import PieceStudy, Term
from ropewalk.routing.course import Course, Wrap
from ropewalk.routing.lines import Route
from ropewalk.routing.spans import PlacedLine
from ropewalk.workshop.choices import Settled
from ropewalk.workshop.jobplan import InnerPlan
from ropewalk.workshop.splitting import turn_before


@dataclass(frozen=True, slots=True)
class _Stretch:
    """What one inner runs through: its path, what a tight wire saves in bends, what first cuts have over targets."""

    path: tuple[Term, ...]
    saved: float
    longer: float
    tail: float


def plan_inners(
    line: PlacedLine, studies: Sequence[PieceStudy], first_cuts: Sequence[float | None], settled: Settled
) -> tuple[InnerPlan, ...]:
    """Return the inners a line needs from lever to work: none for a hose, two where a splitter joins them.

    Parameters
    ----------
    line : PlacedLine
    studies : sequence of PieceStudy
        The line's runs of housing from seat to seat.
    first_cuts : sequence of float or None
        Their first cuts, parts in the place of housing counted in [mm]; the target counts where there is none.
    settled : Settled
        Tail and working length.

    Notes
    -----
    An inner that ends in a splitter is held there over the splitter's own clamping length and has no tail; the tail
    lies at the line's anchor, in the lever or at the moving end.
    """
    route = line.route
    if route.inner is None:
        return ()
    at = next((place for place, study in enumerate(studies) if _splits(study)), None)
    if at is None:
        return (_picked(line, _whole(line, studies, first_cuts, settled), settled),)
    upper, lower = _two(line, studies, first_cuts, settled, at)
    return _picked(line, upper, settled), _picked(line, lower, settled)


def _splits(study: PieceStudy) -> bool:
    return study.piece.inline is not None and study.piece.inline.part.splits_inner


def _whole(
    line: PlacedLine, studies: Sequence[PieceStudy], first_cuts: Sequence[float | None], settled: Settled
) -> _Stretch:
    path = (
        _in_lever(line.route),
        *(term for study in studies for term in _through(study)),
        *_bare(line, lambda _span: True),
        _to_anchor(line.route),
    )
    longer = sum(_longer(study, cut) for study, cut in zip(studies, first_cuts, strict=True))
    return _Stretch(path, sum(_saved(line, study, study.turn) for study in studies), longer, settled.tail)


def _two(
    line: PlacedLine, studies: Sequence[PieceStudy], first_cuts: Sequence[float | None], settled: Settled, at: int
) -> tuple[_Stretch, _Stretch]:
    """Return the stretches before and after the splitter in one of the runs."""
    split = studies[at]
    inline = split.piece.inline
    assert inline is not None
    held = Term(f"held in the {inline.part.name}", float(inline.part.clamps or 0.0), "it ends there, cut square")
    before, _, after = _through(split)
    longer = [_longer(study, cut) for study, cut in zip(studies, first_cuts, strict=True)]
    saved = [_saved(line, study, study.turn) for study in studies]
    saved_before = _saved(line, split, turn_before(split))
    clamped_at_lever = line.route.exit.end == "anchor"
    border = split.piece.spans[0]
    upper = _Stretch(
        (
            _in_lever(line.route),
            *(term for study in studies[:at] for term in _through(study)),
            *_bare(line, lambda span: span < border),
            before,
            held,
        ),
        sum(saved[:at]) + saved_before,
        sum(longer[:at]),
        settled.tail if clamped_at_lever else 0.0,
    )
    lower = _Stretch(
        (
            held,
            after,
            *(term for study in studies[at + 1 :] for term in _through(study)),
            *_bare(line, lambda span: span > border),
            _to_anchor(line.route),
        ),
        sum(saved[at:]) - saved_before,
        sum(longer[at:]),
        0.0 if clamped_at_lever else settled.tail,
    )
    return upper, lower


def _in_lever(route: Route) -> Term:
    return Term(f"in the {route.line.station[0].name}", float(route.exit.head_path or 0.0))


def _through(study: PieceStudy) -> list[Term]:
    """Return what an inner runs through in one run of housing, from seat to seat."""
    floors = float(study.piece.start_ferrule.floor), float(study.piece.end_ferrule.floor)
    inline = study.piece.inline
    if inline is None:
        note = "target length and ferrule floors"
        return [Term(f"through housing {study.piece.tag}", study.target + sum(floors), note)]
    return [
        Term(f"through housing {study.piece.tag}", inline.at + floors[0], "its length and ferrule floor"),
        Term(f"through the {inline.part.name}", float(inline.part.replaces)),
        Term(f"through housing {inline.tag}", study.target - inline.taken + floors[1], "target length, ferrule floor"),
    ]


def _bare(line: PlacedLine, wanted: Callable[[int], bool]) -> list[Term]:
    """Return the spans without housing that are wanted; none that lie within an exact setting."""
    route, stations = line.route, line.route.line.station
    last = len(route.spans) if route.setting is None else route.pieces[-1].spans[-1]
    return [
        Term(f"{span.kind}, {stations[span.start].name} to {stations[span.end].name}", shape.length)
        for place, (span, shape) in enumerate(zip(route.spans, line.spans, strict=True))
        if isinstance(shape, (Course, Wrap)) and not span.covered and place <= last and wanted(place)
    ]


def _to_anchor(route: Route) -> Term:
    end = route.line.station[-1].name
    if route.setting is None:
        return Term(f"at the {end}, to its anchor", float(route.mover.anchor_path or 0.0))
    seat = route.line.station[route.pieces[-1].end].name
    where_to = "its anchor" if seat == end else f"the anchor of {end}"
    return Term(f"setting length, from the seat at {seat} to {where_to}", route.setting, "measure it exactly")


def _saved(line: PlacedLine, study: PieceStudy, turn: float) -> float:
    """Return what a tight wire saves on the short way round bends of a housing: half its play in the bore a radian."""
    inner = line.route.inner
    assert inner is not None
    return (float(study.piece.housing.bore) - float(inner.diameter)) / 2 * turn


def _longer(study: PieceStudy, first_cut: float | None) -> float:
    return max((first_cut or study.target) - study.target, 0.0)


def _picked(line: PlacedLine, stretch: _Stretch, settled: Settled) -> InnerPlan:
    """Return an inner with the terms of its need and the shortest stock length that will surely do."""
    inner = line.route.inner
    assert inner is not None
    short_way = Term("tight wire takes the short way round bends", -stretch.saved, "half its play times the turn")
    path = (*stretch.path, short_way)
    need = (
        *path,
        Term("housing at its first cut", stretch.longer, "while it is still untrimmed"),
        *([Term("tail past the anchor", stretch.tail)] if stretch.tail else []),
        Term("working length", settled.working_length, "to hold and pull; cut off last"),
    )
    total = sum(term.mm for term in need)
    stock = next((float(length) for length in inner.stock if length - length.spread >= total), None)
    return InnerPlan(inner.name, sum(term.mm for term in path), total, stock, stretch.tail, need)
