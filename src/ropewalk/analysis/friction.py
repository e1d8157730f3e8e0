"""Tension along a line's wire, pulled and released, and whether it comes back.

The capstan rule: each contact takes its share by turn and friction coefficient alone; neither its radius nor its length
costs anything. Constant drags come on top, in their place.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import chain

import numpy as np

from ropewalk.analysis.causes import Figured, Wire, drags_of, figured, pairs_of, turns_of
from ropewalk.analysis.loops import Array
from ropewalk.analysis.release import Release, release_of, worst_pose
from ropewalk.analysis.wireline import CONDITIONS, Stretch, contacts, exponent, friction_of, total_turn
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.poses import STEER, Poses
from ropewalk.mechanics.capstan import pull_needed, pull_through, release_through
from ropewalk.routing.lines import Route


@dataclass(frozen=True, slots=True, eq=False)
class Tensions:
    """Tension along a line in one condition and pose.

    Attributes
    ----------
    condition : str
    pose : int
        Place of the pose in the bike's sweep.
    distance : (n + 1,) array
        Length of wire from the lever's hold to the ends of its stretches [mm].
    pulling, releasing : (n + 1,) array
        Tension there while the hand pulls, and while the spring draws back with the lever open [N].
    """

    condition: str
    pose: int
    distance: Array
    pulling: Array
    releasing: Array

    @property
    def efficiency(self) -> float:
        """Tension out over tension in, pulling."""
        return float(self.pulling[-1] / self.pulling[0]) if self.pulling[0] > 0.0 else 0.0


@dataclass(frozen=True, slots=True, eq=False)
class LineFriction:
    """What friction does to one line.

    Attributes
    ----------
    stretches : tuple of Stretch
        Its wire, from the lever on.
    turn : float
        Turn straight ahead, from lever to anchor [rad].
    hand_force : float
        Force at the lever [N].
    pull : float
        Tension at the lever when all is new [N]; the efficiency is told for it.
    efficiency : mapping of str to Figured
        Tension at the moving end over tension at the lever, pulling, straight ahead, by condition.
    least_efficiency : mapping of str to Figured
        The same at the worst pose of the riding range.
    worst : mapping of str to int
        That pose, by condition.
    at_locks : mapping of str to tuple of float
        The same at left and right lock.
    profiles : mapping of str to Tensions
        Straight ahead, by condition.
    release : Release or None
        None where no spring or no need is known.
    """

    stretches: tuple[Stretch, ...]
    turn: float
    hand_force: float
    pull: float
    efficiency: Mapping[str, Figured]
    least_efficiency: Mapping[str, Figured]
    worst: Mapping[str, int]
    at_locks: Mapping[str, tuple[float, float]]
    profiles: Mapping[str, Tensions]
    release: Release | None

    @property
    def release_reserve(self) -> float:
        """The friction coefficient at which it stops releasing; infinite where nothing is known to stop it."""
        return math.inf if self.release is None else self.release.reserve


def line_friction(
    route: Route, stretches: Sequence[Stretch], sweep: Poses, catalogue: Catalogue, hand_force: float
) -> LineFriction | None:
    """Return what friction does to a line, or None for a hose.

    Parameters
    ----------
    route : Route
    stretches : sequence of Stretch
        Its wire, from `ropewalk.analysis.wireline.wire_of`.
    sweep : Poses
        The bike's.
    catalogue : Catalogue
    hand_force : float
        Force at the lever [N]; without constant drags it does not matter to the efficiency.
    """
    if route.inner is None:
        return None
    home = sweep.straight
    wire = Wire(route, tuple(stretches), hand_force, home, catalogue)
    pull = lever_pull(wire, home)
    worst = {name: _worst(wire, name, pull, sweep) for name in CONDITIONS}
    locks = lock_poses(sweep)
    return LineFriction(
        stretches=wire.stretches,
        turn=float(total_turn(stretches)[home]),
        hand_force=hand_force,
        pull=pull,
        efficiency={name: efficiency(wire, home, name, pull) for name in CONDITIONS},
        least_efficiency={name: efficiency(wire, worst[name], name, pull) for name in CONDITIONS},
        worst=worst,
        at_locks={
            name: (through(name, locks[0], pull, wire), through(name, locks[1], pull, wire)) for name in CONDITIONS
        },
        profiles={name: tensions(wire, home, name) for name in CONDITIONS},
        release=release_of(wire, sweep),
    )


def _worst(wire: Wire, condition: str, pull: float, sweep: Poses) -> int:
    """Return the pose of the riding range in which least of the pull arrives."""
    measure = exponent(wire.stretches, friction_of(wire.catalogue, condition))
    return worst_pose(wire, sweep, lambda pose: through(condition, pose, pull, wire), measure)


def lever_pull(wire: Wire, pose: int, condition: str = "new") -> float:
    """Return the tension at the lever [N] in one pose of the sweep.

    Notes
    -----
    A lever with a known advantage gives the hand's force times that, less what its own spring takes, shared among its
    inners. A shifter pulls what moves the other end: its spring at its strongest, through the line in its condition.
    """
    route = wire.route
    if route.exit.advantage is not None:
        own = float(route.exit.own_spring or 0.0)
        return max(wire.hand_force * float(route.exit.advantage) - own, 0.0) * route.share
    spring = float(route.mover.spring_most or route.mover.spring_least or 0.0)
    if spring <= 0.0:
        return wire.hand_force
    return (*pull_needed(spring, contacts(wire.stretches, pose, friction_of(wire.catalogue, condition))), spring)[0]


def lock_poses(sweep: Poses) -> tuple[int, int]:
    """Return the places of left and right lock in the bike's sweep, with all else at rest."""
    still = np.flatnonzero((np.delete(sweep.values, STEER, axis=1) == 0.0).all(axis=1))
    steer = sweep.values[still, STEER]
    return int(still[steer.argmin()]), int(still[steer.argmax()])


def tensions(wire: Wire, pose: int, condition: str) -> Tensions:
    """Return the tension along a line in one condition and pose of the sweep: new, worn or corroded."""
    row = contacts(wire.stretches, pose, friction_of(wire.catalogue, condition))
    pull, spring = lever_pull(wire, pose, condition), float(wire.route.mover.spring_least or 0.0)
    return Tensions(
        condition,
        pose,
        np.concatenate([[0.0], np.cumsum([stretch.length for stretch in wire.stretches])]),
        np.array([pull, *pull_through(pull, row)]),
        np.array([*release_through(spring, row), spring]),
    )


def efficiency(wire: Wire, pose: int, condition: str, pull: float) -> Figured:
    """Return tension out over tension in, pulling, with its standard deviation.

    Friction coefficients are known with their spread, those of one pair of materials as one figure; turns with that of
    the directions at the ends of loops; drags of adjusters with theirs. All to first order.
    """
    causes = chain(pairs_of(wire, condition), turns_of(wire), drags_of(wire))
    return figured(wire, partial(through, condition, pose, pull), causes)


def through(condition: str, pose: int, pull: float, wire: Wire) -> float:
    """Return tension out over tension in, pulling, in one condition and pose of the sweep."""
    row = contacts(wire.stretches, pose, friction_of(wire.catalogue, condition))
    return pull_through(pull, row)[-1] / pull if row and pull > 0.0 else 1.0
