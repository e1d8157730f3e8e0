"""Release: what of the return spring's pull reaches the lever, and up to which friction that brings the line back."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from itertools import chain

import numpy as np

from ropewalk.analysis.causes import Causes, Figured, Wire, drags_of, figured, forces_of, pairs_of, turns_of
from ropewalk.analysis.loops import Array
from ropewalk.analysis.wireline import CONDITIONS, contacts, exponent, friction_of, total_turn
from ropewalk.bike.poses import Poses
from ropewalk.mechanics.capstan import release_reserve, release_through
from ropewalk.routing.lines import Route


@dataclass(frozen=True, slots=True, eq=False)
class Release:
    """Whether a line comes back by itself at the worst pose of the riding range.

    Attributes
    ----------
    reserve : float
        The one friction coefficient, put on every contact, at which it stops doing so.
    reserve_sigma : float
        Its standard deviation, from how surely spring, need, turns and drags are known; 0 where nothing stops it.
    pose : int
        That pose.
    spring, needed : float
        Least pull of the return spring, and what the lever end needs of it [N].
    needed_sigma : float
        Standard deviation of that need [N].
    arrives : mapping of str to Figured
        What of the spring's pull reaches the lever, by condition, each at its own worst pose [N].
    least_at : mapping of str to int
        That pose, by condition.
    shares : (n,) array
        Share of each stretch in the turn there.
    """

    reserve: float
    reserve_sigma: float
    pose: int
    spring: float
    needed: float
    needed_sigma: float
    arrives: Mapping[str, Figured]
    least_at: Mapping[str, int]
    shares: Array


def release_of(wire: Wire, sweep: Poses) -> Release | None:
    """Return whether a line comes back by itself; None where its spring or its need is not known.

    Parameters
    ----------
    wire : Wire
    sweep : Poses
        The bike's.
    """
    spring, needed = wire.route.mover.spring_least, needed_at_lever(wire.route)
    if spring is None or needed is None:
        return None
    turn = total_turn(wire.stretches)
    worst = worst_pose(wire, sweep, lambda pose: reserve_in(pose, wire), turn)
    reserve, whole = figured(wire, partial(reserve_in, worst), reserve_causes(wire)), float(turn[worst])
    arrives = {name: _arrives(wire, name, sweep) for name in CONDITIONS}
    return Release(
        reserve=reserve.value,
        reserve_sigma=reserve.sigma if 0.0 < reserve.value < math.inf else 0.0,
        pose=worst,
        spring=float(spring),
        needed=needed.value,
        needed_sigma=needed.sigma,
        arrives={name: figure for name, (_, figure) in arrives.items()},
        least_at={name: pose for name, (pose, _) in arrives.items()},
        shares=np.array([stretch.turn[worst] / whole if whole > 0.0 else 0.0 for stretch in wire.stretches]),
    )


def needed_at_lever(route: Route) -> Figured | None:
    """Return what the lever end needs of the wire to come back open [N]: its need less its own spring.

    Where a lever works several lines alike, each has to bring its share.
    """
    needed, own = route.exit.needed_force, route.exit.own_spring
    if needed is None:
        return None
    sigma = math.hypot(needed.sigma, 0.0 if own is None else own.sigma)
    return Figured(max(float(needed) - float(own or 0.0), 0.0) * route.share, sigma * route.share)


def reserve_in(pose: int, wire: Wire) -> float:
    """Return the one friction coefficient at which a wire stops coming back in one pose of the sweep."""
    needed = needed_at_lever(wire.route)
    assert needed is not None
    row = contacts(wire.stretches, pose, lambda pair: 0.0)
    return float(release_reserve(float(wire.route.mover.spring_least or 0.0), row, needed.value))


def reserve_causes(wire: Wire) -> Causes:
    """Return what a release reserve rests on and is known roughly."""
    return chain(turns_of(wire), drags_of(wire), forces_of(wire))


def worst_pose(wire: Wire, sweep: Poses, figure: Callable[[int], float], measure: Array) -> int:
    """Return the pose of the riding range in which a figure is least.

    Without drags that is where a measure (P,) such as friction times turn is greatest; a drag costs more or less by
    where it is met, and then the most turn is not always the worst.
    """
    riding = np.flatnonzero(sweep.riding)
    if any(stretch.drag for stretch in wire.stretches):
        return int(min(riding, key=lambda pose: figure(int(pose))))
    return int(riding[measure[riding].argmax()])


def _arrives(wire: Wire, condition: str, sweep: Poses) -> tuple[int, Figured]:
    """Return the pose in which least of the spring's pull reaches the lever, and how much that is."""
    measure = exponent(wire.stretches, friction_of(wire.catalogue, condition))
    pose = worst_pose(wire, sweep, lambda at: _back(condition, at, wire), measure)
    causes = chain(pairs_of(wire, condition), turns_of(wire), drags_of(wire), forces_of(wire))
    return pose, figured(wire, partial(_back, condition, pose), causes)


def _back(condition: str, pose: int, wire: Wire) -> float:
    """Return what of the return spring's pull reaches the lever in one pose [N]."""
    spring = float(wire.route.mover.spring_least or 0.0)
    row = contacts(wire.stretches, pose, friction_of(wire.catalogue, condition))
    return (*release_through(spring, row), spring)[0]
