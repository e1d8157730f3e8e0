"""How figures move spans and pieces: against lengths that follow from them by plain geometry."""

from __future__ import annotations

import math
from typing import Any

import makers
import numpy as np
import pytest
from makers import steered
from workbench import CALIPER, FRONT_STOP, LEVER, LEVERS, PARTS, REAR_STOP, bench_frame, line, station

from ropewalk.analysis.cases import clamps_of
from ropewalk.analysis.tolerance import Spread
from ropewalk.analysis.uncertainty import figure_effects
from ropewalk.bike.deviations import deviated
from ropewalk.bike.framefile import Frame
from ropewalk.bike.model import build
from ropewalk.bike.poses import poses
from ropewalk.routing.spans import place_line
from ropewalk.workshop.choices import Choices, settle
from ropewalk.workshop.plan import place_lines, spreads_of, study_demands, study_loops

#: half-widths that hold 19 times in 20 are so many standard deviations of a normal figure
WITHIN = 1.96


def known(value: float, within: float = 0.0) -> dict[str, float]:
    return {"is": value, "within": within}


def strapped(first: float, last: float) -> list[dict[str, Any]]:
    """Return a line whose second piece is strapped along one tube between stops at two known places."""
    exact = {"clock": known(9), "height": known(3), "lean": known(0), "skew": known(0)}
    return [
        LEVER,
        station(FRONT_STOP, facing="bottom bracket", then="strapped", **{**exact, "along": known(120, first)}),
        station(REAR_STOP, facing="head tube", **{**exact, "along": known(420, last)}),
        CALIPER,
    ]


def spread_of(frame: Frame, tag: str) -> Spread:
    bike, lines = place_lines(frame, PARTS)
    loops, groups = study_loops(bike, poses(bike.frame), lines, PARTS, settle(Choices(), PARTS))
    return spreads_of(study_demands(bike, lines, loops, groups, PARTS), PARTS)[tag]


def test_strapped_housing_grows_by_what_its_stops_move_apart() -> None:
    bike, lines = place_lines(bench_frame(line(strapped(5.0, 5.0))), PARTS)
    figures, effects = figure_effects(bike, lines, {})
    moved = {
        figure.path[3]: effect[0].lengths[1]
        for figure, effect in zip(figures, effects, strict=True)
        if figure.path[:3] == ("line", 0, "station") and figure.path[-1] == "along"
    }
    assert moved == pytest.approx({1: -1.0, 2: 1.0}, abs=1e-6)


def test_a_strapped_piece_is_known_as_surely_as_its_stops_and_ferrules() -> None:
    """Cut length is seat to seat less the floors: two places along the tube and two floors, insertions cancel."""
    floor = 0.3 / WITHIN
    expected = math.sqrt((4.0 / WITHIN) ** 2 + (7.0 / WITHIN) ** 2 + 2 * floor**2)
    assert spread_of(bench_frame(line(strapped(4.0, 7.0))), "A2").sigma == pytest.approx(expected, rel=0.02)


def test_figures_of_one_line_leave_another_alone() -> None:
    right = {**LEVERS["drop"], "name": "right lever", "side": "right"}
    other = line([LEVER, FRONT_STOP, REAR_STOP, CALIPER], name="other", lever="right lever")
    frame = makers.frame(lever=[LEVERS["drop"], right], line=[line(strapped(5, 5)), other])
    bike, lines = place_lines(frame, PARTS)
    figures, effects = figure_effects(bike, lines, {})
    for figure, effect in zip(figures, effects, strict=True):
        if figure.path[0] == "line":
            assert set(effect) <= {figure.path[1]}


def test_effects_are_those_of_a_bike_with_that_figure_changed() -> None:
    """Every span of every line, against bikes rebuilt whole with one figure a step off."""
    bike, lines = place_lines(bench_frame(line([LEVER, FRONT_STOP, REAR_STOP, CALIPER])), PARTS)
    wanted = {(0, 0): steered([-40.0, 0.0, 25.0]), (0, 2): steered([0.0])}
    figures, effects = figure_effects(bike, lines, wanted)
    assert len(figures) > 40
    for figure, effect in zip(figures, effects, strict=True):
        step = 0.05 * figure.within
        other = build(deviated(bike.frame, {figure.path: step}))
        there = place_line(other, lines[0].route, beyond=30.0)
        for span, pose in wanted.items():
            before, after = _clamps(bike, lines[0].spans[span[1]], pose), _clamps(other, there.spans[span[1]], pose)
            change = (after - before) / step
            found = effect[0].clamps[span[1]] if 0 in effect and span[1] in effect[0].clamps else np.zeros_like(change)
            assert found == pytest.approx(change, abs=1e-6), figure.path


def _clamps(bike: Any, loop: Any, poses: np.ndarray) -> np.ndarray:
    found = clamps_of(bike, loop)(poses)
    return np.concatenate([found.start, found.start_direction, found.end, found.end_direction], axis=1)


def test_a_longer_half_width_makes_a_length_less_sure() -> None:
    sigmas = []
    for within in (1.0, 5.0, 20.0):
        stations = [LEVER, station(FRONT_STOP, along=known(120, within)), REAR_STOP, CALIPER]
        sigmas.append(spread_of(bench_frame(line(stations)), "A1").sigma)
    assert sigmas == sorted(sigmas)
    assert sigmas[-1] > sigmas[0] + 1.0
