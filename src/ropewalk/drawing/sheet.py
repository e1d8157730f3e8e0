"""Whole pictures of a job: the sheet for paper, and the pictures for a page."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from ropewalk.drawing.badges import note_size
from ropewalk.drawing.cockpitview import cockpit_angles, cockpit_view
from ropewalk.drawing.legend import legend, swatch
from ropewalk.drawing.lettering import shortened, text_width
from ropewalk.drawing.paper import Put, paper_area, put, rope, scale_bar, scale_for
from ropewalk.drawing.posing import STRAIGHT, Pose, shown_words
from ropewalk.drawing.scene import Box, Label, Points, Polyline, Scene, Shape, View, shifted
from ropewalk.drawing.sideview import side_view
from ropewalk.units import degrees
from ropewalk.workshop.jobplan import JobPlan

#: A4 across [mm], its margin, and sizes of text
WIDTH, HEIGHT, MARGIN = 297.0, 210.0, 9.0
TITLE, LEGEND, TEXT, TAG = 5.2, 2.95, 2.75, 2.7
#: room over the views of the cockpit for their names, and for the scale bar under these, in sizes of text
NAMES, NAMES_AND_BAR = 1.9, 3.6
#: heights of a page's picture of the cockpit, the least that has room for all notes [mm]
COCKPIT_HEIGHTS = (105.0, 120.0, 140.0)


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
    roles = frozenset(shape.role for shape in (*side.lines, *side.marks))
    shapes = [
        paper_area(WIDTH, HEIGHT),
        *_heading(job.bike, pose, left, right, HEIGHT - 14.0),
        *put_side.shapes,
        *scale_bar(put_side.fit.scale, main.left, main.top - TEXT, TEXT * 0.9),
        *_no_room(len(put_side.left_out), np.array([main.left, main.top - 3.0 * TEXT]), TEXT * 0.9),
        *legend(job, Box(column, split + 4.0, right, head - 2.0), LEGEND, roles),
        Polyline(np.array([[left, split], [right, split]]), "rule"),
        *(shape for one in cockpits for shape in one.shapes),
        *_captions(job, Box(left, foot, right, split - 2.0), cockpits),
        *_bar_between(job, Box(left, foot, right, split - 2.0), cockpits, TAG),
        *_caution(job, left, right, 7.0, TEXT),
    ]
    parts = (put_side, *cockpits)
    return Scene(
        WIDTH, HEIGHT, *_words(job, pose), tuple(shapes),
        tuple(part.fit for part in parts), tuple(note for part in parts for note in part.left_out),
    )  # fmt: skip


def side_picture(job: JobPlan, pose: Pose = STRAIGHT, width: float = 190.0, size: float = 4.0) -> Scene:
    """Return the side view with a short legend, for a page; parameters as for `sheet`, width and size of text [mm]."""
    margin = size
    view = side_view(job, pose, steady=True)
    names = list(_names(job, width - 2.0 * margin, size))
    foot = margin + 1.7 * size * (len({round(at[1], 3) for at, _, _ in names}) if names else 0)
    scale = (width - 2.0 * margin) / view.box.width
    height = scale * view.box.height + foot + size
    box = Box(margin, foot, width - margin, height - size / 2.0)
    placed = put(view, box, size, taken=[Box(margin, box.top - 3.2 * size, margin + 11.0 * size, box.top)])
    shapes = [
        paper_area(width, height),
        *placed.shapes,
        *scale_bar(placed.fit.scale, margin, box.top - size, 0.85 * size),
        *_no_room(len(placed.left_out), np.array([margin, box.top - 2.8 * size]), 0.85 * size),
        *(shape for at, place, name in names for shape in _named(shifted(at, margin, margin), place, name, size)),
    ]
    return Scene(width, height, *_words(job, pose), tuple(shapes), (placed.fit,), placed.left_out)


def bench_picture(job: JobPlan, width: float, size: float) -> Scene:
    """Return the side view with its tags and a bar of its scale, for the bench sheet, whose cut list names the lines.

    Parameters
    ----------
    job : JobPlan
    width, size : float
        Of the picture, and of the text of tags; nothing in it is smaller than 0.85 of that [mm].
    """
    view = side_view(job, STRAIGHT, steady=True)
    foot, side = 1.5 * size, 0.3 * size
    # Room for the tags that hang over the wheels' ends.
    height = (width - 2.0 * side) * view.box.height / view.box.width + foot + 0.6 * size
    placed = put(view, Box(side, foot, width - side, height), size)
    shapes = [
        paper_area(width, height),
        *placed.shapes,
        *scale_bar(placed.fit.scale, side, 0.4 * size, 0.85 * size),
        *_no_room(len(placed.left_out), np.array([width / 2.0, 0.4 * size]), 0.85 * size),
    ]
    return Scene(width, height, *_words(job, STRAIGHT), tuple(shapes), (placed.fit,), placed.left_out)


def cockpit_picture(job: JobPlan) -> Scene:
    """Return the cockpit from above at left lock, straight ahead and right lock, for a page.

    It is made higher where there is much to say, until every note finds room.
    """
    width, margin, size = 190.0, 3.0, 3.5
    for height in COCKPIT_HEIGHTS:
        box = Box(margin, margin, width - margin, height - margin)
        cockpits = _cockpits(job, box, size, NAMES_AND_BAR)
        if not any(one.left_out for one in cockpits):
            break
    shapes = [
        paper_area(width, height),
        *(shape for one in cockpits for shape in one.shapes),
        *_captions(job, box, cockpits, size),
        *scale_bar(cockpits[1].fit.scale, box.left, box.top - 2.7 * size, 0.9 * size),
    ]
    title = f"{job.bike}: the cockpit from above"
    described = "Left lock, straight ahead, right lock. " + _lines_told(job)
    return Scene(
        width, height, title, described, tuple(shapes),
        tuple(one.fit for one in cockpits), tuple(note for one in cockpits for note in one.left_out),
    )  # fmt: skip


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


def _cockpits(job: JobPlan, box: Box, size: float = TAG, head: float = NAMES) -> tuple[Put, ...]:
    """Put the three views of the cockpit side by side, all at one scale, each as wide as it needs.

    Some room stays free above them, told in sizes of text.
    """
    views = [cockpit_view(job, {"steer": angle}) for angle in cockpit_angles(job)]
    rooms = _shares(views, box, size)
    inner = [Box(room.left, room.bottom, room.right, room.top - head * size) for room in rooms]
    scale = min(scale_for(view, room) for view, room in zip(views, inner, strict=True))
    # where it may have to be said that notes found no room
    corner = Box(box.left, box.bottom, box.left + text_width(_left_out_words(9), size), box.bottom + 1.2 * size)
    return tuple(put(view, room, size, scale, [corner]) for view, room in zip(views, inner, strict=True))


def _shares(views: list[View], box: Box, size: float) -> list[Box]:
    """Share out a box's width: each view gets what it or its widest note needs, and an equal part of the rest."""
    wide = np.array([view.box.width for view in views])
    least = np.array([max((note_size(note, size)[0] for note in view.wanted), default=0.0) + 5.0 for view in views])
    least = np.where(least.sum() <= box.width, least, 0.0)
    scale = min(min(box.height / view.box.height for view in views), box.width / float(wide.sum()))
    # rooms that their notes decide keep their width while the scale goes down for the others
    for _ in views:
        noted = scale * wide < least
        if float(np.maximum(scale * wide, least).sum()) > box.width:
            scale = (box.width - float(least[noted].sum())) / float(wide[~noted].sum())
    needed = np.maximum(scale * wide, least)
    rest = max(box.width - float(needed.sum()), 0.0) / len(views)
    edges = np.concatenate([[box.left], box.left + np.cumsum(needed + rest)])
    return [Box(first + 1.0, box.bottom, last - 1.0, box.top) for first, last in pairwise(edges.tolist())]


def _captions(job: JobPlan, box: Box, cockpits: tuple[Put, ...], size: float = TAG) -> Iterator[Shape]:
    """Name the views."""
    for words, centre, _ in _names_of_views(job, box, cockpits, size):
        yield Label(np.array([centre, box.top - size]), words, size, "quiet text", "middle")
    yield from _no_room(sum(len(one.left_out) for one in cockpits), np.array([box.left, box.bottom]), 0.9 * size)


def _names_of_views(
    job: JobPlan, box: Box, cockpits: tuple[Put, ...], size: float
) -> tuple[tuple[str, float, float], ...]:
    """Return the names of the views, left to right, with the middle and half the width of each.

    They stand over the steering axes, or as near to these as the middle one leaves them room.
    """
    lock = f"{degrees(cockpit_angles(job)[2]):.0f}°"
    names = (f"left lock, {lock}", "straight ahead, from above", f"right lock, {lock}")
    left, middle, right = (text_width(name, size) / 2.0 for name in names)
    first, second, third = (one.fit.right for one in cockpits)
    first = max(min(first, second - middle - size - left), box.left + left)
    third = min(max(third, second + middle + size + right), box.right - right)
    return (names[0], first, left), (names[1], second, middle), (names[2], third, right)


def _bar_between(job: JobPlan, box: Box, cockpits: tuple[Put, ...], size: float) -> Iterator[Shape]:
    """Draw the scale bar in the widest gap between the names of the views."""
    edges = [box.left]
    for _, centre, half in _names_of_views(job, box, cockpits, size):
        edges += [centre - half - 2.0 * size, centre + half + 2.0 * size]
    edges.append(box.right)
    left, right = max(zip(edges[::2], edges[1::2], strict=True), key=lambda gap: gap[1] - gap[0])
    yield from scale_bar(cockpits[1].fit.scale, left, box.top - size, 0.9 * size, right - left)


def _no_room(count: int, at: Points, size: float) -> Iterator[Shape]:
    """Say how many notes found no room."""
    if count:
        yield Label(at, _left_out_words(count), size, "quiet text")


def _left_out_words(count: int) -> str:
    return f"{count} note{'s' if count > 1 else ''} found no room"


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
