"""Comparing routings: figures and their differences against hand computation and Monte Carlo; ranks, ties, reasons."""

from __future__ import annotations

import dataclasses
import math
from functools import cache
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from makers import steered
from workbench import CALIPER, FRONT_STOP, LEVER, PARTS, REAR_STOP, bench_frame, placed, station
from workbench import line as bench_line

from ropewalk.analysis.findings import Finding
from ropewalk.analysis.friction import LineFriction, line_friction
from ropewalk.analysis.weighing import (
    Weighed,
    Wire,
    apart,
    weighed_efficiency,
    weighed_lost_motion,
    weighed_reserve,
)
from ropewalk.analysis.wireline import Stretch
from ropewalk.bike.fleet import find
from ropewalk.bike.poses import Poses
from ropewalk.bike.reading import read
from ropewalk.bike.sourced import SIGMAS_WITHIN
from ropewalk.errors import ChoiceError
from ropewalk.workshop.candidate import Candidate
from ropewalk.workshop.choices import Choices
from ropewalk.workshop.compare import Comparison, compare
from ropewalk.workshop.entrants import contests_of_files, contests_of_options, split_options
from ropewalk.workshop.plan import plan
from ropewalk.workshop.ranking import Difference, ranked, ranks_of
from ropewalk.workshop.releasewords import release_words, share_words, taking_most

STEER = (-45.0, 0.0, 45.0)
SWEEP = Poses(
    steered(STEER),
    np.radians(STEER),
    *steered([-45.0, 45.0]),
    fold_steer=0.0,
    lock=math.radians(45),
    lock_assumed=False,
)
#: friction coefficients when worn and their half-widths (19 times in 20), as the catalogue's estimates have them
LINED, GUIDE, FORMED, UNLINED = (0.15, 0.04), (0.30, 0.08), (0.18, 0.05), (0.22, 0.05)
#: turns of the lever's guide, the loop at the bar, bare wire, the loop at the brake and the anchor, and σ of each [rad]
TURNS, SIGMAS = (0.3, 2.0, 0.1, 1.1, 0.2), (0.09, 0.02, 0.0, 0.02, 0.04)
DRAWS = 10_000


def sigma(figure: tuple[float, float]) -> float:
    return figure[1] / SIGMAS_WITHIN


def wire(
    turns: tuple[float, ...] = TURNS,
    *,
    housing: str = "spiral brake 5.0",
    clock: float = 9,
    lengths: tuple[float, ...] = (40.0, 500.0, 300.0, 150.0, 30.0),
) -> Wire:
    """Return a wire with turns of its own, the same in every pose; its front stop's place tells its loops apart."""
    stations = [LEVER, station(FRONT_STOP, clock=clock), station(REAR_STOP, clock=clock), CALIPER]
    route = placed(stations, housing=housing)[1].route
    row = PARTS.housing(housing)
    kinds = ("lever", "loop", "bare", "loop", "anchor")
    pairs = ("noodle", row.contact, "bare guide", row.contact, "bare guide")
    labels = (
        "in the lever",
        "loop, lever to front stop",
        "bare, a to b",
        "loop, rear stop to caliper",
        "at the caliper",
    )
    stretches = tuple(
        Stretch(
            label, kind, str(pair), length, turn * np.ones(3), spread, row if kind == "loop" else None, 0.0, 0.0, span
        )
        for label, kind, pair, length, turn, spread, span in zip(
            labels, kinds, pairs, lengths, turns, SIGMAS, (None, 0, 1, 2, None), strict=True
        )
    )
    return Wire(route, stretches, 100.0, 1, PARTS)


def friction_of(found: Wire) -> LineFriction:
    friction = line_friction(found.route, found.stretches, SWEEP, PARTS, found.hand_force)
    assert friction is not None
    return friction


def candidate(name: str, found: Wire | None, *findings: Finding) -> Candidate:
    plan_: Any = SimpleNamespace(lost={}, pieces=(), friction=None if found is None else friction_of(found))
    return Candidate(name, "bike", plan_, found, {}, "", {}, (), (), findings)


def weighed(found: Weighed | None) -> Weighed:
    assert found is not None
    return found


# Figures.


def test_the_logarithm_of_the_efficiency_is_less_the_sum_of_friction_times_turn() -> None:
    found = weighed(weighed_efficiency(wire(), "worn"))
    # formed 0.18 · 0.3 + lined 0.15 · (2.0 + 1.1) + bare 0.30 · (0.1 + 0.2) = 0.054 + 0.465 + 0.090
    assert found.value == pytest.approx(-0.609, abs=1e-12)
    pairs = [sigma(FORMED) * 0.3, sigma(LINED) * 3.1, sigma(GUIDE) * 0.3]
    turns = [0.18 * 0.09, 0.15 * 0.02, 0.15 * 0.02, 0.30 * 0.04]
    assert found.sigma == pytest.approx(math.hypot(*pairs, *turns), rel=1e-6)


def test_the_spread_is_the_one_that_the_plan_tells() -> None:
    found = wire()
    told = friction_of(found).efficiency["worn"]
    own = weighed(weighed_efficiency(found, "worn"))
    assert math.exp(own.value) == pytest.approx(told.value, rel=1e-12)
    assert own.sigma * told.value == pytest.approx(told.sigma, rel=1e-3)


def test_a_difference_takes_off_what_moves_both_alike() -> None:
    # the same lever and anchor; other loops: 0.5 rad more on lined housing, 0.1 rad less bare
    first, second = wire(), wire((0.3, 2.3, 0.0, 1.3, 0.2), clock=3)
    found = apart(*(weighed(weighed_efficiency(one, "worn")) for one in (first, second)))
    assert found.value == pytest.approx(0.15 * 0.5 - 0.30 * 0.1, abs=1e-12)
    pairs = [sigma(LINED) * 0.5, sigma(GUIDE) * 0.1]
    loops = [0.15 * 0.02] * 4
    assert found.sigma == pytest.approx(math.hypot(*pairs, *loops), rel=1e-6)
    alone = math.hypot(*(weighed(weighed_efficiency(one, "worn")).sigma for one in (first, second)))
    assert found.sigma < 0.25 * alone


def test_a_line_is_not_apart_from_itself() -> None:
    for figure in (
        weighed(weighed_efficiency(wire(), "worn")),
        weighed(weighed_reserve(wire(), 1)),
        weighed(weighed_lost_motion(wire(), "corroded")),
    ):
        assert figure.sigma > 0.0
        assert (apart(figure, figure).value, apart(figure, figure).sigma) == (0.0, 0.0)


def test_the_spread_of_a_difference_agrees_with_monte_carlo() -> None:
    rng = np.random.default_rng(20)
    first, second = TURNS, (0.3, 1.4, 0.5, 1.5, 0.2)
    lined, guide, formed = (pair[0] + sigma(pair) * rng.standard_normal(DRAWS) for pair in (LINED, GUIDE, FORMED))
    head, anchor = (0.09 * rng.standard_normal(DRAWS), 0.04 * rng.standard_normal(DRAWS))

    def exponent(turns: tuple[float, ...]) -> Any:
        loops = turns[1] + turns[3] + 0.02 * rng.standard_normal((2, DRAWS)).sum(axis=0)
        return formed * (turns[0] + head) + lined * loops + guide * (turns[2] + turns[4] + anchor)

    drawn = exponent(second) - exponent(first)
    found = apart(*(weighed(weighed_efficiency(one, "worn")) for one in (wire(first), wire(second, clock=3))))
    # the standard deviation of 10,000 draws is known to 0.7 %
    assert found.sigma == pytest.approx(float(drawn.std()), rel=0.03)
    assert found.value == pytest.approx(float(drawn.mean()), abs=4.0 * found.sigma / math.sqrt(DRAWS))


def test_the_spread_of_lost_motion_agrees_with_monte_carlo() -> None:
    """Against the stretch of a line whose tension falls evenly within each stretch, worked out with numpy here."""
    found, rng = wire(), np.random.default_rng(21)
    row, strand = PARTS.housing("spiral brake 5.0"), PARTS.strand(PARTS.inner("brake 1.5").strand)
    spring = found.route.mover.spring_least
    assert row.axial_stiffness is not None and spring is not None

    def drawn(value: float, spread: float) -> Any:
        return value + spread * rng.standard_normal(DRAWS)

    lined, guide, formed = (drawn(pair[0], sigma(pair)) for pair in (LINED, GUIDE, FORMED))
    turns = [drawn(turn, spread) for turn, spread in zip(TURNS, SIGMAS, strict=True)]
    friction = [formed, lined, guide, lined, guide]
    losses = [mu * turn for mu, turn in zip(friction, turns, strict=True)]
    before = [sum(losses[:at], np.zeros(DRAWS)) for at in range(5)]
    after = [sum(losses[at + 1 :], np.zeros(DRAWS)) for at in range(5)]
    held = drawn(float(spring), spring.sigma)
    pull = friction_of(found).pull
    area = math.pi * 1.5**2 / 4.0
    wire_, housing = (
        drawn(float(strand.gross_modulus), strand.gross_modulus.sigma) * area,
        drawn(float(row.axial_stiffness), row.axial_stiffness.sigma),
    )
    total = np.zeros(DRAWS)
    for at, length in enumerate((40.0, 500.0, 300.0, 150.0, 30.0)):
        mean = -np.expm1(-losses[at]) / losses[at]
        apart_ = pull * np.exp(-before[at]) * mean - held * np.exp(-after[at]) * mean
        total += apart_ * length * (1.0 / wire_ + (1.0 / housing if at in (1, 3) else 0.0))
    own = weighed(weighed_lost_motion(found, "worn"))
    assert own.value == pytest.approx(float(np.median(total)), rel=0.02)
    # the middle 68 % of the draws: a stiffness that is drawn near nothing stretches without end
    low, high = np.quantile(total, [0.1587, 0.8413])
    assert own.sigma == pytest.approx(float(high - low) / 2.0, rel=0.1)


def test_the_spread_of_the_reserve_is_that_of_spring_need_and_turn() -> None:
    found = wire()
    spring, needed = found.route.mover.spring_least, found.route.exit.needed_force
    assert spring is not None and needed is not None
    own = weighed(weighed_reserve(found, 1))
    total = sum(TURNS)
    reserve = math.log(spring / (needed - float(found.route.exit.own_spring or 0.0))) / total
    assert own.value == pytest.approx(reserve, rel=1e-9)
    if found.route.exit.own_spring is None:
        parts = [spring.sigma / spring / total, needed.sigma / needed / total]
        parts += [reserve * one / total for one in SIGMAS]
        assert own.sigma == pytest.approx(math.hypot(*parts), rel=0.01)


# Ranks.


def test_ranking_follows_the_hand_worked_exponents() -> None:
    turns = {"short": (0.3, 1.5, 0.1, 1.1, 0.2), "usual": TURNS, "long": (0.3, 3.0, 0.1, 1.1, 0.2)}
    entrants = [candidate(name, wire(turns[name], clock=clock)) for clock, name in enumerate(turns, start=3)]
    ordered, standings, differences = ranked(entrants[::-1], "efficiency", "worn")
    assert [one.name for one in ordered] == ["short", "usual", "long"]
    assert [(one.name, one.rank, one.tied) for one in standings] == [
        ("short", 1, ()),
        ("usual", 2, ()),
        ("long", 3, ()),
    ]
    # 0.15 · 0.5 rad between the first two: exp(0.075) - 1 = 7.8 %
    assert differences[0].value == pytest.approx(0.075, abs=1e-12)
    assert "54% of the pull arrives" in standings[1].why  # exp(-0.609)
    assert "7% less pull" in standings[1].why  # exp(-0.075) - 1 = -7.2 %
    assert "29° more on lined housing" in standings[1].why  # 0.5 rad
    assert "8% more pull" in standings[0].why and "than with usual" in standings[0].why


def test_a_planted_tie_is_a_tie_and_a_planted_difference_is_none() -> None:
    loops = math.sqrt(4.0) * 0.15 * 0.02  # σ of what two loops in each of two lines add to the difference
    edge = SIGMAS_WITHIN * loops / math.sqrt(0.15**2 - (SIGMAS_WITHIN * sigma(LINED)) ** 2)

    def standings(more: float) -> list[tuple[int | None, tuple[str, ...]]]:
        pair = [candidate("a", wire()), candidate("b", wire((0.3, 2.0 + more, 0.1, 1.1, 0.2), clock=3))]
        return [(one.rank, one.tied) for one in ranked(pair, "efficiency", "worn")[1]]

    # the difference 0.15 x is a tie while it is below 1.96 σ, σ² = (σ of μ · x)² + loops²
    assert standings(0.98 * edge) == [(1, ("b",)), (1, ("a",))]
    assert standings(1.02 * edge) == [(1, ()), (2, ())]


def test_two_pairs_of_materials_are_not_taken_off_against_each_other() -> None:
    lined, unlined = wire(), wire(housing="unlined spiral brake 5.0")
    found = apart(*(weighed(weighed_efficiency(one, "worn")) for one in (lined, unlined)))
    assert found.value == pytest.approx((0.22 - 0.15) * 3.1, abs=1e-12)
    loops = [0.15 * 0.02] * 2 + [0.22 * 0.02] * 2
    assert found.sigma == pytest.approx(math.hypot(sigma(LINED) * 3.1, sigma(UNLINED) * 3.1, *loops), rel=1e-6)


def test_a_rank_ends_only_where_everything_above_is_clearly_ahead_of_everything_below() -> None:
    def ranks(*ties: str) -> list[int]:
        pairs = [Difference(*two, 1.0, 1.0, "1", two in ties) for two in ("ab", "ac", "ad", "bc", "bd", "cd")]  # type: ignore[misc]
        return list(ranks_of("abcd", pairs).values())

    assert ranks() == [1, 2, 3, 4]
    assert ranks("ab") == [1, 1, 3, 4]
    assert ranks("bc") == [1, 2, 2, 4]
    assert ranks("ab", "bc") == [1, 1, 1, 4]
    assert ranks("ac") == [1, 1, 1, 4]


def test_what_cannot_be_ranked_stands_last_and_says_why() -> None:
    stop = Finding("stop", "brake, A1", "no length keeps the kink radius", "change the routing")
    best = candidate("stopped", wire((0.3, 0.5, 0.1, 0.5, 0.2)), stop)
    ordered, standings, differences = ranked(
        [best, candidate("hose", None), candidate("plain", wire())], "reserve", "new"
    )
    assert [one.name for one in ordered] == ["plain", "stopped", "hose"]
    assert [one.rank for one in standings] == [1, None, None]
    assert standings[1].why == "not ranked: settle the stop first: no length keeps the kink radius"
    assert standings[2].why.startswith("not ranked: no release figure")
    assert differences == ()


def test_lines_that_nothing_stops_tie_and_are_ahead_of_the_others() -> None:
    free = wire()
    needs = free.route.exit.needed_force
    assert needs is not None
    exit_ = free.route.exit.model_copy(update={"needed_force": type(needs)(0.0, 0.0, "N", _source(needs))})
    route = dataclasses.replace(free.route, exit=exit_)
    free = dataclasses.replace(free, route=route)
    assert math.isinf(friction_of(free).release_reserve)
    entrants = [candidate("held", wire()), candidate("free", free), candidate("free too", free)]
    standings = ranked(entrants, "reserve", "worn")[1]
    assert [(one.name, one.rank) for one in standings] == [("free", 1), ("free too", 1), ("held", 3)]
    assert all("nan" not in one.why and "inf" not in one.why for one in standings), [one.why for one in standings]


def _source(figure: Any) -> Any:
    from ropewalk.bike.sourced import Source

    return Source(figure.kind, figure.source)


# Release in words.


def test_the_release_is_told_with_what_takes_most_of_it() -> None:
    found = wire((0.0, 1.0, 0.0, 0.5, 0.5))
    release = friction_of(found).release
    assert release is not None
    release = dataclasses.replace(release, reserve=0.24)
    stretches = [*found.stretches[:-1], dataclasses.replace(found.stretches[-1], pair="noodle")]
    friction = dataclasses.replace(friction_of(found), stretches=tuple(stretches), release=release)
    assert release_words(friction, "12° right") == (
        "releases to μ 0.24 at its worst, 12° right; the bar loop and the loop from rear stop to caliper take "
        "three quarters of its turn"
    )
    shares = np.array([0.0, 0.3, 0.1, 0.23, 0.37])
    turned = dataclasses.replace(friction, release=dataclasses.replace(release, shares=shares))
    assert "; the noodle and the bar loop take two thirds of its turn" in release_words(turned, "straight ahead")
    assert "the loop from lever to front stop" in release_words(turned, "straight ahead", lever_on="down tube")


def test_a_release_that_is_not_known_or_never_comes_says_so() -> None:
    found = friction_of(wire())
    assert release_words(None, "straight ahead").startswith("no release figure")
    assert release_words(dataclasses.replace(found, release=None), "straight ahead").startswith("no release figure")
    assert found.release is not None
    stuck = dataclasses.replace(found.release, reserve=0.0)
    assert release_words(dataclasses.replace(found, release=stuck), "").startswith("does not release by itself")
    free = dataclasses.replace(found.release, reserve=math.inf)
    assert release_words(dataclasses.replace(found, release=free), "").startswith("releases whatever the friction")


@pytest.mark.parametrize(
    ("shares", "most"),
    [([1.0], [0]), ([0.5, 0.5], [0, 1]), ([0.2] * 5, [0, 1, 2]), ([0.05, 0.9, 0.05], [1]), ([0.0, 0.0], [])],
)
def test_the_stretches_that_take_most_are_few(shares: list[float], most: list[int]) -> None:
    assert taking_most(shares) == most


def test_shares_have_words_where_trade_has_them() -> None:
    told = [share_words(share) for share in (0.26, 0.34, 0.5, 0.66, 0.76, 0.91, 0.7, 1.0)]
    assert told == ["a quarter", "a third", "half", "two thirds", "three quarters", "nine tenths", "70%", "nearly all"]


# The gravel bike's three routings.

GRAVEL = ("gravel-outside", "gravel-ports", "gravel-headset")


@cache
def gravel(by: str = "efficiency") -> Comparison:
    files = [(name, read(find(name))) for name in GRAVEL]
    (contest,) = contests_of_files(files)
    return compare(contest, by=by)


def test_only_the_line_in_which_the_files_differ_is_compared() -> None:
    compared = gravel()
    assert (compared.bike, compared.line, compared.work) == ("Estuary gravel", "rear brake", "brake")
    assert {one.name for one in compared.candidates} == {"outside", "port to port", "headset"}
    assert {one.file for one in compared.candidates} == set(GRAVEL)


def test_a_line_planned_alone_is_the_line_of_the_whole_plan() -> None:
    whole = plan(read(find("gravel-outside")))
    line = next(one for one in whole.lines if one.name == "rear brake")
    alone = next(one for one in gravel().candidates if one.name == "outside")
    assert [(one.tag, one.first_cut, one.target, one.window) for one in alone.plan.pieces] == [
        (one.tag, one.first_cut, one.target, one.window) for one in line.pieces
    ]
    assert alone.plan.efficiency == line.efficiency
    # findings that several lines share are told as one, of the worst of them
    own = {(one.where, one.text) for one in whole.findings if one.where.startswith("rear brake") and not one.alike}
    assert own and own <= {(one.where, one.text) for one in alone.findings}


def test_the_gravel_bikes_are_ranked_by_turn_times_friction() -> None:
    compared = gravel()
    exponents = {}
    for one in compared.candidates:
        assert one.wire is not None
        exponents[one.name] = sum(
            float(PARTS.friction(stretch.pair, "worn")) * float(stretch.turn[one.wire.home])
            for stretch in one.wire.stretches
        )
    assert [one.name for one in compared.candidates] == sorted(exponents, key=lambda name: exponents[name])
    for found in compared.differences:
        assert found.value == pytest.approx(exponents[found.second] - exponents[found.first], rel=1e-9)
        assert found.tie == (found.value <= SIGMAS_WITHIN * found.sigma)
        assert math.isfinite(found.sigma) and found.sigma > 0.0
    shares = {one.name: f"{math.exp(-exponents[one.name]):.0%} of the pull arrives" for one in compared.candidates}
    assert all(one.why.startswith(shares[one.name]) for one in compared.standings)


@pytest.mark.parametrize("by", ["efficiency", "reserve", "lost-motion", "length"])
def test_reasons_never_hold_radius_or_length_against_friction(by: str) -> None:
    compared = gravel(by)
    told = [compared.ranked_by, *compared.limits, *(one.why for one in compared.standings)]
    assert all(word not in text.lower() for text in told for word in ("radius", "longer line", "because it is long"))
    if by == "length":
        assert "costs no friction" in compared.ranked_by
    else:
        assert all("of housing" not in one.why for one in compared.standings)


def test_every_measure_ranks_in_the_order_of_its_figure() -> None:
    for by, key in (
        ("reserve", lambda one: -one.plan.friction.release_reserve),
        ("lost-motion", lambda one: one.plan.lost["worn"].total.value),
        ("length", lambda one: sum(piece.target for piece in one.plan.pieces)),
    ):
        candidates = gravel(by).candidates
        figures = [key(one) for one in candidates]  # type: ignore[no-untyped-call]
        assert figures == sorted(figures), by


def test_less_lost_motion_by_more_friction_is_not_sold_as_a_gain() -> None:
    compared = gravel("lost-motion")
    first = compared.candidates[0]
    if first.efficiency["worn"].value < min(one.efficiency["worn"].value for one in compared.candidates[1:]):
        assert "less of the pull gets through" in compared.standings[0].why
    assert "look at the efficiency too" in compared.ranked_by


def test_parts_water_and_release_stand_beside_the_figures() -> None:
    by_name = {one.name: one for one in gravel().candidates}
    assert any("sleeve" in part.item for part in by_name["port to port"].parts)
    assert not any("sleeve" in part.item for part in by_name["outside"].parts)
    for one in by_name.values():
        assert one.release.startswith(f"releases to μ {one.plan.friction.release_reserve:.2f} at its worst, ")  # type: ignore[union-attr]
        assert one.low_points and all(low.depth > 0.0 for low in one.low_points)
        assert {finding.grade for finding in one.findings} <= {"look", "note"}
    water = next(found for found in by_name["outside"].findings if "water can stand" in found.text)
    assert round(max(low.depth for low in by_name["outside"].low_points), 1) == water.value


# Who is compared.

UNLINED_OPTION = {"name": "unlined", "housing": "unlined spiral brake 5.0"}
STATIONS = [LEVER, FRONT_STOP, REAR_STOP, CALIPER]
BENCH = bench_frame(bench_line(STATIONS, option=[UNLINED_OPTION, {"name": "other, stiffer", "inner": "brake 1.6"}]))


def test_options_are_compared_with_the_line_as_written() -> None:
    (contest,) = contests_of_options("bench", BENCH)
    assert [one.name for one in contest.entrants] == ["as written", "unlined", "other, stiffer"]
    (chosen,) = contests_of_options("bench", BENCH, "brake", ["unlined", "as written"])
    compared = compare(chosen, by="efficiency", condition="new", choices=Choices(hand_force=200.0))
    assert [one.name for one in compared.candidates] == ["as written", "unlined"]
    assert compared.hand_force == 200.0
    pull = [one.plan.friction.pull for one in compared.candidates if one.plan.friction is not None]
    assert pull == pytest.approx([2.0 * one for one in _pulls(chosen)])


def _pulls(contest: Any) -> list[float]:
    compared = compare(contest, condition="new", choices=Choices(hand_force=100.0))
    return [one.plan.friction.pull for one in compared.candidates if one.plan.friction is not None]


def test_option_names_that_hold_commas_are_told_from_lists() -> None:
    assert split_options(BENCH, "brake", "unlined, other, stiffer,as written") == [
        "unlined",
        "other, stiffer",
        "as written",
    ]
    assert split_options(BENCH, None, "nothing,such") == ["nothing", "such"]


@pytest.mark.parametrize(
    ("line", "options", "said"),
    [
        ("brke", None, 'touring has no line "brke": did you mean "brake"?'),
        ("brake", ["unlind", "as written"], 'line "brake" has no option "unlind": did you mean "unlined"?'),
        (
            "brake",
            ["unlined"],
            'line "brake": one option alone cannot be compared: name two or more of as written, unl',
        ),
        ("brake", ["unlined", "unlined"], "one option alone cannot be compared"),
        ("brake", [], "no option cannot be compared"),
    ],
)
def test_options_that_cannot_be_compared_are_refused(line: str, options: list[str] | None, said: str) -> None:
    with pytest.raises(ChoiceError) as caught:
        contests_of_options("bench", BENCH, line, options)
    assert str(caught.value).startswith(said) or said in str(caught.value)


def test_a_bike_or_line_without_options_says_what_to_do() -> None:
    plain = bench_frame(bench_line(STATIONS))
    for line in (None, "brake"):
        with pytest.raises(ChoiceError, match=r"add \[\[line.option\]\] to .*, or name two frame files of one bike"):
            contests_of_options("bench", plain, line)


def test_lines_of_different_work_or_bikes_are_refused() -> None:
    plain = bench_frame(bench_line(STATIONS))
    hose = bench_frame(bench_line(STATIONS[:1] + STATIONS[-1:], work="hose", inner=None, housing="hydraulic hose"))
    with pytest.raises(ChoiceError, match='line "brake" is brake in one and hose in two: only lines that do the same'):
        contests_of_files([("one", plain), ("two", hose)])
    with pytest.raises(ChoiceError, match=r'one holds "touring" and two "other": only routings of one bike can be'):
        contests_of_files([("one", plain), ("two", plain.model_copy(update={"name": "other"}))])
    with pytest.raises(ChoiceError, match='"one" is named twice'):
        contests_of_files([("one", plain), ("one", plain)])
    with pytest.raises(ChoiceError, match='two: touring has no line "brake": did you mean "break"'):
        contests_of_files([("one", plain), ("two", bench_frame(bench_line(STATIONS, name="break")))], "brake")
    with pytest.raises(ChoiceError, match="one and two: they have no line of the same name"):
        contests_of_files([("one", plain), ("two", bench_frame(bench_line(STATIONS, name="other")))])


def test_names_after_a_comma_tell_the_files_apart() -> None:
    plain = bench_frame(bench_line(STATIONS))
    named = [plain.model_copy(update={"name": f"Skiff, {what}"}) for what in ("left", "right")]
    (contest,) = contests_of_files([("one", named[0]), ("two", named[1])])
    assert [one.name for one in contest.entrants] == ["left", "right"]
    (contest,) = contests_of_files([("one", named[0]), ("two", named[0])])
    assert [one.name for one in contest.entrants] == ["one", "two"]


@pytest.mark.parametrize(
    ("by", "condition", "said"),
    [
        ("eficiency", "worn", '--by is "eficiency": did you mean "efficiency"?'),
        ("weight", "worn", '--by is "weight": choose efficiency, reserve, lost-motion or length'),
        ("length", "worm", '--condition is "worm": did you mean "worn"?'),
    ],
)
def test_an_unknown_measure_or_condition_is_refused(by: str, condition: str, said: str) -> None:
    (contest,) = contests_of_options("bench", BENCH)
    with pytest.raises(ChoiceError) as caught:
        compare(contest, by=by, condition=condition)
    assert str(caught.value) == said
