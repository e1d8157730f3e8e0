"""Lost motion and hysteresis against closed forms, quadrature and Monte Carlo, worked out here with numpy and scipy."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from wires import BAR, END, HOME, SWEEP, brake_line, friction_of_line, loops, shift_line, wire
from workbench import CALIPER, FRONT_STOP, LEVER, PARTS, REAR_STOP, placed, station

from ropewalk.analysis.causes import Figured, Wire
from ropewalk.analysis.friction import line_friction
from ropewalk.analysis.lostmotion import Loss, LostMotion, hysteresis, lost_motion, lost_values, shifting
from ropewalk.analysis.reaching import judge_reach
from ropewalk.analysis.wireline import CONDITIONS
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.sourced import Source, Sourced

DRAWS = 10_000
STEEL = math.pi * 1.5**2 / 4.0 * float(PARTS.strand(PARTS.inner("brake 1.5").strand).gross_modulus)


def with_friction(value: float) -> Catalogue:
    """Return the parts with one friction coefficient, known exactly, on every contact in every condition."""
    figure = Sourced(value, 0.0, "1", Source("computed", "made up"))
    rows = {
        name: row.model_copy(update=dict.fromkeys(CONDITIONS, figure)) for name, row in PARTS.friction_pairs.items()
    }
    return dataclasses.replace(PARTS, friction_pairs=rows)


def stiffness_of(line: Any) -> float:
    return float(line.route.pieces[0].housing.axial_stiffness)


def test_a_line_of_one_tension_stretches_by_the_closed_form() -> None:
    """Without friction: (T - S) L / EA over all of the wire, (T - S) L / k over its housing."""
    line, parts = brake_line(), with_friction(0.0)
    friction = friction_of_line(line, parts=parts)
    lost = lost_motion(line.route, friction, parts, "new")
    assert lost is not None
    beyond = 480.0 - 10.0
    length = sum(stretch.length for stretch in friction.stretches)
    covered = sum(stretch.length for stretch in friction.stretches if stretch.kind == "loop")
    wire_, housing, play = lost.losses
    assert wire_.mm.value == pytest.approx(beyond * length / STEEL, rel=1e-12)
    assert housing.mm.value == pytest.approx(beyond * covered / stiffness_of(line), rel=1e-12)
    assert (play.mm.value, play.note) == (0.0, "none: the return spring keeps it tight")
    assert lost.total.value == pytest.approx(wire_.mm.value + housing.mm.value, rel=1e-12)


@pytest.mark.parametrize("condition", CONDITIONS)
def test_a_line_whose_tension_falls_stretches_by_the_integral(condition: str) -> None:
    """Against scipy's quadrature of tension at work less tension at rest, stretch by stretch along the wire."""
    stops = [station(LEVER, drag=2), FRONT_STOP, station(REAR_STOP, drag=1), CALIPER]
    line = placed(stops)[1]
    friction = friction_of_line(line)
    rows = [
        (one, float(PARTS.friction(one.pair, condition)) * float(one.turn[HOME]), 1.0 / stiffness_of(line))
        for one in friction.stretches
    ]
    whole, pull = 0.0, friction.pull
    resting = 10.0
    for one, loss, _ in reversed(rows):
        resting = (resting - one.drag) * math.exp(-loss)
    for one, loss, give in rows:
        compliance = 1.0 / STEEL + (give if one.kind == "loop" else 0.0)

        def beyond(s: float, one: Any = one, loss: float = loss, pull: float = pull, rest: float = resting) -> float:
            return pull * math.exp(-loss * s / one.length) - rest * math.exp(loss * s / one.length)

        whole += compliance * quad(beyond, 0.0, one.length, epsabs=1e-12)[0]
        pull = pull * math.exp(-loss) - one.drag
        resting = resting * math.exp(loss) + one.drag
    assert float(lost_values(condition, wire(line)).sum()) == pytest.approx(whole, abs=1e-9)


def test_a_shifter_pulls_what_the_line_in_its_condition_asks_for() -> None:
    """The derailleur's spring at its strongest, 50 N, times exp(sum of mu theta): the shifter gives what is needed."""
    line = shift_line()
    friction = friction_of_line(line)
    for name in CONDITIONS:
        loss = sum(float(PARTS.friction(one.pair, name)) * float(one.turn[HOME]) for one in friction.stretches)
        assert friction.profiles[name].pulling[0] == pytest.approx(50.0 * math.exp(loss), rel=1e-9)
        assert friction.profiles[name].pulling[-1] == pytest.approx(50.0, rel=1e-9)


def test_travel_left_is_pull_less_take_up_and_losses() -> None:
    line = brake_line()
    lost = lost_motion(line.route, friction_of_line(line), PARTS, "new")
    assert lost is not None and lost.left is not None
    assert lost.left == pytest.approx(7.5 - 3.0 - lost.total.value)
    own = math.hypot(lost.total.sigma, 0.5 / 1.96, 1.0 / 1.96)
    assert lost.left_sigma == pytest.approx(own, rel=1e-9)
    assert lost.settling == pytest.approx(4.0 * float(line.route.pieces[0].start_ferrule.settling or 0.0))


def test_without_a_return_spring_the_play_in_bends_is_lost() -> None:
    """Bore less wire, times the turn in housing."""
    line = brake_line()
    mover = line.route.mover.model_copy(update={"spring_least": None, "spring_most": None})
    slack = dataclasses.replace(line, route=dataclasses.replace(line.route, mover=mover))
    play = lost_values("new", wire(slack))[-1]
    assert play == pytest.approx((float(line.route.pieces[0].housing.bore) - 1.5) * (BAR[2] + END), rel=1e-12)


# Hysteresis.


@settings(max_examples=25, deadline=None)
@given(st.floats(0.01, 0.5), st.floats(0.3, 6.0), st.floats(0.1, 3.0))
def test_hysteresis_is_positive_and_grows_with_turn(friction: float, turn: float, more: float) -> None:
    line, parts = shift_line(), with_friction(friction)
    less, greater = (
        hysteresis("worn", wire(line, loops((0.0, 0.0, angle, 0.0, 0.0)), parts)) for angle in (turn, turn + more)
    )
    assert 0.0 < less < greater


def test_hysteresis_is_nothing_without_friction_and_drags() -> None:
    assert hysteresis("worn", wire(shift_line(), parts=with_friction(0.0))) == pytest.approx(0.0, abs=1e-12)


def test_a_drag_alone_pulls_both_ways_apart() -> None:
    """2 N at the rear stop: 4 N between pull and release over all that lies before it, nothing beyond."""
    stops = [LEVER, FRONT_STOP, station(REAR_STOP, drag=2), {"name": "end", "type": "stop", "part": "rear derailleur"}]
    line = placed(stops, work="shift", inner="shift 1.2", housing="lengthwise shift 4.0")[1]
    own, parts = friction_of_line(line), with_friction(0.0)
    length = sum(stretch.length for stretch in own.stretches[:3])
    steel = math.pi * 1.2**2 / 4.0 * float(PARTS.strand(PARTS.inner("shift 1.2").strand).gross_modulus)
    expected = 4.0 * (length / steel + own.stretches[1].length / stiffness_of(line))
    assert hysteresis("new", wire(line, parts=parts)) == pytest.approx(expected, rel=1e-12)


def test_hysteresis_is_the_integral_of_both_tensions_apart() -> None:
    """S (e^{x} - e^{-x}), x the sum of mu theta from the moving end, over 1/EA + 1/k (k on housing), by quadrature."""
    line, whole, beyond = shift_line(), 0.0, 0.0
    steel = math.pi * 1.2**2 / 4.0 * float(PARTS.strand(PARTS.inner("shift 1.2").strand).gross_modulus)
    for one in reversed(friction_of_line(line).stretches):
        loss = float(PARTS.friction(one.pair, "worn")) * float(one.turn[HOME])
        compliance = 1.0 / steel + (1.0 / stiffness_of(line) if one.kind == "loop" else 0.0)

        def apart(s: float, one: Any = one, loss: float = loss, beyond: float = beyond) -> float:
            return 2.0 * 22.0 * math.sinh(beyond + loss * s / one.length)

        whole += compliance * quad(apart, 0.0, one.length, epsabs=1e-12)[0]
        beyond += loss
    assert hysteresis("worn", wire(line)) == pytest.approx(whole, abs=1e-9)


def test_steering_moves_the_wire_by_half_its_play_for_the_turn_that_changes() -> None:
    """At 30° no pose was swept here, so that only straight ahead counts; with 25° swept the loop turns 0.2 rad more."""
    line = shift_line()
    near = dataclasses.replace(SWEEP, values=SWEEP.values * np.array([25.0 / 45.0, 1.0, 1.0, 1.0, 1.0]))
    found = shifting(line.route, friction_of_line(line), near, PARTS, None)
    assert found is not None
    half = (float(line.route.pieces[0].housing.bore) - 1.2) / 2.0
    assert found.steering == pytest.approx(half * max(abs(turn - BAR[2]) for turn in BAR[1:4]), rel=1e-9)
    assert (found.step, found.name) == (None, None)


# How surely.


class Drawn:
    """10,000 draws of what a worn line of two loops rests on: normal, those of one pair as one."""

    def __init__(self, line: Any, seed: int) -> None:
        self.rng = np.random.default_rng(seed)
        self.wire: Wire = wire(line)
        self.told = friction_of_line(line)
        self.friction: Mapping[str, Any] = {
            pair: self.of(PARTS.friction(pair, "worn")) for pair in dict.fromkeys(one.pair for one in self.stretches)
        }
        self.loss = [
            self.friction[one.pair] * np.maximum(self.normal(float(one.turn[HOME]), one.turn_sigma), 1e-9)
            for one in self.stretches
        ]
        inner = PARTS.inner(line.route.inner.name)
        self.steel = math.pi * float(inner.diameter) ** 2 / 4.0 * self.of(PARTS.strand(inner.strand).gross_modulus)
        self.housing = self.of(line.route.pieces[0].housing.axial_stiffness)

    @property
    def stretches(self) -> Any:
        return self.wire.stretches

    def normal(self, value: float, sigma: float) -> Any:
        return value + sigma * self.rng.standard_normal(DRAWS)

    def of(self, figure: Any) -> Any:
        return self.normal(float(figure), figure.sigma)

    def over(self, tensions: list[Any]) -> Any:
        """Return what mean tensions (DRAWS,) in each stretch give over wire and housing."""
        return sum(
            tension * one.length * (1.0 / self.steel + (1.0 / self.housing if one.kind == "loop" else 0.0))
            for tension, one in zip(tensions, self.stretches, strict=True)
        )


def half_width(draws: Any) -> float:
    """Return half of what holds the middle 68 % of draws: stiffness drawn near nothing gives without end."""
    low, high = np.quantile(draws, [0.1587, 0.8413])
    return float(high - low) / 2.0


def test_the_spread_of_what_arrives_agrees_with_monte_carlo() -> None:
    drawn = Drawn(brake_line(), 41)
    through = np.exp(-np.sum(drawn.loss, axis=0))
    told = drawn.told.efficiency["worn"]
    assert told.sigma == pytest.approx(float(through.std()), rel=0.03)
    # at the worst pose while riding the loop at the bar turns 0.6 rad more
    spring = drawn.of(drawn.wire.route.mover.spring_least)
    back = spring * through * np.exp(-drawn.friction["lined housing"] * (BAR[1] - BAR[2]))
    release = drawn.told.release
    assert release is not None
    assert release.arrives["worn"].sigma == pytest.approx(half_width(back), rel=0.04)
    assert release.arrives["worn"].value == pytest.approx(float(np.median(back)), rel=0.02)


def test_the_spread_of_the_reserve_agrees_with_monte_carlo() -> None:
    drawn = Drawn(brake_line(), 42)
    spring, needed = drawn.of(drawn.wire.route.mover.spring_least), drawn.of(drawn.wire.route.exit.needed_force)
    turn = sum(drawn.normal(float(one.turn[1]), one.turn_sigma) for one in drawn.stretches)
    reserve = np.log(np.maximum(spring, 0.1) / np.maximum(needed, 0.05)) / turn
    release = drawn.told.release
    assert release is not None
    # the need of the lever is known to three quarters of itself, beyond what first order holds for
    assert release.reserve_sigma == pytest.approx(half_width(reserve), rel=0.12)


def test_the_spread_of_lost_motion_agrees_with_monte_carlo() -> None:
    drawn = Drawn(brake_line(), 43)
    pull = 100.0 * drawn.of(drawn.wire.route.exit.advantage)
    rest = drawn.of(drawn.wire.route.mover.spring_least)
    before = np.cumsum([0.0 * drawn.loss[0], *drawn.loss[:-1]], axis=0)
    after = sum(drawn.loss) - before
    fall = [-np.expm1(-loss) / loss for loss in drawn.loss]
    rise = [np.expm1(loss) / loss for loss in drawn.loss]
    total = drawn.over(
        [pull * np.exp(-b) * f - rest * np.exp(-a) * r for b, a, f, r in zip(before, after, fall, rise, strict=True)]
    )
    lost = lost_motion(drawn.wire.route, drawn.told, PARTS, "worn")
    assert lost is not None
    assert lost.total.value == pytest.approx(float(np.median(total)), rel=0.02)
    # housing's stiffness is known to half of itself: a soft one gives more than first order tells
    assert lost.total.sigma == pytest.approx(half_width(total), rel=0.08)


def test_the_spread_of_hysteresis_agrees_with_monte_carlo() -> None:
    drawn = Drawn(shift_line(), 44)
    spring = drawn.of(drawn.wire.route.mover.spring_least)
    beyond = np.cumsum([0.0 * drawn.loss[0], *drawn.loss[:0:-1]], axis=0)[::-1]
    apart = [
        2.0 * spring * (np.cosh(far + loss) - np.cosh(far)) / loss for far, loss in zip(beyond, drawn.loss, strict=True)
    ]
    found = shifting(drawn.wire.route, drawn.told, SWEEP, PARTS, None)
    assert found is not None
    told = found.hysteresis["worn"]
    total = drawn.over(apart)
    assert told.value == pytest.approx(float(np.median(total)), rel=0.03)
    assert told.sigma == pytest.approx(half_width(total), rel=0.06)


def test_an_adjuster_s_drag_is_known_as_its_row_says() -> None:
    """0.3 N ± 0.3 of a spring of 10 N, 6 N of which or so come that far: draws of the worst pose, all as one row."""
    line = brake_line(inline="inline adjuster", inline_at=300)
    drawn = Drawn(line, 45)
    release = drawn.told.release
    assert release is not None
    part = line.route.pieces[0].inline
    assert part is not None and part.part.drag is not None
    pose = release.least_at["worn"]
    assert pose == 1
    pull = drawn.of(line.route.mover.spring_least)
    for one in reversed(drawn.stretches):
        drag = drawn.of(part.part.drag) if one.drag else 0.0
        pull = (pull - drag) * np.exp(-drawn.friction[one.pair] * drawn.normal(float(one.turn[pose]), one.turn_sigma))
    assert release.arrives["worn"].value == pytest.approx(float(np.median(pull)), rel=0.02)
    assert release.arrives["worn"].sigma == pytest.approx(half_width(pull), rel=0.04)


def test_only_a_drag_that_is_not_known_widens_what_arrives() -> None:
    """To first order the variances add: sigma of the drag, less what the bends between it and the lever take."""
    line = brake_line(inline="inline adjuster", inline_at=300)
    friction = friction_of_line(line)
    known = [dataclasses.replace(one, drag_sigma=0.0) for one in friction.stretches]
    sure = line_friction(line.route, known, SWEEP, PARTS, 100.0)
    assert friction.release is not None and sure is not None and sure.release is not None
    loss = sum(float(PARTS.friction(one.pair, "new")) * float(one.turn[1]) for one in friction.stretches[:2])
    sigma = friction.stretches[1].drag_sigma
    assert sigma == pytest.approx(0.3 / 1.96, rel=1e-3)
    added = friction.release.arrives["new"].sigma ** 2 - sure.release.arrives["new"].sigma ** 2
    assert added == pytest.approx((sigma * math.exp(-loss)) ** 2, rel=1e-6)
    assert friction.release.reserve_sigma > sure.release.reserve_sigma


# The lever at the grip.


def lost_with(left: float, sigma: float) -> LostMotion:
    loss = Loss("the inner stretches", Figured(4.5 - left, sigma))
    return LostMotion("new", (loss,), loss.mm, 0.0, 3.0, 7.5, left, sigma)


def test_a_lever_reaches_the_grip_only_when_that_is_sure() -> None:
    route = brake_line().route
    (finding,) = judge_reach(route, lost_with(-1.5, 0.7), 100.0)
    assert finding.grade == "look"
    assert (finding.value, finding.limit) == (9.0, 7.5)
    assert "before 100 N are on it" in finding.text
    assert list(judge_reach(route, lost_with(-1.3, 0.7), 100.0)) == []
    assert list(judge_reach(route, lost_with(0.5, 0.1), 100.0)) == []
    assert list(judge_reach(shift_line().route, lost_with(-3.0, 0.1), 100.0)) == []


def test_a_longer_line_gives_more() -> None:
    """What stretches is length: the same turns on more housing lose more motion, though no more of the pull."""
    line = brake_line()
    near, far = (
        wire(line, loops_) for loops_ in (loops(), {**loops(), 0: dataclasses.replace(loops()[0], target=900.0)})
    )
    assert float(lost_values("new", far).sum()) > float(lost_values("new", near).sum())
