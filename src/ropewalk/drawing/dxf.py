"""True-scale drawings as DXF of release 2010, in millimetres; the same drawing gives the same bytes."""

from __future__ import annotations

import io
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from ropewalk.drawing.layerlooks import Look, look
from ropewalk.drawing.posing import STRAIGHT, Pose
from ropewalk.drawing.scene import Area, Circle, Label, Mark, Points, Polyline, Shape
from ropewalk.drawing.truescale import Layer, TrueDrawing, true_drawing
from ropewalk.errors import OutputError
from ropewalk.workshop.jobplan import JobPlan

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts import BlockLayout, Modelspace

#: release 2010, the style of text, the block of a station, the longest text and name of a line that is handed on
RELEASE, STYLE, STATION, LONGEST = "R2010", "ROPEWALK", "ROPEWALK-STATION", 240
#: the capitals of the typeface stand so high, in sizes of text
_CAPITALS = 0.73
_TYPEFACE = "DejaVuSans.ttf"
#: kinds of characters that no text shows: controls, halves of signs, ends of lines
_UNSHOWN = ("Cc", "Cs", "Zl", "Zp")
WITHOUT = "a drawing in .dxf needs a library that is not installed: pip install 'ropewalk[dxf]'"


def need_dxf() -> None:
    """Raise an `OutputError` of one line where what writes DXF is not installed."""
    try:
        import ezdxf  # noqa: F401
    except ImportError:
        raise OutputError(WITHOUT) from None


def dxf(job: JobPlan, pose: Pose = STRAIGHT) -> bytes:
    """Return the side view of a job at true scale as the contents of a DXF file.

    Parameters
    ----------
    job : JobPlan
    pose : mapping of str to float
        Steering angle, positive to the rider's right, and what else moves [rad, mm].

    Raises
    ------
    OutputError
        When the library that writes it is not installed.
    ChoiceError
        When the bike does not move so, or not so far.
    """
    need_dxf()
    return write_dxf(true_drawing(job, pose))


def write_dxf(drawing: TrueDrawing) -> bytes:
    """Return a true-scale drawing as the contents of a DXF file."""
    import ezdxf
    from ezdxf import units

    with _nothing_of_today():
        made = ezdxf.new(RELEASE, units=units.MM)
        made.header["$MEASUREMENT"] = 1
        made.header["$LTSCALE"] = 1.0
        made.header.custom_vars.append("Title", escaped(drawing.title))
        made.styles.add(STYLE, font=_TYPEFACE)
        _station_block(made.blocks.new(STATION))
        space = made.modelspace()
        for layer in drawing.layers:
            _add_layer(made, layer)
            for shape in layer.shapes:
                _add(space, shape, layer)
            for course in layer.courses:
                space.add_polyline3d(course.tolist(), dxfattribs={"layer": layer.name})
        box = drawing.box
        made.header["$EXTMIN"], made.header["$EXTMAX"] = (box.left, box.bottom, 0.0), (box.right, box.top, 0.0)
        middle = ((box.left + box.right) / 2.0, (box.bottom + box.top) / 2.0)
        made.set_modelspace_vport(height=1.05 * max(box.height, box.width / 1.6), center=middle)
        stream = io.StringIO()
        made.write(stream)
    return stream.getvalue().encode(made.output_encoding, errors="dxfreplace")


@contextmanager
def _nothing_of_today() -> Iterator[None]:
    """Keep dates and marks of this very run out of files."""
    from ezdxf import options

    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


def _add_layer(made: Drawing, layer: Layer) -> None:
    shown: Look = look(layer)
    pattern = "CONTINUOUS" if shown.dash is None else f"ROPEWALK-{len(shown.dash)}"
    if shown.dash is not None and pattern not in made.linetypes:
        # dashes are positive, gaps negative
        parts = [part if place % 2 == 0 else -part for place, part in enumerate(shown.dash)]
        made.linetypes.add(pattern, [sum(shown.dash), *parts], description="broken")
    added = made.layers.add(layer.name, linetype=pattern, lineweight=round(100.0 * shown.width))
    if shown.colour is not None:
        red, green, blue = bytes.fromhex(shown.colour[1:])
        added.rgb = (red, green, blue)
    added.description = escaped(layer.told)
    if layer.courses:
        added.off()


def _station_block(block: BlockLayout) -> None:
    """Draw a station's sign, a mm across, with a point to snap to and what is known of it, unseen."""
    block.add_circle((0.0, 0.0), 0.5, dxfattribs={"layer": "0"})
    block.add_point((0.0, 0.0), dxfattribs={"layer": "0"})
    block.add_attdef("NAME", (0.0, 0.0), dxfattribs={"layer": "0", "height": 1.0, "flags": 1, "style": STYLE})


def _add(space: Modelspace, shape: Shape, layer: Layer) -> None:
    on: dict[str, Any] = {"layer": layer.name}
    if isinstance(shape, Polyline):
        space.add_lwpolyline(_rounded(shape.points), dxfattribs=on)
    elif isinstance(shape, Area):
        for ring in shape.rings:
            space.add_lwpolyline(_rounded(ring), close=True, dxfattribs=on)
        if shape.role == "dimension fill":
            space.add_solid([tuple(point) for point in shape.rings[0].tolist()], dxfattribs=on)
    elif isinstance(shape, Circle):
        space.add_circle(tuple(shape.centre.tolist()), shape.radius, dxfattribs=on)
    elif isinstance(shape, Mark):
        scale = {"xscale": shape.size, "yscale": shape.size, "zscale": shape.size}
        sign = space.add_blockref(STATION, tuple(shape.centre.tolist()), dxfattribs={**on, **scale})
        known = {**on, "height": shape.size, "style": STYLE, "flags": 1}
        sign.add_attrib("NAME", escaped(shape.name), tuple(shape.centre.tolist()), dxfattribs=known)
    else:
        _write(space, shape, on)


def _write(space: Modelspace, label: Label, on: dict[str, Any]) -> None:
    from ezdxf.enums import TextEntityAlignment

    aligned = {"middle": TextEntityAlignment.CENTER, "right": TextEntityAlignment.RIGHT}
    text = space.add_text(
        escaped(label.text), height=_CAPITALS * label.size, dxfattribs={**on, "style": STYLE, "linetype": "CONTINUOUS"}
    )
    text.set_placement(tuple(label.at.tolist()), align=aligned.get(label.align, TextEntityAlignment.LEFT))


def _rounded(points: Points) -> list[tuple[float, ...]]:
    """Return points to the millionth of a mm, so that the last bits of a sum leave no trace."""
    return [tuple(round(value, 6) + 0.0 for value in point) for point in points.tolist()]


def escaped(text: str) -> str:
    r"""Return text as a DXF reader gives it back, on one line.

    Notes
    -----
    What would start a code and cannot be written otherwise is parted by a space. What controls, and halves of signs,
    become a replacement character.

    Examples
    --------
    >>> print(escaped("5^2 at 90%%d, \\U+0041"))
    5^ 2 at 90% %d, \U +0041
    """
    shown = "".join("\N{REPLACEMENT CHARACTER}" if unicodedata.category(sign) in _UNSHOWN else sign for sign in text)
    shown = shown if len(shown) <= LONGEST else f"{shown[: LONGEST - 1]}…"
    shown = shown.replace("^", "^ ").replace("\\U+", "\\U +").replace("\\M+", "\\M +")
    while "%%" in shown:
        shown = shown.replace("%%", "% %")
    return shown
