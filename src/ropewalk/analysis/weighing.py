"""How surely two lines are told apart: a figure of each with all that moves it, what moves both alike taken off.

The friction of one pair of materials, the stiffness of one housing and the pull of one spring are known roughly, yet
they are the same in two routings of a bike: a higher one raises or lowers the figures of both.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from ropewalk.analysis.friction import Figured, LineFriction, needed_at_lever, tensions
from ropewalk.analysis.lostmotion import lost_motion
from ropewalk.analysis.wireline import Stretch, contacts, friction_of
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.sourced import Source, Sourced
from ropewalk.bike.station import Station
from ropewalk.mechanics.capstan import pull_through, release_reserve
from ropewalk.routing.lines import Route

#: what is known roughly, by name: two lines that share it are moved by it together
Cause = tuple[object, ...]

#: half of the span of a central difference, in standard deviations of what is moved
_STEP = 0.05


@dataclass(frozen=True, slots=True, eq=False)
class Weighed:
    """A figure and what one standard deviation of each cause does to it, to first order."""

    value: float
    effects: Mapping[Cause, float]

    @property
    def sigma(self) -> float:
        """Its standard deviation; causes are independent of each other."""
        return math.hypot(*self.effects.values())


@dataclass(frozen=True, slots=True, eq=False)
class Wire:
    """A line's wire with everything that its friction rests on; `home` is the straight-ahead pose of the sweep."""

    route: Route
    friction: LineFriction
    home: int
    catalogue: Catalogue


_Moved = Callable[[Wire, float], Wire]
_Causes = Iterator[tuple[Cause, _Moved]]


def apart(first: Weighed, second: Weighed) -> Figured:
    """Return the first figure less the second, with the standard deviation of that difference.

    Notes
    -----
    A cause that moves both by e and f moves the difference by e - f. For the exponents of two lines that rub on the
    same pairs this is the sum over pairs of (sigma of mu)² (turn of one - turn of the other)², and the turns' own.

    Examples
    --------
    >>> both = {("friction", "lined housing"): 0.03}
    >>> apart(Weighed(1.0, both), Weighed(0.9, both)).sigma
    0.0
    """
    causes = first.effects.keys() | second.effects.keys()
    moved = (first.effects.get(cause, 0.0) - second.effects.get(cause, 0.0) for cause in causes)
    return Figured(first.value - second.value, math.hypot(*moved))


def weighed_efficiency(wire: Wire, condition: str) -> Weighed | None:
    """Return the natural logarithm of the efficiency straight ahead; None where nothing of the pull arrives.

    Without constant drags it is less the sum of friction times turn.
    """
    if _log_efficiency(condition, wire) == -math.inf:
        return None
    return _weighed(wire, partial(_log_efficiency, condition), (*_pairs(wire, condition), *_turns(wire)))


def weighed_reserve(wire: Wire) -> Weighed | None:
    """Return the release reserve; None where spring or need are not known."""
    if wire.friction.release is None:
        return None
    return _weighed(wire, _reserve, (*_turns(wire), *_forces(wire)))


def weighed_lost_motion(wire: Wire, condition: str) -> Weighed | None:
    """Return the lost motion straight ahead [mm]; None for a hose."""
    if wire.route.inner is None:
        return None
    causes = (*_pairs(wire, condition), *_turns(wire), *_forces(wire), *_stiffnesses(wire))
    return _weighed(wire, partial(_lost, condition), causes)


def _weighed(wire: Wire, figure: Callable[[Wire], float], causes: tuple[tuple[Cause, _Moved], ...]) -> Weighed:
    value = figure(wire)
    effects = {}
    for cause, moved in causes:
        change = figure(moved(wire, _STEP)) - figure(moved(wire, -_STEP))
        # nothing stops such a line from releasing, whatever the figure is moved by
        effects[cause] = change / (2.0 * _STEP) if math.isfinite(change) else 0.0
    return Weighed(value, effects)


def _log_efficiency(condition: str, wire: Wire) -> float:
    row = contacts(wire.friction.stretches, wire.home, friction_of(wire.catalogue, condition))
    pull = wire.friction.pull
    arrives = pull_through(pull, row)[-1] if row else pull
    return math.log(arrives / pull) if arrives > 0.0 else -math.inf


def _reserve(wire: Wire) -> float:
    release, needed = wire.friction.release, needed_at_lever(wire.route)
    assert release is not None
    assert needed is not None
    row = contacts(wire.friction.stretches, release.pose, lambda pair: 0.0)
    return float(release_reserve(float(wire.route.mover.spring_least or 0.0), row, needed))


def _lost(condition: str, wire: Wire) -> float:
    friction, spring = wire.friction, float(wire.route.mover.spring_least or 0.0)
    profile = tensions(friction.stretches, wire.home, condition, friction.pull, spring, wire.catalogue)
    lost = lost_motion(wire.route, replace(friction, profiles={condition: profile}), wire.catalogue, condition)
    assert lost is not None
    return lost.total.value


def _pairs(wire: Wire, condition: str) -> _Causes:
    for pair in dict.fromkeys(stretch.pair for stretch in wire.friction.stretches):
        yield ("friction", pair, condition), partial(_with_pair, pair, condition)


def _with_pair(pair: str, condition: str, wire: Wire, sigmas: float) -> Wire:
    rows = wire.catalogue.friction_pairs
    row = rows[pair].model_copy(update={condition: _moved(getattr(rows[pair], condition), sigmas)})
    return replace(wire, catalogue=replace(wire.catalogue, friction_pairs={**rows, pair: row}))


def _turns(wire: Wire) -> _Causes:
    """Return the turns that are known roughly; the same bend in two lines is one of them.

    A loop is the same where it is cut from the same housing to the same length, which its turn tells, between the same
    places: another has ends of its own.
    """
    route = wire.route
    spans = iter(route.spans)
    for at, stretch in enumerate(wire.friction.stretches):
        if stretch.kind == "lever":
            where: Cause = (route.line.lever, route.exit.head_turn)
        elif stretch.kind == "anchor":
            where = (route.mover.name,)
        else:
            span = next(spans)
            cut = (None if stretch.housing is None else stretch.housing.name, round(float(stretch.turn[wire.home]), 6))
            where = (*cut, *(_place(route.line.station[end]) for end in (span.start, span.end)))
        if stretch.turn_sigma > 0.0:
            yield ("turn", stretch.kind, *where), partial(_with_turn, at)


def _place(station: Station) -> Cause:
    """Return where a station is, whatever it is called and whichever housing rests in it."""
    return (
        station.type, station.on, station.from_, station.along, station.clock, station.facing, station.lean_deg,
        station.skew_deg, station.offset, station.towards,
    )  # fmt: skip


def _with_turn(at: int, wire: Wire, sigmas: float) -> Wire:
    stretches = list(wire.friction.stretches)
    turn = stretches[at].turn + sigmas * stretches[at].turn_sigma
    stretches[at] = replace(stretches[at], turn=np.maximum(turn, 0.0))
    return _with_stretches(wire, stretches)


def _forces(wire: Wire) -> _Causes:
    route = wire.route
    if route.mover.spring_least is not None:
        yield ("spring", route.mover.name), _with_spring
    for name in ("needed_force", "own_spring"):
        if getattr(route.exit, name) is not None:
            yield (name, route.line.lever, getattr(route.exit, name)), partial(_with_exit, name)


def _with_spring(wire: Wire, sigmas: float) -> Wire:
    spring = wire.route.mover.spring_least
    assert spring is not None
    mover = wire.route.mover.model_copy(update={"spring_least": _moved(spring, sigmas)})
    return replace(wire, route=replace(wire.route, mover=mover))


def _with_exit(name: str, wire: Wire, sigmas: float) -> Wire:
    exit_ = wire.route.exit.model_copy(update={name: _moved(getattr(wire.route.exit, name), sigmas)})
    return replace(wire, route=replace(wire.route, exit=exit_))


def _stiffnesses(wire: Wire) -> _Causes:
    inner = wire.route.inner
    assert inner is not None
    yield ("strand", inner.strand), partial(_with_strand, inner.strand)
    for name in dict.fromkeys(stretch.housing.name for stretch in wire.friction.stretches if stretch.housing):
        yield ("housing", name), partial(_with_housing, name)


def _with_strand(name: str, wire: Wire, sigmas: float) -> Wire:
    rows = wire.catalogue.strands
    row = rows[name].model_copy(update={"gross_modulus": _moved(rows[name].gross_modulus, sigmas)})
    return replace(wire, catalogue=replace(wire.catalogue, strands={**rows, name: row}))


def _with_housing(name: str, wire: Wire, sigmas: float) -> Wire:
    stretches = []
    for stretch in wire.friction.stretches:
        housing = stretch.housing
        if housing is not None and housing.name == name and housing.axial_stiffness is not None:
            stiffness = _moved(housing.axial_stiffness, sigmas)
            stretch = replace(stretch, housing=housing.model_copy(update={"axial_stiffness": stiffness}))
        stretches.append(stretch)
    return _with_stretches(wire, stretches)


def _with_stretches(wire: Wire, stretches: list[Stretch]) -> Wire:
    return replace(wire, friction=replace(wire.friction, stretches=tuple(stretches)))


def _moved(figure: Sourced, sigmas: float) -> Sourced:
    value = max(float(figure) + sigmas * figure.sigma, 0.0)
    return Sourced(value, figure.spread, figure.unit, Source(figure.kind, figure.source))
