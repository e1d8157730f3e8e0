"""Pictures for a page and for the bench sheet: the side view, and the cockpit from above."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ropewalk.drawing.cockpits import (
    NAMES_AND_BAR,
    cockpits_in_column,
    cockpits_in_row,
    column_captions,
    row_captions,
)
from ropewalk.drawing.described import lines_told, picture_words
from ropewalk.drawing.legend import swatch
from ropewalk.drawing.lettering import shortened, text_width
from ropewalk.drawing.paper import NARROW, WIDE, Put, no_room, paper_area, put, scale_bar
from ropewalk.drawing.posing import STRAIGHT, Pose
from ropewalk.drawing.scene import Box, Label, Points, Scene, Shape, shifted
from ropewalk.drawing.sideview import side_view
from ropewalk.workshop.jobplan import JobPlan

#: sizes of the text of tags: in the side view, in the cockpit, and on a phone [mm]
SIDE, COCKPIT, PHONE = 4.0, 3.5, 2.9
#: free room about the cockpit [mm]
MARGIN = 3.0
#: heights of the picture of the cockpit, the least that has room for all notes [mm]
COCKPIT_HEIGHTS = (105.0, 120.0, 140.0)


def side_picture(job: JobPlan, pose: Pose = STRAIGHT, *, narrow: bool = False) -> Scene:
    """Return the side view with a short legend, for a page.

    Parameters
    ----------
    job : JobPlan
    pose : mapping of str to float
        Steering angle, positive to the rider's right, and what else moves [rad, mm].
    narrow : bool
        Whether it is for a phone, where it is made half as wide and its text not much smaller.

    Raises
    ------
    ChoiceError
        When the bike does not move so, or not so far.
    """
    width, size = (NARROW, PHONE) if narrow else (WIDE, SIDE)
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
        *no_room(len(placed.left_out), np.array([margin, box.top - 2.8 * size]), 0.85 * size),
        *(shape for at, place, name in names for shape in _named(shifted(at, margin, margin), place, name, size)),
    ]
    return Scene(width, height, *picture_words(job, pose), tuple(shapes), (placed.fit,), placed.left_out)


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
        *no_room(len(placed.left_out), np.array([width / 2.0, 0.4 * size]), 0.85 * size),
    ]
    return Scene(width, height, *picture_words(job, STRAIGHT), tuple(shapes), (placed.fit,), placed.left_out)


def cockpit_picture(job: JobPlan, *, narrow: bool = False) -> Scene:
    """Return the cockpit from above at left lock, straight ahead and right lock, for a page.

    It is made higher where there is much to say, until every note finds room. For a phone the views stand below each
    other.
    """
    placed, shapes, width, height = _column(job) if narrow else _row(job)
    return Scene(
        width,
        height,
        f"{job.bike}: the cockpit from above",
        lines_told(job, "Cockpit from above at left lock, straight ahead and right lock, with housing in place"),
        (paper_area(width, height), *shapes),
        tuple(one.fit for one in placed),
        tuple(note for one in placed for note in one.left_out),
    )


def _row(job: JobPlan) -> tuple[tuple[Put, ...], list[Shape], float, float]:
    """Return the views side by side, all shapes, and width and height of the paper [mm]."""
    for height in COCKPIT_HEIGHTS:
        box = Box(MARGIN, MARGIN, WIDE - MARGIN, height - MARGIN)
        cockpits = cockpits_in_row(job, box, COCKPIT, NAMES_AND_BAR)
        if not any(one.left_out for one in cockpits):
            break
    shapes = [
        *(shape for one in cockpits for shape in one.shapes),
        *row_captions(job, box, cockpits, COCKPIT),
        *scale_bar(cockpits[1].fit.scale, box.left, box.top - 2.7 * COCKPIT, 0.9 * COCKPIT),
    ]
    return cockpits, shapes, WIDE, height


def _column(job: JobPlan) -> tuple[tuple[Put, ...], list[Shape], float, float]:
    """Return the views below each other, otherwise as `_row`."""
    cockpits, rooms = cockpits_in_column(job, MARGIN, NARROW - MARGIN, PHONE)
    shapes = [
        *(shape for one in cockpits for shape in one.shapes),
        *column_captions(job, cockpits, rooms, PHONE),
    ]
    return cockpits, shapes, NARROW, rooms[0].top + MARGIN


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
