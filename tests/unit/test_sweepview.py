"""What is sent to be drawn: paths that lie where housing lies, figures that are the plan's own."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import pytest
from bentbytwo import bent_by_two
from numpy.typing import NDArray
from planned import FLEET, planned

from ropewalk.bike.poses import COORDINATES, FOLD, FORK, SHOWN, STEER, pose_of, poses
from ropewalk.mechanics.elastica import relax
from ropewalk.routing.course import Loop
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.posed import posed_lines
from ropewalk.workshop.sweepview import (
    COARSE,
    TURN,
    Figures,
    Grid,
    effective,
    ranges,
    span_figures,
    span_views,
    worst_poses,
)

SOME = ("touring", "trail", "folding", "gravel-headset")


def figure(tables: Sequence[Figures], pose: Mapping[str, int]) -> tuple[float, float]:
    """Return radius and spare in a pose of whole units, as a page reads them."""
    table = next((one for one in tables if one.coordinate == COORDINATES.index("fold") and pose.get("fold")), tables[0])
    place = 0 if table.coordinate is None else pose.get(COORDINATES[table.coordinate], 0) - table.first
    return float(table.radius[place]), float(table.spare[place])


def along(grid: Grid, pose: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return a path gone straight between the poses of its grid, an axis at a time."""
    points = grid.points
    for at, values in grid.axes:
        low = min(int(np.searchsorted(values, pose[at], side="right")) - 1, len(values) - 2)
        share = (pose[at] - values[low]) / (values[low + 1] - values[low])
        points = (1.0 - share) * points[low] + share * points[low + 1]
    return points


def values_of(shown: Mapping[str, int]) -> dict[str, float]:
    return {name: value / SHOWN[name][1] for name, value in shown.items()}


def every_span(job: JobPlan) -> list[tuple[int, int]]:
    return [(place, at) for place, line in enumerate(job.routing) for at in range(len(line.spans))]


@pytest.mark.parametrize("bike", FLEET)
def test_figures_where_the_sweep_has_poses_are_the_sweeps(bike: str) -> None:
    """The sweep followed the housing there in small steps; every whole pose of it has the same radius and chord."""
    job = planned(bike)
    compared = 0
    for key, tables in zip(every_span(job), span_figures(job), strict=True):
        loop = job.loops.get(key)
        if loop is None or loop.case.slides:
            continue
        for at, pose in enumerate(loop.case.poses):
            shown = {name: float(value) * SHOWN[name][1] for name, value in zip(COORDINATES, pose, strict=True)}
            whole = {name: round(value) for name, value in shown.items()}
            bent = [name for name in COORDINATES if whole[name]]
            if all(abs(shown[name] - whole[name]) < 1e-6 for name in shown) and len(bent) < 2:
                radius, spare = figure(tables, whole)
                assert radius == pytest.approx(float(loop.sweep.least_radius[at]), rel=1e-4)
                assert spare == pytest.approx(float(loop.sweep.length[at] - loop.sweep.chord[at]), abs=1e-6)
                compared += 1
    assert compared or not job.loops


@pytest.mark.parametrize("degree", [-61, 7, 33])
def test_figures_between_the_sweeps_poses_are_what_a_rod_from_nowhere_has(degree: int) -> None:
    """The least shape of all, found without the sweep, has the figures told."""
    job = planned("touring")
    keys, tables = every_span(job), span_figures(job)
    pose = pose_of({"steer": math.radians(degree)})[None]
    for key, loop in job.loops.items():
        rods = relax(loop.case.clamps(pose), np.array([loop.target]))
        radius, spare = figure(tables[keys.index(key)], {"steer": degree})
        assert radius == pytest.approx(float(rods.least_radius[0]), rel=1e-3)
        assert spare == pytest.approx(loop.target - float(rods.chord[0]), abs=1e-6)


@pytest.mark.parametrize(
    ("bike", "shown"),
    [
        ("touring", {"steer": 41}),
        ("gravel-headset", {"steer": -52}),
        ("trail", {"steer": 23, "fork": 57, "rear": 88}),
        ("folding", {"fold": 93}),
        ("folding", {"steer": -37}),
    ],
)
def test_paths_lie_where_housing_lies(bike: str, shown: dict[str, int]) -> None:
    """Off the grid, carried along by its body, each path keeps within a millimetre of the lines in that pose."""
    job = planned(bike)
    pose = values_of(shown)
    values = pose_of(pose)
    lines = posed_lines(job, pose)
    for view in span_views(job):
        grid = view.folding if view.folding is not None and shown.get("fold") else view.path
        seen = job.model.mechanism.at(view.body, values[None]).points(along(grid, values))[0]
        real = lines[view.line].spans[view.span].points
        gaps = np.linalg.norm(seen[:, None] - _dense(real)[None], axis=2).min(axis=1)
        assert gaps.max() < 1.0, (view.line, view.span, view.kind)
        assert seen[[0, -1]] == pytest.approx(real[[0, -1]], abs=1.0)


def _dense(points: NDArray[np.float64]) -> NDArray[np.float64]:
    shares = np.linspace(0.0, 1.0, 25)[:, None, None]
    return np.asarray((points[:-1] + shares * (points[1:] - points[:-1])).reshape(-1, 3))


@pytest.mark.parametrize("bike", SOME)
def test_grids_go_from_end_to_end_in_small_steps(bike: str) -> None:
    job = planned(bike)
    sweep = poses(job.model.frame)
    ends = {STEER: (-sweep.lock, sweep.lock)}
    axes = [axis for span in span_views(job) for grid in (span.path, span.folding) if grid for axis in grid.axes]
    assert any(at == STEER for at, _ in axes)
    for at, values in axes:
        low, high = ends.get(at, (0.0, float(sweep.high[at])))
        assert (values[0], values[-1]) == pytest.approx((low, high))
        steps = np.diff(values)
        assert steps.min() > 1e-3 * steps.max(), "no pose stands twice"
        assert steps.max() <= (TURN if at in (STEER, FOLD) else COARSE) + 1e-9


@pytest.mark.parametrize("bike", SOME)
def test_a_path_knows_only_what_bends_it(bike: str) -> None:
    """A loop's grid has the coordinates that move its two bodies against each other, and no others."""
    job = planned(bike)
    for view in span_views(job):
        shape = job.routing[view.line].spans[view.span]
        if isinstance(shape, Loop) and not job.loops[view.line, view.span].case.slides:
            between = job.model.mechanism.coordinates_between(shape.start_body, shape.end_body)
            moving = poses(job.model.frame).moving
            assert {COORDINATES[at] for at, _ in view.path.axes} == (between & set(moving)) - {"fold"}
            assert (view.folding is not None) == ("fold" in between)


@pytest.mark.parametrize("bike", FLEET)
def test_the_worst_pose_is_the_plans(bike: str) -> None:
    """No swept pose bends a piece's moving loops more; where these set the piece's least radius, the plan says so."""
    job = planned(bike)
    found = {one.tag: one for one in worst_poses(job)}
    for place, line in enumerate(job.routing):
        for piece in line.route.pieces:
            moved = [
                job.loops[place, at]
                for at in piece.spans
                if (place, at) in job.loops and job.loops[place, at].case.moves
            ]
            assert (piece.tag in found) == bool(moved)
            if not moved:
                continue
            worst = found[piece.tag]
            assert worst.radius == min(float(loop.radius.min()) for loop in moved)
            planned_piece = job.piece(piece.tag)
            assert planned_piece is not None
            assert planned_piece.least_radius is not None
            assert planned_piece.least_radius <= worst.radius + 1e-9
            if planned_piece.least_radius == pytest.approx(worst.radius):
                assert worst.pose == planned_piece.least_radius_pose
    order = [one.radius / one.kink_radius for one in worst_poses(job)]
    assert order == sorted(order)


def test_what_moves_goes_as_far_as_the_file_says() -> None:
    assert [(one.name, one.low, one.high) for one in ranges(poses(planned("trail").model.frame))] == [
        ("steer", -75, 75),
        ("fork", 0, 140),
        ("rear", 0, 140),
        ("post", 0, 150),
    ]
    assert [(one.name, one.low, one.high) for one in ranges(poses(planned("folding").model.frame))] == [
        ("steer", -90, 90),
        ("fold", 0, 175),
    ]


def test_while_folded_nothing_else_moves() -> None:
    sweep = poses(planned("folding").model.frame)
    asked = pose_of({"steer": 0.5, "fold": 1.2})
    assert effective(sweep, asked) == pytest.approx(pose_of({"steer": sweep.fold_steer, "fold": 1.2}))
    assert effective(sweep, pose_of({"steer": 0.5})) == pytest.approx(pose_of({"steer": 0.5}))


@pytest.mark.parametrize("fork_mm", [0.0, 35.0, 140.0])
def test_a_loop_that_two_things_bend_has_figures_for_the_setting(fork_mm: float) -> None:
    """They hold for the fork's travel as asked, and say so; the rod found from nowhere has the same."""
    job = bent_by_two()
    keys, tables = every_span(job), span_figures(job, {"fork": fork_mm})
    loop = job.loops[0, 1]
    assert list(np.flatnonzero(loop.case.poses.max(axis=0) > loop.case.poses.min(axis=0))) == [STEER, FORK]
    table = tables[keys.index((0, 1))][0]
    assert table.coordinate == STEER
    assert table.others == pytest.approx(pose_of({"fork": fork_mm}))
    for degree in (-40, 0, 65):
        pose = pose_of({"steer": math.radians(degree), "fork": fork_mm})
        rods = relax(loop.case.clamps(pose[None]), np.array([loop.target]))
        radius, spare = figure((table,), {"steer": degree})
        assert spare == pytest.approx(loop.target - float(rods.chord[0]), abs=1e-6)
        assert radius == pytest.approx(float(rods.least_radius[0]), rel=1e-3)


def test_housing_too_short_for_a_pose_has_no_radius_and_lies_straight() -> None:
    job = planned("touring")
    loop = job.loops[1, 1]
    short = 0.5 * float(loop.sweep.chord.min() + loop.sweep.chord.max())
    cut = replace(loop, sweep=replace(loop.sweep, length=np.full_like(loop.sweep.length, short)))
    job = replace(job, loops={**job.loops, (1, 1): cut})
    at = every_span(job).index((1, 1))
    table, path = span_figures(job)[at][0], span_views(job)[at].path.points
    assert np.isnan(table.radius[table.spare <= 0.0]).all()
    assert np.isfinite(table.radius[table.spare > 3.0]).all()
    assert 0 < np.isnan(table.radius).sum() < len(table.radius)
    assert np.isfinite(path).all()
    lengths = np.linalg.norm(np.diff(path, axis=1), axis=2).sum(axis=1)
    chords = np.linalg.norm(path[:, -1] - path[:, 0], axis=1)
    assert lengths[chords >= short] == pytest.approx(chords[chords >= short])


def test_the_grid_of_two_is_the_product_of_both() -> None:
    view = next(one for one in span_views(bent_by_two()) if (one.line, one.span) == (0, 1))
    assert [at for at, _ in view.path.axes] == [STEER, FORK]
    sizes = [len(values) for _, values in view.path.axes]
    assert view.path.points.shape[:2] == tuple(sizes)
    steps = np.diff(view.path.axes[1][1])
    assert steps.max() <= 20.0 + 1e-9
