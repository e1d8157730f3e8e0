"""Courses of housing and inner at true length, piece by piece, with what of them is hidden in ferrules."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ropewalk.drawing.silhouettes import Places
from ropewalk.workshop.jobplan import JobPlan, PiecePlan
from ropewalk.workshop.posed import PosedLine

_ROLES = {"inside": "inside inner", "rigid": "rigid"}


@dataclass(frozen=True, slots=True, eq=False)
class Housing:
    """One piece in place, end to end (n, 3) [mm], and how thick it is."""

    piece: PiecePlan
    points: Places
    outside: float


def housing_courses(job: JobPlan, place: int, line: PosedLine) -> Iterator[Housing]:
    """Return every piece of the line at a place, in a pose.

    Parameters
    ----------
    job : JobPlan
    place : int
    line : PosedLine
        That line in the pose.

    Notes
    -----
    A run is as long as its spans and what of it is in the ferrules at its ends; a part in it takes its own length out.
    """
    plan = job.lines[place]
    for run in job.routing[place].route.pieces:
        spans = [span.points for span in line.spans if span.tag == run.tag]
        path = np.concatenate([spans[0], *(points[1:] for points in spans[1:])])
        path = _lengthened(path, float(run.start_ferrule.insertion), float(run.end_ferrule.insertion))
        outside = float(run.housing.outside)
        inline = next((inline for inline in plan.inlines if inline.before == run.tag), None)
        pieces = {piece.tag: piece for piece in plan.pieces}
        if inline is None:
            yield Housing(pieces[run.tag], path, outside)
            continue
        after = pieces[inline.after]
        whole = inline.at + inline.length + after.target
        yield Housing(pieces[run.tag], _part(path, 0.0, inline.at / whole), outside)
        yield Housing(after, _part(path, (inline.at + inline.length) / whole, 1.0), outside)


def wire_courses(line: PosedLine) -> Iterator[tuple[str, Places]]:
    """Return the course of bare inner (n, 3) through each span without housing, with its role."""
    for span in line.spans:
        if not span.covered:
            yield _ROLES.get(span.kind, "inner"), span.points


def _lengthened(path: Places, start: float, end: float) -> Places:
    """Return a path that goes on straight at both ends."""
    first, last = path[0] - path[1], path[-1] - path[-2]
    before = path[0] + start * first / np.linalg.norm(first)
    after = path[-1] + end * last / np.linalg.norm(last)
    return np.concatenate([before[None], path, after[None]])


def _part(path: Places, first: float, last: float) -> Places:
    """Return what lies between two shares of a path's length."""
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))])
    ends = np.array([first, last]) * along[-1]
    kept = path[(along > ends[0]) & (along < ends[1])]
    start, end = (np.array([np.interp(at, along, path[:, axis]) for axis in range(3)]) for at in ends)
    return np.concatenate([start[None], kept, end[None]])
