"""The fault finder: verdicts on planted faults, on what cannot be told, and on readings that cannot be."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from planned import planned

from ropewalk.analysis.faultfinding import LineCheck, between_scales, check_line, expected_friction
from ropewalk.analysis.faultparts import check_part
from ropewalk.analysis.faultreadings import Pair, sort_loads
from ropewalk.analysis.wireline import Stretch
from ropewalk.bike.parts import catalogue
from ropewalk.bike.sourced import SIGMAS_WITHIN, Source, Sourced
from ropewalk.errors import ChoiceError
from ropewalk.workshop.fault import FaultPlan, find_fault
from ropewalk.workshop.faultchecks import Readings
from ropewalk.workshop.jobplan import JobPlan, LinePlan

#: what the scale errs by, 19 times in 20, in these tests [N]
SCALE = 1.0
SIGMA = SCALE / SIGMAS_WITHIN
#: simulated wires for each kind of fault
COUNT = 400


def line_of(job: JobPlan, name: str) -> LinePlan:
    return next(line for line in job.lines if line.name == name)


def fault(lever: tuple[float, ...], end: tuple[float, ...], **more: Any) -> FaultPlan:
    return find_fault(planned("touring"), "rear brake", Readings(lever, end, **{"scale": SCALE, **more}))


def pulls(friction: float, ends: tuple[float, ...], drag: float = 0.0) -> tuple[float, ...]:
    """Pull at the lever by the capstan rule, in = (out + drag) exp(mu theta), over the tourer's rear brake."""
    turn = fault((40.0,), (20.0,)).diagnosis.line.turn
    return tuple((end + drag) * math.exp(friction * turn) for end in ends)


# Wire and ends, on a bench of plain stretches.


def stretch(turn: float, *, kind: str = "loop", pair: str = "lined housing", drag: float = 0.0) -> Stretch:
    return Stretch("a stretch", kind, pair, 100.0, np.array([turn]), 0.0, None, drag, 0.0)


def checked(friction: float, ends: tuple[float, ...], drag: float, random: np.random.Generator) -> LineCheck:
    """Check a bench wire of 360° in lined housing, read once at each load with a scale that errs."""
    turn = 2.0 * math.pi
    pairs = [
        Pair((end + drag) * math.exp(friction * turn) + wrong[0], end + wrong[1])
        for end, wrong in zip(ends, random.normal(0.0, SIGMA, (len(ends), 2)), strict=True)
    ]
    found = check_line(pairs, [stretch(turn)], np.array([turn]), SIGMA, catalogue())
    assert found is not None
    return found


def shares(states: list[str]) -> dict[str, float]:
    return {state: states.count(state) / len(states) for state in set(states)}


@pytest.mark.parametrize(
    ("condition", "drag", "ends", "states"),
    [
        ("new", 0.0, (20.0, 80.0), {"sound"}),
        ("corroded", 0.0, (20.0, 80.0), {"wire"}),
        ("new", 15.0, (20.0, 80.0), {"end"}),
        ("corroded", 15.0, (20.0, 80.0), {"wire and end"}),
        ("corroded", 0.0, (30.0,), {"wire or end"}),
        ("new", 15.0, (30.0,), {"wire or end"}),
        ("new", 0.0, (30.0,), {"sound"}),
    ],
)
def test_a_planted_fault_is_told_nine_times_in_ten(
    condition: str, drag: float, ends: tuple[float, ...], states: set[str]
) -> None:
    """The wire's own friction is the condition's, as the catalogue has it; a test at 19 in 20 may miss now and then."""
    random = np.random.default_rng(7)
    friction = float(catalogue().friction("lined housing", condition))
    found = shares([checked(friction, ends, drag, random).state for _ in range(COUNT)])
    assert sum(share for state, share in found.items() if state in states) > 0.9


def test_a_sound_wire_is_seldom_called_rough() -> None:
    """New wires as varied as the catalogue says: at most 1 in 20 false alarms, for wire and end together."""
    random, new = np.random.default_rng(8), catalogue().friction("lined housing", "new")
    count = 5 * COUNT
    states = [checked(random.normal(float(new), new.sigma), (20.0, 80.0), 0.0, random).state for _ in range(count)]
    alarms = [state for state in states if state in ("wire", "end", "wire and end")]
    # nearly all such counts stay within two standard deviations of 1 in 20
    assert len(alarms) / count < 0.05 + 2.0 * math.sqrt(0.05 * 0.95 / count)


def test_readings_that_no_wire_gives_are_not_called_sound() -> None:
    """Less drag than none: 20 N out ask for 60 N and 40 N out for 180 N."""
    turn = 2.0 * math.pi
    found = check_line([Pair(60.0, 20.0), Pair(180.0, 40.0)], [stretch(turn)], np.array([turn]), SIGMA, catalogue())
    assert found is not None
    assert (found.state, found.hindrance) == ("unclear", "odd drag")


def test_friction_below_none_is_no_end_at_fault() -> None:
    """Only 16 N more in for 18 N more out, within what the scale explains: a drag of 30 N would go with no friction."""
    turn, sigma = math.radians(276.0), 2.0 / 1.96
    found = check_line([Pair(62.0, 40.0), Pair(78.0, 58.0)], [stretch(turn)], np.array([turn]), sigma, catalogue())
    assert found is not None
    assert found.fit.friction.value < 0.0 < found.fit.friction.high
    assert (found.state, found.hindrance) == ("unclear", "odd drag")


@pytest.mark.parametrize(
    ("pair", "friction", "sigma", "hindrance"),
    [("unlined housing", 0.19, 0.01, "between"), ("lined housing", 0.08, 6.0, "coarse")],
)
def test_what_hinders_is_told_the_scale_or_the_conditions_own_spread(
    pair: str, friction: float, sigma: float, hindrance: str
) -> None:
    """Conditions of unlined housing overlap, 0.16 ± 0.04 new and 0.22 ± 0.05 worn; those of lined housing do not."""
    turn = 2.0 * math.pi
    pairs = [Pair(40.0 * math.exp(friction * turn), 40.0)]
    found = check_line(pairs, [stretch(turn, pair=pair)], np.array([turn]), sigma, catalogue())
    assert found is not None
    assert (found.state, found.hindrance) == ("unclear", hindrance)


def test_expected_friction_goes_by_turn() -> None:
    """By hand: a third of the turn on the noodle and two thirds in housing; their spreads add as independent ones."""
    rows = [stretch(1.0, kind="rigid", pair="noodle"), stretch(2.0)]
    noodle, lined = catalogue().friction("noodle", "worn"), catalogue().friction("lined housing", "worn")
    found = expected_friction(rows, np.array([1.0, 2.0]), catalogue())["worn"]
    assert found.value == pytest.approx((float(noodle) + 2.0 * float(lined)) / 3.0)
    assert found.sigma == pytest.approx(math.hypot(noodle.sigma, 2.0 * lined.sigma) / 3.0)


def test_scales_in_line_with_the_housing_leave_out_lever_and_anchor_but_not_a_noodle() -> None:
    row = [stretch(0.5, kind="lever", pair="noodle"), stretch(2.0), stretch(0.3, kind="anchor", pair="bare guide")]
    assert between_scales(row, straight=True) == (1,)
    assert between_scales(row, straight=False) == (0, 1, 2)
    assert between_scales([*row[:2], stretch(1.5, kind="anchor", pair="noodle")], straight=True) == (1, 2)


# The moving part.


def test_half_the_sum_is_the_spring_and_half_the_difference_the_stick() -> None:
    """Two readings err independently, so that half their sum or difference errs by 1 / √2 of one."""
    found = check_part(30.0, 10.0, SIGMA, (None, None), 0.3)
    assert found is not None and found.spring is not None and found.stick is not None
    assert (found.spring.value, found.stick.value) == (20.0, 10.0)
    assert found.spring.high - found.spring.value == pytest.approx(SCALE / math.sqrt(2.0))
    assert found.state == "sticks"


@pytest.mark.parametrize(
    ("moves", "returns", "state"),
    [
        (14.0, 11.0, "sound"),
        (30.0, 2.0, "sticks"),
        (4.0, 3.5, "weak"),
        (8.0, 0.0, "sticks and weak"),
        (14.0, 7.4, "unclear"),
        (40.0, None, "sticks"),
        (14.0, None, "unclear"),
        (None, 0.0, "sticks or weak"),
        (None, 12.0, "sound"),
    ],
)
def test_a_caliper_that_sticks_or_is_weak_is_told(moves: float | None, returns: float | None, state: str) -> None:
    """Held against the dual-pivot caliper's 10 to 20 N (estimate), and a stick of three tenths of its spring."""
    mover = catalogue().mover("dual-pivot rim caliper, rear")
    found = check_part(moves, returns, SIGMA, (mover.spring_least, mover.spring_most), 0.3)
    assert found is not None
    assert found.state == state


def test_nothing_read_is_nothing_said() -> None:
    assert check_part(None, None, SIGMA, (None, None), 0.3) is None


# Verdicts in words.


def test_a_corroded_wire_is_told_by_two_loads() -> None:
    found = fault(pulls(0.25, (15.0, 60.0)), (15.0, 60.0))
    assert (found.diagnosis.verdict, found.diagnosis.faults) == ("wire", ("wire",))
    assert found.diagnosis.line.looks_like == ("corroded",)
    assert found.verdict == "It looks like the wire."
    assert any("renew inner and housing" in step for step in found.following)


def test_an_end_that_holds_the_wire_back_is_told_by_two_loads() -> None:
    found = fault(pulls(0.08, (20.0, 80.0), drag=15.0), (20.0, 80.0))
    assert (found.diagnosis.verdict, found.verdict) == ("end", "It looks like an end of its housing.")
    drag = found.diagnosis.line.fit.drag
    assert drag is not None and drag.value == pytest.approx(15.0, abs=0.01)
    assert any("burr" in step for step in found.following)


def test_one_load_cannot_tell_a_rough_wire_from_an_end_and_says_what_another_would_show() -> None:
    """By hand: 30 N more at the end ask a rough wire for in proportion more, a held end for exp(mu theta) as new."""
    lever = pulls(0.25, (30.0,))
    found = fault(lever, (30.0,))
    assert found.diagnosis.verdict == "unclear"
    assert set(found.diagnosis.suspects) == {"wire", "end"}
    assert "cannot tell which" in found.verdict
    line = found.diagnosis.line
    held = lever[0] + 30.0 * math.exp(line.expected["new"].value * line.turn)
    (step,) = (step for step in found.following if "60 N at the far end" in step)
    assert f"{2.0 * lever[0]:.0f} N at the lever" in step
    assert f"holds it back {held:.0f} N" in step


def test_a_reading_beyond_the_scale_is_not_asked_for() -> None:
    """More pull at the end of this wire would take beyond 500 N at the lever, so less of it is asked for."""
    found = fault(pulls(0.28, (65.0,)), (65.0,))
    (step,) = (step for step in found.following if "at the far end" in step)
    assert "about 22 N at the far end" in step
    line = found.diagnosis.line
    rough, held = (float(part.split()[0]) for part in (step.split("takes about ")[1], step.split("back ")[1]))
    assert rough == pytest.approx(line.fit.loads[0].lever / 3.0, abs=0.5)
    assert held > rough


@pytest.mark.parametrize("end", [5.0, 30.0, 120.0, 170.0])
def test_the_load_that_is_asked_for_counts_as_another(end: float) -> None:
    found = fault(pulls(0.15, (end,)), (end,))
    (step,) = (step for step in found.following if "at the far end" in step)
    other = float(step.split("about ")[1].split()[0])
    assert len(sort_loads([Pair(end, end), Pair(other, other)], SIGMA)) == 2


def test_the_reading_that_is_asked_for_settles_it() -> None:
    rough, held = pulls(0.25, (30.0, 60.0)), pulls(0.08, (30.0, 60.0), drag=20.0)
    assert fault(rough, (30.0, 60.0)).diagnosis.faults == ("wire",)
    assert fault(held, (30.0, 60.0)).diagnosis.faults == ("end",)


def test_a_new_wire_and_a_sticking_caliper() -> None:
    found = fault(pulls(0.08, (20.0, 80.0)), (20.0, 80.0), part_moves=30.0, part_returns=2.0)
    assert (found.diagnosis.verdict, found.diagnosis.faults) == ("part", ("part",))
    assert any("pivots" in step for step in found.following)


def test_several_faults_are_told_together() -> None:
    found = fault(pulls(0.25, (15.0, 60.0), 15.0), (15.0, 60.0), part_moves=30.0, part_returns=2.0)
    assert found.diagnosis.verdict == "several"
    assert found.verdict == "It looks like the wire, an end of its housing and the moving part."


def test_a_sticking_part_does_not_clear_the_wire() -> None:
    found = fault(pulls(0.25, (30.0,)), (30.0,), part_moves=30.0, part_returns=2.0)
    assert found.diagnosis.faults == ("part",)
    assert "the wire or an end of its housing too these readings cannot tell" in found.verdict


def test_nothing_wrong_is_said_so_and_only_of_what_was_read() -> None:
    lever, end = pulls(0.08, (20.0, 80.0)), (20.0, 80.0)
    whole = fault(lever, end, part_moves=15.0, part_returns=11.0)
    assert (whole.diagnosis.verdict, whole.diagnosis.faults) == ("nothing", ())
    assert "nor with the moving part" in whole.verdict
    assert "was not read" in fault(lever, end).verdict


# Release.


def test_what_arrives_at_the_lever_is_the_capstan_rule_backwards() -> None:
    """By hand: the spring that was read, 12 N, times exp(-mu theta) at the worst pose while riding."""
    found = fault(pulls(0.08, (20.0, 80.0)), (20.0, 80.0), part_moves=15.0, part_returns=12.0)
    friction = line_of(planned("touring"), "rear brake").friction
    assert friction is not None and friction.release is not None
    turn = sum(float(stretch.turn[friction.release.pose]) for stretch in friction.stretches)
    release = found.diagnosis.release
    assert release is not None
    assert release.arrives.value == pytest.approx(12.0 * math.exp(-0.08 * turn), rel=1e-3)
    assert release.arrives.low < release.arrives.value < release.arrives.high
    assert (release.state, release.measured) == ("releases", True)


def test_a_wire_too_rough_to_release_is_said_so() -> None:
    """Above the friction that the plan itself gives as its reserve."""
    reserve = line_of(planned("touring"), "rear brake").release_reserve
    assert reserve is not None
    found = fault(pulls(1.4 * reserve, (10.0, 40.0)), (10.0, 40.0))
    assert found.diagnosis.release is not None
    assert found.diagnosis.release.state == "stops"
    assert any("does not come back by itself" in reason for reason in found.reasons)


def test_an_end_that_takes_more_than_the_spring_has_stops_it() -> None:
    found = fault(pulls(0.08, (20.0, 80.0), drag=15.0), (20.0, 80.0))
    assert found.diagnosis.release is not None
    assert found.diagnosis.release.state == "stops"


def test_where_wire_and_end_look_alike_release_is_told_for_neither_alone() -> None:
    """As friction it would let the wire back, as a drag of 15 N at an end it would not: 10 N is all the spring has."""
    found = fault(pulls(0.08, (30.0,), drag=15.0), (30.0,))
    assert found.diagnosis.release is not None
    assert found.diagnosis.release.state == "unclear"
    assert found.diagnosis.release.arrives.low == 0.0


# What cannot be.


@pytest.mark.parametrize(
    ("readings", "line", "words"),
    [
        (Readings((20.0,), (30.0,)), "rear brake", "30 N come out where 20 N go in"),
        (Readings((0.0,), (3.0,)), "rear brake", "a reading at the lever is 0 N"),
        (Readings((-4.0,), (3.0,)), "rear brake", "a reading at the lever is -4 N"),
        (Readings((30.0,), (math.nan,)), "rear brake", "a reading at the other end is nan N"),
        (Readings((30.0, 40.0), (20.0,)), "rear brake", "2 readings at the lever and 1 at the other end"),
        (Readings((), ()), "rear brake", "there is no reading"),
        (Readings((30.0,), (20.0,), scale=0.0), "rear brake", "the scale's error is 0 N"),
        (Readings((30.0,), (20.0,), scale=25.0), "rear brake", "20 N, but the scale may be wrong by 25 N"),
        (Readings((900.0,), (700.0,)), "rear brake", "900 N, which is more than a workshop's spring scale shows"),
        (Readings((30.0,), (20.0,), part_moves=5.0, part_returns=15.0), "rear brake", "gives back more"),
        (Readings((30.0,), (20.0,), part_moves=0.0), "rear brake", "what moves the part is 0 N"),
        (Readings((30.0,), (20.0,), part_returns=-1.0), "rear brake", "what the part returns with is -1 N"),
        (Readings((90.0, 80.0), (20.0, 70.0)), "rear brake", "does not rise with that at the other end"),
        (Readings((30.0,), (20.0,)), "rear brak", 'did you mean "rear brake"'),
        (Readings((30.0,), (20.0,), steer_deg=170.0), "rear brake", "170"),
    ],
)
def test_readings_that_cannot_be_are_refused_in_one_line(readings: Readings, line: str, words: str) -> None:
    with pytest.raises(ChoiceError) as refused:
        find_fault(planned("touring"), line, readings)
    assert words in str(refused.value)
    assert "\n" not in str(refused.value)


def test_more_out_than_in_passes_as_far_as_the_scale_explains_it() -> None:
    """Two readings err by √2 of one: with 2 N, 22.8 N out of 20 N in may be, 22.9 N may not."""
    assert fault((20.0,), (22.8,), scale=2.0).diagnosis.line.fit.friction.low < 0.0
    with pytest.raises(ChoiceError, match="come out"):
        fault((20.0,), (22.9,), scale=2.0)


def test_a_hose_has_no_wire_that_could_drag() -> None:
    with pytest.raises(ChoiceError, match="is a hose"):
        find_fault(planned("trail"), "rear brake", Readings((30.0,), (20.0,)))


def test_a_line_without_turn_tells_nothing() -> None:
    job = planned("touring")
    line = line_of(job, "rear brake")
    assert line.friction is not None
    straight = tuple(replace(one, turn=0.0 * one.turn) for one in line.friction.stretches)
    straightened = replace(line, friction=replace(line.friction, stretches=straight))
    bench = replace(job, lines=tuple(straightened if one is line else one for one in job.lines))
    with pytest.raises(ChoiceError, match="turns by 0° between the scales"):
        find_fault(bench, "rear brake", Readings((30.0,), (20.0,)))


def test_more_than_the_lever_test_would_give_is_refused() -> None:
    """ISO 4210-2 tests a lever with 450 N: half an advantage makes that 225 N at the wire."""
    job = planned("touring")
    half = Sourced(0.5, 0.0, "1", Source("estimate", "for this test"))
    routing = tuple(
        replace(placed, route=replace(placed.route, exit=placed.route.exit.model_copy(update={"advantage": half})))
        for placed in job.routing
    )
    with pytest.raises(ChoiceError, match=r"450 N at the hand would not give: it has to be 225 N at most"):
        find_fault(replace(job, routing=routing), "rear brake", Readings((230.0,), (150.0,)))
