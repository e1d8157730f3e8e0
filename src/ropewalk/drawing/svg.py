"""Scenes written as SVG, text as text; the same scene gives the same bytes."""

from __future__ import annotations

from collections.abc import Iterator
from xml.sax.saxutils import escape, quoteattr

import numpy as np

from ropewalk.drawing.lettering import FALLBACKS, FAMILY
from ropewalk.drawing.outlines import sign_outline
from ropewalk.drawing.scene import Area, Label, Mark, Points, Polyline, Scene, Shape
from ropewalk.drawing.style import CHALK, STYLES, Style, ink

#: units of the picture in a mm: browsers round small sizes of type
UNITS = 10.0
_ANCHORS = {"left": "start", "middle": "middle", "right": "end"}


def write_svg(scene: Scene) -> str:
    """Return a scene as one SVG document.

    Notes
    -----
    Characters that XML cannot carry are replaced; everything that people wrote is escaped.
    """
    width, height = scene.width, scene.height
    family = ", ".join(f"'{name}'" if " " in name else name for name in (FAMILY, *FALLBACKS))
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_number(width)}mm" height="{_number(height)}mm" '
        f'viewBox="0 0 {_number(width * UNITS)} {_number(height * UNITS)}" role="img" '
        f"aria-label={quoteattr(clean(scene.title))} font-family={quoteattr(family)} "
        'text-rendering="geometricPrecision" stroke-linejoin="round">'
    )
    told = f"<title>{escape(clean(scene.title))}</title><desc>{escape(clean(scene.description))}</desc>"
    body = "\n".join(text for shape in scene.shapes for text in _written(shape, height))
    return f"{head}\n{told}\n{body}\n</svg>\n"


def _written(shape: Shape, height: float) -> Iterator[str]:
    style = STYLES[shape.role]
    if isinstance(shape, Label):
        yield _text(shape, style, height)
    elif isinstance(shape, Polyline):
        yield from _stroke(shape, style, height)
    elif isinstance(shape, Area):
        rings = "".join(_path(ring, height, closed=True) for ring in shape.rings)
        rule = ' fill-rule="evenodd"' if len(shape.rings) > 1 else ""
        yield f'<path d="{rings}"{rule}{_paint(style, shape.line)}/>'
    else:
        outline = sign_outline(shape) if isinstance(shape, Mark) else None
        if outline is not None:
            yield f'<path d="{_path(outline, height, closed=True)}"{_paint(style, shape.line)}/>'
            return
        x, y = _paper(shape.centre, height)
        radius = shape.size / 2.0 if isinstance(shape, Mark) else shape.radius
        yield (
            f'<circle cx="{_number(x)}" cy="{_number(y)}" r="{_number(radius * UNITS)}"{_paint(style, shape.line)}/>'
        )


def _text(label: Label, style: Style, height: float) -> str:
    x, y = _paper(label.at, height)
    anchor = f' text-anchor="{_ANCHORS[label.align]}"' if label.align != "left" else ""
    weight = ' font-weight="bold"' if label.bold else ""
    return (
        f'<text x="{_number(x)}" y="{_number(y)}" font-size="{_number(label.size * UNITS)}"{anchor}{weight} '
        f'fill="{ink(style.fill, label.line)}">{escape(clean(label.text))}</text>'
    )


def _stroke(line: Polyline, style: Style, height: float) -> Iterator[str]:
    path = _path(line.points, height, closed=False)
    width = line.width if line.width is not None else style.width
    ends = ' stroke-linecap="round"' if style.round_ends else ""
    if style.halo:
        wide = _number((width + 2.0 * style.halo) * UNITS)
        yield f'<path d="{path}" fill="none" stroke="{CHALK}" stroke-width="{wide}" stroke-linecap="butt"/>'
    dash = "" if style.dash is None else f' stroke-dasharray="{" ".join(_number(part * UNITS) for part in style.dash)}"'
    colour = ink(style.stroke, line.line)
    yield f'<path d="{path}" fill="none" stroke="{colour}" stroke-width="{_number(width * UNITS)}"{ends}{dash}/>'


def _paint(style: Style, line: int | None) -> str:
    fill = ink(style.fill, line) or "none"
    stroke = ink(style.stroke, line)
    edge = "" if stroke is None else f' stroke="{stroke}" stroke-width="{_number(style.width * UNITS)}"'
    return f' fill="{fill}"{edge}'


def _path(points: Points, height: float, *, closed: bool) -> str:
    flat = np.stack([points[:, 0], height - points[:, 1]], axis=1) * UNITS
    corners = "L".join(f"{_number(x)} {_number(y)}" for x, y in flat.tolist())
    return f"M{corners}Z" if closed else f"M{corners}"


def _paper(point: Points, height: float) -> tuple[float, float]:
    return float(point[0]) * UNITS, (height - float(point[1])) * UNITS


def _number(value: float) -> str:
    """Return a number in tenths of a unit, as short as can be."""
    text = f"{value:.1f}"
    return "0" if text == "-0.0" else text.removesuffix(".0")


def clean(text: str) -> str:
    """Return text with replacements for characters that XML 1.0 cannot carry."""

    def allowed(code: int) -> bool:
        return code in (0x9, 0xA, 0xD) or 0x20 <= code <= 0xD7FF or 0xE000 <= code <= 0xFFFD or code >= 0x10000

    return "".join(character if allowed(ord(character)) else "\N{REPLACEMENT CHARACTER}" for character in text)
