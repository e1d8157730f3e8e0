"""A loop's window by brute force: every length of a dense grid followed through every degree of steering.

The rods come from the solver; which length is safe and which is tidy is worked out here again from the definitions,
with nothing of the program's own search: no brackets, no crossings, no refinement about a worst pose.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from makers import steered
from numpy.typing import NDArray

from ropewalk.analysis.loops import LoopCase
from ropewalk.bike.poses import STEER
from ropewalk.mechanics.elastica import PLANNING_NODES, Clamps, Rods
from ropewalk.mechanics.follow import follow

Array = NDArray[np.float64]

#: steps of the dense grid, of the fine one about each end of the window, and of the finest [mm]
COARSE, FINE, FINEST = 2.0, 0.1, 0.01
#: lengths followed in one go
BLOCK = 24
#: points of a curve at which its clearance is taken
POINTS = 101


@dataclass(frozen=True)
class Tried:
    """What one length gives: whether it keeps each radius, its most turn while riding, whether it rubs nothing."""

    length: float
    kink: bool
    advised: bool
    turn: float
    clear: bool


@dataclass(frozen=True)
class ForcedWindow:
    """A window by brute force; reasons are words: pulls, kinks, turns, rubs, or nothing."""

    shortest: float
    longest: float
    advised: bool
    why_shortest: str
    why_longest: str


Verdict = Callable[[Tried], bool]


class Loop:
    """One loop, followed at whatever lengths are asked for, each only once."""

    def __init__(self, case: LoopCase, *, nodes: int = PLANNING_NODES) -> None:
        self.case, self.nodes = case, nodes
        lock = math.degrees(case.high[STEER])
        self.poses = steered(np.arange(-round(lock), round(lock) + 1.0) if case.moves else np.zeros(1))
        assert not case.moves or math.isclose(math.radians(round(lock)), case.high[STEER]), "locks are whole degrees"
        assert not np.delete(case.poses, STEER, axis=1).any(), "only the bars move"
        self.home = len(self.poses) // 2
        self.clamps = case.clamps(self.poses)
        self.chord = np.linalg.norm(self.clamps.end - self.clamps.start, axis=-1)
        self.riding = np.abs(self.poses[:, STEER]) <= case.riding + 1e-9
        self._tried: dict[float, Tried] = {}

    def rods(self, lengths: Array) -> Rods:
        """Follow the loop at lengths (J,) through all poses: rods (J, P)."""
        count, poses = len(lengths), len(self.poses)
        every = self.clamps.reshape(1, poses).spread((1, poses))
        stacked = Clamps(*(np.repeat(getattr(every, name), count, axis=0) for name in every.__dataclass_fields__))
        return follow(stacked, lengths, self.home, nodes=self.nodes).rods

    def tried(self, lengths: Array) -> list[Tried]:
        """Return what each length gives."""
        missing = np.array([length for length in lengths if length not in self._tried])
        for at in range(0, len(missing), BLOCK):
            block = missing[at : at + BLOCK]
            for length, found in zip(block, self._judge(block), strict=True):
                self._tried[float(length)] = found
        return [self._tried[float(length)] for length in lengths]

    def _judge(self, lengths: Array) -> list[Tried]:
        rods = self.rods(lengths)
        sound = rods.converged & rods.stable
        radius = np.where(sound, rods.least_radius, -1.0)
        clear = np.ones(len(lengths), dtype=bool)
        if self.case.clearance is not None:
            for row in range(len(lengths)):
                good = np.flatnonzero(sound[row])
                if good.size:
                    free = self.case.clearance(rods[row, good].points(POINTS), self.poses[good])
                    clear[row] = bool((free >= 0.0).all())
        return [
            Tried(
                float(length),
                bool((radius[row] >= self.case.kink_radius).all()),
                bool((radius[row] >= self.case.kink_radius).all())
                and bool((radius[row, self.riding] >= self.case.advised_radius).all()),
                float(rods.turn[row, self.riding].max()) if sound[row, self.riding].all() else math.inf,
                bool(clear[row]),
            )
            for row, length in enumerate(lengths)
        ]


def forced_window(case: LoopCase, most: float) -> ForcedWindow | None:
    """Return the window of a loop by brute force, looking no further than ``most`` mm beyond its chord."""
    loop = Loop(case)
    low = float(loop.chord.max())
    grid = low + 0.05 + COARSE * np.arange(math.ceil(most / COARSE))
    kink = _first(loop, grid, lambda tried: tried.kink)
    if kink is None:
        return None
    allowed = kink.turn + case.turn_allowance
    keeps = _first(loop, grid[grid >= kink.length - COARSE], lambda tried: tried.advised and tried.turn <= allowed)
    advised = keeps is not None
    shortest = keeps if keeps is not None else kink
    limit = shortest.turn + case.turn_allowance

    def tidy(tried: Tried) -> bool:
        return (tried.advised if advised else tried.kink) and tried.turn <= limit and tried.clear

    longest, beyond = _last(loop, shortest, grid, tidy)
    return ForcedWindow(
        shortest.length,
        longest.length,
        advised,
        _pulls_or_kinks(loop, shortest.length, advised=advised),
        _why_longest(loop, longest, beyond, limit, advised=advised),
    )


def _first(loop: Loop, grid: Array, good: Verdict) -> Tried | None:
    """Return the shortest good length: on the dense grid, then on the fine one below it."""
    for at in range(0, len(grid), BLOCK):
        block = grid[at : at + BLOCK]
        hits = [tried for tried in loop.tried(block) if good(tried)]
        if hits:
            found = hits[0]
            for step, finer in ((COARSE, FINE), (FINE, FINEST)):
                below = found.length - finer * np.arange(round(step / finer), -1, -1)
                found = next(tried for tried in loop.tried(below[below > loop.chord.max()]) if good(tried))
            return found
    return None


def _last(loop: Loop, shortest: Tried, grid: Array, good: Verdict) -> tuple[Tried, Tried | None]:
    """Return the end of the unbroken run of good lengths from the shortest on, and the first beyond it."""
    if not good(shortest):
        return shortest, shortest
    before = shortest
    longer = grid[grid > shortest.length]
    for at in range(0, len(longer), BLOCK):
        for tried in loop.tried(longer[at : at + BLOCK]):
            if not good(tried):
                fine = np.append(np.arange(before.length + FINE, tried.length, FINE), tried.length)
                for near in loop.tried(fine):
                    if not good(near):
                        return before, near
                    before = near
            before = tried
    return before, None


def _pulls_or_kinks(loop: Loop, length: float, *, advised: bool) -> str:
    """Say whether the end force pulls or pushes along the chord in the pose that is nearest to its limit."""
    rods = loop.rods(np.array([length]))[0]
    need = np.where(loop.riding & advised, loop.case.advised_radius, loop.case.kink_radius)
    worst = int(np.argmin(rods.least_radius / need))
    chord = loop.clamps.end[worst] - loop.clamps.start[worst]
    return "pulls" if float(rods.end_force[worst] @ chord) > 0 else "kinks"


def _why_longest(loop: Loop, longest: Tried, beyond: Tried | None, limit: float, *, advised: bool) -> str:
    if beyond is None:
        return "nothing"
    if beyond.turn > limit:
        return "turns"
    if not (beyond.advised if advised else beyond.kink):
        return _pulls_or_kinks(loop, longest.length, advised=advised)
    return "rubs"
