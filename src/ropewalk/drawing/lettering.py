"""How wide text is, so that it can be placed before it is drawn.

Measured in the typeface that pictures embed; the typefaces that a browser may put in its stead run narrower.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import matplotlib
from matplotlib.ft2font import FT2Font, LoadFlags

#: height of a line of text, and how far it reaches above and below its baseline, in sizes
LEADING, ASCENT, DESCENT = 1.3, 0.78, 0.24
#: the typeface of every picture, and what may stand in for it in a browser
FAMILY = "DejaVu Sans"
FALLBACKS = ("Verdana", "Segoe UI", "Noto Sans", "Helvetica", "Arial", "sans-serif")
#: width of a character that the typeface does not hold, in sizes
_UNKNOWN = 1.0


@lru_cache(maxsize=2)
def _face(*, bold: bool) -> FT2Font:
    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    face = FT2Font(str(Path(matplotlib.get_data_path()) / "fonts" / "ttf" / name))
    face.set_size(100.0, 72)
    return face


@lru_cache(maxsize=4096)
def _advance(character: str, *, bold: bool) -> float:
    face = _face(bold=bold)
    if not face.get_char_index(ord(character)):
        return _UNKNOWN
    return float(face.load_char(ord(character), flags=LoadFlags.NO_HINTING).linearHoriAdvance) / 65536.0 / 100.0


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Return the width of a line of text of that size, in the units of the size.

    Examples
    --------
    >>> text_width("", 3.0)
    0.0
    >>> text_width("WW", 3.0) > text_width("ll", 3.0)
    True
    """
    return size * sum(_advance(character, bold=bold) for character in text)


def holds(character: str) -> bool:
    """Whether the typeface has the character."""
    return bool(_face(bold=False).get_char_index(ord(character)))


def shortened(text: str, size: float, room: float, *, bold: bool = False) -> str:
    """Return text cut to the room there is, with an ellipsis where something was cut.

    Examples
    --------
    >>> shortened("down tube stop", 3.0, 100.0)
    'down tube stop'
    >>> shortened("down tube stop", 3.0, 15.0)
    'down t…'
    """
    if text_width(text, size, bold=bold) <= room:
        return text
    while text and text_width(text + "…", size, bold=bold) > room:
        text = text[:-1].rstrip()
    return text + "…"


def wrapped(text: str, size: float, room: float, *, bold: bool = False) -> tuple[str, ...]:
    """Return text in lines that fit the room there is; a word that does not fit a line is cut.

    Examples
    --------
    >>> wrapped("down tube stop", 3.0, 20.0)
    ('down tube', 'stop')
    """
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size, bold=bold) <= room:
            lines[-1] = longer
        else:
            lines.append(shortened(word, size, room, bold=bold))
    return tuple(lines)
