"""The wire of a line, taken apart from the lever to what it moves: where it turns, what it rubs on, how long it is."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ropewalk.analysis.groups import Group
from ropewalk.analysis.loops import Array, LoopWindow
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.poses import STEER, Poses, nearest_pose
from ropewalk.bike.rows import Housing
from ropewalk.bike.sourced import SIGMAS_WITHIN, Sourced
from ropewalk.mechanics.capstan import Contact
from ropewalk.routing.course import Loop, Wrap
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
    span : int or None
        Place of its span in the line; None in the lever and at the anchor.
    bore : float or None
        Of the housing or liner round it [mm].
    longer : (P,) array
        By how much the way through it is longer than straight ahead where nothing but its own wire makes up for
        it: bare wire round the steerer [mm].
    drag_sigma : float
        Standard deviation of an adjuster's drag; the frame file's own figure of a seal is taken as it stands [N].
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
    span: int | None = None
    bore: float | None = None
    longer: Array | float = 0.0
    drag_sigma: float = 0.0


def wire_of(
    line: PlacedLine,
    loops: Mapping[int, LoopWindow],
    sweep: Poses,
    catalogue: Catalogue,
    groups: Sequence[Group] = (),
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
    groups : sequence of Group
        Its runs of spans that share their slack.

    Notes
    -----
    Wire in a ferrule runs straight and counts with the span beside it. The directions at both ends of a loop are known
    as a lean is (the catalogue's tolerance), independently, and its turn follows each of them one for one. An adjuster
    or splitter parts the span it lies in; the turn is shared by length, and its drag sits where it begins.
    """
    route, stations = line.route, line.route.line.station
    same = np.ones(len(sweep.values))
    shared = {place: _straight_share(group, place) for group in groups for place in group.spans}
    found = [_at_lever(route, same)]
    bare = 0.0
    for place, (span, shape) in enumerate(zip(route.spans, line.spans, strict=True)):
        stretch = _in_span(line, place, loops, sweep, catalogue)
        if place in shared:
            stretch = replace(stretch, length=shared[place])
        piece = next((piece for piece in route.pieces if place in piece.spans), None)
        parted = _parted(stretch, piece, found, lean=_lean_sigma(catalogue))
        found += _with_ends(parted, piece, place, float(stations[span.end].drag or 0.0))
        if route.pieces and place > route.pieces[-1].spans[-1] and not isinstance(shape, Loop):
            bare += stretch.length
    return (*found, *_at_anchor(route, same, bare))


def _in_span(
    line: PlacedLine, place: int, loops: Mapping[int, LoopWindow], sweep: Poses, catalogue: Catalogue
) -> Stretch:
    """Return the wire between the mouths of one span."""
    route, stations = line.route, line.route.line.station
    span, shape = route.spans[place], line.spans[place]
    housing, liner = route.housing_of(span), route.liner if span.kind == "inside" else None
    longer: Array | float = 0.0
    if isinstance(shape, Loop):
        length, turn = loops[place].target, loops[place].turn_in(sweep.values)
    else:
        length, turn = shape.length, shape.turn_in(sweep.values[:, STEER])
        if isinstance(shape, Wrap) and housing is None:
            longer = shape.length_in(sweep.values[:, STEER]) - shape.length
    return Stretch(
        label=f"{span.kind}, {stations[span.start].name} to {stations[span.end].name}",
        kind=span.kind,
        pair=pair_of(route, span),
        length=length,
        turn=np.where(np.isfinite(turn), turn, 0.0),
        turn_sigma=math.sqrt(2.0) * _lean_sigma(catalogue) if isinstance(shape, Loop) else 0.0,
        housing=housing,
        drag=0.0,
        settling=0.0,
        span=place,
        bore=float(housing.bore) if housing is not None else float(liner.bore) if liner is not None else None,
        longer=longer,
    )


def _lean_sigma(catalogue: Catalogue) -> float:
    """Return the standard deviation of a direction at the end of a loop [rad]."""
    return float(catalogue.tolerances.station.lean) / SIGMAS_WITHIN


def _straight_share(group: Group, place: int) -> float:
    return float(group.shares[place][nearest_pose(group.poses, np.zeros(5))])


def _parted(stretch: Stretch, piece: Piece | None, before: Sequence[Stretch], *, lean: float) -> list[Stretch]:
    """Return a span's wire, in two where a part in the place of housing begins in it."""
    if piece is None or piece.inline is None:
        return [stretch]
    behind = sum(one.length for one in before if one.span is not None and one.span in piece.spans)
    start = piece.start_ferrule
    # housing is counted from its own end, which lies in the first ferrule
    behind += float(start.insertion) if stretch.span == piece.spans[0] else -float(start.floor)
    at = piece.inline.at - behind
    last = stretch.span == piece.spans[-1]
    if at < 0.0 or (at >= stretch.length and not last):
        return [stretch]
    share = min(at / stretch.length, 1.0) if stretch.length > 0.0 else 1.0
    name, (start_name, end_name) = piece.inline.part.name, stretch.label.partition(", ")[2].split(" to ", 1)
    own, drag = lean if stretch.turn_sigma > 0.0 else 0.0, piece.inline.part.drag
    first = replace(
        stretch,
        label=f"{stretch.kind}, {start_name} to {name}",
        length=share * stretch.length,
        turn=share * stretch.turn,
        turn_sigma=own,
        drag=0.0 if drag is None else float(drag),
        drag_sigma=0.0 if drag is None else drag.sigma,
        settling=2.0 * float(piece.start_ferrule.settling or 0.0),
    )
    rest = replace(
        stretch,
        label=f"{stretch.kind}, {name} to {end_name}",
        length=(1.0 - share) * stretch.length,
        turn=(1.0 - share) * stretch.turn,
        turn_sigma=own,
    )
    return [first, rest]


def _with_ends(stretches: Sequence[Stretch], piece: Piece | None, place: int, drag: float) -> list[Stretch]:
    """Return a span's wire with what its station at the far end and the ferrules at a piece's ends add."""
    found = list(stretches)
    found[-1] = replace(found[-1], drag=found[-1].drag + drag)
    if piece is None:
        return found
    for at, end, ferrule in ((0, piece.spans[0], piece.start_ferrule), (-1, piece.spans[-1], piece.end_ferrule)):
        if place == end:
            found[at] = replace(
                found[at],
                length=found[at].length + float(ferrule.insertion + ferrule.floor),
                settling=found[at].settling + float(ferrule.settling or 0.0),
            )
    return found


def pair_of(route: Route, span: Span) -> str:
    """Return what the wire rubs on in a span: a friction pair of the catalogue."""
    housing = route.housing_of(span)
    if housing is not None:
        return str(housing.contact)
    if span.kind == "inside" and route.liner is not None:
        return str(route.liner.contact)
    return _RIGID if span.kind == "rigid" else _BARE


def _at_lever(route: Route, same: Array) -> Stretch:
    station = route.line.station[0]
    turn, path = float(route.exit.head_turn or 0.0), float(route.exit.head_path or 0.0)
    spread = route.exit.head_turn.sigma if route.exit.head_turn is not None else 0.0
    drag = float(station.drag or 0.0)
    return Stretch(f"in the {station.name}", "lever", _HEAD, path, turn * same, spread, None, drag, 0.0)


def _at_anchor(route: Route, same: Array, bare: float) -> tuple[Stretch, ...]:
    """Return the wire from the last station to its anchor; an exact setting holds the bare spans before it too."""
    turn, path = route.mover.anchor_turn, float(route.mover.anchor_path or 0.0)
    if route.setting is not None:
        path = max(route.setting - bare, 0.0)
    if turn is None and not path:
        return ()
    pair = route.mover.anchor_contact or _BARE
    spread = turn.sigma if turn is not None else 0.0
    label = f"at the {route.line.station[-1].name}"
    return (Stretch(label, "anchor", pair, path, float(turn or 0.0) * same, spread, None, 0.0, 0.0),)


def in_pose(stretches: Sequence[Stretch], sweep: Poses, pose: Array) -> tuple[Stretch, ...]:
    """Return stretches with their turn in one pose (5,) alone.

    Notes
    -----
    Between the steering angles of the sweep the turn is interpolated; of all else the nearest pose stands for it.
    """
    others = np.delete(sweep.values, STEER, axis=1)
    same = np.flatnonzero((others == others[nearest_pose(sweep.values, pose)]).all(axis=1))
    same = same[sweep.values[same, STEER].argsort()]
    steer = sweep.values[same, STEER]

    def there(values: Array) -> Array:
        return np.array([np.interp(pose[STEER], steer, values[same])])

    return tuple(
        replace(
            stretch,
            turn=there(stretch.turn),
            longer=there(np.broadcast_to(stretch.longer, len(sweep.values))),
        )
        for stretch in stretches
    )


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
