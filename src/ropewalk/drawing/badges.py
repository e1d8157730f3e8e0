"""What notes look like: a badge with a line's sign and a tag, or a box with words, and a leader to the line."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ropewalk.drawing.lettering import ASCENT, DESCENT, LEADING, text_width
from ropewalk.drawing.outlines import rounded
from ropewalk.drawing.scene import Area, Box, Label, Mark, Points, Polyline, Shape, Wanted
from ropewalk.drawing.style import sign


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """A note in its place: its box and its leader (2, 2) from the line to the box."""

    wanted: Wanted
    box: Box
    leader: Points


def note_size(note: Wanted, size: float) -> tuple[float, float]:
    """Return width and height of a note [mm]."""
    if note.role == "tag":
        return text_width(note.text[0], size, bold=True) + 2.05 * size, 1.6 * size
    small = 0.9 * size
    width = max(text_width(text, small, bold=place == 0) for place, text in enumerate(note.text))
    return width + 0.9 * size, LEADING * small * len(note.text) + 0.45 * size


def note_shapes(placed: Placed, size: float) -> list[Shape]:
    """Return a note in its place as shapes: leader, box, sign, text."""
    note, box = placed.wanted, placed.box
    shapes: list[Shape] = [
        Polyline(placed.leader, "leader"),
        Mark(placed.leader[0], "disc", 0.35 * size, "leader end", note.line),
        Area((rounded(box, 0.3 * size),), note.role, note.line),
    ]
    middle = (box.bottom + box.top) / 2.0
    if note.role == "tag":
        centre = np.array([box.left + 0.95 * size, middle])
        shapes.append(Mark(centre, sign(note.line), 0.85 * size, "sign", note.line))
        at = np.array([box.left + 1.55 * size, middle - 0.36 * size])
        return [*shapes, Label(at, note.text[0], size, "tag text", bold=True, line=note.line)]
    small = 0.9 * size
    role = "stop text" if note.role == "stop" else "text"
    first = middle + (len(note.text) - 1) / 2.0 * LEADING * small - (ASCENT - DESCENT) / 2.0 * small
    for place, text in enumerate(note.text):
        at = np.array([box.left + 0.45 * size, first - place * LEADING * small])
        shapes.append(Label(at, text, small, role, bold=place == 0, line=note.line))
    return shapes
