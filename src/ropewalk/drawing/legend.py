"""The legend: which colour and sign is which line, what its pieces are, and what the strokes mean."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ropewalk.drawing.lettering import shortened, text_width
from ropewalk.drawing.outlines import rounded
from ropewalk.drawing.scene import Area, Box, Label, Mark, Points, Polyline, Shape, shifted
from ropewalk.drawing.style import sign
from ropewalk.workshop.jobplan import JobPlan, LinePlan, PiecePlan

#: heights of rows in sizes of their text: a line, a piece, a stroke's meaning
_LINE, _PIECE, _KEY = 1.95, 1.75, 1.7
#: text may shrink to this before rows are left out [mm]
LEAST_SIZE = 2.1

#: what strokes and marks mean: role, words
_STROKES = (
    ("housing", "housing"),
    ("inside housing", "housing inside a tube"),
    ("inner", "bare inner"),
    ("inside inner", "inner in a liner inside a tube"),
    ("rigid", "formed tube"),
)
_MARKS = (("part", "adjuster or splitter in the housing"), ("station", "station: where a line starts, is held or ends"))


@dataclass(frozen=True, slots=True)
class _Row:
    """One row: its height in sizes, and the line or piece it tells."""

    height: float
    line: int
    piece: PiecePlan | None = None


def legend(job: JobPlan, box: Box, size: float, roles: frozenset[str]) -> Iterator[Shape]:
    """Lay out lines with their pieces and first cuts, and what the strokes mean, in a box.

    Parameters
    ----------
    job : JobPlan
    box : Box
        Where it goes [mm].
    size : float
        Size of its text [mm]; smaller when there is much to tell.
    roles : frozenset of str
        Roles of the strokes that occur.
    """
    keys = [(role, words) for role, words in (*_STROKES, *_MARKS) if role in roles | {"station"}]
    rows = list(_rows(job, pieces=True))
    size, rows, left_out = _fitting(job, rows, box.height, size, len(keys) + 1)
    top = box.top - _PIECE * size
    yield Label(np.array([box.left, top + 0.4 * size]), "line, lever and pieces", 0.9 * size, "quiet text")
    yield Label(np.array([box.right, top + 0.4 * size]), "first cut", 0.9 * size, "quiet text", "right")
    for row in rows:
        top -= row.height * size
        at = np.array([box.left, top + 0.55 * size])
        if row.piece is None:
            yield from _line_row(job.lines[row.line], row.line, at, box.right, size)
        else:
            yield from _piece_row(row.piece, row.line, at, box.right, size)
    if left_out:
        top -= _PIECE * size
        yield Label(np.array([box.left, top + 0.5 * size]), left_out, 0.9 * size, "quiet text")
    yield from _key(keys, Box(box.left, box.bottom, box.right, top), size)


def _rows(job: JobPlan, *, pieces: bool) -> Iterator[_Row]:
    for place, line in enumerate(job.lines):
        yield _Row(_LINE, place)
        if pieces:
            yield from (_Row(_PIECE, place, piece) for piece in line.pieces)


def _fitting(job: JobPlan, rows: list[_Row], room: float, size: float, keys: int) -> tuple[float, list[_Row], str]:
    """Return size and rows that fit: smaller text first, then lines without pieces, then as many lines as can be."""

    def needed(chosen: list[_Row], more: float = 0.0) -> float:
        return sum(row.height for row in chosen) + _PIECE + _KEY * keys + more

    if needed(rows) * LEAST_SIZE <= room:
        return min(size, room / needed(rows)), rows, ""
    rows = list(_rows(job, pieces=False))
    if needed(rows, _PIECE) * LEAST_SIZE <= room:
        return min(size, room / needed(rows, _PIECE)), rows, "their pieces: see the cut list"
    while rows and needed(rows, _PIECE) * LEAST_SIZE > room:
        rows.pop()
    return LEAST_SIZE, rows, f"and {len(job.lines) - len(rows)} more: see the cut list"


def _line_row(line: LinePlan, place: int, at: Points, right: float, size: float) -> Iterator[Shape]:
    yield from swatch(place, shifted(at, 0.0, 0.36 * size), 4.6 * size)
    start = shifted(at, 5.4 * size, 0.0)
    room = right - float(start[0])
    name = shortened(line.name, size, room, bold=True)
    yield Label(start, name, size, bold=True, line=place)
    start = shifted(start, text_width(name, size, bold=True) + 0.6 * size, 0.0)
    lever = shortened(line.lever, 0.9 * size, right - float(start[0]))
    if len(lever) > 3:
        yield Label(start, lever, 0.9 * size, "quiet text", line=place)


def swatch(place: int, at: Points, length: float) -> Iterator[Shape]:
    """Draw a bit of a line with its sign, from a point (2,) to the right."""
    yield Polyline(np.stack([at, shifted(at, length, 0.0)]), "housing", 0.9, place)
    yield Mark(shifted(at, length / 2.0, 0.0), sign(place), 2.3, "sign", place)


def _piece_row(piece: PiecePlan, place: int, at: Points, right: float, size: float) -> Iterator[Shape]:
    cut = f"{piece.first_cut:.0f} mm" if piece.first_cut is not None else "no cut"
    yield Label(np.array([right, at[1]]), cut, size, "text", "right", bold=True, line=place)
    wide = text_width(piece.tag, size, bold=True)
    badge = Box(float(at[0]), float(at[1]) - 0.38 * size, float(at[0]) + wide + 0.8 * size, float(at[1]) + 1.08 * size)
    yield Area((rounded(badge, 0.3 * size),), "tag", place)
    yield Label(shifted(at, 0.4 * size, 0.0), piece.tag, size, "tag text", bold=True, line=place)
    start = np.array([max(badge.right, float(at[0]) + 3.2 * size) + 0.5 * size, at[1]])
    room = right - float(start[0]) - text_width(cut, size, bold=True) - 0.8 * size
    yield Label(start, shortened(f"{piece.start} → {piece.end}", 0.9 * size, room), 0.9 * size, "text", line=place)


def _key(keys: list[tuple[str, str]], box: Box, size: float) -> Iterator[Shape]:
    """Draw what strokes and marks mean, along the bottom of a box."""
    top = box.bottom + len(keys) * _KEY * size
    yield Polyline(np.array([[box.left, top + 0.3 * size], [box.right, top + 0.3 * size]]), "rule")
    marks = dict(_MARKS)
    for role, words in keys:
        top -= _KEY * size
        at = np.array([box.left, top + 0.55 * size])
        if role in marks:
            yield Mark(shifted(at, 2.3 * size, 0.36 * size), "disc" if role == "station" else "square", 1.6, role)
        else:
            ends = np.stack([shifted(at, 0.0, 0.36 * size), shifted(at, 4.6 * size, 0.36 * size)])
            yield Polyline(ends, role, None, -1)
        yield Label(shifted(at, 5.4 * size, 0.0), words, 0.9 * size, "quiet text")
