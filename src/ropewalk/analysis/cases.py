"""Loops of a placed line made ready for study: clamps as functions of the pose."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from ropewalk.analysis.clearance import Clearance, obstacles
from ropewalk.analysis.loops import Array, LoopCase
from ropewalk.bike.model import Bike
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.poses import Poses, walks_of
from ropewalk.mechanics.elastica import Clamps
from ropewalk.routing.course import Loop
from ropewalk.routing.lines import slides_at, trims_moved
from ropewalk.routing.spans import PlacedLine


def clamps_of(bike: Bike, loop: Loop) -> Callable[[Array], Clamps]:
    """Return a function from poses (K, 5) to a loop's clamps (K,) in the bike's axes."""

    def clamps(poses: Array) -> Clamps:
        start = bike.mechanism.at(loop.start_body, poses)
        end = start if loop.end_body == loop.start_body else bike.mechanism.at(loop.end_body, poses)
        return Clamps(
            start.points(loop.start),
            start.directions(loop.start_direction),
            end.points(loop.end),
            end.directions(loop.end_direction),
        )

    return clamps


def loop_cases(
    bike: Bike,
    sweep: Poses,
    line: PlacedLine,
    catalogue: Catalogue,
    *,
    trim_moving: float,
    trim_still: float,
    turn_allowance: float,
) -> dict[int, LoopCase]:
    """Return the loops of a line by the place of their span.

    Parameters
    ----------
    bike : Bike
    sweep : Poses
        The bike's.
    line : PlacedLine
    catalogue : Catalogue
        For the ranges of the sweep and what may not be rubbed.
    trim_moving, trim_still : float
        What the target has over the shortest safe length where the ends move and where they do not [mm].
    turn_allowance : float
        How much more turn than at the shortest safe length is tidy [rad].
    """
    found: dict[int, LoopCase] = {}
    for place, (span, shape) in enumerate(zip(line.route.spans, line.spans, strict=True)):
        housing = line.route.housing_of(span)
        if not isinstance(shape, Loop) or housing is None:
            continue
        walks = walks_of(sweep, bike.mechanism.coordinates_between(shape.start_body, shape.end_body))
        moves = len(walks.values) > 1
        stations = line.route.line.station
        found[place] = LoopCase(
            name=f"{stations[span.start].name} to {stations[span.end].name}",
            walks=walks,
            low=sweep.low,
            high=sweep.high,
            clamps=clamps_of(bike, shape),
            kink_radius=float(housing.kink_radius),
            advised_radius=float(housing.advised_radius),
            riding=float(catalogue.settings.sweep.riding),
            trim=trim_moving if moves else trim_still,
            turn_allowance=turn_allowance,
            clearance=Clearance(obstacles(bike, catalogue), float(housing.outside) / 2),
            slides=slides_at(line.route, place),
        )
    trims = trims_moved(line.route, {place: case.trim for place, case in found.items()})
    return {place: replace(case, trim=trims[place]) for place, case in found.items()}
