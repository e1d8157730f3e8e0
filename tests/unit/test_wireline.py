"""A line's wire taken apart: order of its contacts, where drags sit, lengths against the inner's own path."""

from __future__ import annotations

import dataclasses
import itertools
import math

import numpy as np
import pytest
from planned import FLEET, planned
from wires import BAR, BAR_LENGTH, END, HOME, SWEEP, brake_line, friction_of_line, loop, loops
from workbench import CALIPER, FRONT_STOP, LEVER, PARTS, REAR_STOP, placed, station

from ropewalk.analysis.causes import Wire
from ropewalk.analysis.friction import lever_pull
from ropewalk.analysis.release import needed_at_lever
from ropewalk.analysis.wireline import CONDITIONS, wire_of
from ropewalk.bike.sourced import Source, Sourced
from ropewalk.routing.course import Course


@pytest.mark.parametrize("bike", FLEET)
def test_the_stretches_add_up_to_the_inner_s_path(bike: str) -> None:
    """But for the short cut of a tight wire in its bends, and what is clamped twice in a splitter, less its length."""
    job = planned(bike)
    wired = [(line, route) for line, route in zip(job.lines, job.routing, strict=True) if line.friction]
    for line, placed_ in wired:
        assert line.friction is not None
        path = sum(inner.path for inner in line.inners)
        short_cut = sum(
            term.mm for inner in line.inners for term in inner.terms if term.label.startswith("tight wire takes")
        )
        split = sum(
            float(piece.inline.part.replaces) - 2.0 * float(piece.inline.part.clamps or 0.0)
            for piece in placed_.route.pieces
            if piece.inline is not None and piece.inline.part.splits_inner
        )
        wire = sum(stretch.length for stretch in line.friction.stretches)
        assert wire == pytest.approx(path - short_cut + split, abs=0.5)


def test_an_adjuster_parts_its_span_and_drags_where_it_sits() -> None:
    """Worked by hand, all new: 480 N at the lever, which gives 100 N of hand 4.8 times.

    In the lever 20° (0.3491 rad) at 0.10: 480 · exp(-0.03491) = 463.53 N. The loop of 500 mm turns by 2 rad; its
    housing's end lies 8 mm or so in the ferrule, so that the adjuster 300 mm from there parts it at 300 less that.
    """
    line = brake_line(inline="inline adjuster", inline_at=300)
    friction = friction_of_line(line)
    labels = [stretch.label for stretch in friction.stretches]
    assert labels[1:3] == ["loop, lever to inline adjuster", "loop, inline adjuster to front stop"]
    before, after = friction.stretches[1:3]
    ferrule = line.route.pieces[0].start_ferrule
    share = (300.0 - float(ferrule.insertion)) / BAR_LENGTH
    assert before.length == pytest.approx(300.0 + float(ferrule.floor))
    assert before.turn[HOME] == pytest.approx(2.0 * share)
    assert (before.drag, after.drag) == (pytest.approx(0.3), 0.0)
    pulling = friction.profiles["new"].pulling
    assert pulling[1] == pytest.approx(463.53, abs=0.01)
    assert pulling[2] == pytest.approx(463.53 * math.exp(-0.08 * 2.0 * share) - 0.3, abs=0.01)
    assert pulling[3] == pytest.approx(pulling[2] * math.exp(-0.08 * 2.0 * (1.0 - share)), abs=1e-6)


def test_parting_a_span_changes_nothing_but_the_drag() -> None:
    """The parts turn, measure and are known as the whole; the part's two joints settle besides."""
    whole = friction_of_line(brake_line()).stretches[1]
    first, rest = friction_of_line(brake_line(inline="inline adjuster", inline_at=200)).stretches[1:3]
    assert first.length + rest.length == pytest.approx(whole.length)
    assert first.turn + rest.turn == pytest.approx(whole.turn)
    assert math.hypot(first.turn_sigma, rest.turn_sigma) == pytest.approx(whole.turn_sigma)
    settling = float(brake_line().route.pieces[0].start_ferrule.settling or 0.0)
    assert first.settling + rest.settling == pytest.approx(whole.settling + 2.0 * settling)


def test_an_adjuster_beyond_the_first_span_sits_in_the_one_it_reaches() -> None:
    """Under tape to a clip, then a loop: 90 mm of the housing lie past the clip."""
    clip = {"name": "clip", "type": "clip", "on": "bar", "along": 60, "clock": 6, "then": "loop"}
    start = station(LEVER, then="strapped", inline="inline adjuster", inline_at=300)
    line = placed([start, clip, FRONT_STOP, REAR_STOP, CALIPER])[1]
    taped = line.spans[0]
    assert isinstance(taped, Course)
    found = wire_of(line, {1: loop((0.0,), (1.0,), 400.0), 3: loop((0.0,), (END,), 150.0)}, SWEEP, PARTS)
    first = next(stretch for stretch in found if stretch.label.endswith("to inline adjuster"))
    insertion = float(line.route.pieces[0].start_ferrule.insertion)
    assert first.label == "loop, clip to inline adjuster"
    assert first.length == pytest.approx(300.0 - insertion - taped.length, abs=1e-9)


def test_seals_drag_at_their_stations() -> None:
    """One at the lever holds the wire before the loop, one at the caliper before the bend at the anchor."""
    stops = [station(LEVER, drag=2), FRONT_STOP, station(REAR_STOP, drag=1.5), station(CALIPER, drag=3)]
    drags = [stretch.drag for stretch in friction_of_line(placed(stops)[1]).stretches]
    assert drags == [2.0, 0.0, 1.5, 3.0, 0.0]


def test_guides_share_the_turn_of_a_bare_run() -> None:
    """Each bend counts once: spans over two guides turn together as the path's corners do, worked out with arccos."""
    guides = [
        {"name": "first guide", "type": "guide", "on": "down tube", "from": "head tube", "along": 220, "clock": 9,
         "facing": "bottom bracket", "radius": 20, "then": "bare"},
        {"name": "second guide", "type": "guide", "on": "down tube", "from": "head tube", "along": 320, "clock": 7,
         "facing": "bottom bracket", "radius": 20, "then": "bare"},
    ]  # fmt: skip
    line = placed([LEVER, FRONT_STOP, *guides, REAR_STOP, CALIPER])[1]
    found = wire_of(line, {0: loop((0.0,), (2.0,), 500.0), 4: loop((0.0,), (END,), 150.0)}, SWEEP, PARTS)
    bare = [stretch for stretch in found if stretch.kind == "bare"]
    legs = [line.stations[at].place for at in range(1, 5)]
    ways = [(b - a) / math.dist(a, b) for a, b in itertools.pairwise(legs)]
    seats = [line.onward[1], *ways, line.onward[4]]
    corners = sum(math.acos(min(float(a @ b), 1.0)) for a, b in itertools.pairwise(seats))
    # the corners lie a little beyond the guides, whose bends are round
    assert sum(float(stretch.turn[HOME]) for stretch in bare) == pytest.approx(corners, rel=0.05)
    assert {stretch.pair for stretch in bare} == {"bare guide"}


def test_two_lines_on_a_lever_share_pull_and_need() -> None:
    route = brake_line().route
    half = dataclasses.replace(route, share=0.5)
    stretches = friction_of_line(brake_line()).stretches
    whole, shared = (lever_pull(Wire(one, stretches, 100.0, HOME, PARTS), HOME) for one in (route, half))
    assert shared == pytest.approx(0.5 * whole)
    alone, each = needed_at_lever(route), needed_at_lever(half)
    assert alone is not None and each is not None
    assert (each.value, each.sigma) == (pytest.approx(0.5 * alone.value), pytest.approx(0.5 * alone.sigma))


def test_a_lever_s_own_spring_takes_of_the_hand_and_gives_to_the_release() -> None:
    """1 N of the 2 N that the lever wants is its own: ln(10 / 1) instead of ln(10 / 2) over the turn."""
    line = brake_line()
    own = Sourced(1.0, 0.5, "N", Source("estimate", "made up"))
    exit_ = line.route.exit.model_copy(update={"own_spring": own})
    sprung = dataclasses.replace(line, route=dataclasses.replace(line.route, exit=exit_))
    plain, helped = friction_of_line(line), friction_of_line(sprung)
    assert helped.pull == pytest.approx(plain.pull - 1.0)
    assert helped.release_reserve / plain.release_reserve == pytest.approx(math.log(10.0) / math.log(5.0))


def test_the_worst_pose_is_that_of_the_condition_s_own_friction() -> None:
    """At 45° left the loop turns 0.3 rad more than at 45° right: worst in every condition; the lock is not ridden."""
    friction = friction_of_line(brake_line())
    assert set(friction.worst.values()) == {1}
    for name in CONDITIONS:
        assert friction.least_efficiency[name].value < friction.efficiency[name].value
        left, right = friction.at_locks[name]
        assert left == pytest.approx(right) and right < friction.least_efficiency[name].value


def test_with_drags_the_least_reserve_of_the_riding_range_counts() -> None:
    line = placed([station(LEVER, drag=3), FRONT_STOP, REAR_STOP, CALIPER])[1]
    friction = friction_of_line(line)
    assert friction.release is not None
    # drawn back, 10 N through every contact at the reserve, less 3 N at the lever's seat, leave what the lever wants
    head = float(friction.stretches[0].turn[1])
    rest = float(sum(stretch.turn[1] for stretch in friction.stretches[1:]))
    mu = friction.release_reserve
    left = (10.0 * math.exp(-mu * rest) - 3.0) * math.exp(-mu * head)
    assert left == pytest.approx(2.0, abs=1e-9)
    assert friction.release.pose == 1


def test_neither_radius_nor_length_costs_anything() -> None:
    """Metamorphic: the same turns on loops of another length leave every efficiency as it is."""
    line = brake_line()
    other = {0: loop((0.0,), (BAR[2],), 900.0), 2: loop((0.0,), (END,), 60.0)}
    near, far = friction_of_line(line, loops()), friction_of_line(line, other)
    assert sum(one.length for one in near.stretches) != pytest.approx(sum(one.length for one in far.stretches))
    for name in CONDITIONS:
        assert far.efficiency[name].value == pytest.approx(near.efficiency[name].value, rel=1e-12)
        assert np.all(np.diff(far.profiles[name].distance) > 0.0)


def test_with_drags_the_worst_pose_is_where_least_arrives_not_where_most_is_turned() -> None:
    """A seal of 6 N before two bends that trade their turn, all lined housing of one coefficient.

    Pulled, a bend before the seal costs by the full tension and one behind it by what the seal left; let back the
    other way round. 2.0 + 0.5 rad against 0.5 + 1.9 rad: the second pose turns less, yet there more comes to the seal
    and is taken whole.
    """
    line = placed([LEVER, station(FRONT_STOP, drag=6), REAR_STOP, CALIPER])[1]
    before = (9.0, 2.0, 1.0, 0.5, 9.0)
    after = loop((-70.0, -45.0, 0.0, 45.0, 70.0), (9.0, 0.5, 0.5, 1.9, 9.0), 150.0)
    friction = friction_of_line(line, {0: loop((-70.0, -45.0, 0.0, 45.0, 70.0), before, BAR_LENGTH), 2: after})
    assert friction.release is not None
    lined = float(PARTS.friction("lined housing", "worn"))
    rest = {one.kind: float(PARTS.friction(one.pair, "worn")) * float(one.turn[HOME]) for one in friction.stretches}
    arrives = {}
    for pose, near, far in ((1, 2.0, 0.5), (3, 0.5, 1.9)):
        come = 10.0 * math.exp(-rest["anchor"] - lined * far - rest["bare"])
        arrives[pose] = (come - 6.0) * math.exp(-lined * near - rest["lever"])
    assert arrives[3] < arrives[1]
    assert friction.release.least_at["worn"] == 3
    assert friction.release.arrives["worn"].value == pytest.approx(arrives[3], rel=1e-9)
    assert friction.worst["worn"] == 1
