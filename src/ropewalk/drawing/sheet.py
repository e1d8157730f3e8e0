"""Whole pictures of a job: the sheet for paper, and the pictures for a page."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from ropewalk.drawing.cockpitview import cockpit_angles, cockpit_view
from ropewalk.drawing.legend import legend, swatch
from ropewalk.drawing.lettering import shortened, text_width
from ropewalk.drawing.paper import Put, put, rope, scale_bar, scale_for
from ropewalk.drawing.posing import STRAIGHT, Pose, shown_words
from ropewalk.drawing.scene import Area, Box, Label, Points, Polyline, Scene, Shape, View, shifted
from ropewalk.drawing.sideview import side_view
from ropewalk.units import degrees
from ropewalk.workshop.jobplan import JobPlan

#: A4 across [mm], its margin, and sizes of text
WIDTH, HEIGHT, MARGIN = 297.0, 210.0, 9.0
TITLE, LEGEND, TEXT, TAG = 5.2, 2.95, 2.75, 2.7


def sheet(job: JobPlan, pose: Pose = STRAIGHT) -> Scene:
    """Return the sheet for paper: side view, legend, and the cockpit from above at both locks and straight ahead.

    Parameters
    ----------
    job : JobPlan
    pose : mapping of str to float
        Pose of the side view: steering angle, positive to the rider's right, and what else moves [rad, mm].

    Raises
    ------
    ChoiceError
        When the bike does not move so, or not so far.
    """
    left, right = MARGIN, WIDTH - MARGIN
    head, foot = HEIGHT - 21.0, 15.0
    split, column = foot + 76.0, right - 86.0
    side = side_view(job, pose)
    main = Box(left, split + 2.0, column - 4.0, head - 2.0)
    put_side = put(side, main, TAG, taken=[Box(main.left, main.top - 3.4 * TEXT, main.left + 40.0, main.top)])
    cockpits = _cockpits(job, Box(left, foot, right, split - 2.0))
    roles = frozenset(line.role for line in side.lines)
    shapes = [
        _paper(WIDTH, HEIGHT),
        *_heading(job.bike, pose, left, right, HEIGHT - 14.0),
        *put_side.shapes,
        *scale_bar(put_side.fit.scale, main.left, main.top - TEXT, TEXT * 0.9),
        *_no_room(len(put_side.left_out), np.array([main.left, main.top - 3.0 * TEXT]), TEXT * 0.9),
        *legend(job, Box(column, split + 4.0, right, head - 2.0), LEGEND, roles),
        Polyline(np.array([[left, split], [right, split]]), "rule"),
        *(shape for one in cockpits for shape in one.shapes),
        *_captions(job, Box(left, foot, right, split - 2.0), cockpits),
        *_caution(job, left, right, 7.0, TEXT),
    ]
    parts = (put_side, *cockpits)
    return Scene(
        WIDTH, HEIGHT, *_words(job, pose), tuple(shapes),
        tuple(part.fit for part in parts), tuple(note for part in parts for note in part.left_out),
    )  # fmt: skip


def side_picture(job: JobPlan, pose: Pose = STRAIGHT) -> Scene:
    """Return the side view with a short legend, for a page; parameters as for `sheet`."""
    width, margin, size = 190.0, 4.0, 4.0
    view = side_view(job, pose, steady=True)
    names = list(_names(job, width - 2.0 * margin, size))
    foot = margin + 1.7 * size * (len({round(at[1], 3) for at, _, _ in names}) if names else 0)
    scale = (width - 2.0 * margin) / view.box.width
    height = scale * view.box.height + foot + 4.0
    box = Box(margin, foot, width - margin, height - 2.0)
    placed = put(view, box, size, taken=[Box(margin, box.top - 3.2 * size, margin + 45.0, box.top)])
    shapes = [
        _paper(width, height),
        *placed.shapes,
        *scale_bar(placed.fit.scale, margin, box.top - size, 0.85 * size),
        *_no_room(len(placed.left_out), np.array([margin, box.top - 2.8 * size]), 0.85 * size),
        *(shape for at, place, name in names for shape in _named(shifted(at, margin, margin), place, name, size)),
    ]
    return Scene(width, height, *_words(job, pose), tuple(shapes), (placed.fit,), placed.left_out)


def cockpit_picture(job: JobPlan) -> Scene:
    """Return the cockpit from above at left lock, straight ahead and right lock, for a page."""
    width, height, margin, size = 190.0, 100.0, 3.0, 3.5
    box = Box(margin, margin, width - margin, height - margin)
    cockpits = _cockpits(job, box, size)
    shapes = [
        _paper(width, height),
        *(shape for one in cockpits for shape in one.shapes),
        *_captions(job, box, cockpits, size),
    ]
    title = f"{job.bike}: the cockpit from above"
    described = "Left lock, straight ahead, right lock. " + _lines_told(job)
    return Scene(
        width, height, title, described, tuple(shapes),
        tuple(one.fit for one in cockpits), tuple(note for one in cockpits for note in one.left_out),
    )  # fmt: skip


def _paper(width: float, height: float) -> Area:
    return Area((np.array([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]]),), "paper")


def _heading(bike: str, pose: Pose, left: float, right: float, base: float) -> Iterator[Shape]:
    said = shown_words(pose)
    room = right - left - text_width(said, TITLE * 0.72) - 6.0
    yield Label(np.array([left, base]), shortened(bike, TITLE, room, bold=True), TITLE, bold=True)
    yield Label(np.array([right, base]), said, TITLE * 0.72, align="right")
    yield from rope(left, right, base - 4.0, 1.5)


def _caution(job: JobPlan, left: float, right: float, base: float, size: float) -> Iterator[Shape]:
    yield Polyline(np.array([[left, base + 1.8 * size], [right, base + 1.8 * size]]), "rule")
    yield Label(np.array([left, base]), shortened(job.cautions[0], size, right - left - 22.0), size)
    yield Label(np.array([right, base]), "Ropewalk", size, "quiet text", "right")


def _cockpits(job: JobPlan, box: Box, size: float = TAG) -> tuple[Put, ...]:
    """Put the three views of the cockpit side by side, all at one scale, each as wide as it needs."""
    views = [cockpit_view(job, {"steer": angle}) for angle in cockpit_angles(job)]
    rooms = _shares(views, box)
    inner = [Box(room.left, room.bottom, room.right, room.top - 1.9 * size) for room in rooms]
    scale = min(scale_for(view, room) for view, room in zip(views, inner, strict=True))
    return tuple(put(view, room, size, scale) for view, room in zip(views, inner, strict=True))


def _shares(views: list[View], box: Box) -> list[Box]:
    """Share out a box's width: each view gets what it needs and an equal part of the rest."""
    wide = [view.box.width for view in views]
    scale = min(min(box.height / view.box.height for view in views), box.width / sum(wide))
    rest = (box.width - scale * sum(wide)) / len(views)
    edges = np.concatenate([[box.left], box.left + np.cumsum([scale * one + rest for one in wide])])
    return [Box(first + 1.0, box.bottom, last - 1.0, box.top) for first, last in pairwise(edges.tolist())]


def _captions(job: JobPlan, box: Box, cockpits: tuple[Put, ...], size: float = TAG) -> Iterator[Shape]:
    """Name the views over the steering axis of each; the scale bar goes into the widest gap between the names."""
    lock = f"{degrees(cockpit_angles(job)[2]):.0f}°"
    base = box.top - size
    edges = [box.left]
    for words, one in zip(
        (f"left lock, {lock}", "straight ahead, from above", f"right lock, {lock}"), cockpits, strict=True
    ):
        yield Label(np.array([one.fit.right, base]), words, size, "quiet text", "middle")
        half = text_width(words, size) / 2.0 + 2.0 * size
        edges += [one.fit.right - half, one.fit.right + half]
    edges.append(box.right)
    gaps = sorted(zip(edges[::2], edges[1::2], strict=True), key=lambda gap: gap[0] - gap[1])
    (left, right), (other, _) = gaps[:2]
    yield from scale_bar(cockpits[1].fit.scale, left, base, 0.9 * size, right - left)
    yield from _no_room(sum(len(one.left_out) for one in cockpits), np.array([other, base]), 0.9 * size)


def _no_room(count: int, at: Points, size: float) -> Iterator[Shape]:
    """Say how many notes found no room."""
    if count:
        yield Label(at, f"{count} note{'s' if count > 1 else ''} found no room", size, "quiet text")


def _names(job: JobPlan, room: float, size: float) -> Iterator[tuple[Points, int, str]]:
    """Lay out the lines' names in rows, the last row at 0; yield place, line and words of each."""
    rows: list[list[tuple[float, int, str]]] = [[]]
    at = 0.0
    for place, line in enumerate(job.lines):
        words = shortened(f"{line.name}, {line.lever}", 0.9 * size, room - 6.0 * size)
        wide = 5.2 * size + text_width(words, 0.9 * size) + 1.5 * size
        if at and at + wide > room:
            rows.append([])
            at = 0.0
        rows[-1].append((at, place, words))
        at += wide
    for number, row in enumerate(reversed(rows)):
        for at, place, words in row:
            yield np.array([at, number * 1.7 * size]), place, words


def _named(at: Points, place: int, words: str, size: float) -> Iterator[Shape]:
    yield from swatch(place, shifted(at, 0.0, 0.33 * size), 4.4 * size)
    yield Label(shifted(at, 5.2 * size, 0.0), words, 0.9 * size, line=place)


def _words(job: JobPlan, pose: Pose) -> tuple[str, str]:
    """Return title and description of a picture."""
    title = f"{job.bike}, {shown_words(pose)}: lines in place"
    return title, _lines_told(job)


def _lines_told(job: JobPlan) -> str:
    told = (f"{line.name}: {', '.join(piece.tag for piece in line.pieces)}" for line in job.lines)
    return f"Side view with housing and inners in place. {'; '.join(told)}. {job.cautions[0]}"


__all__ = ["cockpit_picture", "sheet", "side_picture"]
