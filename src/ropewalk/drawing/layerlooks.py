"""How the layers of a true-scale drawing look: thin strokes, and one colour a line that shows on white and on black."""

from __future__ import annotations

from dataclasses import dataclass

from ropewalk.drawing.truescale import Layer

#: colours of the lines: at least 3 : 1 against white and against black, so that they show whatever the screen is
LINES = ("#3b78d8", "#cf4a10", "#0f8a7b", "#bd52a0", "#92780a", "#7d6a5a")
#: colour of what should be quiet, and None for the opposite of the ground
_QUIET = "#80776c"


@dataclass(frozen=True, slots=True)
class Look:
    """Colour, None for black on white and white on black; width and dash [mm], None for an unbroken stroke."""

    colour: str | None
    width: float
    dash: tuple[float, ...] | None = None


_BIKE = {
    "GROUND": Look(_QUIET, 0.35),
    "SPOKES": Look(_QUIET, 0.13),
    "WHEELS": Look(None, 0.25),
    "HINTS": Look(_QUIET, 0.18),
    "FRAME": Look(None, 0.35),
    "HARDWARE": Look(None, 0.25),
    "COCKPIT": Look(None, 0.35),
    "CENTRES": Look(_QUIET, 0.18, (24.0, 4.0, 4.0, 4.0)),
    "DIMENSIONS": Look(None, 0.18),
    "NOTES": Look(None, 0.18),
}
_LINE = {
    "HOUSING": (0.5, None),
    "INNER": (0.25, (12.0, 5.0)),
    "STATIONS": (0.25, None),
    "TAGS": (0.18, None),
    "COURSE-3D": (0.25, None),
}


def look(layer: Layer) -> Look:
    """Return how a layer looks."""
    if layer.place is None:
        return _BIKE[layer.name]
    width, dash = _LINE[layer.name.split("-", 1)[1]]
    return Look(LINES[layer.place % len(LINES)], width, dash)
