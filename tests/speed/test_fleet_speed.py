"""How long the whole fleet takes to plan, and how the cost grows with the number of loops; figures are printed.

Times are of the processor, each also as a multiple of a fixed job of array arithmetic timed in the same run, so that
figures of different machines can be set side by side. Set the threads of BLAS to one.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import makers
import numpy as np
import pytest
from random_loops import random_loop
from workbench import CALIPER, FRONT_STOP, LEVER, LEVERS, REAR_STOP, line

from ropewalk.analysis.window import windows
from ropewalk.bike.fleet import fleet
from ropewalk.bike.framefile import Frame
from ropewalk.bike.reading import read
from ropewalk.workshop.plan import plan

#: what the fleet and one bike may take [s]
FLEET, BIKE = 12.0, 2.0
#: how much more than in proportion the cost may grow: timing wavers by some tenths
MORE = 1.35


def spent(work: Callable[[], Any], times: int = 1) -> float:
    """Return the least processor time of some runs [s]."""
    found = []
    for _ in range(times):
        start = time.process_time()
        work()
        found.append(time.process_time() - start)
    return min(found)


def yardstick() -> float:
    """Return the time of a fixed job: 40 times 200 small systems of equations [s]."""
    draw = np.random.default_rng(1)
    matrices, right = draw.normal(size=(200, 48, 48)) + 48.0 * np.eye(48), draw.normal(size=(200, 48, 1))
    return spent(lambda: [np.linalg.solve(matrices, right) for _ in range(40)], times=3)


def test_the_whole_fleet_is_planned_in_time() -> None:
    frames = {bike.name: read(bike.path) for bike in fleet()}
    plan(frames["touring"])
    unit = yardstick()
    took = {name: spent(lambda frame=frame: plan(frame)) for name, frame in frames.items()}
    for name, seconds in took.items():
        print(f"\n{name}: {seconds:.2f} s, {seconds / unit:.1f} yardsticks", end="")
    whole = sum(took.values())
    print(f"\nthe fleet of {len(took)}: {whole:.2f} s, {whole / unit:.1f} yardsticks")
    assert whole < FLEET
    assert max(took.values()) < BIKE


def bike_of(lines: int) -> Frame:
    """Return a bike with so many lines of two loops, each with its own lever a little along the bar."""
    levers, stations = [], []
    for number in range(lines):
        name, side = f"lever {number}", "left" if number % 2 else "right"
        levers.append({**LEVERS["drop"], "name": name, "side": side, "along": 205 + 3 * number})
        seats = [{**FRONT_STOP, "along": 120 + 4 * number}, {**REAR_STOP, "along": 420 + 4 * number}]
        stations.append(line([LEVER, *seats, CALIPER], name=f"line {number}", lever=name))
    return makers.frame(lever=levers, line=stations)


@pytest.mark.parametrize("kind", ["loops", "lines of a bike"])
def test_the_cost_grows_in_proportion_to_the_loops(kind: str) -> None:
    """Eight times the loops take no more than eight times as long, and a third: each loop costs what it did."""
    seeds = [seed for seed in range(200) if turns_by_90_degrees(seed)][:32]
    works: dict[int, Callable[[], Any]] = (
        {count: lambda count=count: windows([random_loop(seed) for seed in seeds[:count]]) for count in (4, 8, 16, 32)}
        if kind == "loops"
        else {2 * count: lambda count=count: plan(bike_of(count)) for count in (1, 2, 4, 8)}
    )
    next(iter(works.values()))()
    took = {count: spent(work, times=2) for count, work in works.items()}
    first, last = min(took), max(took)
    ratio = (took[last] / last) / (took[first] / first)
    for count, seconds in took.items():
        print(f"\n{count} loops: {seconds:.2f} s, {1e3 * seconds / count:.0f} ms a loop", end="")
    print(f"\na loop among {last} costs {ratio:.2f} of one among {first}")
    assert ratio < MORE


def turns_by_90_degrees(seed: int) -> bool:
    """Return whether a random loop of that seed has a lock of 90°, so that all have as many poses."""
    return len(random_loop(seed).poses) == 37
