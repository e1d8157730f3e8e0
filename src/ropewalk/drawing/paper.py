"""Putting views on paper: scale, signs along the lines, notes, scale bar."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ropewalk.drawing.badges import note_shapes
from ropewalk.drawing.covering import dense, field_of
from ropewalk.drawing.lettering import text_width
from ropewalk.drawing.notes import place_notes
from ropewalk.drawing.scene import Area, Box, Circle, Fit, Label, Mark, Points, Polyline, Shape, View, Wanted
from ropewalk.drawing.style import sign

#: how wide pictures for a page are as they are saved, and on a phone [mm]
WIDE, NARROW = 190.0, 90.0
#: a sign about every so many mm of line; none on shorter bits, none so near a station
_SIGN_EVERY, _SIGN_LEAST, _SIGN_CLEAR = 17.0, 5.0, 2.4
SIGN = 1.9
#: lengths a scale bar may stand for [mm], and how long it should be on paper at least
_BARS = (20.0, 50.0, 100.0, 200.0, 500.0)
_BAR_LEAST = 14.0


@dataclass(frozen=True, slots=True, eq=False)
class Put:
    """A view on paper."""

    fit: Fit
    shapes: tuple[Shape, ...]
    left_out: tuple[str, ...]


def scale_for(view: View, box: Box) -> float:
    """Return the largest scale at which a view fits in a box."""
    return min(box.width / view.box.width, box.height / view.box.height)


def put(view: View, box: Box, size: float, scale: float | None = None, taken: Sequence[Box] = ()) -> Put:
    """Put a view in the middle of a box of the paper, with its notes.

    Parameters
    ----------
    view : View
    box : Box
        Where it goes [mm of paper]; notes stay in it.
    size : float
        Size of the text of tags [mm].
    scale : float, optional
        mm of paper for one mm of the bike; the largest that fits when left out.
    taken : sequence of Box
        Parts of the box that notes leave free.
    """
    scale = scale or scale_for(view, box)
    across = (box.left + box.right) / 2.0 - scale * (view.box.left + view.box.right) / 2.0
    upwards = (box.bottom + box.top) / 2.0 - scale * (view.box.bottom + view.box.top) / 2.0
    fit = Fit(view.name, scale, across, upwards)
    backdrop = [fit.shape(shape) for shape in view.backdrop]
    strokes = [shape for line in view.lines if isinstance(shape := fit.shape(line), Polyline)]
    marks = [shape for mark in view.marks if isinstance(shape := fit.shape(mark), Mark | Circle)]
    stations = [mark.centre for mark in marks]
    signs = list(_signs(strokes, stations))
    areas = [shape for shape in backdrop if isinstance(shape, Area)]
    field = field_of(box, strokes, areas, [*stations, *(mark.centre for mark in signs)])
    wanted = [Wanted(note.text, note.role, note.line, fit.points(note.path)) for note in view.wanted]
    placed, left_out = place_notes(wanted, field, strokes, size, taken)
    notes = [note_shapes(note, size) for note in placed]
    leaders = [shape for shapes in notes for shape in shapes[:2]]
    boxes = [shape for shapes in notes for shape in shapes[2:]]
    shapes = (*backdrop, *strokes, *signs, *marks, *leaders, *boxes)
    return Put(fit, shapes, tuple(note.text[0] for note in left_out))


def _signs(strokes: Sequence[Polyline], stations: Sequence[np.ndarray]) -> Iterator[Mark]:
    """Return each line's sign along it, those of lines that lie on each other side by side."""
    for stroke in strokes:
        place = stroke.line or 0
        path = dense(stroke.points, 0.5)
        length = 0.5 * (len(path) - 1)
        if length < _SIGN_LEAST:
            continue
        count = max(round(length / _SIGN_EVERY), 1)
        shift = (place * 0.31 + 0.3) % 0.8 - 0.4
        for number in range(count):
            at = path[round((number + 0.5 + shift) / count * (len(path) - 1))]
            if all(math.dist(at, station) > _SIGN_CLEAR for station in stations):
                yield Mark(at, sign(place), SIGN, "sign", place)


def paper_area(width: float, height: float) -> Area:
    """Draw the paper itself."""
    return Area((Box(0.0, 0.0, width, height).corners,), "paper")


def scale_bar(scale: float, left: float, bottom: float, size: float, room: float = math.inf) -> Iterator[Shape]:
    """Draw a bar of a round length of the bike with its words to the right, on a baseline and within some room."""
    fitting = [bar for bar in _BARS if bar * scale + 5.0 * size <= room] or [_BARS[0]]
    length = next((bar for bar in fitting if bar * scale >= _BAR_LEAST), fitting[-1])
    half, low = length * scale / 2.0, bottom + 0.2 * size
    for part, role in ((0, "dimension fill"), (1, "station")):
        start, end, top = left + part * half, left + (part + 1) * half, low + 0.34 * size
        yield Area((Box(start, low, end, top).corners,), role)
    yield Label(np.array([left + 2.0 * half + 0.5 * size, bottom]), f"{length:.0f} mm", size)


def no_room(count: int, at: Points, size: float) -> Iterator[Shape]:
    """Say how many notes found no room, from a point (2,) of the paper."""
    if count:
        yield Label(at, _left_out_words(count), size, "quiet text")


def room_for_words(box: Box, size: float) -> Box:
    """Return the corner of a box at its bottom left where it may have to be said that notes found no room."""
    return Box(box.left, box.bottom, box.left + text_width(_left_out_words(9), size), box.bottom + 1.2 * size)


def _left_out_words(count: int) -> str:
    return f"{count} note{'s' if count > 1 else ''} found no room"


def rope(left: float, right: float, middle: float, height: float) -> Iterator[Shape]:
    """Draw a rule like a laid rope: two edges, and strands that slant between them."""
    low, high = middle - height / 2.0, middle + height / 2.0
    for edge in (low, high):
        yield Polyline(np.array([[left, edge], [right, edge]]), "rope")
    count = round((right - left) / (1.6 * height))
    step = (right - left) / count
    for number in range(count):
        start = left + number * step
        yield Polyline(
            np.array([[start, low], [start + 0.35 * step, middle - 0.1 * height],
                      [start + 0.65 * step, middle + 0.1 * height], [start + step, high]]), "rope"
        )  # fmt: skip
