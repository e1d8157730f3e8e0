"""Findings of a planned line: what to stop for, look at or note before housing is cut."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from ropewalk.analysis.findings import Finding
from ropewalk.analysis.loops import LoopWindow
from ropewalk.analysis.pieces import PieceStudy
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.poses import STEER, Poses, pose_words
from ropewalk.mechanics.wire import breaking_load
from ropewalk.routing.course import Course
from ropewalk.routing.spans import PlacedLine
from ropewalk.units import degrees
from ropewalk.workshop.jobplan import InnerPlan
from ropewalk.workshop.judging_sliding import judge_sliding


def judge_bike(name: str, poses: Poses) -> Iterator[Finding]:
    """Return findings on the bike as a whole."""
    if poses.lock_assumed:
        yield Finding(
            "look",
            name,
            f"lock assumed: the file gives none, so the bars are turned {degrees(poses.lock):.0f}° to each side",
            "turn the bars to their stop, measure the angle and write it as lock under chart: it often governs",
            round(degrees(poses.lock), 1),
            None,
            "°",
        )


def wrong_work(line: PlacedLine, study: PieceStudy) -> Finding | None:
    """Return the stop for housing that may not do a line's work."""
    housing = study.piece.housing
    work = line.route.line.work
    if work in housing.work:
        return None
    danger = ": under a brake's pull it bursts" if work == "brake" and "shift" in housing.work else ""
    return Finding(
        "stop",
        f"{line.route.line.name}, {study.piece.tag}",
        f"{housing.name} housing is for {' and '.join(housing.work)}, not for a {work} line{danger}",
        f"choose a housing made for a {work} line",
    )


def judge_piece(line: PlacedLine, study: PieceStudy, first_cut: float | None) -> Iterator[Finding]:
    """Return findings on one piece."""
    where = f"{line.route.line.name}, {study.piece.tag}"
    housing = study.piece.housing
    wrong = wrong_work(line, study)
    if wrong is not None:
        yield wrong
    for place in study.piece.spans:
        shape = line.spans[place]
        if isinstance(shape, Course) and not shape.reached:
            yield _no_way(line, place, where)
    if any(loop.shortest is None for loop in study.loops):
        yield Finding(
            "stop",
            where,
            f"no length keeps the kink radius; the best still bends to {study.least_radius:.0f} mm "
            f"at {pose_words(study.least_radius_pose)}",
            "change the routing, the stations or the housing; there is no safe length to cut",
            round(study.least_radius, 1),
            float(housing.kink_radius),
            "mm",
        )
    elif not study.keeps_advised:
        radius = min(_ridden_radius(loop) for loop in study.loops)
        yield Finding(
            "look",
            where,
            f"no tidy length keeps the advised radius of {housing.advised_radius:.0f} mm while riding; "
            "the kink radius is kept",
            "expect more wear here; a wider loop, another station or a more supple housing would help",
            round(radius, 1),
            float(housing.advised_radius),
            "mm",
        )
    yield from judge_sliding(study, where)
    yield from _judge_lengths(study, first_cut, where)
    yield from _judge_courses(line, study, where)
    for loop in study.loops:
        if loop.snapped.any():
            pose = loop.case.poses[int(loop.snapped.argmax())]
            yield Finding(
                "look",
                where,
                f"the loop snaps over to another shape at {pose_words(pose)}",
                "guide it with a clip, or route it so that it bends one way only",
                round(degrees(pose[STEER]), 1),
                None,
                "°",
            )


def _ridden_radius(loop: LoopWindow) -> float:
    return float(loop.radius[loop.case.ridden(loop.case.poses)].min())


def _judge_lengths(study: PieceStudy, first_cut: float | None, where: str) -> Iterator[Finding]:
    if study.window is None:
        return
    for loop in study.held:
        if loop.squeezed and loop.shortest is not None and loop.longest is not None:
            width = loop.longest.length - loop.shortest.length
            yield Finding(
                "look",
                where,
                f"between {loop.case.name} only {width:.0f} mm lie between shortest safe and longest tidy: "
                "the target is the longest tidy length there",
                "trim with care, in small steps",
                round(width, 1),
                loop.case.trim,
                "mm",
            )
    wanted = study.wanted
    if study.target < wanted:
        yield Finding(
            "look",
            where,
            f"the target is the longest tidy length, {wanted - study.target:.0f} mm short of what its loops would have",
            "trim with care, in small steps",
            round(study.target, 1),
            round(wanted, 1),
            "mm",
        )
    if first_cut is not None and first_cut > study.window[1] and study.loops:
        yield Finding(
            "note",
            where,
            f"the first cut of {first_cut:.0f} mm is longer than tidy: that much is not known before it is tried",
            "try it on the bike, then trim to the target",
            first_cut,
            round(study.window[1], 1),
            "mm",
        )


def _judge_courses(line: PlacedLine, study: PieceStudy, where: str) -> Iterator[Finding]:
    for place in study.piece.spans:
        shape, span = line.spans[place], line.route.spans[place]
        kink = float(study.piece.housing.kink_radius)
        if isinstance(shape, Course) and shape.reached and shape.least_radius < kink:
            stations = line.route.line.station
            yield Finding(
                "look",
                where,
                f"{span.kind} from {stations[span.start].name} to {stations[span.end].name} it bends to "
                f"{shape.least_radius:.0f} mm",
                "move a station so that the bend is wider, or choose a more supple housing",
                round(shape.least_radius, 1),
                kink,
                "mm",
            )


def _no_way(line: PlacedLine, place: int, where: str) -> Finding:
    station, shape = line.route.line.station[line.route.spans[place].start], line.spans[place]
    assert isinstance(shape, Course)
    text = f"no way leads inside from {station.name} through {', '.join(station.through)}: {shape.reason}"
    return Finding("stop", where, text, shape.advice)


def judge_line(
    line: PlacedLine, inner: InnerPlan | None, release_reserve: float | None, catalogue: Catalogue
) -> Iterator[Finding]:
    """Return findings on a line as a whole: its inner, bare inside spans, release."""
    route, name = line.route, line.route.line.name
    covered = {place for piece in route.pieces for place in piece.spans}
    for place, shape in enumerate(line.spans):
        if isinstance(shape, Course) and not shape.reached and place not in covered:
            yield _no_way(line, place, name)
    if inner is not None and route.inner is not None:
        if route.line.work not in route.inner.work:
            yield Finding(
                "stop",
                name,
                f"{inner.kind} wire is for {' and '.join(route.inner.work)}, not for a {route.line.work} line",
                f"choose an inner made for a {route.line.work} line",
            )
        if inner.stock is None:
            longest = max(float(length) for length in route.inner.stock)
            yield Finding(
                "stop",
                name,
                f"no {inner.kind} inner on the list is long enough: {inner.need:.0f} mm are needed",
                "order a longer one (tandem and cargo lengths), or join two with a splitter where the maker allows it",
                round(inner.need, 1),
                longest,
                "mm",
            )
        if route.line.work == "brake":
            yield from _strength(line, catalogue)
    yield from _judge_holes(line)
    worn = float(catalogue.friction("lined housing", "worn"))
    if release_reserve is not None and math.isfinite(release_reserve) and release_reserve < worn:
        yield Finding(
            "look",
            name,
            "with housing as worn as is usual it may no longer release by itself",
            "lessen the turn, or take housing and ends that run more freely; renew it before it gets there",
            round(release_reserve, 3),
            worn,
            "1",
        )


def _judge_holes(line: PlacedLine) -> Iterator[Finding]:
    """Return a stop for every port too small for what passes it."""
    route = line.route
    for span in route.spans:
        housing = route.housing_of(span)
        passing = housing if housing is not None else route.liner
        for place in (span.start, span.end):
            station = route.line.station[place]
            if span.kind != "inside" or station.hole is None or passing is None or station.hole >= passing.outside:
                continue
            yield Finding(
                "stop",
                f"{route.line.name}, {station.name}",
                f"a hole of {station.hole:g} mm is too small for {passing.name} of {passing.outside:g} mm",
                "measure the hole again, or choose what fits; drilling a frame can destroy it",
                float(station.hole),
                float(passing.outside),
                "mm",
            )


def _strength(line: PlacedLine, catalogue: Catalogue) -> Iterator[Finding]:
    route = line.route
    if route.inner is None or route.exit.advantage is None:
        return
    strand = catalogue.strand(route.inner.strand)
    load = breaking_load(float(route.inner.diameter), float(strand.breaking_factor), float(strand.grade))
    pull = float(catalogue.settings.force.lever_test) * float(route.exit.advantage) * route.share
    factor = load / pull
    yield Finding(
        "note" if factor >= 1 else "look",
        route.line.name,
        f"the inner's breaking load is {factor:.2f} times its pull in the lever test of "
        f"{catalogue.settings.force.lever_test:.0f} N"
        + ("" if factor >= 1 else "; the lever may reach the grip first"),
        "renew it at the first broken wire" if factor >= 1 else "ask the lever's maker; a thicker inner is stronger",
        round(factor, 2),
        1.0,
        "1",
    )


def loops_of(line: int, study_spans: Sequence[int], loops: Mapping[tuple[int, int], LoopWindow]) -> list[LoopWindow]:
    """Return the loops of a piece in order."""
    return [loops[line, span] for span in study_spans if (line, span) in loops]
