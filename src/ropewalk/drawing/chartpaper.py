"""What charts share: sizes of text, headings, notes, and panels one below another."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ropewalk.drawing.lettering import wrapped
from ropewalk.drawing.paper import paper_area
from ropewalk.drawing.scene import Label, Scene, Shape

MARGIN = 8.0
#: sizes of text [mm]
TITLE, TEXT, SMALL = 4.2, 2.9, 2.5
#: from line to line of a heading, and of text below each other [mm]
HEADING, LINE = 5.6, 4.2


@dataclass(frozen=True, slots=True)
class Panel:
    """A part of a chart: how high it is [mm], and what draws it below a height of the paper."""

    height: float
    draw: Callable[[float], Iterable[Shape]]


def stacked(panels: Sequence[Panel], width: float, title: str, told: str) -> Scene:
    """Return panels one below another on paper of a width."""
    height = sum(panel.height for panel in panels) + 2.0 * MARGIN
    shapes: list[Shape] = [paper_area(width, height)]
    top = height - MARGIN
    for panel in panels:
        shapes += panel.draw(top)
        top -= panel.height
    return Scene(width, height, title, told, tuple(shapes))


def room(width: float) -> float:
    """Return what the margins leave of a chart's width [mm]."""
    return width - 2.0 * MARGIN


def heading(text: str, width: float, top: float) -> Iterator[Label]:
    """Draw a heading from its top down, in the lines it takes."""
    for number, line in enumerate(wrapped(text, TITLE, room(width), bold=True)):
        yield Label(np.array([MARGIN, top - TITLE - HEADING * number]), line, TITLE, bold=True)


def heading_more(text: str, width: float) -> float:
    """Return how much higher a heading is than one of a single line [mm]."""
    return HEADING * (len(wrapped(text, TITLE, room(width), bold=True)) - 1)


def notes(text: str, width: float, top: float) -> Iterator[Label]:
    """Draw a note from its top down, in the lines it takes."""
    for number, line in enumerate(wrapped(text, SMALL, room(width)), start=1):
        yield Label(np.array([MARGIN, top - LINE * number]), line, SMALL, "quiet text")


def notes_height(text: str, width: float) -> float:
    """Return how high a note is [mm]."""
    return LINE * len(wrapped(text, SMALL, room(width)))
