"""The fault finder: planted friction and drag found again within their intervals, and verdicts on planted faults."""

from __future__ import annotations

import functools
import math

import numpy as np
import pytest

from ropewalk.analysis.faultfit import fit_line
from ropewalk.analysis.faultparts import check_part
from ropewalk.analysis.faultreadings import Pair
from ropewalk.bike.fleet import find
from ropewalk.bike.framefile import Frame
from ropewalk.bike.parts import catalogue
from ropewalk.bike.reading import read
from ropewalk.bike.sourced import SIGMAS_WITHIN
from ropewalk.errors import ChoiceError
from ropewalk.mechanics.capstan import Contact
from ropewalk.workshop.fault import FaultPlan, Readings, find_fault

#: what the scale errs by, 19 times in 20, in these tests [N]
SCALE = 1.0
SIGMA = SCALE / SIGMAS_WITHIN


@functools.cache
def frame() -> Frame:
    return read(find("touring"))


def fault(lever: tuple[float, ...], end: tuple[float, ...], **more: float) -> FaultPlan:
    return find_fault(frame(), "rear brake", Readings(lever, end, **{"scale": SCALE, **more}))


def pulls(friction: float, ends: tuple[float, ...], drag: float = 0.0) -> tuple[float, ...]:
    """Pull at the lever by the capstan rule, in = (out + drag) exp(mu theta), over the tourer's rear brake."""
    turn = fault((40.0,), (20.0,)).turn
    return tuple((end + drag) * math.exp(friction * turn) for end in ends)


# The fit.


def test_an_exact_pair_gives_the_capstan_rule_s_own_answer() -> None:
    """mu = ln(in / out) / theta: 72 N in, 30 N out over 360° is 0.1393."""
    found = fit_line([Pair(72.0, 30.0)], [Contact(2.0 * math.pi)], 0.0, 1e-6)
    assert found is not None
    assert found.friction.value == pytest.approx(math.log(72.0 / 30.0) / (2.0 * math.pi), rel=1e-6)
    assert found.friction.high - found.friction.low < 1e-6
    assert found.drag is None


def test_two_exact_loads_give_friction_and_drag() -> None:
    """A line through (20, 2 (20 + 5)) and (60, 2 (60 + 5)) has the slope exp(mu theta) = 2 and the drag 5."""
    found = fit_line([Pair(50.0, 20.0), Pair(130.0, 60.0)], [Contact(math.pi)], 0.0, 1e-6)
    assert found is not None and found.drag is not None
    assert found.friction.value == pytest.approx(math.log(2.0) / math.pi, rel=1e-6)
    assert found.drag.value == pytest.approx(5.0, abs=1e-4)


def test_a_known_drag_is_taken_off() -> None:
    found = fit_line([Pair(2.0 * (30.0 + 4.0), 30.0)], [Contact(math.pi, 0.0, 4.0)], 0.0, 1e-6)
    assert found is not None
    assert found.friction.value == pytest.approx(math.log(2.0) / math.pi, rel=1e-6)


@pytest.mark.parametrize(
    ("ends", "drag", "repeats", "count"),
    [((25.0,), 0.0, 1, 5_000), ((25.0, 70.0), 6.0, 1, 1_500), ((30.0,), 0.0, 3, 1_500)],
    ids=["one pair", "two loads and a drag", "one pair read three times"],
)
def test_a_planted_friction_lies_in_its_interval_19_times_in_20(
    ends: tuple[float, ...], drag: float, repeats: int, count: int
) -> None:
    """For friction from 0.05 to 0.3 and turns from 90° to 700°; the scale errs once for all repeats of a load."""
    random = np.random.default_rng(20_260)
    hit = dragged = 0
    for _ in range(count):
        friction, turn = random.uniform(0.05, 0.3), random.uniform(math.pi / 2, 12.2)
        # turns and friction that let so little through that nobody could read it are left out
        turn = min(turn, 2.0 / friction)
        pairs = []
        for end in ends:
            lever = (end + drag) * math.exp(friction * turn)
            wrong = random.normal(0.0, SIGMA, 2)
            pairs += [Pair(lever + wrong[0], end + wrong[1])] * repeats
        found = fit_line(pairs, [Contact(turn)], 0.0, SIGMA)
        assert found is not None
        hit += found.friction.low <= friction <= found.friction.high
        dragged += found.drag is None or found.drag.low <= drag <= found.drag.high
    assert hit / count == pytest.approx(0.95, abs=0.02)
    assert dragged / count == pytest.approx(1.0 if len(ends) == 1 else 0.95, abs=0.02)


# The moving part.


def test_half_the_sum_is_the_spring_and_half_the_difference_the_stick() -> None:
    found = check_part(30.0, 10.0, SIGMA, (None, None), 0.3)
    assert found is not None and found.spring is not None and found.stick is not None
    assert (found.spring.value, found.stick.value) == (20.0, 10.0)
    assert found.state == "sticks"


@pytest.mark.parametrize(
    ("moves", "returns", "state"),
    [(14.0, 11.0, "sound"), (30.0, 2.0, "sticks"), (4.0, 3.5, "weak"), (6.0, 0.0, "sticks and weak")],
)
def test_a_caliper_that_sticks_or_is_weak_is_told(moves: float, returns: float, state: str) -> None:
    """Held against the dual-pivot caliper's 10 to 20 N (estimate), and a stick of three tenths of its spring."""
    mover = catalogue().mover("dual-pivot rim caliper, rear")
    found = check_part(moves, returns, SIGMA, (mover.spring_least, mover.spring_most), 0.3)
    assert found is not None
    assert found.state == state


def test_nothing_read_is_nothing_said() -> None:
    assert check_part(None, None, SIGMA, (None, None), 0.3) is None


# Verdicts on planted faults.


def test_a_corroded_wire_is_told_by_two_loads() -> None:
    found = fault(pulls(0.25, (15.0, 60.0)), (15.0, 60.0))
    assert (found.diagnosis.verdict, found.diagnosis.faults) == ("wire", ("wire",))
    assert "corroded" in found.diagnosis.line.looks_like
    assert any("Renew inner and housing" in step for step in found.following)


def test_an_end_that_holds_the_wire_back_is_told_by_two_loads() -> None:
    found = fault(pulls(0.08, (20.0, 80.0), drag=15.0), (20.0, 80.0))
    assert found.diagnosis.faults == ("end",)
    drag = found.diagnosis.line.fit.drag
    assert drag is not None and drag.value == pytest.approx(15.0, abs=0.01)


def test_one_load_cannot_tell_a_rough_wire_from_an_end() -> None:
    found = fault(pulls(0.25, (30.0,)), (30.0,))
    assert found.diagnosis.verdict == "unclear"
    assert set(found.diagnosis.suspects) == {"wire", "end"}
    assert any("more or less" in step for step in found.following)


def test_a_new_wire_and_a_sticking_caliper() -> None:
    found = fault(pulls(0.08, (20.0, 80.0)), (20.0, 80.0), part_moves=30.0, part_returns=2.0)
    assert found.diagnosis.faults == ("part",)


def test_nothing_wrong_is_said_so() -> None:
    found = fault(pulls(0.08, (20.0, 80.0)), (20.0, 80.0), part_moves=15.0, part_returns=11.0)
    assert found.diagnosis.verdict == "nothing"
    assert "Nothing wrong found" in found.verdict


def test_a_wire_too_rough_to_release_is_said_so() -> None:
    """The reserve of the tourer's rear brake lies near 0.22; at 0.35 its spring cannot bring it back."""
    found = fault(pulls(0.35, (10.0, 40.0)), (10.0, 40.0))
    assert found.diagnosis.release is not None
    assert found.diagnosis.release.state == "stops"


# What cannot be.


@pytest.mark.parametrize(
    ("readings", "line", "words"),
    [
        (Readings((20.0,), (30.0,)), "rear brake", "30 N come out where 20 N go in"),
        (Readings((0.0,), (3.0,)), "rear brake", "a reading at the lever is 0 N"),
        (Readings((-4.0,), (3.0,)), "rear brake", "a reading at the lever is -4 N"),
        (Readings((30.0, 40.0), (20.0,)), "rear brake", "2 readings at the lever and 1 at the other end"),
        (Readings((), ()), "rear brake", "there is no reading"),
        (Readings((30.0,), (20.0,), scale=0.0), "rear brake", "the scale's error is 0 N"),
        (Readings((30.0,), (20.0,), scale=25.0), "rear brake", "the scale may be wrong by 25 N"),
        (Readings((900.0,), (700.0,)), "rear brake", "beyond a workshop's scale"),
        (Readings((30.0,), (20.0,), part_moves=5.0, part_returns=15.0), "rear brake", "gives back more"),
        (Readings((30.0,), (20.0,), part_moves=0.0), "rear brake", "the part moves with 0 N"),
        (Readings((30.0,), (20.0,)), "rear brak", 'did you mean "rear brake"'),
        (Readings((60.0, 30.0), (20.0, 70.0), scale=40.0), "rear brake", "may be wrong by 40 N"),
    ],
)
def test_readings_that_cannot_be_are_refused_in_one_line(readings: Readings, line: str, words: str) -> None:
    with pytest.raises(ChoiceError) as refused:
        find_fault(frame(), line, readings)
    assert words in str(refused.value)
    assert "\n" not in str(refused.value)


def test_a_hose_has_no_wire_that_could_drag() -> None:
    with pytest.raises(ChoiceError, match="is a hose"):
        find_fault(read(find("trail")), "rear brake", Readings((30.0,), (20.0,)))
