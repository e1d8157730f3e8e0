"""Friction of a line against the capstan rule by hand: exp(-sum of mu theta), and the release reserve likewise."""

from __future__ import annotations

import dataclasses
import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from makers import loop_case, steered
from workbench import CALIPER, FRONT_STOP, LEVER, PARTS, REAR_STOP, placed, station

from ropewalk.analysis.friction import LineFriction, line_friction
from ropewalk.analysis.loops import LoopWindow
from ropewalk.analysis.wireline import CONDITIONS, wire_of
from ropewalk.bike.poses import Poses
from ropewalk.routing.course import Course
from ropewalk.routing.spans import PlacedLine

#: riding range, and a sweep that reaches beyond it [°]
STEER = (-70.0, -45.0, 0.0, 45.0, 70.0)
SWEEP = Poses(
    steered(STEER),
    np.radians(STEER),
    *steered([-70.0, 70.0]),
    fold_steer=0.0,
    lock=math.radians(70.0),
    lock_assumed=False,
)
#: turn of the hand-made loop at the bar in those poses, and of the one at the brake [rad]
BAR, BRAKE = (9.0, 2.6, 2.0, 2.3, 9.0), 1.1
#: friction coefficients of lined housing, of bare guides, and of formed pieces as in a lever's head (estimates)
LINED = {"new": 0.08, "worn": 0.15, "corroded": 0.25}
GUIDE = {"new": 0.20, "worn": 0.30, "corroded": 0.35}
FORMED = {"new": 0.10, "worn": 0.18, "corroded": 0.28}


def loop(steer: tuple[float, ...], turn: tuple[float, ...]) -> LoopWindow:
    case = loop_case(steer, lambda _poses: None, 30.0, 50.0)
    sweep: Any = SimpleNamespace(turn=np.array(turn))
    return LoopWindow(
        case, None, None, 0.0, True, False, None, sweep, np.zeros(len(steer), bool), np.zeros(0), np.zeros((0, 1))
    )


@pytest.fixture(scope="module", name="line")
def _line() -> PlacedLine:
    return placed([LEVER, FRONT_STOP, REAR_STOP, CALIPER])[1]


def friction(line: PlacedLine, hand_force: float = 100.0) -> LineFriction:
    found = line_friction(
        line.route,
        wire_of(line, {0: loop(STEER, BAR), 2: loop((0.0,), (BRAKE,))}, SWEEP, PARTS),
        SWEEP,
        PARTS,
        hand_force,
    )
    assert found is not None
    return found


def bare_turn(line: PlacedLine) -> float:
    span = line.spans[1]
    assert isinstance(span, Course)
    return span.turn


def head_turn() -> float:
    return float(PARTS.lever("drop-bar brake-and-shift lever").exit("brake").head_turn or 0.0)


def anchor_turn() -> float:
    return float(PARTS.mover("dual-pivot rim caliper, rear").anchor_turn or 0.0)


@pytest.mark.parametrize("condition", CONDITIONS)
def test_efficiency_is_the_capstan_rule_over_all_contacts(line: PlacedLine, condition: str) -> None:
    """The lever's head formed, bare run and anchor on guides, both loops in lined housing; straight ahead."""
    guide = GUIDE[condition] * (bare_turn(line) + anchor_turn())
    housing = FORMED[condition] * head_turn() + LINED[condition] * (BAR[2] + BRAKE)
    assert friction(line).efficiency[condition].value == pytest.approx(math.exp(-guide - housing), rel=1e-9)


def test_turn_is_summed_straight_ahead_from_lever_to_anchor(line: PlacedLine) -> None:
    expected = head_turn() + BAR[2] + bare_turn(line) + BRAKE + anchor_turn()
    assert friction(line).turn == pytest.approx(expected)
    assert [stretch.label for stretch in friction(line).stretches] == [
        "in the lever",
        "loop, lever to front stop",
        "bare, front stop to rear stop",
        "loop, rear stop to caliper",
        "at the caliper",
    ]


def test_without_drags_the_hand_s_force_does_not_matter(line: PlacedLine) -> None:
    gentle, hard = friction(line, 50.0).efficiency, friction(line, 150.0).efficiency
    assert [gentle[name].value for name in CONDITIONS] == pytest.approx([hard[name].value for name in CONDITIONS])


def test_the_release_reserve_is_that_of_the_worst_pose_of_the_riding_range(line: PlacedLine) -> None:
    """ln(least spring force over the force needed) over the turn at 45° left; what it turns at the lock is left out."""
    spring = PARTS.mover("dual-pivot rim caliper, rear").spring_least
    needed = PARTS.lever("drop-bar brake-and-shift lever").exit("brake").needed_force
    assert spring is not None and needed is not None
    worst = head_turn() + BAR[1] + bare_turn(line) + BRAKE + anchor_turn()
    assert friction(line).release_reserve == pytest.approx(math.log(spring / needed) / worst)


def test_a_wire_in_a_liner_rubs_on_the_liner() -> None:
    stop = station(FRONT_STOP, then="inside", through=["down tube"], carries="liner")
    derailleur = {"name": "rear derailleur", "type": "stop", "part": "rear derailleur"}
    changes = {"work": "shift", "inner": "shift 1.2", "housing": "lengthwise shift 4.0", "liner": "shift liner"}
    line = placed([LEVER, stop, REAR_STOP, derailleur], **changes)[1]
    wire = wire_of(line, {0: loop(STEER, BAR), 2: loop((0.0,), (BRAKE,))}, SWEEP, PARTS)
    found = line_friction(line.route, wire, SWEEP, PARTS, 100.0)
    assert found is not None
    assert [stretch.pair for stretch in found.stretches][1:4] == ["lined housing", "liner", "lined housing"]


def test_a_hose_has_no_friction(line: PlacedLine) -> None:
    hose = dataclasses.replace(line.route, inner=None)
    assert line_friction(hose, (), SWEEP, PARTS, 100.0) is None
