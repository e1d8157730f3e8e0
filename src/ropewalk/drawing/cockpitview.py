"""The cockpit from above in a pose: bar, stem, the tubes' start, the loops and where they bend most."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from ropewalk.bike.poses import poses
from ropewalk.drawing.bikeview import shapes
from ropewalk.drawing.lineshapes import by_depth, part_marks, span_shape, station_marks, tag_at, tags_wanted, tightest
from ropewalk.drawing.posing import Pose, placements
from ropewalk.drawing.scene import Box, Mark, Polyline, View, Wanted, bounds
from ropewalk.drawing.silhouettes import from_above
from ropewalk.drawing.standing import BEHIND, cockpit_things
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.posed import PosedLine, PosedSpan, posed_lines

#: free room about it [mm]
ROOM = 20.0
#: size of the sign at a bend that is too tight [mm of paper]
SPOT = 2.4
#: bodies that turn with the bars
_TURNING = ("bar", "fork", "lower")


def cockpit_angles(job: JobPlan) -> tuple[float, float, float]:
    """Return left lock, straight ahead and right lock [rad]."""
    lock = poses(job.model.frame).lock
    return -lock, 0.0, lock


def cockpit_view(job: JobPlan, pose: Pose) -> View:
    """Return the cockpit from above.

    Parameters
    ----------
    job : JobPlan
    pose : mapping of str to float
        Steering angle, positive to the rider's right, and what else moves [rad, mm].

    Returns
    -------
    View
        Its points are z and x of the bike's axes [mm]: the rider's right is right, forward is up. Bends tighter than
        advised or than the housing can take are marked where they are tightest.

    Raises
    ------
    ChoiceError
        When the bike does not move so, or not so far.
    """
    posed = posed_lines(job, pose)
    cut = float(job.model.skeleton.head_top[0]) - BEHIND
    near = [(place, span) for place, line in enumerate(posed) for span in _near(job, place, line, cut)]
    lines = []
    for place, span in by_depth(near, axis=1):
        shape = span_shape(job, place, span, from_above)
        at = next(at for at, own in enumerate(posed[place].spans) if own is span)
        on_frame = span.kind == "inside" or (span.kind != "loop" and not _steered(job, place, at))
        lines.append(_clipped(shape, cut) if on_frame else shape)
    backdrop = tuple(shapes(cockpit_things(job), placements(job.model, pose), from_above))
    straight = not pose.get("steer")
    tight = [(place, span) for place, span in near if _grade(span) and (span.kind == "loop" or straight)]
    spots = tuple(_spot(place, span) for place, span in tight)
    loops = [(place, span) for place, span in near if span.kind == "loop"]
    about = bounds((*backdrop, *lines))
    return View(
        f"cockpit {round(math.degrees(pose.get('steer', 0.0)))}",
        backdrop,
        tuple(lines),
        (*_stations(job, posed, near, cut), *_parts(job, posed, near), *spots),
        (*(_words(job, posed, place, span) for place, span in tight), *tags_wanted(job, posed, loops, from_above)),
        Box(about.left - ROOM, about.bottom, about.right + ROOM, about.top + ROOM),
    )


def _steered(job: JobPlan, place: int, at: int) -> bool:
    """Return whether a span of a line turns with the bars, or runs to what does."""
    line = job.routing[place]
    span = line.route.spans[at]
    return any(line.stations[end].body in _TURNING for end in (span.start, span.end))


def _near(job: JobPlan, place: int, line: PosedLine, cut: float) -> Iterator[PosedSpan]:
    """Return the spans of a line that belong to the cockpit: all down to the frame, and what follows there at once."""
    steered = [_steered(job, place, at) for at in range(len(line.spans))]
    for span, own, before in zip(line.spans, steered, [False, *steered], strict=False):
        if own or (before and span.kind != "loop" and float(span.points[:, 0].max()) > cut):
            yield span


def _stations(
    job: JobPlan, posed: tuple[PosedLine, ...], near: list[tuple[int, PosedSpan]], cut: float
) -> Iterator[Mark]:
    """Return the marks of the stations at the ends of what is shown."""
    marks = station_marks(posed, from_above)
    for place, line in enumerate(posed):
        shown = [any(span is seen for at, seen in near if at == place) for span in line.spans]
        for station, before, after in zip(job.routing[place].stations, [False, *shown], [*shown, False], strict=True):
            mark = next(marks)
            if (before or after) and (station.body in _TURNING or float(mark.centre[1]) >= cut):
                yield mark


def _parts(job: JobPlan, posed: tuple[PosedLine, ...], near: list[tuple[int, PosedSpan]]) -> Iterator[Mark]:
    """Return the marks of adjusters and splitters in what is shown."""
    marks = part_marks(job, posed, from_above)
    for place, line in enumerate(job.lines):
        for inline in line.inlines:
            mark, own = next(marks), posed[place].spans[inline.span]
            if any(own is seen for at, seen in near if at == place):
                yield mark


def _clipped(line: Polyline, cut: float) -> Polyline:
    """Return a line as far as the frame is shown."""
    points = line.points
    if points[:, 1].min() >= cut:
        return line
    kept = []
    for start, end in pairwise(points):
        if start[1] >= cut:
            kept.append(start)
        if (start[1] >= cut) != (end[1] >= cut):
            kept.append(start + (cut - start[1]) / (end[1] - start[1]) * (end - start))
    if points[-1][1] >= cut:
        kept.append(points[-1])
    return Polyline(np.array(kept), line.role, line.width, line.line, line.tag)


def _kinks(span: PosedSpan) -> bool:
    return span.kink_radius is not None and span.least_radius < span.kink_radius - 0.05


def _grade(span: PosedSpan) -> str:
    """Return how bad a bend is: "stop" for a loop tighter than the housing takes, "look" for one tighter than advised.

    What is held, under tape or inside a tube, cannot get tighter than it is: it is "look" where it is tighter than the
    housing takes.
    """
    if _kinks(span):
        return "stop" if span.kind == "loop" else "look"
    if span.kind == "loop" and span.advised_radius is not None and span.least_radius < span.advised_radius - 0.05:
        return "look"
    return ""


def _spot(place: int, span: PosedSpan) -> Mark:
    grade = _grade(span)
    at = from_above(tightest(span.points)[None])[0]
    return Mark(at, "square" if grade == "stop" else "disc", SPOT, f"{grade} spot", place)


def _words(job: JobPlan, posed: tuple[PosedLine, ...], place: int, span: PosedSpan) -> Wanted:
    grade = _grade(span)
    limit = span.kink_radius if _kinks(span) else span.advised_radius
    assert limit is not None
    # a figure that rounds to its limit is shown to the tenth
    shown = f"{span.least_radius:.0f}" if round(span.least_radius) < limit else f"{span.least_radius:.1f}"
    words = "kinks under" if _kinks(span) else "advised"
    bend = tightest(span.points)
    tag = tag_at(job.lines[place], posed[place], span, bend)
    told = f"{tag} bends to {shown} mm" if tag else f"bends to {shown} mm"
    return Wanted((told, f"{words} {limit:.0f} mm"), grade, place, from_above(bend[None]))
