"""Where the texts of a drawing lie: on its paper, and beside each other."""

from __future__ import annotations

import itertools

from ropewalk.drawing.lettering import ASCENT, DESCENT, text_width
from ropewalk.drawing.scene import Box, Label, Scene


def check_texts(scene: Scene) -> None:
    """Check that every text lies on the paper and none on another."""
    boxes = [(label.text, text_box(label)) for label in scene.labels()]
    assert boxes
    paper = Box(0.0, 0.0, scene.width, scene.height)
    assert [text for text, box in boxes if not paper.holds(box)] == []
    clashes = [(one, other) for (one, a), (other, b) in itertools.combinations(boxes, 2) if a.overlaps(b)]
    assert clashes == []


def text_box(label: Label) -> Box:
    """Return the box about a line of text."""
    wide = text_width(label.text, label.size, bold=label.bold)
    left = float(label.at[0]) - {"left": 0.0, "middle": 0.5, "right": 1.0}[label.align] * wide
    low = float(label.at[1])
    return Box(left, low - DESCENT * label.size, left + wide, low + ASCENT * label.size)
