"""Plots from lock to lock for the bench sheet: least radius and spare length of each loop that the bars bend."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray
from reportlab.graphics.shapes import Drawing, Line, PolyLine, String
from reportlab.lib.colors import Color, black
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, KeepTogether, PageBreak, Table

from ropewalk.bike.poses import RIDING
from ropewalk.drawing.pdfshapes import BOLD, PLAIN, shown
from ropewalk.drawing.sheetstyle import LEAST, ROOM, TITLE, said
from ropewalk.units import degrees
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.locktolock import LockCurve, lock_curves, tightest

Array = NDArray[np.float64]

#: size of one plot, room for its figures at the left and below [mm]
_WIDTH, _HEIGHT, _LEFT, _BELOW = ROOM / 2.0 - 2.0, 44.0, 10.0, 9.0
#: a loop that bends no tighter than this many kink radii is not drawn higher [-]
_HIGHEST = 5.0
_GREY = Color(0.72, 0.72, 0.72)
_HOW = (
    "Bars from left lock to right lock, everything else at rest, housing at its target length. Left: least radius; it "
    "may not fall below the kink line, and should stay above the advised one while riding. Right: by how much the "
    "piece is longer than the shortest that is safe at that angle; where this is least, it pulls first. "
    "Beyond 45° only the kink radius is kept, so that there is more to spare."
)


def plots(job: JobPlan) -> Iterator[Flowable]:
    """Return the plots of a job on pages of their own; nothing where the bars bend no loop."""
    curves = lock_curves(job)
    if not curves:
        return
    yield PageBreak()
    yield said(f"{job.bike}: from lock to lock", TITLE)
    yield said(_HOW)
    for curve in curves:
        angle, radius = tightest(curve)
        where = f"{abs(angle):.0f}° {'right' if angle > 0 else 'left'}" if round(angle) else "straight ahead"
        told = f"{curve.line}, {curve.loop}: tightest {radius:.0f} mm, {where}"
        row = Table(
            [[_radius(curve), _spare(curve)]],
            colWidths=[ROOM / 2.0 * mm] * 2,
            style=[("LEFTPADDING", (0, 0), (-1, -1), 0)],
        )
        yield KeepTogether([said(told, bold=f"{curve.tag} ·"), row])


def _radius(curve: LockCurve) -> Drawing:
    top = _HIGHEST * curve.kink_radius
    plot = _Plot(curve, 0.0, top, "least radius, mm")
    plot.level(curve.kink_radius, f"kink {curve.kink_radius:.0f}")
    if curve.advised_radius > curve.kink_radius:
        plot.level(curve.advised_radius, f"advised {curve.advised_radius:.0f}", degrees(RIDING))
    plot.curve(curve.angles, np.minimum(curve.radius, top))
    return plot.drawing


def _spare(curve: LockCurve) -> Drawing:
    low = min(0.0, float(curve.spare.min()))
    plot = _Plot(curve, low, max(20.0, 1.08 * float(curve.spare.max())), "spare length, mm")
    plot.level(0.0, "")
    plot.curve(curve.swept, curve.spare)
    return plot.drawing


class _Plot:
    """Axes from lock to lock with what is drawn on them."""

    def __init__(self, curve: LockCurve, low: float, high: float, name: str) -> None:
        self.drawing = Drawing(_WIDTH * mm, _HEIGHT * mm)
        self._lock, self._low, self._high = max(float(curve.angles[-1]), 1.0), low, high
        self._write(0.0, _HEIGHT - 3.2, name, BOLD)
        for value in _round_values(low, high):
            y = self._y(value)
            self._line(_LEFT, y, _WIDTH, y, _GREY, 0.3)
            self._write(_LEFT - 1.0, y - 0.9, f"{value:g}", anchor="end")
        turns = [angle for angle in (-90.0, -60.0, -30.0, 0.0, 30.0, 60.0, 90.0) if abs(angle) < 0.93 * self._lock]
        for angle, said_as in [
            (-self._lock, "left lock"),
            *((a, f"{abs(a):g}°") for a in turns),
            (self._lock, "right lock"),
        ]:
            x = self._x(angle)
            self._line(x, _BELOW, x, _HEIGHT - 5.0, _GREY, 0.3)
            anchor = "start" if angle == -self._lock else "end" if angle == self._lock else "middle"
            crowded = angle in turns and abs(angle) > 0.6 * self._lock
            if not crowded:
                self._write(x, _BELOW - 4.0, said_as, anchor=anchor)

    def level(self, value: float, name: str, within: float = math.inf) -> None:
        """Draw a limit across the plot, or as far as an angle to each side."""
        reach, y = min(self._lock, within), self._y(value)
        self._line(self._x(-reach), y, self._x(reach), y, black, 0.7, dash=[2.2, 1.4])
        self._write(self._x(reach) - 0.6, y - 3.0, name, anchor="end")

    def curve(self, angles: Array, values: Array) -> None:
        """Draw a curve; it is broken where there is no value."""
        run: list[float] = []
        for angle, value in [*zip(angles.tolist(), values.tolist(), strict=True), (0.0, math.nan)]:
            if math.isnan(value):
                if len(run) > 2:
                    self.drawing.add(PolyLine(run, strokeColor=black, strokeWidth=1.5))
                run = []
            else:
                run += [self._x(angle) * mm, self._y(value) * mm]

    def _x(self, angle: float) -> float:
        return _LEFT + (_WIDTH - _LEFT) * (angle + self._lock) / (2.0 * self._lock)

    def _y(self, value: float) -> float:
        return _BELOW + (_HEIGHT - 5.0 - _BELOW) * (value - self._low) / (self._high - self._low)

    def _line(
        self,
        left: float,
        low: float,
        right: float,
        high: float,
        colour: Color,
        width: float,
        dash: list[float] | None = None,
    ) -> None:
        self.drawing.add(
            Line(
                left * mm, low * mm, right * mm, high * mm, strokeColor=colour, strokeWidth=width, strokeDashArray=dash
            )
        )

    def _write(self, x: float, y: float, words: str, face: str = PLAIN, anchor: str = "start") -> None:
        self.drawing.add(String(x * mm, y * mm, shown(words), fontName=face, fontSize=LEAST, textAnchor=anchor))


def _round_values(low: float, high: float) -> list[float]:
    """Return three to six round values between two."""
    step = next(step for step in (5.0, 10.0, 20.0, 25.0, 50.0, 100.0, 200.0, 500.0, 1e9) if (high - low) / step <= 5.0)
    return [step * at for at in range(math.ceil(low / step), math.floor(high / step) + 1)]
