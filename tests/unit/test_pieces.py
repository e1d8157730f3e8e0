"""Pieces added up from hand-made windows: terms, several loops and one allowance of turn, reasons, least radius."""

from __future__ import annotations

import dataclasses
import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from makers import loop_case, steered
from workbench import CALIPER, FRONT_STOP, LEVER, REAR_STOP, placed, station

from ropewalk.analysis.loops import Limit, LoopWindow
from ropewalk.analysis.pieces import PieceStudy, study_piece
from ropewalk.bike.poses import STEER, Poses
from ropewalk.routing.course import Course
from ropewalk.routing.spans import PlacedLine

#: insertion of the ferrule of 5 mm brake housing [mm]
INSERTION = 10.0
#: the bike's own sweep
STEER_DEG = (-60.0, -45.0, 0.0, 45.0, 60.0)
SWEEP = Poses(
    steered(STEER_DEG),
    np.radians(STEER_DEG),
    *steered([-60.0, 60.0]),
    fold_steer=0.0,
    lock=math.pi / 3,
    lock_assumed=False,
)
#: one piece of lever, loop, inside, loop, caliper; the ports are 300 mm apart in a straight tube
PORT = station(FRONT_STOP, name="port", type="port", then="inside", through=["down tube"], carries="housing", lean=25)
REAR_PORT = station(REAR_STOP, name="rear port", type="port", lean=25)


@pytest.fixture(scope="module", name="line")
def _line() -> PlacedLine:
    return placed([LEVER, PORT, REAR_PORT, CALIPER])[1]


def loop(
    shortest: float,
    longest: float,
    *,
    name: str = "a loop",
    steer: tuple[float, ...] = STEER_DEG,
    per_mm: tuple[float, ...] = (0, 0, 0, 0, 0),
    target: float | None = None,
    radius: float = 55.0,
    allowance_deg: float = 30.0,
    **changes: Any,
) -> LoopWindow:
    """Return a window whose turn is 1 rad at its shortest in every pose and grows by so much a mm."""
    poses = len(steer)
    case = loop_case(steer, lambda _poses: None, 30.0, 50.0, name=name, turn_allowance=math.radians(allowance_deg))
    lengths = np.array([shortest - 1.0, shortest, longest, longest + 1.0])
    turns = 1.0 + (lengths[:, np.newaxis] - shortest) * np.array(per_mm[:poses])
    sweep = SimpleNamespace(
        turn=np.linspace(1.0, 1.4, poses), converged=np.ones(poses, dtype=bool), least_radius=np.full(poses, radius)
    )
    found = LoopWindow(
        case,
        Limit(shortest, steered([6.0])[0], f"pulls ({name})"),
        Limit(longest, steered([-6.0])[0], f"turns ({name})"),
        shortest + 10.0 if target is None else target,
        True,
        False,
        None,
        sweep,  # type: ignore[arg-type]
        np.zeros(poses, dtype=bool),
        lengths,
        turns,
    )
    return dataclasses.replace(found, **changes)


def still(shortest: float, longest: float, **changes: Any) -> LoopWindow:
    return loop(shortest, longest, **{"steer": (0.0,), **changes})


def without_window(found: LoopWindow) -> LoopWindow:
    return dataclasses.replace(found, shortest=None, longest=None)


def study(line: PlacedLine, *loops: LoopWindow) -> PieceStudy:
    return study_piece(line, line.route.pieces[0], loops, [], SWEEP)


def fixed(line: PlacedLine) -> float:
    inside = line.spans[1]
    assert isinstance(inside, Course)
    return inside.length + 2 * INSERTION


def slack(line: PlacedLine) -> float:
    inside = line.spans[1]
    assert isinstance(inside, Course)
    return inside.slack


def test_held_spans_add_up(line: PlacedLine) -> None:
    found = study(line, loop(300, 320), still(150, 160))
    assert found.fixed == pytest.approx(300.0 + 20.0)
    assert found.window == pytest.approx((320.0 + 450.0, 320.0 + 480.0 + slack(line)))
    assert found.target == pytest.approx(320.0 + 310.0 + 160.0)


def test_terms_add_up_to_the_target_span_by_span(line: PlacedLine) -> None:
    found = study(line, loop(300, 340), still(150, 190))
    assert [term.label for term in found.terms] == [
        "in the ferrule at lever",
        "loop, lever to port",
        "inside, port to rear port",
        "loop, rear port to caliper",
        "in the ferrule at caliper",
    ]
    assert [term.mm for term in found.terms] == pytest.approx([10, 310, 300, 160, 10])
    assert sum(term.mm for term in found.terms) == pytest.approx(found.target)


def test_each_loop_alone_may_use_the_allowance_but_not_all_of_them_together(line: PlacedLine) -> None:
    """Two loops that turn 1.5°/mm and 1°/mm, each 20 and 30 mm long in the window: 30° each, 60° together."""
    first = loop(300, 320, per_mm=(0, math.radians(1.5), math.radians(1.5), math.radians(1.5), 0))
    second = still(150, 180, per_mm=(math.radians(1.0),), target=152.0)
    found = study(line, dataclasses.replace(first, target=302.0), second)
    assert found.window is not None
    # half of either window, 15° each
    assert found.window[1] == pytest.approx(fixed(line) + 310.0 + 165.0 + slack(line), abs=0.05)
    assert found.why_longest == "its loops together turn 30° more than at their shortest"


def test_the_first_length_that_turns_too_far_ends_the_window(line: PlacedLine) -> None:
    """A loop that turns 40° more half way along its window and less again beyond it."""
    humped = still(150, 170)
    humped = dataclasses.replace(
        humped, lengths=np.array([150.0, 160.0, 170.0]), turns=np.radians([[60.0], [100.0], [70.0]])
    )
    found = study(line, loop(300, 320), humped)
    assert found.window is not None
    # three quarters of the way up: 30° of 40°
    assert found.window[1] == pytest.approx(fixed(line) + 307.5 + 157.5 + slack(line), abs=0.05)


def test_turn_beyond_the_riding_range_does_not_count(line: PlacedLine) -> None:
    first = loop(300, 320, per_mm=(1.0, 0, 0, 0, 1.0))
    found = study(line, first, still(150, 180, per_mm=(math.radians(1.0),)))
    assert found.window == pytest.approx((fixed(line) + 450.0, fixed(line) + 500.0 + slack(line)))
    assert found.why_longest == "a loop: turns (a loop); a loop: turns (a loop)"


def test_poses_of_loops_that_move_are_taken_together(line: PlacedLine) -> None:
    """What one loop gains to the right another may lose there: their sum counts, pose by pose."""
    grows = tuple(math.radians(angle) for angle in (0, -1.5, 0, 1.5, 0))
    first, second = loop(300, 320, per_mm=grows), loop(150, 170, per_mm=tuple(-grow for grow in grows))
    found = study(line, first, second)
    assert found.window is not None
    assert found.window[1] == pytest.approx(fixed(line) + 490.0 + slack(line))


def test_a_target_beyond_the_shared_allowance_gives_way_and_its_terms_say_so(line: PlacedLine) -> None:
    turning = math.radians(3.0)
    first = loop(300, 320, per_mm=(0, turning, turning, turning, 0), target=318.0)
    second = still(150, 170, per_mm=(turning,), target=168.0)
    line_without_slack = dataclasses.replace(line, spans=(line.spans[0], _taut(line.spans[1]), line.spans[2]))
    found = study(line_without_slack, first, second)
    assert found.window is not None
    assert found.target == pytest.approx(found.window[1])
    assert sum(term.mm for term in found.terms) == pytest.approx(found.target)


def _taut(span: Any) -> Course:
    return dataclasses.replace(span, slack=0.0)


def test_a_loop_without_a_window_leaves_the_piece_without_one(line: PlacedLine) -> None:
    found = study(line, loop(300, 320), without_window(still(150, 180, target=170.0)))
    assert found.window is None
    assert found.target == pytest.approx(fixed(line) + 310.0 + 170.0)
    assert "no length keeps the kink radius" in found.why_shortest
    assert found.terms[3].note.startswith("no length keeps the kink radius")


def test_a_way_that_is_shut_leaves_the_piece_without_a_window(line: PlacedLine) -> None:
    shut = dataclasses.replace(line, spans=(line.spans[0], _shut(line.spans[1]), line.spans[2]))
    found = study(shut, loop(300, 320), still(150, 180))
    assert found.window is None
    assert not found.reached


def _shut(span: Any) -> Course:
    return dataclasses.replace(span, reached=False)


def test_the_least_radius_is_the_tightest_of_loops_and_other_spans(line: PlacedLine) -> None:
    first = loop(300, 320)
    first.sweep.least_radius[4] = 41.0
    found = study(line, first, still(150, 180, radius=60.0))
    assert (found.least_radius, math.degrees(found.least_radius_pose[STEER])) == (41.0, pytest.approx(60.0))
    bent = dataclasses.replace(line, spans=(line.spans[0], _bent(line.spans[1]), line.spans[2]))
    assert study(bent, first, still(150, 180)).least_radius == 33.0


def _bent(span: Any) -> Course:
    return dataclasses.replace(span, least_radius=33.0)


def test_turn_is_that_straight_ahead_at_the_target(line: PlacedLine) -> None:
    """1.2 rad in the middle of five poses, 1 rad of the one pose, and 25° at either port."""
    assert study(line, loop(300, 320), still(150, 180)).turn == pytest.approx(1.2 + 1.0 + math.radians(50), abs=1e-6)


def test_reasons_name_their_loop_where_there_are_several(line: PlacedLine) -> None:
    found = study(line, loop(300, 320, name="bar"), still(150, 180, name="bridge"))
    assert found.why_shortest == "bar: pulls (bar); bridge: pulls (bridge)"
    stops = placed([LEVER, FRONT_STOP, REAR_STOP, CALIPER])[1]
    assert study(stops, loop(300, 320, name="bar")).why_shortest == "pulls (bar)"


def test_a_strapped_piece_has_one_length() -> None:
    first, last = station(FRONT_STOP, facing="bottom bracket", then="strapped"), station(REAR_STOP, facing="head tube")
    line = placed([LEVER, first, last, CALIPER])[1]
    found = study_piece(line, line.route.pieces[1], [], [], SWEEP)
    # 300 mm from seat to seat less two floors of 2 mm
    assert found.window == pytest.approx((296.0, 296.0))
    assert found.target == pytest.approx(296.0)
    assert (found.least_radius, found.turn) == (math.inf, 0.0)
    assert found.why_longest == "it is held along its whole length"


def test_the_advised_radius_is_kept_when_every_loop_keeps_it(line: PlacedLine) -> None:
    assert study(line, loop(300, 320), still(150, 180)).keeps_advised
    assert not study(line, loop(300, 320), still(150, 180, keeps_advised=False)).keeps_advised
