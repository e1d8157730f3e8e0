"""Lost motion: what stretch, squeeze, settling and play take of the lever's pull; hysteresis of shifts.

All for ranking routes and finding what gives: stiffness of housing is an estimate, and no prediction comes of it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ropewalk.analysis.friction import Figured, LineFriction, Tensions
from ropewalk.analysis.loops import Array
from ropewalk.analysis.wireline import CONDITIONS, Stretch, contacts, friction_of
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.poses import INDEXING, STEER, Poses, ridden
from ropewalk.bike.rows import Indexing
from ropewalk.mechanics.capstan import pull_needed, release_through
from ropewalk.mechanics.wire import axial_stiffness
from ropewalk.routing.lines import Route


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
    pull : float or None
        Wire the lever draws in from open to shut [mm].
    left : float or None
        Of that, what is left when take-up at the other end and the losses are off [mm].
    """

    condition: str
    losses: tuple[Loss, ...]
    total: Figured
    settling: float
    pull: float | None
    left: float | None

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
    wire tight in its bends, so there is no play to take up; without one it is bore less wire, times the turn.
    """
    inner = route.inner
    if inner is None:
        return None
    strand = catalogue.strand(inner.strand)
    stiffness = axial_stiffness(float(inner.diameter), float(strand.gross_modulus))
    profile = friction.profiles[condition]
    mean = _mean_tension(friction.stretches, profile, catalogue)
    lengths = np.array([stretch.length for stretch in friction.stretches])
    stretched = float((mean * lengths).sum()) / stiffness
    wire_sigma = stretched * strand.gross_modulus.sigma / float(strand.gross_modulus)
    losses = [Loss("the inner stretches", Figured(stretched, wire_sigma)), *_squeezed(friction.stretches, mean)]
    play = _play(route, friction.stretches, profile.pose)
    losses.append(
        Loss("play in bends", Figured(play, 0.0), "none: the return spring keeps it tight" if not play else "")
    )
    total = Figured(sum(loss.mm.value for loss in losses), math.hypot(*(loss.mm.sigma for loss in losses)))
    pull = None if route.exit.pull is None else float(route.exit.pull)
    take_up = float(route.mover.take_up or 0.0)
    return LostMotion(
        condition=condition,
        losses=tuple(losses),
        total=total,
        settling=sum(stretch.settling for stretch in friction.stretches),
        pull=pull,
        left=None if pull is None else pull - take_up - total.value,
    )


def _mean_tension(stretches: Sequence[Stretch], profile: Tensions, catalogue: Catalogue) -> Array:
    """Return the mean of tension at work less tension at rest over each stretch (n,) [N]."""
    friction = friction_of(catalogue, profile.condition)
    loss = np.array([friction(stretch.pair) * float(stretch.turn[profile.pose]) for stretch in stretches])
    # at rest the tension grows away from the lever, at work it falls
    return profile.pulling[:-1] * _mean_of_fall(loss) - profile.releasing[:-1] * _mean_of_fall(-loss)


def _mean_of_fall(loss: Array) -> Array:
    """Return the mean of exp(-x) for x rising evenly from 0 to a loss (n,)."""
    small = np.abs(loss) < 1e-9
    safe = np.where(small, 1.0, loss)
    return np.where(small, 1.0, -np.expm1(-safe) / safe)


def _squeezed(stretches: Sequence[Stretch], mean: Array) -> list[Loss]:
    """Return what each kind of housing gives, its stiffness known roughly."""
    found: dict[str, Loss] = {}
    for stretch, tension in zip(stretches, mean, strict=True):
        housing = stretch.housing
        if housing is None or housing.axial_stiffness is None:
            continue
        more = float(tension) * stretch.length / float(housing.axial_stiffness)
        before = found[housing.name].mm.value if housing.name in found else 0.0
        value = before + more
        sigma = abs(value) * housing.axial_stiffness.sigma / float(housing.axial_stiffness)
        found[housing.name] = Loss(
            f"{housing.name} housing is squeezed", Figured(value, sigma), "stiffness: an estimate"
        )
    return list(found.values())


def _play(route: Route, stretches: Sequence[Stretch], pose: int) -> float:
    if route.inner is None or (route.mover.spring_least or 0.0) > 0.0:
        return 0.0
    wire = float(route.inner.diameter)
    return sum(
        (float(stretch.housing.bore) - wire) * float(stretch.turn[pose])
        for stretch in stretches
        if stretch.housing is not None
    )


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
    return Shifting(
        step=None if steps is None else float(steps.pull),
        name=None if steps is None else steps.name,
        hysteresis={
            name: _hysteresis(route, friction.stretches, sweep.straight, name, catalogue) for name in CONDITIONS
        },
        steering=_steering(route, friction.stretches, sweep),
    )


def _hysteresis(route: Route, stretches: Sequence[Stretch], pose: int, condition: str, catalogue: Catalogue) -> Figured:
    assert route.inner is not None
    assert route.mover.spring_least is not None
    spring = float(route.mover.spring_least)
    row = contacts(stretches, pose, friction_of(catalogue, condition))
    loss = np.array([contact.friction * contact.turn for contact in row])
    # on the near side of each contact; within it both come nearer to what is on its far side
    pulled = np.array(pull_needed(spring, row)) * _mean_of_fall(loss)
    released = np.array(release_through(spring, row)) * _mean_of_fall(-loss)
    apart = pulled - released
    strand = catalogue.strand(route.inner.strand)
    stiffness = axial_stiffness(float(route.inner.diameter), float(strand.gross_modulus))
    lengths = np.array([stretch.length for stretch in stretches])
    wire = float((apart * lengths).sum()) / stiffness
    squeezed = _squeezed(stretches, apart)
    value = wire + sum(loss_.mm.value for loss_ in squeezed)
    sigma = math.hypot(
        wire * strand.gross_modulus.sigma / float(strand.gross_modulus), *(loss_.mm.sigma for loss_ in squeezed)
    )
    return Figured(value, sigma)


def _steering(route: Route, stretches: Sequence[Stretch], sweep: Poses) -> float:
    """Return how far a tight wire moves in its housing while the bars turn a little: half its play for each bend."""
    assert route.inner is not None
    poses = np.flatnonzero(ridden(sweep.values, INDEXING) & (np.abs(sweep.values[:, STEER]) <= INDEXING + 1e-9))
    short = np.zeros(len(poses))
    for stretch in stretches:
        if stretch.housing is not None:
            half = (float(stretch.housing.bore) - float(route.inner.diameter)) / 2.0
            short = short + half * (stretch.turn[poses] - stretch.turn[sweep.straight])
    return float(np.abs(short).max())
