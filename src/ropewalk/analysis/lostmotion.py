"""Lost motion: what stretch, squeeze, settling and play take of the lever's pull; hysteresis of shifts.

All for ranking routes and finding what gives: stiffness of housing is an estimate, and no prediction comes of it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from ropewalk.analysis.causes import Figured, Wire, all_causes, figured, spread_of
from ropewalk.analysis.friction import LineFriction, Tensions, tensions
from ropewalk.analysis.loops import Array
from ropewalk.analysis.wireline import CONDITIONS, Stretch, contacts, friction_of
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.poses import INDEXING, STEER, Poses, ridden
from ropewalk.bike.rows import Indexing
from ropewalk.mechanics.capstan import pull_needed, release_through
from ropewalk.mechanics.wire import axial_stiffness
from ropewalk.routing.lines import Route

_NO_PLAY = "none: the return spring keeps it tight"


@dataclass(frozen=True, slots=True)
class Loss:
    """One thing that takes of the lever's pull: what it is, mm with standard deviation, a remark."""

    label: str
    mm: Figured
    note: str = ""


@dataclass(frozen=True, slots=True)
class LostMotion:
    """What of the lever's pull is lost in one condition.

    Attributes
    ----------
    condition : str
    losses : tuple of Loss
        They add up to the total.
    total : Figured
        [mm]
    settling : float
        What ferrules give once, when first pulled hard; an adjuster takes it up [mm].
    take_up : float
        Wire pulled before what it moves begins to work; no loss, but part of the lever's pull [mm].
    pull : float or None
        Wire the lever draws in from open to shut [mm].
    left : float or None
        Of that, what is left when take-up and the losses are off; below 0 the lever reaches the grip [mm].
    left_sigma : float
        Its standard deviation [mm].
    """

    condition: str
    losses: tuple[Loss, ...]
    total: Figured
    settling: float
    take_up: float
    pull: float | None
    left: float | None
    left_sigma: float

    @property
    def share(self) -> float | None:
        """Share of the lever's pull that is lost."""
        return self.total.value / self.pull if self.pull else None


@dataclass(frozen=True, slots=True)
class Shifting:
    """How exactly a shifter's steps arrive.

    Attributes
    ----------
    step : float or None
        Wire pull of one click [mm]; None when the file does not name the steps.
    name : str or None
        Name of the steps.
    hysteresis : mapping of str to Figured
        Difference of the wire's place after a pull and after a release, by condition [mm].
    steering : float
        Most that the wire moves while the bars turn 30° to either side [mm].
    """

    step: float | None
    name: str | None
    hysteresis: Mapping[str, Figured]
    steering: float


def lost_motion(route: Route, friction: LineFriction, catalogue: Catalogue, condition: str) -> LostMotion | None:
    """Return what of the lever's pull is lost, straight ahead; None for a hose.

    Parameters
    ----------
    route : Route
    friction : LineFriction
        The line's own.
    catalogue : Catalogue
    condition : str
        new, worn or corroded.

    Notes
    -----
    Tension at work less tension at rest with the lever open, over the inner's stiffness along all of it, and over the
    housing's where it is covered. Within a stretch the tension falls evenly with the turn. A return spring keeps the
    wire tight in its bends, so there is no play to take up; without one it is bore less wire, times the turn. Spreads
    are to first order, from friction, turns, forces and stiffnesses.
    """
    if route.inner is None:
        return None
    wire = Wire(route, friction.stretches, friction.hand_force, friction.profiles[condition].pose, catalogue)
    values = lost_values(condition, wire)
    causes = all_causes(wire, condition)
    # the sum goes through the same causes, which move all losses together
    spreads = spread_of(wire, lambda moved: _with_sum(lost_values(condition, moved)), causes)
    housings = [f"{name} housing is squeezed" for name in _housings(friction.stretches)]
    labels = ("the inner stretches", *housings, "play in bends")
    notes = ["", *("stiffness: an estimate" for _ in housings), _NO_PLAY if not values[-1] else ""]
    losses = tuple(
        Loss(label, Figured(float(value), float(sigma)), note)
        for label, value, sigma, note in zip(labels, values, spreads[:-1], notes, strict=True)
    )
    total = Figured(float(values.sum()), float(spreads[-1]))
    pull, take_up = route.exit.pull, route.mover.take_up
    own = (0.0 if figure is None else figure.sigma for figure in (pull, take_up))
    return LostMotion(
        condition=condition,
        losses=losses,
        total=total,
        settling=sum(stretch.settling for stretch in friction.stretches),
        take_up=float(take_up or 0.0),
        pull=None if pull is None else float(pull),
        left=None if pull is None else float(pull) - float(take_up or 0.0) - total.value,
        left_sigma=math.hypot(total.sigma, *own),
    )


def lost_values(condition: str, wire: Wire) -> Array:
    """Return what the inner's stretch, each kind of housing in turn, and play take of the lever's pull (n,) [mm]."""
    mean = mean_tension(wire.stretches, tensions(wire, wire.home, condition), wire.catalogue)
    return np.array([*_given(wire, mean), _play(wire.route, wire.stretches, wire.home)])


def _with_sum(values: Array) -> Array:
    return np.array([*values, values.sum()])


def _housings(stretches: Sequence[Stretch]) -> list[str]:
    """Return the kinds of housing that are squeezed, in the order of the line."""
    return list(dict.fromkeys(one.housing.name for one in stretches if one.housing and one.housing.axial_stiffness))


def _given(wire: Wire, tension: Array) -> list[float]:
    """Return by how much the inner and each kind of housing give under a mean tension in each stretch (n,) [mm]."""
    inner, stretches = wire.route.inner, wire.stretches
    assert inner is not None
    stiffness = axial_stiffness(float(inner.diameter), float(wire.catalogue.strand(inner.strand).gross_modulus))
    strains = [float(one) * stretch.length for one, stretch in zip(tension, stretches, strict=True)]
    squeezed = dict.fromkeys(_housings(stretches), 0.0)
    for strain, stretch in zip(strains, stretches, strict=True):
        housing = stretch.housing
        if housing is not None and housing.axial_stiffness:
            squeezed[housing.name] += strain / float(housing.axial_stiffness)
    return [sum(strains) / stiffness, *squeezed.values()]


def mean_tension(stretches: Sequence[Stretch], profile: Tensions, catalogue: Catalogue) -> Array:
    """Return the mean of tension at work less tension at rest over each stretch (n,) [N].

    Within a stretch the tension falls evenly with the turn, by exp(-friction times turn).
    """
    friction = friction_of(catalogue, profile.condition)
    loss = np.array([friction(stretch.pair) * float(stretch.turn[profile.pose]) for stretch in stretches])
    # at rest the tension grows away from the lever, at work it falls
    return profile.pulling[:-1] * _mean_of_fall(loss) - profile.releasing[:-1] * _mean_of_fall(-loss)


def _mean_of_fall(loss: Array) -> Array:
    """Return the mean of exp(-x) for x rising evenly from 0 to a loss (n,)."""
    small = np.abs(loss) < 1e-9
    safe = np.where(small, 1.0, loss)
    return np.where(small, 1.0, -np.expm1(-safe) / safe)


def _play(route: Route, stretches: Sequence[Stretch], pose: int) -> float:
    if route.inner is None or (route.mover.spring_least or 0.0) > 0.0:
        return 0.0
    wire = float(route.inner.diameter)
    return sum((one.bore - wire) * float(one.turn[pose]) for one in stretches if one.bore is not None)


def shifting(
    route: Route, friction: LineFriction, sweep: Poses, catalogue: Catalogue, steps: Indexing | None
) -> Shifting | None:
    """Return how exactly a shift line's steps arrive, or None for other lines.

    Parameters
    ----------
    route : Route
    friction : LineFriction
    sweep : Poses
        The bike's.
    catalogue : Catalogue
    steps : Indexing or None
        The shifter's steps, when the file names them.

    Notes
    -----
    Both tensions start from the spring's least pull at the moving end: pulled to it they grow towards the lever,
    released to it they fall. Their difference over the stiffness of inner and housing, along the line.
    """
    if route.line.work != "shift" or route.inner is None or not route.mover.spring_least:
        return None
    wire = Wire(route, friction.stretches, friction.hand_force, sweep.straight, catalogue)
    return Shifting(
        step=None if steps is None else float(steps.pull),
        name=None if steps is None else steps.name,
        hysteresis={name: figured(wire, partial(hysteresis, name), all_causes(wire, name)) for name in CONDITIONS},
        steering=_steering(route, friction.stretches, sweep),
    )


def hysteresis(condition: str, wire: Wire) -> float:
    """Return by how much the wire's place at the lever differs after a pull and after a release [mm]."""
    spring = float(wire.route.mover.spring_least or 0.0)
    row = contacts(wire.stretches, wire.home, friction_of(wire.catalogue, condition))
    loss = np.array([contact.friction * contact.turn for contact in row])
    # on the near side of each contact; within it both come nearer to what is on its far side
    pulled = np.array(pull_needed(spring, row)) * _mean_of_fall(loss)
    released = np.array(release_through(spring, row)) * _mean_of_fall(-loss)
    return sum(_given(wire, pulled - released))


def _steering(route: Route, stretches: Sequence[Stretch], sweep: Poses) -> float:
    """Return how far a tight wire moves while the bars turn a little.

    Half its play for each bend of a housing or liner that changes, and all that its own way changes by.
    """
    assert route.inner is not None
    poses = np.flatnonzero(ridden(sweep.values, INDEXING) & (np.abs(sweep.values[:, STEER]) <= INDEXING + 1e-9))
    moved = np.zeros(len(poses))
    for stretch in stretches:
        if stretch.bore is not None:
            half = (stretch.bore - float(route.inner.diameter)) / 2.0
            moved = moved - half * (stretch.turn[poses] - stretch.turn[sweep.straight])
        moved = moved + np.broadcast_to(stretch.longer, len(sweep.values))[poses]
    return float(np.abs(moved).max())
