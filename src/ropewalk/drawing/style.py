"""How each role looks: tar and hemp for the bike, chalk for the ground, one signal colour and sign for each line."""

from __future__ import annotations

from dataclasses import dataclass

from ropewalk.drawing.scene import Sign

CHALK = "#ffffff"
TAR = "#2c2018"
#: outline of the bike, of what is only hinted at, and of the ground
BARK, STRAW, SAND = "#6a523d", "#a7937a", "#d8cbb6"

#: colours of the lines: at least 3 : 1 against chalk, and told apart by every kind of colour sight
#: (22 units of CIELAB or more between any two, also as simulated for the three kinds of colour blindness)
SIGNALS = ("#243a94", "#a83206", "#05766c", "#d070b4", "#b09010", "#24150e")
#: signs of the lines; five and six have no common factor, so the pairs repeat after thirty lines only
SIGNS: tuple[Sign, ...] = ("disc", "square", "triangle", "diamond", "cross")


@dataclass(frozen=True, slots=True)
class Style:
    """Fill and stroke, None for none; widths and dashes in mm of paper. "line" stands for the line's own colour."""

    fill: str | None = None
    stroke: str | None = None
    width: float = 0.0
    dash: tuple[float, float] | None = None
    #: width of the chalk on either side that keeps a stroke clear of what it crosses
    halo: float = 0.0
    round_ends: bool = True


STYLES: dict[str, Style] = {
    "paper": Style(fill=CHALK),
    "ground": Style(stroke=SAND, width=0.35),
    "tyre": Style(fill="#93806b", stroke=BARK, width=0.2),
    "rim": Style(fill="#e9dfcf", stroke=STRAW, width=0.15),
    "spoke": Style(stroke="#e2d8c8", width=0.15),
    "tube": Style(fill="#e6d8bf", stroke=BARK, width=0.3),
    "far tube": Style(fill="#d3c2a6", stroke=BARK, width=0.25),
    "metal": Style(fill="#cdc3b5", stroke=BARK, width=0.25),
    "bar": Style(fill="#d9cdbb", stroke=BARK, width=0.25),
    "tape": Style(fill="#7d6954", stroke=BARK, width=0.25),
    "lever": Style(fill="#b7a68f", stroke=BARK, width=0.25),
    "hint": Style(fill="#f5efe4", stroke=STRAW, width=0.2),
    "faint": Style(stroke=STRAW, width=0.2),
    "housing": Style(stroke="line", width=0.8, halo=0.3),
    "inside housing": Style(stroke="line", width=0.8, dash=(1.7, 1.1), round_ends=False),
    "inner": Style(stroke="line", width=0.35, halo=0.15),
    "inside inner": Style(stroke="line", width=0.4, dash=(1.3, 0.9), round_ends=False),
    "rigid": Style(stroke="line", width=0.6, halo=0.25),
    "sign": Style(fill="line", stroke=CHALK, width=0.2),
    "station": Style(fill=CHALK, stroke=TAR, width=0.3),
    "part": Style(fill="#e2c26a", stroke=TAR, width=0.3),
    "leader": Style(stroke=TAR, width=0.2, halo=0.15),
    "leader end": Style(fill=TAR),
    "tag": Style(fill=CHALK, stroke="line", width=0.45),
    "look": Style(fill="#fbf3e2", stroke=TAR, width=0.3),
    "stop": Style(fill=TAR, stroke=TAR, width=0.3),
    "look spot": Style(stroke=TAR, width=0.35, halo=0.2),
    "stop spot": Style(fill=TAR, stroke=CHALK, width=0.3),
    "dimension": Style(stroke=TAR, width=0.3, round_ends=False),
    "dimension fill": Style(fill=TAR, stroke=TAR, width=0.2),
    "band new": Style(fill="#f7f1e6"),
    "band worn": Style(fill="#eee3cf"),
    "band corroded": Style(fill="#e2d2b6"),
    "curve 0": Style(stroke="line", width=0.75),
    "curve 1": Style(stroke="line", width=0.75, dash=(3.6, 1.3), round_ends=False),
    "curve 2": Style(stroke="line", width=0.75, dash=(1.6, 1.0), round_ends=False),
    "curve 3": Style(stroke="line", width=0.75, dash=(0.7, 0.8), round_ends=False),
    "rope": Style(stroke="#8a6f4e", width=0.3),
    "rule": Style(stroke=SAND, width=0.2),
    "text": Style(fill=TAR),
    "tag text": Style(fill=TAR),
    "quiet text": Style(fill="#5d4b3b"),
    "stop text": Style(fill=CHALK),
}


def signal(line: int) -> str:
    """Return the colour of a line by its place."""
    return SIGNALS[line % len(SIGNALS)]


def sign(line: int) -> Sign:
    """Return the sign of a line by its place."""
    return SIGNS[line % len(SIGNS)]


def ink(colour: str | None, line: int | None) -> str | None:
    """Return a colour of a style, with the line's own where the style asks for it."""
    return signal(line or 0) if colour == "line" else colour
