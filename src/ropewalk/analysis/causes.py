"""What the figures of a line's wire rest on and is known roughly, and that wire with one of it moved a little.

Friction of a pair of materials, turns, drags, springs, stiffnesses: each is one cause, wherever in the line it acts.
The spread of a figure is what all of them do to it together.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from ropewalk.analysis.loops import Array
from ropewalk.analysis.wireline import Stretch
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.sourced import Source, Sourced
from ropewalk.bike.station import Station
from ropewalk.routing.lines import Route

#: what is known roughly, by name: two lines that share it are moved by it together
Cause = tuple[object, ...]


#: half of the span of a central difference, in standard deviations of what is moved
STEP = 0.05


@dataclass(frozen=True, slots=True, eq=False)
class Wire:
    """A line's wire with everything that its friction rests on.

    Attributes
    ----------
    route : Route
    stretches : tuple of Stretch
        From the lever on.
    hand_force : float
        Force at the lever [N].
    home : int
        The straight-ahead pose of the sweep.
    catalogue : Catalogue
    """

    route: Route
    stretches: tuple[Stretch, ...]
    hand_force: float
    home: int
    catalogue: Catalogue


@dataclass(frozen=True, slots=True)
class Figured:
    """A figure and its standard deviation."""

    value: float
    sigma: float


Moved = Callable[[Wire, float], Wire]
Causes = Iterable[tuple[Cause, Moved]]


def figured(wire: Wire, figure: Callable[[Wire], float], causes: Causes) -> Figured:
    """Return a figure of a wire with its standard deviation, to first order; causes are independent of each other."""
    return Figured(figure(wire), math.hypot(*effects_on(wire, figure, causes).values()))


def effects_on(wire: Wire, figure: Callable[[Wire], float], causes: Causes) -> Mapping[Cause, float]:
    """Return what one standard deviation of each cause does to a figure of a wire, to first order.

    Where the figure has no bound, such as the reserve of a line that nothing stops, a cause does nothing to it.
    """
    found = {}
    for cause, moved in causes:
        change = figure(moved(wire, STEP)) - figure(moved(wire, -STEP))
        found[cause] = change / (2.0 * STEP) if math.isfinite(change) else 0.0
    return found


def spread_of(wire: Wire, figures: Callable[[Wire], Array], causes: Causes) -> Array:
    """Return the standard deviations of several figures (n,) of a wire together, as `figured`."""
    changes = [(figures(moved(wire, STEP)) - figures(moved(wire, -STEP))) / (2.0 * STEP) for _, moved in causes]
    return np.sqrt(np.sum(np.square(changes), axis=0)) if changes else np.zeros_like(figures(wire))


def all_causes(wire: Wire, condition: str) -> Iterator[tuple[Cause, Moved]]:
    """Return everything that is known roughly of a wire in one condition."""
    yield from pairs_of(wire, condition)
    yield from turns_of(wire)
    yield from drags_of(wire)
    yield from forces_of(wire)
    yield from stiffnesses_of(wire)


def pairs_of(wire: Wire, condition: str) -> Iterator[tuple[Cause, Moved]]:
    """Return the friction of each pair of materials in one condition."""
    for pair in dict.fromkeys(stretch.pair for stretch in wire.stretches):
        yield ("friction", pair, condition), partial(_with_pair, pair, condition)


def _with_pair(pair: str, condition: str, wire: Wire, sigmas: float) -> Wire:
    rows = wire.catalogue.friction_pairs
    row = rows[pair].model_copy(update={condition: _moved(getattr(rows[pair], condition), sigmas)})
    return replace(wire, catalogue=replace(wire.catalogue, friction_pairs={**rows, pair: row}))


def turns_of(wire: Wire) -> Iterator[tuple[Cause, Moved]]:
    """Return the turns that are known roughly; the same bend in two lines is one of them.

    A loop is the same where it is cut from the same housing to the same length, which its turn tells, between the same
    places: another has ends of its own.
    """
    route = wire.route
    for at, stretch in enumerate(wire.stretches):
        if stretch.span is not None:
            span = route.spans[stretch.span]
            # which part of a span that an adjuster lies in
            part = sum(one.span == stretch.span for one in wire.stretches[:at])
            cut = (None if stretch.housing is None else stretch.housing.name, round(float(stretch.turn[wire.home]), 6))
            where: Cause = (*cut, *(_place(route.line.station[end]) for end in (span.start, span.end)), part)
        elif stretch.kind == "lever":
            where = (route.line.lever, route.exit.head_turn)
        else:
            where = (route.mover.name,)
        if stretch.turn_sigma > 0.0:
            yield ("turn", stretch.kind, *where), partial(_with_turn, at)


def _place(station: Station) -> Cause:
    """Return where a station is, whatever it is called and whichever housing rests in it."""
    return (
        station.type, station.on, station.from_, station.along, station.clock, station.facing, station.lean_deg,
        station.skew_deg, station.offset, station.towards,
    )  # fmt: skip


def _with_turn(at: int, wire: Wire, sigmas: float) -> Wire:
    stretches = list(wire.stretches)
    turn = stretches[at].turn + sigmas * stretches[at].turn_sigma
    stretches[at] = replace(stretches[at], turn=np.maximum(turn, 0.0))
    return _with_stretches(wire, stretches)


def drags_of(wire: Wire) -> Iterator[tuple[Cause, Moved]]:
    """Return the drags of adjusters; those of one kind are one of them."""
    adjusters: dict[str, list[int]] = {}
    for at, stretch in enumerate(wire.stretches):
        piece = next((piece for piece in wire.route.pieces if stretch.span in piece.spans), None)
        if stretch.drag_sigma > 0.0 and piece is not None and piece.inline is not None:
            adjusters.setdefault(piece.inline.part.name, []).append(at)
    for name, places in adjusters.items():
        yield ("drag", name), partial(_with_drags, places)


def _with_drags(places: list[int], wire: Wire, sigmas: float) -> Wire:
    stretches = list(wire.stretches)
    for at in places:
        drag = stretches[at].drag + sigmas * stretches[at].drag_sigma
        stretches[at] = replace(stretches[at], drag=max(drag, 0.0))
    return _with_stretches(wire, stretches)


def forces_of(wire: Wire) -> Iterator[tuple[Cause, Moved]]:
    """Return the springs at both ends, what the lever wants, and its advantage."""
    route = wire.route
    for name in ("spring_least", "spring_most"):
        if getattr(route.mover, name) is not None:
            yield (name, route.mover.name), partial(_with_mover, name)
    for name in ("needed_force", "own_spring", "advantage"):
        if getattr(route.exit, name) is not None:
            yield (name, route.line.lever, getattr(route.exit, name)), partial(_with_exit, name)


def _with_mover(name: str, wire: Wire, sigmas: float) -> Wire:
    mover = wire.route.mover.model_copy(update={name: _moved(getattr(wire.route.mover, name), sigmas)})
    return replace(wire, route=replace(wire.route, mover=mover))


def _with_exit(name: str, wire: Wire, sigmas: float) -> Wire:
    exit_ = wire.route.exit.model_copy(update={name: _moved(getattr(wire.route.exit, name), sigmas)})
    return replace(wire, route=replace(wire.route, exit=exit_))


def stiffnesses_of(wire: Wire) -> Iterator[tuple[Cause, Moved]]:
    """Return the stiffness of the wire and of each housing."""
    inner = wire.route.inner
    assert inner is not None
    yield ("strand", inner.strand), partial(_with_strand, inner.strand)
    for name in dict.fromkeys(stretch.housing.name for stretch in wire.stretches if stretch.housing):
        yield ("housing", name), partial(_with_housing, name)


def _with_strand(name: str, wire: Wire, sigmas: float) -> Wire:
    rows = wire.catalogue.strands
    row = rows[name].model_copy(update={"gross_modulus": _moved(rows[name].gross_modulus, sigmas)})
    return replace(wire, catalogue=replace(wire.catalogue, strands={**rows, name: row}))


def _with_housing(name: str, wire: Wire, sigmas: float) -> Wire:
    stretches = []
    for stretch in wire.stretches:
        housing = stretch.housing
        if housing is not None and housing.name == name and housing.axial_stiffness is not None:
            stiffness = _moved(housing.axial_stiffness, sigmas)
            stretch = replace(stretch, housing=housing.model_copy(update={"axial_stiffness": stiffness}))
        stretches.append(stretch)
    return _with_stretches(wire, stretches)


def _with_stretches(wire: Wire, stretches: list[Stretch]) -> Wire:
    return replace(wire, stretches=tuple(stretches))


def _moved(figure: Sourced, sigmas: float) -> Sourced:
    value = max(float(figure) + sigmas * figure.sigma, 0.0)
    return Sourced(value, figure.spread, figure.unit, Source(figure.kind, figure.source))
