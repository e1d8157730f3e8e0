"""A chart of routings: how much of the pull arrives against one friction coefficient on every contact."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import partial

import numpy as np
from matplotlib.figure import Figure

from ropewalk.analysis.causes import Wire
from ropewalk.analysis.friction import lever_pull
from ropewalk.analysis.wireline import CONDITIONS
from ropewalk.drawing import chartpaper as paper
from ropewalk.drawing.chartpaper import MARGIN, SMALL, TEXT, Panel
from ropewalk.drawing.lettering import shortened, text_width, wrapped
from ropewalk.drawing.paper import WIDE
from ropewalk.drawing.render import contents, drawing_kind, scene_figure
from ropewalk.drawing.scene import Area, Box, Circle, Label, Mark, Points, Polyline, Scene, Shape
from ropewalk.drawing.style import sign
from ropewalk.errors import ChoiceError
from ropewalk.mechanics.capstan import Contact, pull_through
from ropewalk.workshop.candidate import Candidate
from ropewalk.workshop.compare import Comparison
from ropewalk.workshop.comparewords import rank_words

#: friction coefficients that are shown, and how many points a curve has
MOST_FRICTION, _POINTS = 0.4, 161
#: the pair of materials whose conditions are marked
PAIR = "lined housing"
#: strokes that there are, told apart by their dashes
_CURVES = 4
#: plot, and from row to row [mm]
_PLOT, _LEFT, _ROW = 92.0, 12.0, 5.4
#: where names begin beside their strokes, and what is told of them beside short names [mm]
_BESIDE, _NAME = 18.0, 50.0
_NOTE = (
    "Bars straight ahead, one friction coefficient on every contact. Beyond its ring a line no longer comes back by "
    "itself in its worst pose while riding, and its curve is thinner. Bands: wire in lined housing, 19 times in 20."
)


def friction_chart(comparisons: Sequence[Comparison]) -> Figure:
    """Return the chart of one or more comparisons as a figure, one plot below the other.

    Raises
    ------
    ChoiceError
        When no routing has a wire.
    """
    return scene_figure(chart_scene(comparisons))


def chart_drawn(comparisons: Sequence[Comparison], suffix: str, width: float = WIDE) -> bytes:
    """Return the chart as the contents of a file; the same comparison gives the same bytes.

    Parameters
    ----------
    comparisons : sequence of Comparison
    suffix : str
        ".svg", ".png" or ".pdf".
    width : float
        How wide it is [mm].

    Raises
    ------
    OutputError
        When the suffix is another one.
    ChoiceError
        When no routing has a wire.
    """
    kind = drawing_kind(suffix)
    return contents(chart_scene(comparisons, width), kind)


def chart_scene(comparisons: Sequence[Comparison], width: float = WIDE) -> Scene:
    """Return the chart as a scene; see `chart_drawn`."""
    shown = [one for one in comparisons if any(candidate.wire is not None for candidate in one.candidates)]
    if not shown:
        raise ChoiceError(f"{comparisons[0].line}: a hose has no wire, so there is no friction to chart")
    panels = [Panel(_height(one, width), partial(_panel, one, width)) for one in shown]
    title = f"{shown[0].bike}: what arrives of the pull"
    told = "; ".join(
        f"{one.line}, {candidate.name}: {candidate.release}" for one in shown for candidate in one.candidates
    )
    return paper.stacked(panels, width, title, told)


def efficiency_at(wire: Wire, friction: float) -> float:
    """Return the efficiency straight ahead with one friction coefficient on every contact."""
    row = [Contact(float(stretch.turn[wire.home]), friction, stretch.drag) for stretch in wire.stretches]
    pull = lever_pull(wire, wire.home)
    return pull_through(pull, row)[-1] / pull if row and pull > 0.0 else 1.0


def _height(one: Comparison, width: float) -> float:
    keys = sum(_ROW + paper.LINE * len(told) for _, told in _keys(one, width))
    more = paper.heading_more(_title(one), width)
    return more + 11.0 + _PLOT + 13.0 + keys + paper.notes_height(_NOTE, width) + 6.5


def _title(one: Comparison) -> str:
    return f"{one.bike}: {one.line}"


def _panel(one: Comparison, width: float, top: float) -> Iterator[Shape]:
    """Draw one comparison below a height of the paper."""
    yield from paper.heading(_title(one), width, top)
    top -= paper.heading_more(_title(one), width)
    plot = Box(MARGIN + _LEFT, top - 11.0 - _PLOT, width - MARGIN, top - 11.0)
    yield from _bands(one, plot)
    yield from _axes(plot)
    for place, candidate in enumerate(one.candidates):
        if candidate.wire is not None:
            yield from _curve(candidate, candidate.wire, place, len(one.candidates), plot)
    at = plot.bottom - 13.0
    for place, (candidate, (name, below)) in enumerate(zip(one.candidates, _keys(one, width), strict=True)):
        at -= _ROW
        yield from _key(candidate, name, below, place, at)
        at -= paper.LINE * len(below)
    yield from paper.notes(_NOTE, width, at - 1.5)


def _bands(one: Comparison, plot: Box) -> Iterator[Shape]:
    """Draw where the friction of lined housing lies in each condition."""
    for condition in CONDITIONS:
        figure = one.catalogue.friction(PAIR, condition)
        low, high = (min(max(float(figure) + side * figure.spread, 0.0), MOST_FRICTION) for side in (-1.0, 1.0))
        left, right = (float(_at(plot, end, 0.0)[0]) for end in (low, high))
        yield Area((Box(left, plot.bottom, right, plot.top).corners,), f"band {condition}")
        middle = np.array([(left + right) / 2.0, plot.top + 1.3])
        yield Label(middle, condition, SMALL, "quiet text", "middle")


def _axes(plot: Box) -> Iterator[Shape]:
    for tenth in range(5):
        foot = _at(plot, 0.1 * tenth, 0.0)
        yield Polyline(np.array([foot, [foot[0], plot.top]]), "rule")
        yield Label(foot - np.array([0.0, 4.4]), f"{0.1 * tenth:.1f}", TEXT, "text", "middle")
    for fifth in range(6):
        start = _at(plot, 0.0, 0.2 * fifth)
        yield Polyline(np.array([start, [plot.right, start[1]]]), "rule")
        yield Label(start - np.array([1.5, 1.0]), f"{20 * fifth}%", TEXT, "text", "right")
    corner = np.array([plot.left, plot.bottom])
    yield Polyline(np.array([[plot.left, plot.top], corner, [plot.right, plot.bottom]]), "dimension")
    below = np.array([(plot.left + plot.right) / 2.0, plot.bottom - 9.2])
    yield Label(below, "friction coefficient μ on every contact", TEXT, "text", "middle")
    yield Label(np.array([MARGIN, plot.top + 2.6]), "arrives", TEXT)


def _curve(candidate: Candidate, wire: Wire, place: int, count: int, plot: Box) -> Iterator[Shape]:
    """Draw a routing's curve with its sign along it, and a ring where it stops releasing."""
    role = f"curve {place % _CURVES}"
    friction = np.linspace(0.0, MOST_FRICTION, _POINTS)
    points = np.array([_at(plot, mu, efficiency_at(wire, mu)) for mu in friction.tolist()])
    limit = math.inf if candidate.plan.friction is None else candidate.plan.friction.release_reserve
    within = friction <= limit
    ring = _at(plot, limit, efficiency_at(wire, limit)) if limit <= MOST_FRICTION else None
    held, beyond = points[within], points[~within]
    if ring is not None:
        held, beyond = np.vstack([held, ring]), np.vstack([ring, beyond])
    if len(held) > 1:
        yield Polyline(held, role, line=place)
    if len(beyond) > 1:
        yield Polyline(beyond, role, 0.35, place)
    # the signs of the curves side by side where curves lie on each other
    for along in (0.03, 0.17, 0.31):
        mu = along + 0.14 * (place + 0.5) / count - 0.03
        if 0.0 < mu < MOST_FRICTION - 0.005 and abs(mu - limit) > 0.015:
            yield Mark(_at(plot, mu, efficiency_at(wire, mu)), sign(place), 2.6, "sign", place)
    if ring is not None:
        yield Circle(ring, 1.9, "station")
        yield Mark(ring, sign(place), 2.3, "sign", place)


def _keys(one: Comparison, width: float) -> list[tuple[str, tuple[str, ...]]]:
    """Return rank and name of each routing, and what is to be read off in lines below where it does not fit beside."""
    beside = paper.room(width) - _BESIDE
    keys = []
    for candidate, standing in zip(one.candidates, one.standings, strict=True):
        rank = "" if standing.rank is None else f"{rank_words(standing, one.standings)} "
        name, told = shortened(f"{rank}{candidate.name}", TEXT, beside, bold=True), _read_off(candidate)
        fits = _beyond(name) + text_width(told, TEXT) <= beside
        keys.append((name, () if fits else wrapped(told, TEXT, beside)))
    return keys


def _beyond(name: str) -> float:
    """Return how far from where a name begins there is room beside it [mm]."""
    return max(text_width(name, TEXT, bold=True) + 4.0, _NAME)


def _key(candidate: Candidate, name: str, below: tuple[str, ...], place: int, at: float) -> Iterator[Shape]:
    """Draw what a routing's stroke looks like, its rank and name, and beside or below them what is to be read off."""
    middle = at + 1.0
    if candidate.wire is not None:
        yield Polyline(np.array([[MARGIN, middle], [MARGIN + 15.0, middle]]), f"curve {place % _CURVES}", line=place)
        yield Mark(np.array([MARGIN + 7.5, middle]), sign(place), 2.6, "sign", place)
    start = MARGIN + _BESIDE
    yield Label(np.array([start, at]), name, TEXT, bold=True, line=place)
    if not below:
        yield Label(np.array([start + _beyond(name), at]), _read_off(candidate), TEXT)
    for line, told in enumerate(below, start=1):
        yield Label(np.array([start, at - paper.LINE * line]), told, TEXT)


def _read_off(candidate: Candidate) -> str:
    if candidate.wire is None:
        return "a hose has no wire"
    told = ", ".join(f"{candidate.efficiency[condition].value:.0%} {condition}" for condition in CONDITIONS)
    release = None if candidate.plan.friction is None else candidate.plan.friction.release
    if release is None:
        return f"arrives: {told}; no release figure"
    if math.isinf(release.reserve):
        return f"arrives: {told}; always comes back"
    off = ", off the chart" if release.reserve > MOST_FRICTION else ""
    return f"arrives: {told}; comes back to μ {release.reserve:.2f}{off}"


def _at(plot: Box, friction: float, efficiency: float) -> Points:
    """Return where a point of the plot lies on the paper (2,)."""
    return np.array([plot.left + plot.width * friction / MOST_FRICTION, plot.bottom + plot.height * efficiency])
