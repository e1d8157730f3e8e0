"""Scenes as shapes for the bench sheet's PDF: strokes and fills in black and grey, text in an embedded typeface."""

from __future__ import annotations

from pathlib import Path

import matplotlib
from reportlab.graphics.shapes import Circle as Round
from reportlab.graphics.shapes import Drawing, Group, String
from reportlab.graphics.shapes import Path as Outline
from reportlab.lib.colors import Color, HexColor
from reportlab.lib.units import mm
from reportlab.pdfbase.pdfmetrics import registerFont
from reportlab.pdfbase.ttfonts import TTFont

from ropewalk.drawing.lettering import holds
from ropewalk.drawing.outlines import sign_outline
from ropewalk.drawing.scene import Area, Circle, Label, Mark, Points, Polyline, Scene, Shape
from ropewalk.drawing.style import CHALK, STYLES, ink

#: names the typeface is embedded under
PLAIN, BOLD = "Ropewalk", "Ropewalk-Bold"


def embed_typeface() -> None:
    """Make the typeface of all pictures, free to embed, known to the PDF writer."""
    folder = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    registerFont(TTFont(PLAIN, str(folder / "DejaVuSans.ttf")))
    registerFont(TTFont(BOLD, str(folder / "DejaVuSans-Bold.ttf")))


def shown(text: str) -> str:
    """Replace characters that the typeface does not hold."""
    return "".join(character if holds(character) else "\N{REPLACEMENT CHARACTER}" for character in text)


def grey(colour: str | None) -> Color | None:
    """Return a colour as the grey that a black and white printer makes of it, None for none."""
    if colour is None:
        return None
    red, green, blue = HexColor(colour).rgb()
    light = round(0.299 * red + 0.587 * green + 0.114 * blue, 3)
    return Color(light, light, light)


def scene_drawing(scene: Scene, width: float) -> Drawing:
    """Return a scene as a drawing of some width [mm], in greys."""
    scale = width / scene.width
    group = Group(transform=(scale * mm, 0.0, 0.0, scale * mm, 0.0, 0.0))
    for shape in scene.shapes:
        _add(shape, group)
    return Drawing(width * mm, scene.height * scale * mm, group)


def _add(shape: Shape, group: Group) -> None:
    style = STYLES[shape.role]
    if isinstance(shape, Label):
        anchor = {"left": "start", "middle": "middle", "right": "end"}[shape.align]
        group.add(
            String(
                float(shape.at[0]), float(shape.at[1]), shown(shape.text), textAnchor=anchor, fontSize=shape.size,
                fontName=BOLD if shape.bold else PLAIN, fillColor=grey(ink(style.fill, shape.line)),
            )
        )  # fmt: skip
        return
    fill, stroke = grey(ink(style.fill, shape.line)), grey(ink(style.stroke, shape.line))
    if isinstance(shape, Polyline):
        width = shape.width if shape.width is not None else style.width
        if style.halo:
            group.add(_outline((shape.points,), None, grey(CHALK), width + 2.0 * style.halo))
        line = _outline((shape.points,), None, stroke, width)
        line.strokeDashArray = list(style.dash) if style.dash else None
        line.strokeLineCap = 1 if style.round_ends else 0
        group.add(line)
    elif isinstance(shape, Area):
        group.add(_outline(shape.rings, fill, stroke, style.width))
    else:
        outline = sign_outline(shape) if isinstance(shape, Mark) else None
        if outline is not None:
            group.add(_outline((outline,), fill, stroke, style.width))
            return
        radius = shape.radius if isinstance(shape, Circle) else shape.size / 2.0
        x, y = (float(part) for part in shape.centre)
        group.add(Round(x, y, radius, fillColor=fill, strokeColor=stroke, strokeWidth=style.width))


def _outline(rings: tuple[Points, ...], fill: Color | None, stroke: Color | None, width: float) -> Outline:
    path = Outline(fillColor=fill, strokeColor=stroke, strokeWidth=width, fillMode=0, strokeLineJoin=1)
    for ring in rings:
        for place, (x, y) in enumerate(ring.tolist()):
            (path.lineTo if place else path.moveTo)(x, y)
        if fill is not None and len(ring):
            path.closePath()
    return path
