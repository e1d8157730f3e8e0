"""A job's lines in a pose as shapes of a view: spans, stations and the notes wanted beside them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

import numpy as np

from ropewalk.drawing.scene import Mark, Points, Polyline, Wanted
from ropewalk.drawing.silhouettes import Eye
from ropewalk.workshop.jobplan import JobPlan, LinePlan
from ropewalk.workshop.posed import PosedLine, PosedSpan

#: lines are drawn thicker than they are, or they would be lost on paper
THICKENED = 1.7
#: size of a station's mark [mm of paper]
STATION = 1.5
#: size of the mark of an adjuster or splitter [mm of paper]
PART = 1.7


def span_role(span: PosedSpan) -> str:
    """Return how a span is drawn."""
    if span.kind == "inside":
        return "inside housing" if span.covered else "inside inner"
    if span.kind == "rigid":
        return "rigid"
    return "housing" if span.covered else "inner"


def span_shape(job: JobPlan, place: int, span: PosedSpan, eye: Eye) -> Polyline:
    """Return a span of the line at a place as a stroke of its thickness."""
    width = None
    if span.covered and span.tag is not None:
        route = job.routing[place].route
        piece = next(piece for piece in route.pieces if piece.tag == span.tag)
        width = THICKENED * float(piece.housing.outside)
    return Polyline(eye(span.points), span_role(span), width, place, span.tag)


def by_depth(posed: Iterable[tuple[int, PosedSpan]], axis: int) -> list[tuple[int, PosedSpan]]:
    """Return spans with their lines' places, the far ones first, depth counted along an axis of the bike."""
    return sorted(posed, key=lambda item: float(item[1].points[:, axis].mean()))


def station_marks(lines: Sequence[PosedLine], eye: Eye) -> Iterator[Mark]:
    """Return a mark for each station."""
    for place, line in enumerate(lines):
        for name, point in zip(line.station_names, eye(line.stations), strict=True):
            yield Mark(point, "disc", STATION, "station", place, name)


def part_marks(job: JobPlan, lines: Sequence[PosedLine], eye: Eye) -> Iterator[Mark]:
    """Return a mark for each adjuster or splitter, where the middle of it lies."""
    for place, line in enumerate(job.lines):
        for inline in line.inlines:
            _, (_, start) = _place_in_run(line, inline.before)
            way = np.concatenate([points for _, points, _ in _way(lines[place], inline.before)])
            shares = np.concatenate([shares for _, _, shares in _way(lines[place], inline.before)])
            at = np.array([np.interp(start, shares, way[:, axis]) for axis in range(3)])
            yield Mark(eye(at[None])[0], "square", PART, "part", place, inline.part)


def tags_wanted(
    job: JobPlan, lines: Sequence[PosedLine], shown: Sequence[tuple[int, PosedSpan]], eye: Eye
) -> list[Wanted]:
    """Return a tag for each piece of housing that runs through the spans shown, each with the place of its line.

    A tag may point to the piece's loops where some are shown, and else to all of it; where a part lies in the housing,
    to its own side of that alone.
    """
    wanted = []
    for place, line in enumerate(job.lines):
        own = [span for at, span in shown if at == place]
        for piece in line.pieces:
            run, (first, last) = _place_in_run(line, piece.tag)
            way = [
                (span, points[(shares >= first) & (shares <= last)])
                for span, points, shares in _way(lines[place], run)
                if any(span is one for one in own)
            ]
            found = [(span, points) for span, points in way if len(points)]
            loops = [(span, points) for span, points in found if span.kind == "loop"]
            if found:
                path = np.concatenate([_inner_part(eye(points)) for _, points in loops or found])
                wanted.append(Wanted((piece.tag,), "tag", place, path))
    return wanted


def tag_at(line: LinePlan, posed: PosedLine, span: PosedSpan, point: Points) -> str | None:
    """Return the tag of the housing at a point (3,) of a span: a part in it may part two pieces there."""
    inline = next((inline for inline in line.inlines if inline.before == span.tag), None)
    if inline is None:
        return span.tag
    _, (_, start) = _place_in_run(line, inline.before)
    _, points, shares = next(one for one in _way(posed, inline.before) if one[0] is span)
    share = shares[int(np.linalg.norm(points - point, axis=1).argmin())]
    return inline.before if share <= start else inline.after


def _way(line: PosedLine, run: str) -> list[tuple[PosedSpan, Points, Points]]:
    """Return the spans of a run of housing, points along each, and the points' shares of the whole run."""
    spans = [span for span in line.spans if span.tag == run]
    dense = [_dense(span.points) for span in spans]
    steps = [np.linalg.norm(np.diff(points, axis=0), axis=1) for points in dense]
    ends = np.cumsum([0.0, *(step.sum() for step in steps)])
    return [
        (span, points, (start + np.concatenate([[0.0], np.cumsum(step)])) / ends[-1])
        for span, points, step, start in zip(spans, dense, steps, ends[:-1], strict=True)
    ]


def _place_in_run(line: LinePlan, tag: str) -> tuple[str, tuple[float, float]]:
    """Return the tag that spans bear where a piece lies, and its shares of their way: a part may lie in them."""
    inline = next((inline for inline in line.inlines if tag in (inline.before, inline.after)), None)
    if inline is None:
        return tag, (0.0, 1.0)
    rest = next(piece.target for piece in line.pieces if piece.tag == inline.after)
    share = inline.at / (inline.at + inline.length + rest)
    return inline.before, (0.0, share) if tag == inline.before else (share, 1.0)


def _dense(points: Points) -> Points:
    """Return a path with points at most some 15 mm apart."""
    gaps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    parts = [
        start + np.linspace(0.0, 1.0, max(math.ceil(gap / 15.0), 1), endpoint=False)[:, None] * (end - start)
        for start, end, gap in zip(points[:-1], points[1:], gaps, strict=True)
    ]
    return np.concatenate([*parts, points[-1:]])


def _inner_part(points: Points) -> Points:
    """Return a path without its ends."""
    skip = len(points) // 8
    return points[skip : len(points) - skip]


def tightest(points: Points) -> Points:
    """Return the point (3,) of a path (n, 3) where it bends most."""
    before, after = points[1:-1] - points[:-2], points[2:] - points[1:-1]
    lengths = np.linalg.norm(before, axis=1), np.linalg.norm(after, axis=1)
    cosine = np.sum(before * after, axis=1) / (lengths[0] * lengths[1])
    bend = np.arccos(np.clip(cosine, -1.0, 1.0)) / (lengths[0] + lengths[1])
    found: Points = points[1 + int(np.argmax(bend))]
    return found
