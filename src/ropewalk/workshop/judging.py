"""Findings of a plan, gathered: what to stop for, look at or note before housing is cut.

Each kind of finding has its own module; here they are asked for in order of weight.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from ropewalk.analysis.entries import judge_entries
from ropewalk.analysis.findings import Finding
from ropewalk.analysis.friction import LineFriction
from ropewalk.analysis.insides import judge_crossings, judge_headset, judge_rattle, judge_way
from ropewalk.analysis.joints import judge_adjuster, judge_ferrules
from ropewalk.analysis.loops import LoopWindow
from ropewalk.analysis.matching import judge_matches, wrong_work
from ropewalk.analysis.nearlock import judge_stability
from ropewalk.analysis.pieces import PieceStudy
from ropewalk.analysis.portchecks import port_findings
from ropewalk.analysis.releasing import judge_release
from ropewalk.analysis.rubbing import judge_rubbing
from ropewalk.analysis.tails import judge_tail
from ropewalk.analysis.water import judge_water
from ropewalk.bike.model import Bike
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.poses import Poses
from ropewalk.routing.course import Loop
from ropewalk.routing.spans import PlacedLine
from ropewalk.units import degrees
from ropewalk.workshop.jobplan import InnerPlan
from ropewalk.workshop.judging_lengths import judge_lengths, judge_radii
from ropewalk.workshop.judging_sliding import judge_sliding


def judge_bike(bike: Bike, poses: Poses, lines: Sequence[PlacedLine]) -> Iterator[Finding]:
    """Return findings on the bike as a whole: its lock, lines that cross inside."""
    if poses.lock_assumed:
        yield Finding(
            "look",
            bike.frame.name,
            f"lock assumed: the file gives none, so the bars are turned {degrees(poses.lock):.0f}° to each side",
            "turn the bars to their stop, measure the angle and write it as lock under chart: it often governs",
            round(degrees(poses.lock), 1),
            None,
            "°",
        )
    yield from judge_crossings(bike, lines)


def judge_piece(
    line: PlacedLine, study: PieceStudy, first_cut: float | None, *, bike: Bike, sweep: Poses, catalogue: Catalogue
) -> Iterator[Finding]:
    """Return findings on one piece.

    Parameters
    ----------
    line : PlacedLine
    study : PieceStudy
        What was found of the piece.
    first_cut : float or None
        What to cut [mm]; None under a stop.
    bike : Bike
    sweep : Poses
        The bike's.
    catalogue : Catalogue
    """
    where = f"{line.route.line.name}, {study.piece.tag}"
    wrong = wrong_work(study)
    if wrong is not None:
        yield wrong
    for place in study.piece.spans:
        yield from judge_way(line, place, where)
    yield from judge_ferrules(study, where, catalogue)
    yield from judge_radii(line, study, where)
    yield from judge_sliding(study, where)
    yield from judge_lengths(study, first_cut, where)
    shapes = [shape for place in study.piece.spans if isinstance(shape := line.spans[place], Loop)]
    for loop, shape in zip(study.loops, shapes, strict=True):
        yield from judge_stability(loop, where, catalogue)
        yield from judge_rubbing(bike, shape, loop, sweep, where)


def judge_line(
    line: PlacedLine,
    inner: InnerPlan | None,
    friction: LineFriction | None,
    *,
    bike: Bike,
    sweep: Poses,
    loops: Mapping[int, LoopWindow],
    catalogue: Catalogue,
    tail: float,
    settling: float,
) -> Iterator[Finding]:
    """Return findings on a line as a whole.

    Parameters
    ----------
    line : PlacedLine
    inner : InnerPlan or None
        The longest inner of it.
    friction : LineFriction or None
    bike : Bike
    sweep : Poses
        The bike's.
    loops : mapping of int to LoopWindow
        The line's loops by span.
    catalogue : Catalogue
    tail, settling : float
        What is left of the inner past its anchor, and what its joints may settle by [mm].
    """
    route = line.route
    covered = {place for piece in route.pieces for place in piece.spans}
    for place in range(len(route.spans)):
        if place not in covered:
            yield from judge_way(line, place, route.line.name)
    yield from judge_matches(route, catalogue)
    if inner is not None and route.inner is not None and inner.stock is None:
        yield Finding(
            "stop",
            route.line.name,
            f"no {inner.kind} inner on the list is long enough for certain: {inner.need:.0f} mm are needed",
            "order a longer one (tandem and cargo lengths), or join two with a splitter where the maker allows it",
            round(inner.need, 1),
            max(float(length - length.spread) for length in route.inner.stock),
            "mm",
        )
    yield from judge_release(route, friction, sweep, catalogue)
    yield from judge_tail(bike, line, tail, catalogue)
    yield from judge_entries(line, catalogue)
    yield from judge_headset(line, sweep.lock)
    yield from judge_rattle(line, catalogue)
    yield from judge_adjuster(route, settling, catalogue)
    for finding in port_findings(bike, line, loops, catalogue):
        yield replace(finding, alike=finding.grade == "note")
    yield from judge_water(line, loops, catalogue)


def loops_of(line: int, study_spans: Sequence[int], loops: Mapping[tuple[int, int], LoopWindow]) -> list[LoopWindow]:
    """Return the loops of a piece in order."""
    return [loops[line, span] for span in study_spans if (line, span) in loops]
