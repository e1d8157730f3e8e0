"""Liners, guide liners and sleeves of the inside spans, and the lengths they are cut to."""

from __future__ import annotations

from collections.abc import Iterator

from ropewalk.analysis.tolerance import rounded_up
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.rows import Liner
from ropewalk.routing.course import Course
from ropewalk.routing.lines import Route, Span
from ropewalk.routing.spans import PlacedLine
from ropewalk.workshop.jobplan import LinerPlan


def plan_liners(line: PlacedLine, catalogue: Catalogue) -> tuple[LinerPlan, ...]:
    """Return what each inside span of a line wants besides its housing or inner, span by span in the order of work.

    Parameters
    ----------
    line : PlacedLine
    catalogue : Catalogue

    Returns
    -------
    tuple of LinerPlan
        For each inside span a guide liner (none for a hose, which is drawn in by the old one), then the liner of a
        bare inner, or the sleeve over housing where the frame file names one.

    Notes
    -----
    A guide liner is the way inside and its overhang at both ends, rounded up; a liner the way inside and what stands
    out at ports, rounded up, as it ends in the seat of a stop elsewhere; a sleeve the way inside, rounded down so that
    it stays clear of the ports.
    """
    return tuple(
        liner
        for span, shape in zip(line.route.spans, line.spans, strict=True)
        if span.kind == "inside" and isinstance(shape, Course)
        for liner in _of_span(line.route, span, shape.length, catalogue)
    )


def _of_span(route: Route, span: Span, inside: float, catalogue: Catalogue) -> Iterator[LinerPlan]:
    stations = route.line.station
    start, end = stations[span.start], stations[span.end]
    step = float(catalogue.settings.cut.round_up)
    guide = _guide(route, catalogue)
    if guide is not None:
        out = float(catalogue.settings.inner.liner_out)
        yield LinerPlan(guide.name, start.name, end.name, rounded_up(inside + 2 * out, step), "guide", (out, out))
    if not span.covered and route.liner is not None:
        at_port = float(catalogue.settings.inner.liner_at_port)
        ends = tuple(at_port if station.type == "port" else 0.0 for station in (start, end))
        cut = rounded_up(inside + sum(ends), step)
        yield LinerPlan(route.liner.name, start.name, end.name, cut, "liner", (ends[0], ends[1]))
    if start.sleeve is not None:
        sleeve = catalogue.sleeve(start.sleeve)
        yield LinerPlan(sleeve.name, start.name, end.name, -rounded_up(-inside, step), "sleeve")


def _guide(route: Route, catalogue: Catalogue) -> Liner | None:
    """Return what goes over the old inner of a line: its own liner, else the first of its work with room for it."""
    inner = route.inner
    if inner is None:
        return None
    if route.liner is not None:
        return route.liner
    return next(
        (
            liner
            for liner in catalogue.liners.values()
            if route.line.work in liner.work and liner.bore >= inner.diameter
        ),
        None,
    )
