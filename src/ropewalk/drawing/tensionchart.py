"""A chart of tension along a line's wire: pulled and let back, against the distance from the lever, spans marked."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from itertools import pairwise

import numpy as np

from ropewalk.drawing import chartpaper as paper
from ropewalk.drawing.chartpaper import MARGIN, TEXT, Panel
from ropewalk.drawing.lettering import wrapped
from ropewalk.drawing.paper import WIDE
from ropewalk.drawing.render import contents, drawing_kind
from ropewalk.drawing.scene import Box, Label, Mark, Points, Polyline, Scene, Shape
from ropewalk.drawing.style import sign
from ropewalk.mechanics.capstan import Contact
from ropewalk.workshop.frictionplan import FrictionPlan

#: plot, and from row to row [mm]
_PLOT, _LEFT, _ROW = 62.0, 14.0, 4.6
#: rows of figures round the plots: titles, ticks, space
_ABOVE, _BELOW, _BETWEEN = 14.0, 11.0, 12.0
#: what stands over the plots
_WAYS = {"pulling": "N, pulled from the lever", "releasing": "N, let back: what the return spring draws with"}
_NOTE = "Pulled from the lever, tension falls on its way; let back, the return spring's pull falls towards the lever."


def tension_chart(lines: Sequence[FrictionPlan], suffix: str, width: float = WIDE) -> bytes:
    """Return the chart of one or more lines, one below the other, as the contents of a file.

    Parameters
    ----------
    lines : sequence of FrictionPlan
    suffix : str
        ".svg", ".png" or ".pdf".
    width : float
        How wide it is [mm].

    Raises
    ------
    OutputError
        When the suffix is another one.
    """
    kind = drawing_kind(suffix)
    return contents(chart_scene(lines, width), kind)


def chart_scene(lines: Sequence[FrictionPlan], width: float = WIDE) -> Scene:
    """Return the chart as a scene."""
    panels = [Panel(_height(line, width), partial(_panel, line, width)) for line in lines]
    told = "; ".join(f"{line.line}: {line.release}" for line in lines)
    return paper.stacked(panels, width, f"{lines[0].bike}: tension along its wires", told)


def _height(line: FrictionPlan, width: float) -> float:
    ways = sum(len(_way_told(way, width)) - 1 for way in _WAYS)
    rows = len(_key_rows(line, width)) + len(_label_rows(line, width))
    more = paper.heading_more(_title(line), width) + paper.notes_height(_NOTE, width)
    return more + _ABOVE + 2.0 * _PLOT + _BETWEEN + _BELOW + _ROW * (ways + rows) + 6.0


def _title(line: FrictionPlan) -> str:
    return f"{line.bike}: {line.line}, {line.at}"


def _way_told(way: str, width: float) -> tuple[str, ...]:
    return wrapped(_WAYS[way], TEXT, paper.room(width))


def _key_rows(line: FrictionPlan, width: float) -> list[tuple[int | None, str]]:
    """Return the rows of the key: the place of a condition where it begins, and a line of what is told of it."""
    rows: list[tuple[int | None, str]] = []
    for place, condition in enumerate(line.profiles):
        arrives = line.friction.efficiency[condition].value
        told = f"{condition}: {arrives:.0%} of the pull arrives straight ahead"
        lines = wrapped(told, TEXT, paper.room(width) - 18.0)
        rows += [(None if number else place, text) for number, text in enumerate(lines)]
    return rows


def _label_rows(line: FrictionPlan, width: float) -> list[tuple[int | None, str]]:
    """Return the rows that name the stretches: the number of one where it begins, and a line of its name."""
    rows: list[tuple[int | None, str]] = []
    for number, label in enumerate(line.labels, start=1):
        lines = wrapped(label, TEXT, paper.room(width) - 8.0)
        rows += [(None if at else number, text) for at, text in enumerate(lines)]
    return rows


def _panel(line: FrictionPlan, width: float, top: float) -> Iterator[Shape]:
    """Draw one line below a height of the paper: pulling, releasing, the key of conditions, the names of stretches."""
    yield from paper.heading(_title(line), width, top)
    at = top - paper.heading_more(_title(line), width) - _ABOVE + _BETWEEN
    for way in _WAYS:
        told = _way_told(way, width)
        at -= _BETWEEN + _ROW * (len(told) - 1)
        for number, text in enumerate(reversed(told)):
            yield Label(np.array([MARGIN, at + 3.0 + _ROW * number]), text, TEXT)
        plot = Box(MARGIN + _LEFT, at - _PLOT, width - MARGIN, at)
        yield from _plot(line, plot, way)
        at = plot.bottom
    middle = np.array([(plot.left + plot.right) / 2, at - 9.0])
    yield Label(middle, "mm from the lever", TEXT, "text", "middle")
    at -= _BELOW
    for place, text in _key_rows(line, width):
        at -= _ROW
        if place is not None:
            yield Polyline(np.array([[MARGIN, at + 1.0], [MARGIN + 15.0, at + 1.0]]), f"curve {place}", line=place)
            yield Mark(np.array([MARGIN + 7.5, at + 1.0]), sign(place), 2.6, "sign", place)
        yield Label(np.array([MARGIN + 18.0, at]), text, TEXT)
    at -= 1.0
    for stretch, text in _label_rows(line, width):
        at -= _ROW
        if stretch is not None:
            yield Label(np.array([MARGIN, at]), f"{stretch}", TEXT, bold=True)
        yield Label(np.array([MARGIN + 8.0, at]), text, TEXT)
    yield from paper.notes(_NOTE, width, at)


def _plot(line: FrictionPlan, plot: Box, way: str) -> Iterator[Shape]:
    profiles = list(line.profiles.values())
    distance = profiles[0].distance
    most = _round_up(max(float(getattr(one, way).max()) for one in profiles))
    yield from _axes(plot, distance, most)
    for place, profile in enumerate(profiles):
        yield from _curve(line, place, way, plot, distance, most)
        ends = np.array(
            [
                _at(plot, float(d), float(t), distance, most)
                for d, t in zip(distance, getattr(profile, way), strict=True)
            ]
        )
        for end in ends[:: max(len(ends) // 4, 1)]:
            yield Mark(end, sign(place), 2.3, "sign", place)


def _curve(line: FrictionPlan, place: int, way: str, plot: Box, distance: Points, most: float) -> Iterator[Shape]:
    """Draw tension in one condition: within a stretch it changes as an exponential, at its end a drag is a step."""
    profile = list(line.profiles.values())[place]
    tension = getattr(profile, way)
    points = []
    for at, stretch in enumerate(line.stretches):
        near, far = float(tension[at]), float(tension[at + 1])
        contact = Contact(float(stretch.turn[profile.pose]), 0.0, stretch.drag)
        # a drag sits at the far side: what the bends leave before it
        bent = far + contact.drag if way == "pulling" else max(far - contact.drag, 0.0)
        share = np.linspace(0.0, 1.0, 13)
        along = near * (bent / near) ** share if near > 0.0 and bent > 0.0 else near + share * (bent - near)
        points += [
            _at(plot, float(d), float(t), distance, most)
            for d, t in zip(distance[at] + share * (distance[at + 1] - distance[at]), along, strict=True)
        ]
        points.append(_at(plot, float(distance[at + 1]), far, distance, most))
    yield Polyline(np.array(points), f"curve {place}", line=place)


def _axes(plot: Box, distance: Points, most: float) -> Iterator[Shape]:
    for fifth in range(6):
        start = _at(plot, 0.0, most * fifth / 5.0, distance, most)
        yield Polyline(np.array([start, [plot.right, start[1]]]), "rule")
        yield Label(start - np.array([1.5, 1.0]), f"{most * fifth / 5.0:g}", TEXT, "text", "right")
    for number, (low, high) in enumerate(pairwise(distance), start=1):
        left = _at(plot, float(low), 0.0, distance, most)
        right = _at(plot, float(high), 0.0, distance, most)
        yield Polyline(np.array([right, [right[0], plot.top]]), "faint")
        if right[0] - left[0] > 4.0:
            yield Label(
                np.array([(left[0] + right[0]) / 2, plot.bottom + 1.6]), f"{number}", TEXT, "text", "middle", bold=True
            )
    for end in (0.0, float(distance[-1])):
        foot = _at(plot, end, 0.0, distance, most)
        yield Label(foot - np.array([0.0, 4.4]), f"{end:.0f}", TEXT, "text", "middle")
    corner = np.array([plot.left, plot.bottom])
    yield Polyline(np.array([[plot.left, plot.top], corner, [plot.right, plot.bottom]]), "dimension")


def _round_up(value: float) -> float:
    """Return a round figure that is not below a tension, for the top of an axis."""
    if value <= 0.0:
        return 1.0
    scale = 10.0 ** np.floor(np.log10(value))
    return float(
        next(step * scale for step in (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0) if step * scale >= value)
    )


def _at(plot: Box, along: float, tension: float, distance: Points, most: float) -> Points:
    """Return where a point of the plot lies on the paper (2,)."""
    return np.array([plot.left + plot.width * along / float(distance[-1]), plot.bottom + plot.height * tension / most])
