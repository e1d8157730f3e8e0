"""The cockpit from above at both locks and straight ahead: three views at one scale, their names, its bar."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import accumulate, pairwise

import numpy as np

from ropewalk.drawing.badges import note_size
from ropewalk.drawing.cockpitview import cockpit_angles, cockpit_view
from ropewalk.drawing.lettering import text_width
from ropewalk.drawing.paper import Put, no_room, put, room_for_words, scale_bar, scale_for
from ropewalk.drawing.scene import Box, Label, Shape, View
from ropewalk.units import degrees
from ropewalk.workshop.jobplan import JobPlan

#: room over the views for their names, and for the scale bar under these, in sizes of text
NAMES, NAMES_AND_BAR = 1.9, 3.6
#: how high a view below others may be [mm], free room below each, and what they are made higher by until every note
#: finds room, in sizes of text
_HIGHEST, _BELOW, _HIGHER = 76.0, 1.0, (0.0, 5.0, 10.0)


def cockpits_in_row(job: JobPlan, box: Box, size: float, head: float = NAMES) -> tuple[Put, ...]:
    """Put the three views of the cockpit side by side, all at one scale, each as wide as it needs.

    Parameters
    ----------
    job : JobPlan
    box : Box
        Where they go [mm of paper].
    size, head : float
        Size of the text of tags [mm], and what stays free above the views, in such sizes.
    """
    views = _views(job)
    rooms = _shares(views, box, size)
    inner = [Box(room.left, room.bottom, room.right, room.top - head * size) for room in rooms]
    scale = min(scale_for(view, room) for view, room in zip(views, inner, strict=True))
    corner = room_for_words(box, size)
    return tuple(put(view, room, size, scale, [corner]) for view, room in zip(views, inner, strict=True))


def cockpits_in_column(job: JobPlan, left: float, right: float, size: float) -> tuple[tuple[Put, ...], tuple[Box, ...]]:
    """Put the three views of the cockpit below each other, all at one scale, on paper as high as they need.

    Parameters
    ----------
    job : JobPlan
    left, right, size : float
        Between which they go, and the size of the text of tags [mm].

    Returns
    -------
    tuple of Put, tuple of Box
        The views, and for each the part of the paper that is its own, with its name on top; the last begins at 0.
    """
    views = _views(job)
    widest, highest = (max(getattr(view.box, side) for view in views) for side in ("width", "height"))
    scale = min((right - left) / widest, _HIGHEST / highest)
    for more in _HIGHER:
        heights = [scale * view.box.height + (NAMES + _BELOW + more) * size for view in views]
        edges = list(accumulate(reversed(heights), initial=0.0))[::-1]
        rooms = tuple(Box(left, low, right, high) for high, low in pairwise(edges))
        inner = [Box(left, room.bottom + _BELOW * size, right, room.top - NAMES * size) for room in rooms]
        placed = tuple(
            put(view, room, size, scale, [room_for_words(room, size)]) for view, room in zip(views, inner, strict=True)
        )
        if not any(one.left_out for one in placed):
            break
    return placed, rooms


def _views(job: JobPlan) -> list[View]:
    return [cockpit_view(job, {"steer": angle}) for angle in cockpit_angles(job)]


def column_captions(job: JobPlan, cockpits: tuple[Put, ...], rooms: tuple[Box, ...], size: float) -> Iterator[Shape]:
    """Name the views below each other, with a bar of their scale beside the first name."""
    for name, one, room in zip(_names(job), cockpits, rooms, strict=True):
        base = room.top - size
        yield Label(np.array([room.left, base]), name, size, "quiet text")
        if room is rooms[0]:
            left = room.left + text_width(name, size) + 2.0 * size
            yield from scale_bar(one.fit.scale, left, base, 0.9 * size, room.right - left)
        yield from no_room(len(one.left_out), np.array([room.left, room.bottom]), 0.9 * size)


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


def row_captions(job: JobPlan, box: Box, cockpits: tuple[Put, ...], size: float) -> Iterator[Shape]:
    """Name the views side by side."""
    for words, centre, _ in _names_of_views(job, box, cockpits, size):
        yield Label(np.array([centre, box.top - size]), words, size, "quiet text", "middle")
    yield from no_room(sum(len(one.left_out) for one in cockpits), np.array([box.left, box.bottom]), 0.9 * size)


def _names_of_views(
    job: JobPlan, box: Box, cockpits: tuple[Put, ...], size: float
) -> tuple[tuple[str, float, float], ...]:
    """Return the names of the views, left to right, with the middle and half the width of each.

    They stand over the steering axes, or as near to these as the middle one leaves them room.
    """
    names = _names(job)
    left, middle, right = (text_width(name, size) / 2.0 for name in names)
    first, second, third = (one.fit.right for one in cockpits)
    first = max(min(first, second - middle - size - left), box.left + left)
    third = min(max(third, second + middle + size + right), box.right - right)
    return (names[0], first, left), (names[1], second, middle), (names[2], third, right)


def _names(job: JobPlan) -> tuple[str, str, str]:
    lock = f"{degrees(cockpit_angles(job)[2]):.0f}°"
    return f"left lock, {lock}", "straight ahead, from above", f"right lock, {lock}"


def bar_between(job: JobPlan, box: Box, cockpits: tuple[Put, ...], size: float) -> Iterator[Shape]:
    """Draw the scale bar in the widest gap between the names of the views."""
    edges = [box.left]
    for _, centre, half in _names_of_views(job, box, cockpits, size):
        edges += [centre - half - 2.0 * size, centre + half + 2.0 * size]
    edges.append(box.right)
    left, right = max(zip(edges[::2], edges[1::2], strict=True), key=lambda gap: gap[1] - gap[0])
    yield from scale_bar(cockpits[1].fit.scale, left, box.top - size, 0.9 * size, right - left)
