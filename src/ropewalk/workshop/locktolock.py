"""From lock to lock: how tight each loop bends and how much length it has to spare as the bars turn."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ropewalk.bike.poses import STEER, poses
from ropewalk.units import degrees
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.sweepview import span_figures

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class LockCurve:
    """One loop that the bars bend, at its target length, with everything else at rest.

    Attributes
    ----------
    tag, line, loop : str
        Its piece's tag, its line, and the stations it runs between.
    angles, radius : (K,) array
        Steering angles [°], right positive, and the least radius at each [mm]; NaN where it is too short.
    swept, spare : (S,) array
        Steering angles of the sweep [°], and by how much the target exceeds the shortest safe length at each [mm].
    kink_radius, advised_radius : float
        Of its housing; the advised one counts while riding [mm].
    """

    tag: str
    line: str
    loop: str
    angles: Array
    radius: Array
    swept: Array
    spare: Array
    kink_radius: float
    advised_radius: float


def lock_curves(job: JobPlan) -> tuple[LockCurve, ...]:
    """Return the curves of every loop that the bars bend and that has a window, in the order of the cut list."""
    steer, found = poses(job.model.frame).steer, []
    tables = iter(span_figures(job))
    for place, line in enumerate(job.routing):
        for at, tables_of_span in enumerate(next(tables) for _ in line.spans):
            figures, loop = tables_of_span[0], job.loops.get((place, at))
            if loop is None or loop.demand is None or figures.coordinate != STEER:
                continue
            rows = np.zeros((len(steer), 5))
            rows[:, STEER] = steer
            nearest = loop.case.places_of(rows)
            tag = next(piece.tag for piece in line.route.pieces if at in piece.spans)
            found.append(
                LockCurve(
                    tag,
                    line.route.line.name,
                    loop.case.name,
                    figures.first + np.arange(len(figures.radius), dtype=np.float64),
                    figures.radius,
                    np.array([degrees(angle) for angle in steer]),
                    loop.sweep.length[nearest] - loop.lows[nearest],
                    loop.case.kink_radius,
                    loop.case.advised_radius,
                )
            )
    return tuple(found)


def tightest(curve: LockCurve) -> tuple[float, float]:
    """Return where a loop bends most [°], and its least radius there [mm]."""
    if np.isnan(curve.radius).all():
        return 0.0, math.nan
    at = int(np.nanargmin(curve.radius))
    return float(curve.angles[at]), float(curve.radius[at])
