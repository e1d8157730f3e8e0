"""Plots from lock to lock, read as a mechanic reads them: by the figures at their own axes."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import pytest
from numpy.typing import NDArray
from planned import planned
from reportlab.graphics.shapes import Drawing, PolyLine, String
from reportlab.lib.units import mm
from reportlab.platypus import KeepTogether

from ropewalk.drawing.lockplots import plots
from ropewalk.drawing.pdfshapes import embed_typeface
from ropewalk.workshop.locktolock import LockCurve, lock_curves

Array = NDArray[np.float64]


def drawn(name: str) -> Iterator[tuple[LockCurve, Drawing, Drawing]]:
    """Return each curve of a bike with its two plots."""
    embed_typeface()
    job = planned(name)
    rows = [part for part in plots(job) if isinstance(part, KeepTogether)]
    for curve, row in zip(lock_curves(job), rows, strict=True):
        radius, spare = row._content[1]._cellvalues[0]
        yield curve, radius, spare


def read_off(plot: Drawing, lock: float) -> tuple[Array, Array]:
    """Return angles [°] and values of the curve, by the words at the locks and the figures at the left."""
    words = [part for part in plot.contents if isinstance(part, String)]
    left, right = (next(word.x for word in words if word.text == f"{side} lock") for side in ("left", "right"))
    figures = [(float(word.text), word.y + 0.9 * mm) for word in words if word.textAnchor == "end" and word.x < left]
    (low, foot), (high, head) = figures[0], figures[-1]
    for (one, at), (other, next_at) in pairwise(figures):
        assert (next_at - at) / (other - one) == pytest.approx((head - foot) / (high - low))
    curves = [part for part in plot.contents if isinstance(part, PolyLine)]
    points = np.concatenate([np.reshape(curve.points, (-1, 2)) for curve in curves])
    angles = lock * (2.0 * (points[:, 0] - left) / (right - left) - 1.0)
    return angles, low + (high - low) * (points[:, 1] - foot) / (head - foot)


@pytest.mark.parametrize("name", ["touring", "hardtail", "folding"])
def test_curves_read_as_their_figures(name: str) -> None:
    read = 0
    for curve, radius, spare in drawn(name):
        lock = float(curve.angles[-1])
        known = ~np.isnan(curve.radius)
        angles, values = read_off(radius, lock)
        assert angles == pytest.approx(curve.angles[known], abs=1e-6)
        # what hardly bends is not drawn higher than five kink radii
        assert values == pytest.approx(np.minimum(curve.radius[known], 5.0 * curve.kink_radius), rel=1e-6)
        angles, values = read_off(spare, lock)
        assert angles == pytest.approx(curve.swept, abs=1e-6)
        assert values == pytest.approx(curve.spare, abs=1e-6)
        read += 1
    assert read


@pytest.mark.parametrize("name", ["touring", "trail"])
def test_limits_stand_where_the_axis_has_their_figure(name: str) -> None:
    for curve, plot, _ in drawn(name):
        words = {part.text: part for part in plot.contents if isinstance(part, String)}
        figures = [(float(text), part.y + 0.9 * mm) for text, part in words.items() if text.isdigit()]
        (low, foot), (high, head) = figures[0], figures[-1]
        dashed = [part.y1 for part in plot.contents if getattr(part, "strokeDashArray", None)]
        limits = sorted({curve.kink_radius, curve.advised_radius})
        assert [low + (high - low) * (y - foot) / (head - foot) for y in sorted(dashed)] == pytest.approx(limits)
