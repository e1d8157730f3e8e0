"""One line of a studied bike planned: its pieces, inner, liners, friction, and what there is to say of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from ropewalk.analysis.findings import Finding
from ropewalk.analysis.friction import LineFriction, line_friction
from ropewalk.analysis.groups import Group
from ropewalk.analysis.loops import LoopWindow
from ropewalk.analysis.lostmotion import LostMotion, Shifting, lost_motion, shifting
from ropewalk.analysis.matching import wrong_work
from ropewalk.analysis.pieces import PieceStudy, study_piece
from ropewalk.analysis.reaching import judge_reach
from ropewalk.analysis.tolerance import Spread, rounded_up
from ropewalk.analysis.wireline import CONDITIONS, wire_of
from ropewalk.bike.model import Bike
from ropewalk.bike.options import option_taken
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.poses import Poses, shown_pose
from ropewalk.routing.lines import Route
from ropewalk.routing.spans import PlacedLine
from ropewalk.workshop.choices import Settled
from ropewalk.workshop.inner import plan_inners
from ropewalk.workshop.jobplan import LinePlan, PiecePlan
from ropewalk.workshop.judging import judge_line, judge_piece, loops_of
from ropewalk.workshop.liners import plan_liners
from ropewalk.workshop.order import order_of_work
from ropewalk.workshop.settinglength import judge_setting, plan_setting
from ropewalk.workshop.splitting import inlines_of, judge_parted, parted, rest_of, run_first_cut, settling


@dataclass(frozen=True, slots=True, eq=False)
class Studied:
    """A bike with what was found of its lines.

    Attributes
    ----------
    bike : Bike
    sweep : Poses
    loops : mapping of (line, span) to LoopWindow
    groups : mapping of str to sequence of Group
        Runs of spans that share their slack, by the piece's tag.
    spreads : mapping of str to Spread
        How surely the shortest safe length of every piece is known, by its tag.
    parts : Catalogue
    settled : Settled
    """

    bike: Bike
    sweep: Poses
    loops: Mapping[tuple[int, int], LoopWindow]
    groups: Mapping[str, Sequence[Group]]
    spreads: Mapping[str, Spread]
    parts: Catalogue
    settled: Settled


def plan_line(place: int, line: PlacedLine, studied: Studied) -> tuple[LinePlan, list[Finding]]:
    """Return the plan of one line and the findings on it.

    Parameters
    ----------
    place : int
        Its place in the frame file.
    line : PlacedLine
    studied : Studied
        The bike it is on.
    """
    route, parts = line.route, studied.parts
    studies = [
        study_piece(line, piece, loops_of(place, piece.spans, studied.loops), studied.groups[piece.tag], studied.sweep)
        for piece in route.pieces
    ]
    runs = [parted(route, _plan_piece(line, study, studied), study, parts) for study in studies]
    pieces = tuple(piece for run in runs for piece in run)
    first_cuts = [run_first_cut(study, run) for study, run in zip(studies, runs, strict=True)]
    inners = plan_inners(line, studies, first_cuts, studied.settled)
    liners, inlines, setting = plan_liners(line, parts), inlines_of(studies), plan_setting(route, studies)
    friction = _friction(place, line, studied)
    planned = LinePlan(
        name=route.line.name,
        work=route.line.work,
        hand=route.side,
        lever=route.line.lever,
        pieces=pieces,
        inner=inners[0] if inners else None,
        liners=liners,
        turn=friction.turn if friction is not None else sum(study.turn for study in studies),
        efficiency=None if friction is None else {name: figure.value for name, figure in friction.efficiency.items()},
        release_reserve=None if friction is None else friction.release_reserve,
        friction=friction,
        lost=_lost(route, friction, parts),
        shifting=_shifting(route, friction, studied),
        lower_inner=inners[1] if len(inners) > 1 else None,
        inlines=inlines,
        setting=setting,
        settling=settling(route),
        steps=order_of_work(route, pieces, inners, liners, inlines, setting),
        routing=option_taken(route.line),
    )
    return planned, list(_judged(place, line, planned, studies, runs, studied))


def _judged(
    place: int,
    line: PlacedLine,
    planned: LinePlan,
    studies: Sequence[PieceStudy],
    runs: Sequence[Sequence[PiecePlan]],
    studied: Studied,
) -> Iterator[Finding]:
    """Return the findings on a planned line: piece by piece, then as a whole."""
    bike, sweep, parts = studied.bike, studied.sweep, studied.parts
    for study, run in zip(studies, runs, strict=True):
        yield from judge_piece(line, rest_of(study), run[-1].first_cut, bike=bike, sweep=sweep, catalogue=parts)
        yield from judge_parted(study, run)
    yield from judge_line(
        line,
        max(planned.inners, key=lambda inner: inner.need, default=None),
        planned.friction,
        bike=bike,
        sweep=sweep,
        loops=_own_loops(place, studied),
        catalogue=parts,
        tail=studied.settled.tail,
        settling=planned.settling,
    )
    yield from judge_setting(line.route, planned.setting, studies)
    yield from judge_reach(line.route, planned.lost.get("new"), studied.settled.hand_force)


def _own_loops(place: int, studied: Studied) -> dict[int, LoopWindow]:
    return {span: loop for (at, span), loop in studied.loops.items() if at == place}


def _friction(place: int, line: PlacedLine, studied: Studied) -> LineFriction | None:
    shared = [group for piece in line.route.pieces for group in studied.groups[piece.tag]]
    wire = wire_of(line, _own_loops(place, studied), studied.sweep, studied.parts, shared)
    return line_friction(line.route, wire, studied.sweep, studied.parts, studied.settled.hand_force)


def _lost(route: Route, friction: LineFriction | None, parts: Catalogue) -> dict[str, LostMotion]:
    if friction is None:
        return {}
    found = {name: lost_motion(route, friction, parts, name) for name in CONDITIONS}
    return {name: lost for name, lost in found.items() if lost is not None}


def _shifting(route: Route, friction: LineFriction | None, studied: Studied) -> Shifting | None:
    if friction is None:
        return None
    steps = None if route.line.indexing is None else studied.parts.indexing(route.line.indexing)
    return shifting(route, friction, studied.sweep, studied.parts, steps)


def _plan_piece(line: PlacedLine, study: PieceStudy, studied: Studied) -> PiecePlan:
    piece, spread = study.piece, studied.spreads[study.piece.tag]
    stations = line.route.line.station
    stopped = study.window is None or wrong_work(study) is not None
    quantile = None if stopped else study.fixed + spread.quantile
    step = float(studied.parts.settings.cut.round_up)
    straight = study.least_radius == float("inf")
    return PiecePlan(
        tag=piece.tag,
        start=stations[piece.start].name,
        end=stations[piece.end].name,
        housing=piece.housing.name,
        window=None if stopped else study.window,
        target=study.target,
        first_cut=None if quantile is None else rounded_up(max(study.target, quantile), step),
        sigma=spread.sigma,
        quantile=quantile,
        least_radius=None if straight else study.least_radius,
        least_radius_pose=shown_pose(study.least_radius_pose, studied.sweep.moving),
        turn=study.turn,
        why_shortest=study.why_shortest,
        why_longest=study.why_longest,
        ends=(piece.start_ferrule.name, piece.end_ferrule.name),
        terms=study.terms,
    )
