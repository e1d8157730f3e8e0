"""Tension along a line's wire, pulled and released, and whether it comes back.

The capstan rule: each contact takes its share by turn and friction coefficient alone; neither its radius nor its length
costs anything. Constant drags come on top, in their place.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ropewalk.analysis.loops import Array
from ropewalk.analysis.wireline import CONDITIONS, Stretch, contacts, exponent, friction_of, total_turn
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.poses import STEER, Poses
from ropewalk.bike.sourced import Sourced
from ropewalk.mechanics.capstan import Contact, pull_needed, pull_through, release_reserve, release_through
from ropewalk.routing.lines import Route

#: half of the span of a central difference of a friction coefficient, in its standard deviations
_STEP = 0.05


@dataclass(frozen=True, slots=True)
class Figured:
    """A figure and its standard deviation."""

    value: float
    sigma: float


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
    spring = float(route.mover.spring_least or 0.0)
    pull = lever_pull(route, stretches, home, catalogue, hand_force)
    worst = {name: _worst(stretches, name, sweep, catalogue, lambda row: _through(pull, row)) for name in CONDITIONS}
    left, right = lock_poses(sweep)

    def arriving(pose: int, condition: str) -> Figured:
        return efficiency(stretches, pose, condition, pull, catalogue)

    profiles = {
        name: tensions(
            stretches,
            home,
            name,
            lever_pull(route, stretches, home, catalogue, hand_force, condition=name),
            spring,
            catalogue,
        )
        for name in CONDITIONS
    }
    return LineFriction(
        stretches=tuple(stretches),
        turn=float(total_turn(stretches)[home]),
        hand_force=hand_force,
        pull=pull,
        efficiency={name: arriving(home, name) for name in CONDITIONS},
        least_efficiency={name: arriving(worst[name], name) for name in CONDITIONS},
        worst=worst,
        at_locks={name: (arriving(left, name).value, arriving(right, name).value) for name in CONDITIONS},
        profiles=profiles,
        release=_release(route, stretches, sweep, catalogue),
    )


def _worst(
    stretches: Sequence[Stretch],
    condition: str,
    sweep: Poses,
    catalogue: Catalogue,
    figure: Callable[[Sequence[Contact]], float],
) -> int:
    """Return the pose of the riding range in which a figure of the contacts is least."""
    friction = friction_of(catalogue, condition)
    if any(stretch.drag for stretch in stretches):
        # a drag costs more or less by where it is met: the most friction times turn is not always the worst
        return _least(sweep, lambda pose: figure(contacts(stretches, pose, friction)))
    return _most(exponent(stretches, friction), sweep)


def _least(sweep: Poses, figure: Callable[[int], float]) -> int:
    """Return the pose of the riding range in which a figure is least."""
    return int(min(np.flatnonzero(sweep.riding), key=lambda pose: figure(int(pose))))


def _most(measure: Array, sweep: Poses) -> int:
    """Return the pose of the riding range in which a measure (P,) is greatest."""
    riding = np.flatnonzero(sweep.riding)
    return int(riding[measure[riding].argmax()])


def lever_pull(
    route: Route,
    stretches: Sequence[Stretch],
    pose: int,
    catalogue: Catalogue,
    hand_force: float,
    *,
    condition: str = "new",
) -> float:
    """Return the tension at the lever [N].

    Notes
    -----
    A lever with a known advantage gives the hand's force times that, less what its own spring takes, shared among its
    inners. A shifter pulls what moves the other end: its spring at its strongest, through the line in its condition.
    """
    if route.exit.advantage is not None:
        own = float(route.exit.own_spring or 0.0)
        return max(hand_force * float(route.exit.advantage) - own, 0.0) * route.share
    spring = float(route.mover.spring_most or route.mover.spring_least or 0.0)
    if spring <= 0.0:
        return hand_force
    return (*pull_needed(spring, contacts(stretches, pose, friction_of(catalogue, condition))), spring)[0]


def lock_poses(sweep: Poses) -> tuple[int, int]:
    """Return the places of left and right lock in the bike's sweep, with all else at rest."""
    still = np.flatnonzero((np.delete(sweep.values, STEER, axis=1) == 0.0).all(axis=1))
    steer = sweep.values[still, STEER]
    return int(still[steer.argmin()]), int(still[steer.argmax()])


def tensions(
    stretches: Sequence[Stretch], pose: int, condition: str, pull: float, spring: float, catalogue: Catalogue
) -> Tensions:
    """Return the tension along a line in one condition and pose.

    Parameters
    ----------
    stretches : sequence of Stretch
    pose : int
        Place in the bike's sweep.
    condition : str
        new, worn or corroded.
    pull, spring : float
        Tension at the lever while pulling, and at the other end while releasing [N].
    catalogue : Catalogue
    """
    row = contacts(stretches, pose, friction_of(catalogue, condition))
    return Tensions(
        condition,
        pose,
        np.concatenate([[0.0], np.cumsum([stretch.length for stretch in stretches])]),
        np.array([pull, *pull_through(pull, row)]),
        np.array([*release_through(spring, row), spring]),
    )


def efficiency(stretches: Sequence[Stretch], pose: int, condition: str, pull: float, catalogue: Catalogue) -> Figured:
    """Return tension out over tension in, pulling, with its standard deviation.

    Friction coefficients are known with their spread, those of one pair of materials as one figure; turns with that of
    the directions at the ends of loops; drags of adjusters with theirs. All to first order.
    """
    row = contacts(stretches, pose, friction_of(catalogue, condition))
    value = _through(pull, row)
    return Figured(value, math.hypot(*_effects(stretches, row, condition, catalogue, lambda r: _through(pull, r))))


def _through(pull: float, row: Sequence[Contact]) -> float:
    return pull_through(pull, row)[-1] / pull if row and pull > 0.0 else 1.0


def _effects(
    stretches: Sequence[Stretch],
    row: Sequence[Contact],
    condition: str,
    catalogue: Catalogue,
    figure: Callable[[Sequence[Contact]], float],
) -> list[float]:
    """Return what one standard deviation of each friction pair, and of each turn, does to a figure of the contacts."""
    found = []
    for pair in dict.fromkeys(stretch.pair for stretch in stretches):
        step = _STEP * catalogue.friction(pair, condition).sigma
        moved = [
            [
                Contact(contact.turn, contact.friction + sign * step * (stretch.pair == pair), contact.drag)
                for contact, stretch in zip(row, stretches, strict=True)
            ]
            for sign in (1.0, -1.0)
        ]
        found.append((figure(moved[0]) - figure(moved[1])) / (2.0 * _STEP))
    return found + _own_effects(stretches, row, figure)


def _own_effects(
    stretches: Sequence[Stretch], row: Sequence[Contact], figure: Callable[[Sequence[Contact]], float]
) -> list[float]:
    """Return what one standard deviation of each turn and of each drag does to a figure of the contacts."""

    def moved(at: int, turn: float, drag: float) -> float:
        one = Contact(max(row[at].turn + turn, 0.0), row[at].friction, max(row[at].drag + drag, 0.0))
        return figure([*row[:at], one, *row[at + 1 :]])

    return [
        (moved(at, _STEP * turn, _STEP * drag) - moved(at, -_STEP * turn, -_STEP * drag)) / (2.0 * _STEP)
        for at, stretch in enumerate(stretches)
        for turn, drag in ((stretch.turn_sigma, 0.0), (0.0, stretch.drag_sigma))
        if turn or drag
    ]


def needed_at_lever(route: Route) -> Figured | None:
    """Return what the lever end needs of the wire to come back open [N]: its need less its own spring.

    Where a lever works several lines alike, each has to bring its share.
    """
    needed, own = route.exit.needed_force, route.exit.own_spring
    if needed is None:
        return None
    sigma = math.hypot(needed.sigma, 0.0 if own is None else own.sigma)
    return Figured(max(float(needed) - float(own or 0.0), 0.0) * route.share, sigma * route.share)


def _release(route: Route, stretches: Sequence[Stretch], sweep: Poses, catalogue: Catalogue) -> Release | None:
    spring, needed = route.mover.spring_least, needed_at_lever(route)
    if spring is None or needed is None:
        return None

    def reserve_in(pose: int) -> float:
        return float(release_reserve(float(spring), contacts(stretches, pose, lambda pair: 0.0), needed.value))

    turn = total_turn(stretches)
    worst = _least(sweep, reserve_in) if any(stretch.drag for stretch in stretches) else _most(turn, sweep)
    whole = float(turn[worst])
    reserve = reserve_in(worst)
    arrives = {name: _arrives(stretches, name, spring, sweep, catalogue) for name in CONDITIONS}
    return Release(
        reserve=reserve,
        reserve_sigma=_reserve_sigma(spring, needed, contacts(stretches, worst, lambda pair: 0.0), stretches, reserve),
        pose=worst,
        spring=float(spring),
        needed=needed.value,
        needed_sigma=needed.sigma,
        arrives={name: figure for name, (_, figure) in arrives.items()},
        least_at={name: pose for name, (pose, _) in arrives.items()},
        shares=np.array([stretch.turn[worst] / whole if whole > 0.0 else 0.0 for stretch in stretches]),
    )


def _reserve_sigma(
    spring: Sourced, needed: Figured, row: Sequence[Contact], stretches: Sequence[Stretch], reserve: float
) -> float:
    """Return the standard deviation of a release reserve, to first order."""
    if not 0.0 < reserve < math.inf:
        return 0.0
    effects = [
        release_reserve(float(spring) + step * spring.sigma, row, max(needed.value + other * needed.sigma, 0.0))
        for step, other in ((_STEP, 0.0), (-_STEP, 0.0), (0.0, _STEP), (0.0, -_STEP))
    ]
    moved = (
        (effects[0] - effects[1]) / (2.0 * _STEP),
        (effects[2] - effects[3]) / (2.0 * _STEP),
        *_own_effects(stretches, row, lambda r: release_reserve(float(spring), r, needed.value)),
    )
    return math.hypot(*(effect for effect in moved if math.isfinite(effect)))


def _arrives(
    stretches: Sequence[Stretch], condition: str, spring: Sourced, sweep: Poses, catalogue: Catalogue
) -> tuple[int, Figured]:
    """Return the pose in which least of the spring's pull reaches the lever, and how much that is."""

    def back(row: Sequence[Contact], pull: float = float(spring)) -> float:
        return (*release_through(pull, row), pull)[0]

    pose = _worst(stretches, condition, sweep, catalogue, back)
    row = contacts(stretches, pose, friction_of(catalogue, condition))
    more, less = (back(row, float(spring) + step * spring.sigma) for step in (_STEP, -_STEP))
    effects = _effects(stretches, row, condition, catalogue, back)
    return pose, Figured(back(row), math.hypot((more - less) / (2.0 * _STEP), *effects))
