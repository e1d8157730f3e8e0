"""The wire of a line, taken apart from the lever to what it moves: where it turns, what it rubs on, how long it is."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ropewalk.analysis.loops import Array, LoopWindow
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.poses import STEER, Poses
from ropewalk.bike.rows import Housing
from ropewalk.bike.sourced import SIGMAS_WITHIN, Sourced
from ropewalk.mechanics.capstan import Contact
from ropewalk.routing.course import Loop
from ropewalk.routing.lines import Piece, Route, Span
from ropewalk.routing.spans import PlacedLine

CONDITIONS = ("new", "worn", "corroded")
#: friction pairs of what has none of its own in the catalogue; a lever's own guide is a formed one, like a noodle
_HEAD, _BARE, _RIGID = "noodle", "bare guide", "noodle"

#: takes a friction pair to its coefficient
Friction = Callable[[str], float]


@dataclass(frozen=True, slots=True, eq=False)
class Stretch:
    """One stretch of a line's wire.

    Attributes
    ----------
    label : str
        What it is, in words.
    kind : str
        lever, loop, strapped, bare, inside, rigid or anchor.
    pair : str
        Friction pair of the catalogue.
    length : float
        Length of the wire in it, housing at its target [mm].
    turn : (P,) array
        Turn in each pose of the bike's sweep [rad].
    turn_sigma : float
        Standard deviation of its turn, from how surely the directions of its ends are known [rad].
    housing : Housing or None
        What squeezes when the wire is pulled; None where the wire runs bare, in a liner, or in a rigid part.
    drag : float
        Constant resistance of a seal or adjuster at its far end [N].
    settling : float
        What its ferrules give when first pulled hard [mm].
    """

    label: str
    kind: str
    pair: str
    length: float
    turn: Array
    turn_sigma: float
    housing: Housing | None
    drag: float
    settling: float


def wire_of(
    line: PlacedLine, loops: Mapping[int, LoopWindow], sweep: Poses, catalogue: Catalogue
) -> tuple[Stretch, ...]:
    """Return the stretches of a line's wire, from the lever on.

    Parameters
    ----------
    line : PlacedLine
    loops : mapping of int to LoopWindow
        Windows of its loops by span.
    sweep : Poses
        The bike's.
    catalogue : Catalogue

    Notes
    -----
    Wire in a ferrule runs straight and counts with the span beside it. The directions at both ends of a loop are known
    as a lean is (the catalogue's tolerance), independently, and its turn follows each of them one for one.
    """
    route, stations = line.route, line.route.line.station
    same = np.ones(len(sweep.values))
    lean = float(catalogue.tolerances.station.lean) / SIGMAS_WITHIN
    found = [_at_lever(route, stations[0].name, same)]
    for place, (span, shape) in enumerate(zip(route.spans, line.spans, strict=True)):
        if isinstance(shape, Loop):
            length, turn = loops[place].target, loops[place].turn_in(sweep.values)
        else:
            length, turn = shape.length, shape.turn_in(sweep.values[:, STEER])
        piece = next((piece for piece in route.pieces if place in piece.spans), None)
        found.append(
            Stretch(
                label=f"{span.kind}, {stations[span.start].name} to {stations[span.end].name}",
                kind=span.kind,
                pair=pair_of(route, span),
                length=length + _in_ferrules(piece, place),
                turn=np.where(np.isfinite(turn), turn, 0.0),
                turn_sigma=math.sqrt(2.0) * lean if isinstance(shape, Loop) else 0.0,
                housing=None if piece is None else piece.housing,
                drag=float(stations[span.end].drag or 0.0) + _in_line(piece, place),
                settling=_settling(piece, place),
            )
        )
    return (*found, *_at_anchor(route, stations[-1].name, same))


def pair_of(route: Route, span: Span) -> str:
    """Return what the wire rubs on in a span: a friction pair of the catalogue."""
    housing = route.housing_of(span)
    if housing is not None:
        return str(housing.contact)
    if span.kind == "inside" and route.liner is not None:
        return str(route.liner.contact)
    return _RIGID if span.kind == "rigid" else _BARE


def _at_lever(route: Route, name: str, same: Array) -> Stretch:
    turn, path = float(route.exit.head_turn or 0.0), float(route.exit.head_path or 0.0)
    spread = route.exit.head_turn.sigma if route.exit.head_turn is not None else 0.0
    return Stretch(f"in the {name}", "lever", _HEAD, path, turn * same, spread, None, 0.0, 0.0)


def _at_anchor(route: Route, name: str, same: Array) -> tuple[Stretch, ...]:
    turn, path = route.mover.anchor_turn, float(route.setting or route.mover.anchor_path or 0.0)
    if turn is None and not path:
        return ()
    pair = route.mover.anchor_contact or _BARE
    spread = turn.sigma if turn is not None else 0.0
    return (Stretch(f"at the {name}", "anchor", pair, path, float(turn or 0.0) * same, spread, None, 0.0, 0.0),)


def _in_ferrules(piece: Piece | None, place: int) -> float:
    """Return the length of wire in the ferrules and floors at a piece's ends, counted with its first and last span."""
    if piece is None:
        return 0.0
    ends = {piece.spans[0]: piece.start_ferrule, piece.spans[-1]: piece.end_ferrule}
    if piece.spans[0] == piece.spans[-1]:
        return sum(float(end.insertion + end.floor) for end in (piece.start_ferrule, piece.end_ferrule))
    return float(ends[place].insertion + ends[place].floor) if place in ends else 0.0


def _in_line(piece: Piece | None, place: int) -> float:
    """Return the drag of an adjuster or splitter in a piece, counted with its first span [N]."""
    if piece is None or piece.inline is None or place != piece.spans[0]:
        return 0.0
    return float(piece.inline.part.drag or 0.0)


def _settling(piece: Piece | None, place: int) -> float:
    if piece is None:
        return 0.0
    ends = [piece.start_ferrule] * (place == piece.spans[0]) + [piece.end_ferrule] * (place == piece.spans[-1])
    return sum(float(end.settling or 0.0) for end in ends)


def friction_of(catalogue: Catalogue, condition: str) -> Friction:
    """Return the friction coefficients of one condition: new, worn or corroded."""
    return lambda pair: float(catalogue.friction(pair, condition))


def coefficient(catalogue: Catalogue, pair: str, condition: str) -> Sourced:
    """Return one friction coefficient with its spread."""
    return catalogue.friction(pair, condition)


def contacts(stretches: Sequence[Stretch], pose: int, friction: Friction) -> list[Contact]:
    """Return what the wire rubs on in one pose of the sweep, from lever to anchor."""
    return [Contact(float(stretch.turn[pose]), friction(stretch.pair), stretch.drag) for stretch in stretches]


def total_turn(stretches: Sequence[Stretch]) -> Array:
    """Return the turn of the whole wire in each pose (P,) [rad]."""
    return np.asarray(np.sum([stretch.turn for stretch in stretches], axis=0))


def exponent(stretches: Sequence[Stretch], friction: Friction) -> Array:
    """Return the sum of friction times turn in each pose (P,)."""
    return np.asarray(np.sum([friction(stretch.pair) * stretch.turn for stretch in stretches], axis=0))
