"""Housing that slides through its stations, on whole bikes: against the same bikes held, and against brute force."""

from __future__ import annotations

import functools
import math
import tomllib
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from forced_poses import Asked, asked_in_poses
from moving import full_suspension
from numpy.typing import NDArray

from ropewalk.analysis.groups import Group, sliding_groups
from ropewalk.analysis.loops import LoopWindow
from ropewalk.bike.fleet import find
from ropewalk.bike.framefile import Frame
from ropewalk.bike.parts import catalogue
from ropewalk.bike.poses import FORK, STEER, Poses, poses
from ropewalk.mechanics.curves import arc_length
from ropewalk.mechanics.elastica import relax_from
from ropewalk.routing.course import Course
from ropewalk.routing.spans import PlacedLine
from ropewalk.workshop.choices import Choices, settle
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.plan import place_lines, plan, study_loops
from ropewalk.workshop.posed import posed_lines

Array = NDArray[np.float64]
PARTS = catalogue()
#: how far lengths may lie apart [mm]
APART = 0.5


def road() -> dict[str, Any]:
    with find("road").open("rb") as file:
        return tomllib.load(file)


def let_slide(tables: dict[str, Any], line: str, *names: str) -> Frame:
    """Return a bike with some stations of a line letting the housing slide."""
    stations = next(entry for entry in tables["line"] if entry["name"] == line)["station"]
    for station in stations:
        if station["name"] in names:
            station["slides"] = True
    assert sum(station.get("slides", False) for station in stations) == len(names)
    return Frame.model_validate(tables)


@dataclass(frozen=True)
class Studied:
    """A line of a bike whose housing is held, and slides."""

    frame: Frame
    line: PlacedLine
    sweep: Poses
    held: dict[int, LoopWindow]
    sliding: dict[int, LoopWindow]
    group: Group


#: bikes and lines with stations that slide: two loops and a run with slack between ports; two loops that bars, and bars
#: and fork, move; a loop that bars and swing arm move and one that stands still
CASES: dict[str, tuple[str, str, tuple[str, ...]]] = {
    "road": ("road", "rear brake", ("front port", "rear port")),
    "fork": ("full", "front brake", ("frame clip",)),
    "arm": ("full", "rear derailleur", ("arm clip", "rear arm clip")),
}


@functools.cache
def studied(case: str) -> Studied:
    bike, name, slide = CASES[case]
    held = Frame.model_validate(road()) if bike == "road" else full_suspension()
    tables = road() if bike == "road" else full_suspension().model_dump(by_alias=True, exclude_none=True)
    frame = let_slide(tables, name, *slide)
    found = []
    for each in (held, frame):
        built, lines = place_lines(each, PARTS)
        place = next(at for at, line in enumerate(lines) if line.route.line.name == name)
        sweep = poses(built.frame)
        loops, groups = study_loops(built, sweep, lines, PARTS, settle(Choices(), PARTS))
        own = {span: window for (at, span), window in loops.items() if at == place}
        found.append((lines[place], sweep, own, groups))
    line, sweep, sliding, groups = found[1]
    (group,) = [group for piece in line.route.pieces for group in groups[piece.tag]]
    return Studied(frame, line, sweep, found[0][2], sliding, group)


@functools.cache
def planned(case: str) -> JobPlan:
    return plan(studied(case).frame)


def courses(case: Studied) -> list[Course]:
    return [shape for at in case.group.spans if isinstance(shape := case.line.spans[at], Course)]


def test_spans_between_stations_that_slide_are_one_group() -> None:
    for case, spans in (("road", (1, 2, 3)), ("fork", (0, 1)), ("arm", (0, 1, 2))):
        found = studied(case)
        assert found.group.spans == spans
        assert [run for piece in found.line.route.pieces for run in sliding_groups(found.line, piece)] == [spans]
        assert {span for span, window in found.sliding.items() if window.case.slides} == set(spans) & set(found.held)


@pytest.mark.parametrize("case", CASES)
def test_what_serves_held_housing_serves_housing_that_slides(case: str) -> None:
    found = studied(case)
    own = [found.held[span] for span in found.group.spans if span in found.held]
    assert all(window.shortest is not None and window.longest is not None for window in own)
    low = sum(window.shortest.length for window in own if window.shortest) + sum(c.length for c in courses(found))
    high = sum(window.longest.length for window in own if window.longest)
    high += sum(course.length + course.slack for course in courses(found))
    assert found.group.window is not None
    assert found.group.window[0] <= low + 0.05
    assert found.group.window[1] >= high - 0.05


def asked(case: Studied, span: int) -> Asked:
    window = case.held[span]
    assert window.shortest is not None and window.longest is not None
    room = (window.longest.length - window.shortest.length) / 2 if window.longest.why.startswith("kinks") else 5.0
    start = window.shortest.length + min(room, 5.0)
    return asked_in_poses(window.case, start, case.sweep.fold_steer, advised=window.keeps_advised)


@pytest.mark.parametrize("case", CASES)
def test_the_shortest_length_is_what_the_worst_pose_asks_of_all_spans_together(case: str) -> None:
    """Every 2° of steering and 20 mm of travel, each loop shortened until it gives, summed pose by pose."""
    found = studied(case)
    parts = [asked(found, span) for span in found.group.spans if span in found.held]
    most = max(parts, key=lambda part: len(part.poses))
    total = np.zeros(len(most.poses))
    for part in parts:
        moving = np.ptp(part.poses, axis=0) > 0.0
        apart = np.abs(part.poses[np.newaxis] - (most.poses * moving)[:, np.newaxis]).max(axis=2)
        assert apart.min(axis=1).max() < 1e-6
        total += part.length[apart.argmin(axis=1)]
    total += sum(course.length for course in courses(found))
    assert found.group.window is not None
    assert found.group.window[0] == pytest.approx(total.max(), abs=APART)
    assert found.group.window[0] > total.max() - 0.1


def test_loops_that_ask_for_most_in_different_poses_need_less_together() -> None:
    """The bar's loop asks for most to one side, the fork's to the other: sliding saves housing."""
    found = studied("fork")
    shortest = [found.held[span].shortest for span in (0, 1)]
    assert found.group.window is not None
    one, other = (limit for limit in shortest if limit is not None)
    assert one.pose[STEER] != pytest.approx(other.pose[STEER])
    assert found.group.window[0] < one.length + other.length - 1.0


@pytest.mark.parametrize("case", CASES)
def test_shares_add_up_in_every_pose(case: str) -> None:
    found = studied(case)
    total = np.sum([found.group.shares[span] for span in found.group.spans], axis=0)
    assert total == pytest.approx(np.full(len(found.group.poses), found.group.target), abs=1e-6)
    for span, shape in ((span, found.line.spans[span]) for span in found.group.spans):
        if isinstance(shape, Course):
            assert (found.group.shares[span] >= shape.length - 1e-6).all()
            assert (found.group.shares[span] <= shape.length + shape.slack + 1e-6).all()


def forces(case: Studied, span: int) -> Array:
    """Return by how much a loop's energy grows with its length at its shares, in the group's poses, by differences."""
    window = case.sliding[span]
    places = window.case.places_of(case.group.poses)
    clamps, share = window.case.clamps(window.case.poses[places]), case.group.shares[span]
    at_share = relax_from(clamps, share, window.sweep.tangents[places])
    both = [relax_from(clamps, share + step, at_share.tangents).energy for step in (0.1, -0.1)]
    return np.asarray(both[0] - both[1]) / 0.2


@pytest.mark.parametrize("case", CASES)
def test_no_span_pushes_housing_into_another(case: str) -> None:
    """End forces are alike in every pose; none is left where a tube can take or give slack, else it is at its end."""
    found = studied(case)
    pushes = np.array([forces(found, span) for span in found.group.spans if span in found.sliding])
    # a bend of the advised radius holds by about one over its square: 2 % of that
    scale = 0.02 / 50.0**2
    assert np.isfinite(pushes).all()
    assert np.ptp(pushes, axis=0).max() < scale
    for place, shape in ((span, found.line.spans[span]) for span in found.group.spans):
        if isinstance(shape, Course) and shape.slack > 0.0:
            share = found.group.shares[place] - shape.length
            assert (pushes[:, share > 0.1] > -scale).all()
            assert (pushes[:, share < shape.slack - 0.1] < scale).all()
            assert ((share > 0.1) & (share < shape.slack - 0.1)).any()


@pytest.mark.parametrize("case", CASES)
def test_loops_are_judged_at_their_shares(case: str) -> None:
    """In every pose of the group, also those that move its other loops only."""
    found = studied(case)
    for span in found.group.spans:
        if span in found.sliding:
            window = found.sliding[span]
            assert np.array_equal(window.case.poses, found.group.poses)
            assert window.sweep.length == pytest.approx(found.group.shares[span], abs=0.05)
            assert window.sweep.converged.all()
            assert (window.case.poses[window.case.home] == 0.0).all()
            assert window.target == pytest.approx(float(window.sweep.length[window.case.home]))


@pytest.mark.parametrize("case", CASES)
def test_a_piece_with_a_group_adds_up(case: str) -> None:
    found, job = studied(case), planned(case)
    line = next(line for line in job.lines if line.name == found.line.route.line.name)
    (piece,) = line.pieces
    assert sum(term.mm for term in piece.terms) == pytest.approx(piece.target)
    assert piece.window is not None and piece.first_cut is not None and found.group.window is not None
    low, high = piece.window
    assert low <= piece.target <= high
    assert piece.first_cut >= piece.target
    rest = piece.target - found.group.target
    assert low <= found.group.window[0] + rest + 1e-6


@pytest.mark.parametrize(
    ("case", "steer"), [("road", -40.0), ("road", 0.0), ("road", 80.0), ("fork", 45.0), ("arm", -60.0)]
)
def test_sliding_housing_is_drawn_as_long_as_it_is_in_all_poses(case: str, steer: float) -> None:
    """The spans of the group together have the group's length whatever the pose; single ones have not."""
    found, job = studied(case), planned(case)
    pose = {"steer": math.radians(steer)}
    line = next(line for line in posed_lines(job, pose) if line.name == found.line.route.line.name)
    home = next(line for line in posed_lines(job, {}) if line.name == found.line.route.line.name)
    loops = [span for span in found.group.spans if span in found.sliding]
    drawn = sum(float(arc_length(line.spans[span].points)) for span in loops)
    at = int(np.abs(found.group.poses - np.array([math.radians(steer), 0, 0, 0, 0])).sum(axis=1).argmin())
    assert found.group.poses[at][FORK] == 0.0
    expected = sum(float(found.group.shares[span][at]) for span in loops)
    assert drawn == pytest.approx(expected, rel=3e-3)
    assert all(np.isfinite(span.points).all() for span in (*line.spans, *home.spans))
