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


def tags_wanted(job: JobPlan, spans: Sequence[tuple[int, PosedSpan]], eye: Eye) -> list[Wanted]:
    """Return a tag for each piece of housing that runs through some spans, each with the place of its line."""
    wanted = []
    for place, line in enumerate(job.lines):
        for piece in line.pieces:
            run, shares = _place_in_run(line, piece.tag)
            own = [span for at, span in spans if at == place and span.tag == run]
            if own:
                points = _telling_part(own, eye)
                first, last = (round(share * (len(points) - 1)) for share in shares)
                wanted.append(Wanted((piece.tag,), "tag", place, points[first : last + 1]))
    return wanted


def _place_in_run(line: LinePlan, tag: str) -> tuple[str, tuple[float, float]]:
    """Return the tag that spans bear where a piece lies, and its shares of their way: a part may lie in them."""
    inline = next((inline for inline in line.inlines if tag in (inline.before, inline.after)), None)
    if inline is None:
        return tag, (0.0, 1.0)
    rest = next(piece.target for piece in line.pieces if piece.tag == inline.after)
    share = inline.at / (inline.at + inline.length + rest)
    return inline.before, (0.0, share) if tag == inline.before else (share, 1.0)


def _telling_part(spans: Sequence[PosedSpan], eye: Eye) -> Points:
    """Return the points of a piece that a tag may point to: its loops where it has any."""
    loops = [span for span in spans if span.kind == "loop"]
    return np.concatenate([_inner_part(eye(_dense(span.points))) for span in loops or spans])


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
