"""The sheet for paper: side view, legend, and the cockpit from above."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ropewalk.drawing.cockpits import bar_between, cockpits_in_row, row_captions
from ropewalk.drawing.described import picture_words
from ropewalk.drawing.legend import legend
from ropewalk.drawing.lettering import shortened, text_width
from ropewalk.drawing.paper import no_room, paper_area, put, rope, scale_bar
from ropewalk.drawing.posing import STRAIGHT, Pose, shown_words
from ropewalk.drawing.scene import Box, Label, Polyline, Scene, Shape
from ropewalk.drawing.sideview import side_view
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
    below = Box(left, foot, right, split - 2.0)
    cockpits = cockpits_in_row(job, below, TAG)
    roles = frozenset(shape.role for shape in (*side.lines, *side.marks))
    shapes = [
        paper_area(WIDTH, HEIGHT),
        *_heading(job.bike, pose, left, right, HEIGHT - 14.0),
        *put_side.shapes,
        *scale_bar(put_side.fit.scale, main.left, main.top - TEXT, TEXT * 0.9),
        *no_room(len(put_side.left_out), np.array([main.left, main.top - 3.0 * TEXT]), TEXT * 0.9),
        *legend(job, Box(column, split + 4.0, right, head - 2.0), LEGEND, roles),
        Polyline(np.array([[left, split], [right, split]]), "rule"),
        *(shape for one in cockpits for shape in one.shapes),
        *row_captions(job, below, cockpits, TAG),
        *bar_between(job, below, cockpits, TAG),
        *_caution(job, left, right, 7.0, TEXT),
    ]
    parts = (put_side, *cockpits)
    return Scene(
        WIDTH, HEIGHT, *picture_words(job, pose), tuple(shapes),
        tuple(part.fit for part in parts), tuple(note for part in parts for note in part.left_out),
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
