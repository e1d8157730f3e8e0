"""One bike in, one plan out."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from ropewalk.analysis.cases import loop_cases
from ropewalk.analysis.findings import ordered
from ropewalk.analysis.groups import Group, sliding_groups, study_group
from ropewalk.analysis.loops import LoopWindow
from ropewalk.analysis.tolerance import Sensitivity, Spread, sensitivities
from ropewalk.analysis.uncertainty import PieceDemand, figure_effects, piece_demand
from ropewalk.analysis.window import windows
from ropewalk.bike.closure import check_chart
from ropewalk.bike.complete import complete
from ropewalk.bike.framefile import Frame
from ropewalk.bike.model import Bike, build
from ropewalk.bike.options import line_with, telling_options
from ropewalk.bike.parts import Catalogue, catalogue
from ropewalk.bike.poses import Poses, poses
from ropewalk.routing.insidecheck import check_bores
from ropewalk.routing.lines import routes
from ropewalk.routing.spans import PlacedLine, place_line
from ropewalk.workshop.cautions import CAUTIONS
from ropewalk.workshop.choices import Choices, Settled, settle
from ropewalk.workshop.jobplan import JobPlan, LinerPlan
from ropewalk.workshop.judging import judge_bike
from ropewalk.workshop.lineplan import Studied, plan_line
from ropewalk.workshop.shelf import count_parts

Progress = Callable[[str, float], None]


def plan(
    frame: Frame,
    choices: Choices | None = None,
    progress: Progress | None = None,
    *,
    shelf: Catalogue | None = None,
    before: JobPlan | None = None,
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
    before : JobPlan, optional
        An earlier plan, such as from before an edit: what was found of the loops of lines that are the same on the same
        bike is taken from it. The plan that results is the same.

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
    known = {} if before is None else loops_kept(before, bike, parts, settled)
    loops, groups = study_loops(bike, sweep, lines, parts, settled, known)
    tell("weighing what is not known exactly", 0.65)
    demands = study_demands(bike, lines, loops, groups, parts)
    spreads = spreads_of(demands, parts)
    tell("adding up", 0.95)
    studied = Studied(bike, sweep, loops, groups, spreads, parts, settled)
    planned = [plan_line(place, line, studied) for place, line in enumerate(lines)]
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
        settled=settled,
        demands=demands,
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


def loops_kept(before: JobPlan, bike: Bike, parts: Catalogue, settled: Settled) -> dict[tuple[int, int], LoopWindow]:
    """Return what an earlier plan found of loops that are the same now, by line and span.

    Notes
    -----
    Loops of a line that was written the same, on a bike that is the same but for its lines, are the same. Where housing
    slides, loops were matched to each other and are studied afresh.
    """
    same = _but_lines(before.model.frame) == _but_lines(bike.frame)
    if not same or before.catalogue is not parts or before.settled != settled:
        return {}
    kept: dict[tuple[int, int], LoopWindow] = {}
    for place, line in enumerate(bike.frame.line):
        then = next((at for at, other in enumerate(before.model.frame.line) if other == line), None)
        found = {span: loop for (at, span), loop in before.loops.items() if at == then}
        if not any(loop.case.slides for loop in found.values()):
            kept |= {(place, span): loop for span, loop in found.items()}
    return kept


def _but_lines(frame: Frame) -> Frame:
    return frame.model_copy(update={"name": "", "note": "", "line": ()})


def study_loops(
    bike: Bike,
    sweep: Poses,
    lines: Sequence[PlacedLine],
    parts: Catalogue,
    settled: Settled,
    known: Mapping[tuple[int, int], LoopWindow] | None = None,
) -> tuple[dict[tuple[int, int], LoopWindow], dict[str, tuple[Group, ...]]]:
    """Return what is found of every loop, by line and span, and of every run of sliding spans, by piece.

    What is known of loops already is not found again.
    """
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
    known = known or {}
    fresh = {key: case for key, case in cases.items() if key not in known}
    found = dict(zip(fresh, windows(list(fresh.values())), strict=True))
    loops = {key: known[key] if key in known else found[key] for key in cases}
    groups: dict[str, tuple[Group, ...]] = {}
    for place, line in enumerate(lines):
        own = {span: loop for (at, span), loop in loops.items() if at == place}
        for piece in line.route.pieces:
            studied = [study_group(line, spans, own, sweep) for spans in sliding_groups(line, piece)]
            groups[piece.tag] = tuple(group for group, _ in studied)
            loops |= {(place, span): loop for _, shared in studied for span, loop in shared.items()}
    return loops, groups


def study_demands(
    bike: Bike,
    lines: Sequence[PlacedLine],
    loops: Mapping[tuple[int, int], LoopWindow],
    groups: Mapping[str, Sequence[Group]],
    parts: Catalogue,
) -> dict[str, PieceDemand]:
    """Return what the poses of every piece ask for and how that changes with the figures, by tag."""
    found = dict(zip(loops, sensitivities(list(loops.values())), strict=True))
    sensible: dict[tuple[int, int], Sensitivity] = {key: value for key, value in found.items() if value is not None}
    known, effects = figure_effects(bike, lines, {key: value.poses for key, value in sensible.items()})
    return {
        piece.tag: piece_demand(
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


def spreads_of(demands: Mapping[str, PieceDemand], parts: Catalogue) -> dict[str, Spread]:
    """Return how surely the shortest safe length of every piece is known, by tag."""
    risk = float(parts.settings.cut.short_risk)
    return {tag: demand.spread(risk) for tag, demand in demands.items()}


__all__ = ["Choices", "JobPlan", "LinerPlan", "plan"]
