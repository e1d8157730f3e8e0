"""Whether a geometry chart agrees with itself, and which figure would have to change if it does not."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import get_args

from ropewalk.bike.chart import Chart
from ropewalk.bike.figures import Measure
from ropewalk.bike.fit import check_tubes, shown_mm
from ropewalk.bike.framefile import Frame
from ropewalk.bike.moves import check_moves
from ropewalk.bike.skeleton import rear_reach, trail, wheel
from ropewalk.bike.wording import listed
from ropewalk.errors import ChartError

#: largest disagreement of a chart with itself that is put down to rounding [mm]
TOLERANCE = 5.0

#: the chart's figures by the keys of the frame file, with the model's field names
_FIGURES: Mapping[str, str] = {
    "stack": "stack",
    "reach": "reach",
    "head_angle": "head_angle_deg",
    "head_tube": "head_tube",
    "lower_cup": "lower_cup",
    "fork": "fork",
    "fork_offset": "fork_offset",
    "bb_drop": "bb_drop",
    "chainstay": "chainstay",
    "boom": "boom",
    "wheelbase": "wheelbase",
    "trail": "trail",
    "front_centre": "front_centre",
}
#: which figures each checkable one follows from
_FOLLOWS_FROM: Mapping[str, tuple[str, ...]] = {
    "stack": ("bb_drop", "head_tube", "lower_cup", "fork", "fork_offset", "head_angle"),
    "wheelbase": ("reach", "head_tube", "lower_cup", "fork", "fork_offset", "head_angle", "chainstay", "bb_drop"),
    "trail": ("head_angle", "fork_offset", "wheel"),
    "front_centre": ("reach", "head_tube", "lower_cup", "fork", "fork_offset", "head_angle", "bb_drop"),
}


@dataclass(frozen=True, slots=True)
class Comparison:
    """One figure of the chart as given, and as the other figures give it [mm]."""

    figure: str
    given: float
    found: float
    #: keys of the figures it was found from
    others: tuple[str, ...]

    @property
    def difference(self) -> float:
        """Given less found [mm]."""
        return self.given - self.found


@dataclass(frozen=True, slots=True)
class Closure:
    """How a chart agrees with itself: one comparison for each figure that follows from others."""

    comparisons: tuple[Comparison, ...]

    @property
    def worst(self) -> Comparison:
        """The comparison that is furthest apart."""
        return max(self.comparisons, key=lambda comparison: abs(comparison.difference))


def compare(frame: Frame) -> Closure:
    """Compare each redundant figure of the chart with what the others give.

    Parameters
    ----------
    frame : Frame
        The frame file; its chart is used.

    Returns
    -------
    Closure
        The stack, and wheelbase, trail and front centre where the chart gives them.

    Notes
    -----
    stack = bb_drop + (head_tube + lower_cup + fork)·sin HTA − fork_offset·cos HTA. The front centre is taken with both
    axles at one height, so that it does not depend on the stack.
    """
    figures = _figures(frame.chart)
    found = _found(figures, wheel(frame.chart.wheel).radius)
    return Closure(
        tuple(Comparison(key, figures[key], found[key], _FOLLOWS_FROM[key]) for key in _FOLLOWS_FROM if key in figures)
    )


def check_chart(frame: Frame) -> Closure:
    """Refuse a chart that contradicts itself, or tubes that cannot be as written.

    Parameters
    ----------
    frame : Frame
        The frame file; its chart and tubes are used.

    Returns
    -------
    Closure
        The comparisons, all within 5 mm.

    Raises
    ------
    ChartError
        In one line: which figures disagree, by how much, and which single figure would close the chart as far as that
        can be told.
    """
    closure = compare(frame)
    if abs(closure.worst.difference) > TOLERANCE:
        raise ChartError(_disagreement(frame.chart, closure))
    check_tubes(frame)
    check_moves(frame)
    return closure


def _figures(chart: Chart) -> dict[str, float]:
    given = ((key, getattr(chart, field)) for key, field in _FIGURES.items())
    return {key: float(figure) for key, figure in given if figure is not None}


def _found(figures: Mapping[str, float], wheel_radius: float) -> dict[str, float]:
    """Return stack, wheelbase, trail and front centre as the other figures give them [mm]."""
    angle = math.radians(figures["head_angle"])
    cos, sin = math.cos(angle), math.sin(angle)
    down = figures["head_tube"] + figures["lower_cup"] + figures["fork"]
    offset, drop = figures["fork_offset"], figures["bb_drop"]
    ahead = figures["reach"] + down * cos + offset * sin
    return {
        "stack": drop + down * sin - offset * cos,
        "wheelbase": ahead + figures.get("boom", 0.0) + rear_reach(figures["chainstay"], drop),
        "trail": trail(angle, offset, wheel_radius),
        "front_centre": math.hypot(ahead, drop),
    }


def _disagreement(chart: Chart, closure: Closure) -> str:
    """Return the one line that tells how a chart contradicts itself."""
    worst = closure.worst
    apart = abs(worst.difference)
    also = [
        f"{other.figure} by {shown_mm(abs(other.difference))}"
        for other in closure.comparisons
        if other is not worst and abs(other.difference) > TOLERANCE
    ]
    told = (
        f"chart.{worst.figure} is {shown_mm(worst.given)}, but {listed(worst.others, last='and')} give "
        f"{shown_mm(worst.found)}: {shown_mm(apart)} apart" + (f" (also {' and '.join(also)})" if also else "")
    )
    closing = [f"{key} {_shown(key, value)}" for key, value in closing_figures(chart).items()]
    if not closing:
        return f"{told}; no single figure closes the chart, so more than one is wrong: measure them again"
    if len(closing) == 1:
        return f"{told}; {closing[0]} alone would close the chart, and no other single figure: check it first"
    return f"{told}; any one of {listed(closing)} would close the chart, and it cannot tell which: measure these again"


def closing_figures(chart: Chart) -> dict[str, float]:
    """Return each figure that, changed alone, makes the chart agree with itself, with the value that does it best.

    Parameters
    ----------
    chart : Chart
        A geometry chart.

    Returns
    -------
    dict of str to float
        Keys of the frame file and their values [mm or °]; empty when no single figure will do. The value keeps the
        figure's bounds and brings every comparison within half of the 5 mm allowed.

    Notes
    -----
    Each comparison rises or falls steadily with each figure, so the largest disagreement has one minimum in it.
    """
    figures = _figures(chart)
    radius = wheel(chart.wheel).radius
    checked = [key for key in _FOLLOWS_FROM if key in figures]

    def largest(key: str, value: float) -> float:
        changed = figures | {key: value}
        if changed["chainstay"] <= abs(changed["bb_drop"]):
            return math.inf
        found = _found(changed, radius)
        return max(abs(changed[name] - found[name]) for name in checked)

    from scipy.optimize import minimize_scalar  # here, as it takes long to import and only charts at fault need it

    closing = {}
    for key in figures:
        low, high = _bounds(key)
        best = minimize_scalar(lambda value, key=key: largest(key, value), bounds=(low, high), method="bounded")
        value = round(float(best.x), 1)
        if largest(key, value) <= TOLERANCE / 2.0:
            closing[key] = value
    return closing


def _bounds(key: str) -> tuple[float, float]:
    """Return the bounds that the frame file sets to a figure of the chart."""
    field = Chart.model_fields[_FIGURES[key]]
    # an optional figure carries its rule one level down
    rules = [*field.metadata, *(rule for kind in get_args(field.annotation) for rule in get_args(kind))]
    measure = next(rule for rule in rules if isinstance(rule, Measure))
    return measure.low, measure.high


def _shown(key: str, value: float) -> str:
    return f"{value:g}°" if key.endswith("angle") else f"{value:.0f} mm"
