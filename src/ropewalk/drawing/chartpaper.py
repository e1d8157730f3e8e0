"""What charts share: their width on paper and on a phone, margin and sizes of text, headings and notes."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ropewalk.drawing.lettering import wrapped
from ropewalk.drawing.scene import Label

#: how wide a chart is on paper, and on a phone [mm]
WIDE, NARROW = 190.0, 90.0
MARGIN = 8.0
#: sizes of text, and from line to line of a heading [mm]
TITLE, TEXT, SMALL, HEADING = 4.2, 2.9, 2.5, 5.6


def room(width: float) -> float:
    """Return what the margins leave of a chart's width [mm]."""
    return width - 2.0 * MARGIN


def heading_lines(text: str, width: float) -> tuple[str, ...]:
    """Return a heading in the lines it takes."""
    return wrapped(text, TITLE, room(width), bold=True)


def note_lines(text: str, width: float) -> tuple[str, ...]:
    """Return a note in the lines it takes."""
    return wrapped(text, SMALL, room(width))


def heading(lines: tuple[str, ...], top: float) -> Iterator[Label]:
    """Draw a heading from its top down."""
    for number, text in enumerate(lines):
        yield Label(np.array([MARGIN, top - TITLE - HEADING * number]), text, TITLE, bold=True)
