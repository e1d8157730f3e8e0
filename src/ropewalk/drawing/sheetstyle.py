"""How the bench sheet looks: its sizes of type, none under 7.5 points, its boxes to tick, and words as paragraphs."""

from __future__ import annotations

import re
from xml.sax.saxutils import escape

from reportlab.graphics.shapes import Drawing, Rect
from reportlab.lib.colors import black
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.platypus import Paragraph

from ropewalk.drawing.pdfshapes import BOLD, PLAIN, shown

#: side of a box to tick, room between the margins [mm]
TICK, ROOM = 6.2, 190.0
#: smallest size of type [pt]: read at arm's length
LEAST = 7.5
TEXT = ParagraphStyle("text", fontName=PLAIN, fontSize=LEAST, leading=9.0)
STEP = ParagraphStyle("step", parent=TEXT, fontSize=8.0, leading=9.4)
HEAD = ParagraphStyle("head", parent=TEXT, fontName=BOLD, fontSize=9.0, leading=11.5)
#: a heading that stays with what follows it
ORDER = ParagraphStyle("order", parent=HEAD, spaceBefore=2.0, keepWithNext=1)
TITLE = ParagraphStyle("title", parent=TEXT, fontName=BOLD, fontSize=15.0, leading=18.0)
TAG = ParagraphStyle("tag", parent=TEXT, fontName=BOLD, fontSize=15.0, leading=17.0)
CUT = ParagraphStyle("cut", parent=TEXT, fontName=BOLD, fontSize=18.0, leading=18.0)
TARGET = ParagraphStyle("target", parent=TEXT, fontName=BOLD, fontSize=11.0, leading=11.5)

#: the gap between a figure and its unit, or its spread
_FIGURE = re.compile(r"(?<=\d) (?=(?:mm|N|m)\b)|(?<=±) ")


def said(words: str, style: ParagraphStyle = TEXT, *, bold: str = "") -> Paragraph:
    """Return words as a paragraph, whatever signs they hold; those in `bold` go before them.

    Figures and their units stay on one line.
    """
    first = f'<font name="{BOLD}">{escape(shown(bold))}</font> ' if bold else ""
    return Paragraph(first + escape(shown(together(words))), style)


def together(words: str) -> str:
    """Return words whose figures stay on one line with their units."""
    return _FIGURE.sub("\N{NO-BREAK SPACE}", words)


def length(mm_long: float, form: str = ".0f") -> Paragraph:
    """Return a length in large type, its unit small beside it; `form` is how the figure is written."""
    return Paragraph(f'{mm_long:{form}}<font size="{LEAST + 1.5}"> mm</font>', CUT)


def tick_box() -> Drawing:
    """Return a box to tick."""
    side = TICK * mm
    return Drawing(side, side, Rect(0, 0, side, side, fillColor=None, strokeColor=black, strokeWidth=0.9))
