"""Windows of loops against brute force: a dense grid of lengths, each followed through every degree of steering.

The advised radius is taken to govern where a tidy length keeps it: one that turns, at most over the riding range, no
more than 30° beyond the shortest length that keeps the kink radius. Any loop keeps any radius once it balloons.
"""

from __future__ import annotations

import functools

import numpy as np
import pytest
from forced_poses import asked_in_poses
from forced_window import ForcedWindow, Loop, forced_window
from moving import full_suspension
from random_loops import random_loop

from ropewalk.analysis.loops import LoopWindow
from ropewalk.analysis.window import windows
from ropewalk.bike.fleet import find, fleet
from ropewalk.bike.framefile import Frame
from ropewalk.bike.parts import catalogue
from ropewalk.bike.poses import STEER, poses
from ropewalk.bike.reading import read
from ropewalk.workshop.choices import Choices, settle
from ropewalk.workshop.plan import place_lines, study_loops

BIKES = ("touring", "hardtail", "road")
#: how far windows may lie apart [mm]
APART = 0.5
#: how far beyond the chord brute force looks [mm]: farther than a full circle of any advised radius here
FAR = 2 * np.pi * 75 + 10


@functools.cache
def fleet_windows(bike: str) -> dict[str, LoopWindow]:
    """Return what the program finds of every loop of a bike, by line and loop."""
    parts = catalogue()
    built, lines = place_lines(read(find(bike)), parts)
    loops, _ = study_loops(built, poses(built.frame), lines, parts, settle(Choices(), parts))
    return {f"{lines[line].route.line.name}: {window.case.name}": window for (line, _), window in loops.items()}


def every_loop() -> list[tuple[str, str]]:
    return [(bike, name) for bike in BIKES for name in fleet_windows(bike)]


@pytest.fixture(params=every_loop(), ids=lambda pair: f"{pair[0]}: {pair[1]}")
def fleet_window(request: pytest.FixtureRequest) -> LoopWindow:
    bike, name = request.param
    return fleet_windows(bike)[name]


def test_windows_of_the_fleet_are_those_of_brute_force(fleet_window: LoopWindow) -> None:
    forced = forced_window(fleet_window.case, FAR)
    assert_same(fleet_window, forced)


def test_shortest_safe_lengths_hold_on_twice_the_nodes(fleet_window: LoopWindow) -> None:
    """Half a millimetre more keeps the radii in every degree of steering, half a millimetre less does not."""
    assert fleet_window.shortest is not None
    loop = Loop(fleet_window.case, nodes=32)
    around = fleet_window.shortest.length + np.array([-APART, APART])
    less, more = loop.tried(around)
    advised = fleet_window.keeps_advised
    assert (more.advised if advised else more.kink) is True
    assert (less.advised if advised else less.kink) is False


def test_the_pose_named_for_the_shortest_is_the_one_that_gives() -> None:
    """At half a millimetre less the named pose bends too tightly, by as much as any other within a whisker."""
    for bike in BIKES:
        for window in fleet_windows(bike).values():
            assert window.shortest is not None
            loop = Loop(window.case)
            radius = loop.rods(np.array([window.shortest.length - APART]))[0].least_radius
            need = np.where(loop.riding & window.keeps_advised, window.case.advised_radius, window.case.kink_radius)
            named = int(np.argmin(np.abs(loop.poses[:, STEER] - window.shortest.pose[STEER])))
            short = radius / need
            assert short[named] < 1.0
            assert short[named] == pytest.approx(short.min(), abs=2e-3)


#: random loops of every kind: a window 1.7 mm wide, one straight at lock, ones that rub, pull, kink, or keep only the
#: kink radius, and one whose advised radius takes much of the allowance of turn
SEEDS = (3, 4, 8, 17, 25, 34, 41, 44, 134)


@pytest.mark.parametrize("seed", SEEDS)
def test_windows_of_random_loops_are_those_of_brute_force(seed: int) -> None:
    """Loops between a turning and a fixed clamp, some beside a ball that they must not rub."""
    case = random_loop(seed)
    (window,) = windows([case])
    assert_same(window, forced_window(case, FAR))


def assert_same(window: LoopWindow, forced: ForcedWindow | None) -> None:
    """Compare a window with the one by brute force: both ends, which radius governs, both reasons."""
    if forced is None:
        assert window.shortest is None
        assert window.longest is None
        return
    assert window.shortest is not None
    assert window.longest is not None
    assert window.keeps_advised == forced.advised
    assert window.shortest.length == pytest.approx(forced.shortest, abs=APART)
    assert first_word(window.shortest.why) == forced.why_shortest
    if forced.why_longest == "nothing":
        assert window.longest.why.startswith("nothing")
        return
    assert window.longest.length == pytest.approx(forced.longest, abs=APART)
    assert first_word(window.longest.why) == forced.why_longest


def first_word(reason: str) -> str:
    return reason.split()[0].rstrip(":")


# Loops that more than the bars move.


def moving_bikes() -> dict[str, Frame]:
    """Return a bike on springs at both ends, made here, and those of the fleet on which more than the bars moves."""
    found = {"full suspension": full_suspension()}
    for bike in fleet():
        frame = read(bike.path)
        if set(poses(frame).moving) - {"steer"}:
            found[bike.name] = frame
    return found


@functools.cache
def moving_windows(bike: str) -> tuple[float, dict[str, LoopWindow]]:
    """Return where a bike's bars point while it is folded, and what the program finds of its loops that move."""
    parts = catalogue()
    built, lines = place_lines(moving_bikes()[bike], parts)
    sweep = poses(built.frame)
    loops, _ = study_loops(built, sweep, lines, parts, settle(Choices(), parts))
    return sweep.fold_steer, {
        f"{lines[line].route.line.name}: {window.case.name}": window
        for (line, _), window in loops.items()
        if np.delete(window.case.poses, STEER, axis=1).any() and not window.case.slides
    }


def every_moving_loop() -> list[tuple[str, str]]:
    return [(bike, name) for bike in moving_bikes() for name in moving_windows(bike)[1]]


def test_some_loops_are_moved_by_two_things_at_once() -> None:
    moved = [
        int((np.ptp(window.case.poses, axis=0) > 0.0).sum())
        for bike in moving_bikes()
        for window in moving_windows(bike)[1].values()
    ]
    assert len(moved) >= 2
    assert moved.count(2) >= 2


@pytest.mark.parametrize(("bike", "name"), every_moving_loop(), ids=lambda part: str(part))
def test_shortest_safe_lengths_serve_every_pose_of_a_fine_box(bike: str, name: str) -> None:
    """Every 2° of steering and fold and every 20 mm of travel, in all combinations, each shortened until it gives."""
    fold_steer, loops = moving_windows(bike)
    window = loops[name]
    assert window.shortest is not None and window.longest is not None
    # begin with a length that keeps the radii: a little more than the shortest, or half of a narrow window
    room = (window.longest.length - window.shortest.length) / 2 if window.longest.why.startswith("kinks") else 5.0
    start = window.shortest.length + min(room, 5.0)
    asked = asked_in_poses(window.case, start, fold_steer, advised=window.keeps_advised)
    assert window.shortest.length == pytest.approx(asked.most, abs=APART)
    assert window.shortest.length > asked.most - 0.02
    # the pose named is one that asks for it
    near = (np.abs(asked.poses - window.shortest.pose) / FINE_STEPS).max(axis=1) <= 1.0
    assert asked.length[near].max() > asked.most - APART


#: half of the fine box's steps, and a little
FINE_STEPS = np.array([np.radians(1.01), 10.1, 10.1, np.radians(1.01), 10.1])
