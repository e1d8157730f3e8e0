"""One bike in, one plan out."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from ropewalk.analysis.cases import loop_cases
from ropewalk.analysis.findings import Finding, ordered
from ropewalk.analysis.friction import LineFriction, line_friction
from ropewalk.analysis.groups import Group, sliding_groups, study_group
from ropewalk.analysis.loops import LoopWindow
from ropewalk.analysis.lostmotion import LostMotion, Shifting, lost_motion, shifting
from ropewalk.analysis.matching import wrong_work
from ropewalk.analysis.pieces import PieceStudy, study_piece
from ropewalk.analysis.reaching import judge_reach
from ropewalk.analysis.tolerance import Sensitivity, Spread, rounded_up, sensitivities
from ropewalk.analysis.uncertainty import figure_effects, piece_spread
from ropewalk.analysis.window import windows
from ropewalk.analysis.wireline import CONDITIONS, wire_of
from ropewalk.bike.closure import check_chart
from ropewalk.bike.complete import complete
from ropewalk.bike.framefile import Frame
from ropewalk.bike.model import Bike, build
from ropewalk.bike.options import line_with, option_taken, telling_options
from ropewalk.bike.parts import Catalogue, catalogue
from ropewalk.bike.poses import Poses, poses, shown_pose
from ropewalk.routing.insidecheck import check_bores
from ropewalk.routing.lines import Route, routes
from ropewalk.routing.spans import PlacedLine, place_line
from ropewalk.workshop.cautions import CAUTIONS
from ropewalk.workshop.choices import Choices, Settled, settle
from ropewalk.workshop.inner import plan_inners
from ropewalk.workshop.jobplan import JobPlan, LinePlan, LinerPlan, PiecePlan
from ropewalk.workshop.judging import judge_bike, judge_line, judge_piece, loops_of
from ropewalk.workshop.liners import plan_liners
from ropewalk.workshop.order import order_of_work
from ropewalk.workshop.settinglength import judge_setting, plan_setting
from ropewalk.workshop.shelf import count_parts
from ropewalk.workshop.splitting import inlines_of, judge_parted, parted, rest_of, run_first_cut, settling

Progress = Callable[[str, float], None]


def plan(
    frame: Frame,
    choices: Choices | None = None,
    progress: Progress | None = None,
    *,
    shelf: Catalogue | None = None,
) -> JobPlan:
    """Plan the whole job on one bike.

    Parameters
    ----------
    frame : Frame
        The frame file, as read.
    choices : Choices, optional
        What the shop settles otherwise than the catalogue.
    progress : callable, optional
        Told what is being done and which share of the work is behind (0 to 1).
    shelf : Catalogue, optional
        The parts to plan with: the built-in ones, or those with a shop's own beside them.

    Returns
    -------
    JobPlan

    Raises
    ------
    FrameFileError
        When the chart contradicts itself, or a line cannot run as written.
    PartError
        When a part is not in the catalogue.
    """
    tell = progress or (lambda what, share: None)
    parts = shelf or catalogue()
    settled = settle(choices or Choices(), parts)
    check_chart(frame)
    bike, lines = place_lines(frame, parts)
    check_options(frame, parts)
    tell("bending the loops", 0.05)
    sweep = poses(bike.frame)
    loops, groups = study_loops(bike, sweep, lines, parts, settled)
    tell("weighing what is not known exactly", 0.65)
    spreads = study_spreads(bike, lines, loops, groups, parts)
    tell("adding up", 0.95)
    planned = [
        _plan_line(bike, place, line, loops, groups, spreads, sweep, parts, settled) for place, line in enumerate(lines)
    ]
    findings = [*judge_bike(bike, sweep, lines), *(finding for _, found in planned for finding in found)]
    line_plans = tuple(line for line, _ in planned)
    return JobPlan(
        bike=frame.name,
        lines=line_plans,
        parts=tuple(count_parts(line_plans)),
        findings=ordered(findings),
        cautions=CAUTIONS,
        model=bike,
        routing=tuple(lines),
        loops=loops,
        catalogue=parts,
    )


def place_lines(frame: Frame, parts: Catalogue) -> tuple[Bike, list[PlacedLine]]:
    """Return the built bike of a frame and its lines in place."""
    with telling_options(frame.line):
        completed = complete(frame, parts)
        bike = build(completed)
        check_bores(bike)
        return bike, [place_line(bike, route) for route in routes(completed, parts)]


def check_options(frame: Frame, parts: Catalogue) -> None:
    """Refuse options that cannot run as written, as lines are refused."""
    for line in frame.line:
        for option in line.option:
            place_lines(frame.model_copy(update={"line": (line_with(line, option),)}), parts)


def study_loops(
    bike: Bike, sweep: Poses, lines: Sequence[PlacedLine], parts: Catalogue, settled: Settled
) -> tuple[dict[tuple[int, int], LoopWindow], dict[str, tuple[Group, ...]]]:
    """Return what was found of every loop, by line and span, and of every run of sliding spans, by piece."""
    cases = {
        (place, span): case
        for place, line in enumerate(lines)
        for span, case in loop_cases(
            bike,
            sweep,
            line,
            parts,
            trim_moving=settled.trim_moving,
            trim_still=settled.trim_still,
            turn_allowance=settled.turn_allowance,
        ).items()
    }
    loops = dict(zip(cases, windows(list(cases.values())), strict=True))
    groups: dict[str, tuple[Group, ...]] = {}
    for place, line in enumerate(lines):
        own = {span: loop for (at, span), loop in loops.items() if at == place}
        for piece in line.route.pieces:
            studied = [study_group(line, spans, own, sweep) for spans in sliding_groups(line, piece)]
            groups[piece.tag] = tuple(group for group, _ in studied)
            loops |= {(place, span): loop for _, shared in studied for span, loop in shared.items()}
    return loops, groups


def study_spreads(
    bike: Bike,
    lines: Sequence[PlacedLine],
    loops: Mapping[tuple[int, int], LoopWindow],
    groups: Mapping[str, Sequence[Group]],
    parts: Catalogue,
) -> dict[str, Spread]:
    """Return how surely the shortest safe length of every piece is known, by tag."""
    found = dict(zip(loops, sensitivities(list(loops.values())), strict=True))
    sensible: dict[tuple[int, int], Sensitivity] = {key: value for key, value in found.items() if value is not None}
    known, effects = figure_effects(bike, lines, {key: value.poses for key, value in sensible.items()})
    return {
        piece.tag: piece_spread(
            place,
            line,
            piece,
            bike,
            {span: value for (at, span), value in sensible.items() if at == place},
            groups[piece.tag],
            known,
            effects,
            parts,
        )
        for place, line in enumerate(lines)
        for piece in line.route.pieces
    }


def _plan_line(
    bike: Bike,
    place: int,
    line: PlacedLine,
    loops: Mapping[tuple[int, int], LoopWindow],
    groups: Mapping[str, Sequence[Group]],
    spreads: Mapping[str, Spread],
    sweep: Poses,
    parts: Catalogue,
    settled: Settled,
) -> tuple[LinePlan, list[Finding]]:
    route = line.route
    studies = [
        study_piece(line, piece, loops_of(place, piece.spans, loops), groups[piece.tag], sweep)
        for piece in route.pieces
    ]
    runs = [
        parted(route, _plan_piece(line, study, spreads[study.piece.tag], sweep, parts), study, parts)
        for study in studies
    ]
    pieces = tuple(piece for run in runs for piece in run)
    first_cuts = [run_first_cut(study, run) for study, run in zip(studies, runs, strict=True)]
    inners = plan_inners(line, studies, first_cuts, settled)
    liners, inlines, setting = plan_liners(line, parts), inlines_of(studies), plan_setting(route, studies)
    own = {span: loop for (at, span), loop in loops.items() if at == place}
    shared = [group for piece in route.pieces for group in groups[piece.tag]]
    friction = line_friction(route, wire_of(line, own, sweep, parts, shared), sweep, parts, settled.hand_force)
    turn = friction.turn if friction is not None else sum(study.turn for study in studies)
    reserve = friction.release_reserve if friction is not None else None
    findings = [
        finding
        for study, run in zip(studies, runs, strict=True)
        for finding in (
            *judge_piece(line, rest_of(study), run[-1].first_cut, bike=bike, sweep=sweep, catalogue=parts),
            *judge_parted(study, run),
        )
    ]
    findings += judge_line(
        line,
        max(inners, key=lambda inner: inner.need, default=None),
        friction,
        bike=bike,
        sweep=sweep,
        loops=own,
        catalogue=parts,
        tail=settled.tail,
        settling=settling(route),
    )
    findings += judge_setting(route, setting, studies)
    lost = _lost(route, friction, parts)
    findings += judge_reach(route, lost.get("new"), settled.hand_force)
    planned = LinePlan(
        name=route.line.name,
        work=route.line.work,
        hand=route.side,
        lever=route.line.lever,
        pieces=pieces,
        inner=inners[0] if inners else None,
        liners=liners,
        turn=turn,
        efficiency=None if friction is None else {name: figure.value for name, figure in friction.efficiency.items()},
        release_reserve=reserve,
        friction=friction,
        lost=lost,
        shifting=_shifting(route, friction, sweep, parts),
        lower_inner=inners[1] if len(inners) > 1 else None,
        inlines=inlines,
        setting=setting,
        settling=settling(route),
        order=order_of_work(route, pieces, inners, liners, inlines, setting),
        routing=option_taken(route.line),
    )
    return planned, findings


def _lost(route: Route, friction: LineFriction | None, parts: Catalogue) -> dict[str, LostMotion]:
    if friction is None:
        return {}
    found = {name: lost_motion(route, friction, parts, name) for name in CONDITIONS}
    return {name: lost for name, lost in found.items() if lost is not None}


def _shifting(route: Route, friction: LineFriction | None, sweep: Poses, parts: Catalogue) -> Shifting | None:
    if friction is None:
        return None
    steps = None if route.line.indexing is None else parts.indexing(route.line.indexing)
    return shifting(route, friction, sweep, parts, steps)


def _plan_piece(line: PlacedLine, study: PieceStudy, spread: Spread, sweep: Poses, parts: Catalogue) -> PiecePlan:
    piece = study.piece
    stations = line.route.line.station
    stopped = study.window is None or wrong_work(study) is not None
    quantile = None if stopped else study.fixed + spread.quantile
    step = float(parts.settings.cut.round_up)
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
        least_radius_pose=shown_pose(study.least_radius_pose, sweep.moving),
        turn=study.turn,
        why_shortest=study.why_shortest,
        why_longest=study.why_longest,
        ends=(piece.start_ferrule.name, piece.end_ferrule.name),
        terms=study.terms,
    )


__all__ = ["Choices", "JobPlan", "LinerPlan", "plan"]
