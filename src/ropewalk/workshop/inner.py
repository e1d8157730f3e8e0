"""The inner of a line, its liners, and the lengths they are picked or cut at."""

from __future__ import annotations

from collections.abc import Sequence

from ropewalk.analysis.pieces import PieceStudy, Term
from ropewalk.analysis.tolerance import rounded_up
from ropewalk.bike.parts import Catalogue
from ropewalk.routing.course import Course
from ropewalk.routing.spans import PlacedLine
from ropewalk.workshop.choices import Settled
from ropewalk.workshop.jobplan import InnerPlan, LinerPlan


def plan_inner(
    line: PlacedLine, studies: Sequence[PieceStudy], first_cuts: Sequence[float | None], settled: Settled
) -> InnerPlan | None:
    """Return the inner a line needs, or None for a hose.

    Parameters
    ----------
    line : PlacedLine
    studies : sequence of PieceStudy
        The line's pieces.
    first_cuts : sequence of float or None
        Their first cuts [mm]; the target counts where there is none.
    settled : Settled
        Tail and working length.
    """
    route = line.route
    inner = route.inner
    if inner is None:
        return None
    stations = route.line.station
    path = [Term(f"in the {stations[0].name}", float(route.exit.head_path or 0.0))]
    longer = 0.0
    for study, first_cut in zip(studies, first_cuts, strict=True):
        floors = float(study.piece.start_ferrule.floor + study.piece.end_ferrule.floor)
        path.append(
            Term(f"through housing {study.piece.tag}", study.target + floors, "target length and ferrule floors")
        )
        longer += max((first_cut or study.target) - study.target, 0.0)
    for span, shape in zip(route.spans, line.spans, strict=True):
        if isinstance(shape, Course) and not span.covered:
            label = f"{span.kind}, {stations[span.start].name} to {stations[span.end].name}"
            path.append(Term(label, shape.length))
    path.append(Term(f"at the {stations[-1].name}, to its anchor", float(route.mover.anchor_path or 0.0)))
    path.append(
        Term("tight wire takes the short way round bends", -_short_cut(line, studies), "half its play times the turn")
    )
    need = [
        *path,
        Term("housing at its first cut", longer, "while it is still untrimmed"),
        Term("tail past the anchor", settled.tail),
        Term("working length", settled.working_length, "to hold and pull; cut off last"),
    ]
    total = sum(term.mm for term in need)
    stock = next((float(length) for length in inner.stock if length - length.spread >= total), None)
    return InnerPlan(inner.name, sum(term.mm for term in path), total, stock, settled.tail, tuple(need))


def _short_cut(line: PlacedLine, studies: Sequence[PieceStudy]) -> float:
    inner = line.route.inner
    assert inner is not None
    return sum((float(study.piece.housing.bore) - float(inner.diameter)) / 2 * study.turn for study in studies)


def plan_liners(line: PlacedLine, catalogue: Catalogue) -> tuple[LinerPlan, ...]:
    """Return the liners that carry a line's bare inner inside the frame, cut to the length of their way, rounded up."""
    route = line.route
    if route.liner is None:
        return ()
    step = float(catalogue.settings.cut.round_up)
    stations = route.line.station
    return tuple(
        LinerPlan(
            route.liner.name,
            stations[span.start].name,
            stations[span.end].name,
            rounded_up(shape.length, step),
        )
        for span, shape in zip(route.spans, line.spans, strict=True)
        if isinstance(shape, Course) and span.kind == "inside" and not span.covered
    )
