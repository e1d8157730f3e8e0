"""Pictures of a job: figures, SVG text and the contents of files.

Figures are made without any global state, so that threads may draw at the same time.
"""

from __future__ import annotations

import io
from typing import Any, Literal

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch
from matplotlib.path import Path as Outline

from ropewalk.drawing.lettering import FAMILY, holds
from ropewalk.drawing.outlines import sign_outline
from ropewalk.drawing.pagepictures import cockpit_picture, side_picture
from ropewalk.drawing.posing import STRAIGHT, Pose
from ropewalk.drawing.scene import Area, Label, Mark, Points, Polyline, Scene, Shape
from ropewalk.drawing.sheet import sheet
from ropewalk.drawing.style import CHALK, STYLES, Style, ink
from ropewalk.drawing.svg import write_svg
from ropewalk.errors import OutputError
from ropewalk.workshop.jobplan import JobPlan

#: points in a mm, mm in an inch
POINTS, INCH = 72.0 / 25.4, 25.4
#: dots per inch of a PNG
DOTS = 200
SUFFIXES = (".svg", ".png", ".pdf")


def figure(job: JobPlan, pose: Pose = STRAIGHT) -> Figure:
    """Return the sheet of a job as a figure of A4 across.

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
    return scene_figure(sheet(job, pose))


def svg(job: JobPlan, pose: Pose = STRAIGHT, *, narrow: bool = False) -> str:
    """Return the side view as SVG text, for a page or a phone; parameters as for `side_picture`."""
    return write_svg(side_picture(job, pose, narrow=narrow))


def cockpit_svg(job: JobPlan, *, narrow: bool = False) -> str:
    """Return the cockpit from above at both locks and straight ahead as SVG text, for a page or a phone."""
    return write_svg(cockpit_picture(job, narrow=narrow))


def drawn(job: JobPlan, suffix: str, pose: Pose = STRAIGHT) -> bytes:
    """Return the sheet of a job as the contents of a file; the same job gives the same bytes.

    Parameters
    ----------
    job : JobPlan
    suffix : str
        ".svg", ".png" or ".pdf".
    pose : mapping of str to float
        Pose of the side view: steering angle, positive to the rider's right, and what else moves [rad, mm].

    Raises
    ------
    OutputError
        When the suffix is another one.
    ChoiceError
        When the bike does not move so, or not so far.
    """
    kind = drawing_kind(suffix)
    return contents(sheet(job, pose), kind)


def drawing_kind(suffix: str) -> str:
    """Return the suffix of a drawing in small letters, or raise an `OutputError` that lists those there are."""
    kind = suffix.lower()
    if kind not in SUFFIXES:
        raise OutputError(f'"{suffix}" is no kind of drawing: end the file\'s name in {", ".join(SUFFIXES)}')
    return kind


def contents(scene: Scene, kind: str) -> bytes:
    """Return a scene as the contents of a file of one of the `SUFFIXES`; the same scene gives the same bytes."""
    if kind == ".svg":
        return write_svg(scene).encode()
    # dates left out, so that nothing but the job decides the bytes
    known: dict[str, Any] = {"Title": _shown(scene.title)}
    known |= (
        {"Creator": "Ropewalk", "Producer": None, "CreationDate": None} if kind == ".pdf" else {"Software": "Ropewalk"}
    )
    stream = io.BytesIO()
    scene_figure(scene).savefig(stream, format=kind[1:], dpi=DOTS, metadata=known, bbox_inches=None)
    return stream.getvalue()


def scene_figure(scene: Scene) -> Figure:
    """Return a figure of a scene's size with the scene drawn on its only axes."""
    made = Figure(figsize=(scene.width / INCH, scene.height / INCH), facecolor=CHALK)
    FigureCanvasAgg(made)
    draw_scene(scene, made.add_axes((0.0, 0.0, 1.0, 1.0)))
    return made


def draw_scene(scene: Scene, axes: Axes) -> None:
    """Draw a scene on axes, which become as many mm wide and high as the scene is.

    Notes
    -----
    Widths of strokes and sizes of text are true on paper when the axes have the scene's size.
    """
    axes.set_axis_off()
    axes.set_xlim(0.0, scene.width)
    axes.set_ylim(0.0, scene.height)
    for order, shape in enumerate(scene.shapes):
        _draw(shape, axes, float(order))


def _draw(shape: Shape, axes: Axes, order: float) -> None:
    style = STYLES[shape.role]
    if isinstance(shape, Label):
        axes.text(
            float(shape.at[0]),
            float(shape.at[1]),
            _shown(shape.text),
            family=FAMILY,
            size=shape.size * POINTS,
            weight="bold" if shape.bold else "normal",
            color=ink(style.fill, shape.line),
            ha="center" if shape.align == "middle" else shape.align,
            va="baseline",
            zorder=order,
            parse_math=False,
        )
    elif isinstance(shape, Polyline):
        _stroke(shape, style, axes, order)
    elif isinstance(shape, Area):
        _fill(_compound(shape.rings), style, shape.line, axes, order)
    else:
        outline = sign_outline(shape) if isinstance(shape, Mark) else None
        radius = shape.size / 2.0 if isinstance(shape, Mark) else shape.radius
        path = Outline.circle(tuple(shape.centre.tolist()), radius) if outline is None else _compound((outline,))
        _fill(path, style, shape.line, axes, order)


def _compound(rings: tuple[Points, ...]) -> Outline:
    """Return closed rings as one path; holes run the other way round."""
    parts = []
    for place, ring in enumerate(rings):
        closed = np.concatenate([ring, ring[:1]])
        x, y = closed.T
        clockwise = float(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1])) < 0.0
        parts.append(Outline(closed[::-1] if clockwise == (place == 0) else closed, closed=True))
    return Outline.make_compound_path(*parts)


def _fill(path: Outline, style: Style, line: int | None, axes: Axes, order: float) -> None:
    patch = PathPatch(
        path,
        facecolor=ink(style.fill, line) or "none",
        edgecolor=ink(style.stroke, line) or "none",
        linewidth=style.width * POINTS,
        joinstyle="round",
        zorder=order,
    )
    axes.add_artist(patch)


def _stroke(line: Polyline, style: Style, axes: Axes, order: float) -> None:
    width = line.width if line.width is not None else style.width
    path = Outline(line.points)
    if style.halo:
        _line(path, CHALK, width + 2.0 * style.halo, "butt", axes, order)
    drawn_line = _line(path, ink(style.stroke, line.line), width, "round" if style.round_ends else "butt", axes, order)
    if style.dash is not None:
        # a figure may be set to count dashes in widths of the stroke, or in points
        unit = width if matplotlib.rcParams["lines.scale_dashes"] else 1.0 / POINTS
        drawn_line.set_linestyle((0.0, tuple(part / unit for part in style.dash)))


def _line(
    path: Outline, colour: str | None, width: float, ends: Literal["butt", "round"], axes: Axes, order: float
) -> PathPatch:
    patch = PathPatch(
        path,
        fill=False,
        edgecolor=colour,
        linewidth=width * POINTS,
        capstyle=ends,
        joinstyle="round",
        zorder=order,
    )
    axes.add_artist(patch)
    return patch


def _shown(text: str) -> str:
    """Replace characters that the typeface does not hold."""
    return "".join(character if holds(character) else "\N{REPLACEMENT CHARACTER}" for character in text)
