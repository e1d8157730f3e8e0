"""Findings on a piece's radii and lengths: what its window is like, and where in it target and first cut lie."""

from __future__ import annotations

from collections.abc import Iterator

from ropewalk.analysis.findings import Finding
from ropewalk.analysis.loops import LoopWindow
from ropewalk.analysis.pieces import PieceStudy
from ropewalk.bike.poses import pose_words
from ropewalk.routing.course import Course
from ropewalk.routing.spans import PlacedLine

#: lengths that differ by less are the same to a hacksaw [mm]
WORTH_TELLING = 0.5


def judge_radii(line: PlacedLine, study: PieceStudy, where: str) -> Iterator[Finding]:
    """Return findings on radii that a piece does not keep: its loops' in any pose, and where it is held."""
    housing = study.piece.housing
    lost = [loop for loop in study.loops if loop.shortest is None]
    if lost:
        worst = min(lost, key=lambda loop: float(loop.radius.min()))
        at = int(worst.radius.argmin())
        radius, pose = float(worst.radius[at]), worst.case.poses[at]
        verb = "pulls" if float(worst.sweep.pull[at]) > 0 else "kinks"
        yield Finding(
            "stop",
            where,
            f"no length keeps the kink radius: from {worst.case.name} the best one {verb} at {pose_words(pose)}, "
            f"where it bends to {radius:.0f} mm",
            "change the routing, the stations or the housing; there is no safe length to cut",
            round(radius, 1),
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
    yield from _courses(line, study, where)


def _ridden_radius(loop: LoopWindow) -> float:
    return float(loop.radius[loop.case.ridden(loop.case.poses)].min())


def _courses(line: PlacedLine, study: PieceStudy, where: str) -> Iterator[Finding]:
    kink = float(study.piece.housing.kink_radius)
    for place in study.piece.spans:
        shape, span = line.spans[place], line.route.spans[place]
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


def judge_lengths(study: PieceStudy, first_cut: float | None, where: str) -> Iterator[Finding]:
    """Return findings on a piece's window: too narrow for its trim, or for what is not known before it was tried."""
    if study.window is None:
        return
    for loop in study.held:
        if loop.squeezed and loop.shortest is not None and loop.longest is not None:
            width = loop.longest.length - loop.shortest.length
            yield Finding(
                "look",
                where,
                f"from {loop.case.name} only {width:.0f} mm lie between shortest safe and longest tidy: "
                "the target is the longest tidy length there",
                "trim with care, in small steps",
                round(width, 1),
                loop.case.trim,
                "mm",
            )
    if study.target < study.wanted - WORTH_TELLING:
        yield Finding(
            "look",
            where,
            f"the target is the longest tidy length, {study.wanted - study.target:.0f} mm short of what its loops "
            "would have",
            "trim with care, in small steps",
            round(study.target, 1),
            round(study.wanted, 1),
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
