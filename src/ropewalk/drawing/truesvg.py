"""True-scale drawings as SVG: a mm of the bike is a mm of the file, a layer is a group."""

from __future__ import annotations

from collections.abc import Iterator
from xml.sax.saxutils import escape, quoteattr

from ropewalk.drawing.layerlooks import look
from ropewalk.drawing.lettering import FALLBACKS, FAMILY
from ropewalk.drawing.posing import STRAIGHT, Pose
from ropewalk.drawing.scene import Area, Box, Circle, Label, Mark, Points, Polyline, Shape
from ropewalk.drawing.style import CHALK, TAR
from ropewalk.drawing.svg import clean
from ropewalk.drawing.truescale import Layer, TrueDrawing, true_drawing
from ropewalk.workshop.jobplan import JobPlan

_ANCHORS = {"left": "start", "middle": "middle", "right": "end"}


def true_svg(job: JobPlan, pose: Pose = STRAIGHT) -> bytes:
    """Return the side view of a job at true scale as the contents of an SVG file; parameters as for `true_drawing`."""
    return write_true_svg(true_drawing(job, pose)).encode()


def write_true_svg(drawing: TrueDrawing) -> str:
    """Return a true-scale drawing as one SVG document: user units are mm, y down."""
    box = drawing.box
    width, height = _number(box.width), _number(box.height)
    family = ", ".join(f"'{name}'" if " " in name else name for name in (FAMILY, *FALLBACKS))
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}" '
        f'role="img" aria-label={quoteattr(clean(drawing.title))} font-family={quoteattr(family)} '
        'fill="none" stroke-linejoin="round" stroke-linecap="round">'
    )
    told = f"<title>{escape(clean(drawing.title))}</title><desc>{escape(clean(drawing.description))}</desc>"
    ground = f'<rect id="PAPER" width="{width}" height="{height}" fill="{CHALK}"/>'
    groups = "\n".join(_group(layer, box) for layer in drawing.layers)
    return f"{head}\n{told}\n{ground}\n{groups}\n</svg>\n"


def _group(layer: Layer, box: Box) -> str:
    shown = look(layer)
    ink = shown.colour or TAR
    dash = "" if shown.dash is None else f' stroke-dasharray="{" ".join(map(_number, shown.dash))}"'
    body = "\n".join(text for shape in layer.shapes for text in _written(shape, box, ink))
    told = f"<title>{escape(clean(layer.told))}</title>"
    opened = f'<g id={quoteattr(layer.name)} stroke="{ink}" stroke-width="{_number(2.0 * shown.width)}"{dash}>'
    return f"{opened}{told}\n{body}\n</g>"


def _written(shape: Shape, box: Box, ink: str) -> Iterator[str]:
    if isinstance(shape, Polyline):
        piece = ""
        if shape.tag is not None and shape.width is not None:
            # housing is as thick as it is, and ends where it is cut
            piece = f' stroke-width="{_number(shape.width)}" stroke-linecap="butt" data-tag={quoteattr(shape.tag)}'
        yield f'<path d="{_path(shape.points, box, closed=False)}"{piece}/>'
    elif isinstance(shape, Area):
        filled = f' fill="{ink}"' if shape.role == "dimension fill" else ""
        yield f'<path d="{"".join(_path(ring, box, closed=True) for ring in shape.rings)}"{filled}/>'
    elif isinstance(shape, Label):
        x, y = _place(shape.at, box)
        anchor = f' text-anchor="{_ANCHORS[shape.align]}"' if shape.align != "left" else ""
        yield (
            f'<text x="{x}" y="{y}" font-size="{_number(shape.size)}"{anchor} fill="{ink}" stroke="none">'
            f"{escape(clean(shape.text))}</text>"
        )
    else:
        yield _round(shape, box)


def _round(shape: Circle | Mark, box: Box) -> str:
    x, y = _place(shape.centre, box)
    if isinstance(shape, Circle):
        return f'<circle cx="{x}" cy="{y}" r="{_number(shape.radius)}"/>'
    named = f"<title>{escape(clean(shape.name))}</title>"
    return f'<circle cx="{x}" cy="{y}" r="{_number(shape.size / 2.0)}" fill="{CHALK}">{named}</circle>'


def _path(points: Points, box: Box, *, closed: bool) -> str:
    corners = "L".join(" ".join(_place(point, box)) for point in points)
    return f"M{corners}Z" if closed else f"M{corners}"


def _place(point: Points, box: Box) -> tuple[str, str]:
    return _number(float(point[0]) - box.left), _number(box.top - float(point[1]))


def _number(value: float) -> str:
    """Return a number to the thousandth of a mm, as short as can be."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
