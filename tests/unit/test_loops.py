"""What a loop has to keep in which pose, and what is looked up in its table of turns."""

from __future__ import annotations

import numpy as np
import pytest
from makers import loop_case, steered

from ropewalk.analysis.loops import LoopCase, LoopWindow, joined
from ropewalk.bike.poses import pose_words
from ropewalk.mechanics.elastica import Clamps, relax

X = np.array([1.0, 0.0, 0.0])


def still(_steer: object) -> Clamps:
    return Clamps(np.zeros((1, 3)), X[np.newaxis], 100.0 * X[np.newaxis], X[np.newaxis])


def case(steer: list[float]) -> LoopCase:
    return loop_case(steer, still, 30.0, 50.0)


def test_the_advised_radius_counts_while_riding_and_the_kink_radius_beyond() -> None:
    loop = case([-60, -45, 0, 45, 60])
    assert loop.required(loop.poses, advised=True).tolist() == [30, 50, 50, 50, 30]
    assert loop.required(loop.poses, advised=False).tolist() == [30] * 5


def test_an_advised_radius_below_the_kink_radius_asks_for_no_less() -> None:
    loop = loop_case([0.0], still, 30.0, 20.0)
    assert loop.required(loop.poses, advised=True).tolist() == [30]


def test_home_is_straight_ahead() -> None:
    assert case([-60, -45, 0, 45, 60]).home == 2
    assert case([-60, -45, 0, 45, 60]).moves
    assert not case([0]).moves


def test_turn_within_a_window_is_read_between_its_lengths() -> None:
    rods = relax(still(None), np.array([104.0]))
    window = LoopWindow(
        case([-10, 0, 10]), None, None, 104.0, False, False, None, rods, np.zeros(3, dtype=bool),
        lengths=np.array([100.0, 110.0, 130.0]),
        turns=np.array([[1.0, 2.0, 3.0], [2.0, 2.0, 5.0], [4.0, 2.0, 5.0]]),
    )  # fmt: skip
    assert window.turn_at(105.0) == pytest.approx([1.5, 2.0, 4.0])
    assert window.turn_at(120.0) == pytest.approx([3.0, 2.0, 5.0])


def test_a_loop_without_a_shape_has_no_radius() -> None:
    rods = relax(still(None), np.array([99.0]))
    window = LoopWindow(
        case([0]), None, None, 99.0, False, False, None, rods, np.zeros(1, dtype=bool), np.zeros(0), np.zeros((0, 1))
    )
    assert window.radius.tolist() == [0.0]


@pytest.mark.parametrize(
    ("angle", "words"), [(0.0, "straight ahead"), (0.4, "straight ahead"), (62.4, "62° right"), (-12, "12° left")]
)
def test_steering_angles_in_words(angle: float, words: str) -> None:
    assert pose_words(steered([angle])[0]) == words


def test_batches_of_clamps_in_one() -> None:
    both = joined([still(None), still(None)])
    assert both.shape == (2,)
    assert both.end.tolist() == [[100.0, 0.0, 0.0]] * 2
