"""Loops of a placed line made ready for study: clamps as functions of the steering angle."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ropewalk.analysis.clearance import Clearance, obstacles
from ropewalk.analysis.loops import Array, LoopCase
from ropewalk.bike.model import Bike
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.poses import poses
from ropewalk.mechanics.elastica import Clamps
from ropewalk.routing.course import Loop
from ropewalk.routing.spans import PlacedLine


def clamps_of(bike: Bike, loop: Loop) -> Callable[[Array], Clamps]:
    """Return a function from steering angles (K,) [rad] to a loop's clamps (K,) in the bike's axes."""

    def clamps(steer: Array) -> Clamps:
        pose = {"steer": steer}
        start = bike.mechanism.placement(loop.start_body, pose)
        end = start if loop.end_body == loop.start_body else bike.mechanism.placement(loop.end_body, pose)
        return Clamps(
            start.points(loop.start),
            start.directions(loop.start_direction),
            end.points(loop.end),
            end.directions(loop.end_direction),
        )

    return clamps


def loop_cases(
    bike: Bike, line: PlacedLine, catalogue: Catalogue, *, trim_moving: float, trim_still: float, turn_allowance: float
) -> dict[int, LoopCase]:
    """Return the loops of a line by the place of their span.

    Parameters
    ----------
    bike : Bike
    line : PlacedLine
    catalogue : Catalogue
        For the ranges of the sweep and what may not be rubbed.
    trim_moving, trim_still : float
        What the target has over the shortest safe length where the ends move and where they do not [mm].
    turn_allowance : float
        How much more turn than at the shortest safe length is tidy [rad].
    """
    sweep = poses(bike.frame)
    found: dict[int, LoopCase] = {}
    for place, (span, shape) in enumerate(zip(line.route.spans, line.spans, strict=True)):
        housing = line.route.housing_of(span)
        if not isinstance(shape, Loop) or housing is None:
            continue
        moves = bike.mechanism.moves_between(shape.start_body, shape.end_body)
        stations = line.route.line.station
        found[place] = LoopCase(
            name=f"{stations[span.start].name} to {stations[span.end].name}",
            steer=sweep.steer if moves else np.zeros(1),
            clamps=clamps_of(bike, shape),
            kink_radius=float(housing.kink_radius),
            advised_radius=float(housing.advised_radius),
            riding=float(catalogue.settings.sweep.riding),
            trim=trim_moving if moves else trim_still,
            turn_allowance=turn_allowance,
            clearance=Clearance(obstacles(bike, catalogue), float(housing.outside) / 2),
        )
    return found
