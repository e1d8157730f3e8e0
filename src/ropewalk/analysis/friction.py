"""Friction of a line: turn, efficiency in three conditions, release reserve.

The capstan rule: each contact takes its share by turn and friction coefficient alone; neither its radius nor its
length costs anything.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ropewalk.analysis.loops import Array, LoopWindow
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.poses import STEER, Poses
from ropewalk.mechanics.capstan import Contact, efficiency, release_reserve
from ropewalk.routing.course import Loop
from ropewalk.routing.lines import Route, Span
from ropewalk.routing.spans import PlacedLine

CONDITIONS = ("new", "worn", "corroded")
#: friction pairs of what has none of its own in the catalogue; a lever's own guide is a formed one, like a noodle
_HEAD, _BARE, _RIGID = "noodle", "bare guide", "noodle"


@dataclass(frozen=True, slots=True)
class Turning:
    """One thing along a line that the wire turns through.

    Attributes
    ----------
    label : str
        What it is.
    pair : str
        Friction pair of the catalogue.
    turn : (P,) array
        Turn in each pose of the bike's sweep [rad].
    """

    label: str
    pair: str
    turn: Array


@dataclass(frozen=True, slots=True)
class LineFriction:
    """What friction does to one line.

    Attributes
    ----------
    turn : float
        Turn straight ahead, from lever to anchor [rad].
    efficiency : mapping of str to float
        Tension at the moving end over tension at the lever, pulling, straight ahead, by condition.
    release_reserve : float
        The one friction coefficient at which it stops releasing, at the worst pose of the riding range.
    turnings : tuple of Turning
        Where the turn is, from the lever on.
    """

    turn: float
    efficiency: Mapping[str, float]
    release_reserve: float
    turnings: tuple[Turning, ...]


def line_friction(
    line: PlacedLine, loops: Mapping[int, LoopWindow], sweep: Poses, catalogue: Catalogue, hand_force: float
) -> LineFriction | None:
    """Return what friction does to a line, or None for a hose.

    Parameters
    ----------
    line : PlacedLine
    loops : mapping of int to LoopWindow
        Windows of its loops by span.
    sweep : Poses
        The bike's.
    catalogue : Catalogue
    hand_force : float
        Force at the lever [N]; without constant drags it does not matter to the efficiency.
    """
    route = line.route
    if route.inner is None:
        return None
    turnings = tuple(_turnings(line, loops, sweep))
    home = [float(turning.turn[sweep.straight]) for turning in turnings]
    pull = hand_force * float(route.exit.advantage or 1.0) * route.share
    gains = {}
    for condition in CONDITIONS:
        contacts = [
            Contact(turn, float(catalogue.friction(turning.pair, condition)))
            for turn, turning in zip(home, turnings, strict=True)
        ]
        gains[condition] = float(efficiency(pull, contacts))
    return LineFriction(sum(home), gains, _reserve(route, turnings, sweep), turnings)


def _reserve(route: Route, turnings: Sequence[Turning], sweep: Poses) -> float:
    spring, needed = route.mover.spring_least, route.exit.needed_force
    if spring is None or needed is None:
        return math.inf
    total = np.sum([turning.turn for turning in turnings], axis=0)
    worst = total[sweep.riding].max()
    return float(release_reserve(float(spring), [Contact(float(worst))], float(needed)))


def _turnings(line: PlacedLine, loops: Mapping[int, LoopWindow], sweep: Poses) -> list[Turning]:
    route, stations = line.route, line.route.line.station
    same = np.ones(len(sweep.values))
    found = [Turning(f"in the {stations[0].name}", _HEAD, float(route.exit.head_turn or 0.0) * same)]
    for place, (span, shape) in enumerate(zip(route.spans, line.spans, strict=True)):
        turn = loops[place].turn_in(sweep.values) if isinstance(shape, Loop) else shape.turn_in(sweep.values[:, STEER])
        label = f"{span.kind}, {stations[span.start].name} to {stations[span.end].name}"
        found.append(Turning(label, _pair(route, span), np.where(np.isfinite(turn), turn, 0.0)))
    if route.mover.anchor_turn is not None:
        pair = route.mover.anchor_contact or _BARE
        found.append(Turning(f"at the {stations[-1].name}", pair, float(route.mover.anchor_turn) * same))
    return found


def _pair(route: Route, span: Span) -> str:
    housing = route.housing_of(span)
    if housing is not None:
        return str(housing.contact)
    if span.kind == "inside" and route.liner is not None:
        return str(route.liner.contact)
    return _RIGID if span.kind == "rigid" else _BARE
