"""Loops followed through their sweep: at a grid of lengths, and at one length each."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from ropewalk.analysis.loops import Array, LoopCase, Mask, joined
from ropewalk.mechanics.elastica import Rods
from ropewalk.mechanics.follow import Sweep, follow
from ropewalk.units import radians

#: lengths on the grid
LENGTHS = 30
#: of these, the shorter ones that are followed first; mostly the others are not needed
FIRST = 16
#: how much more turn than allowed leaves no doubt [rad]
FOR_CERTAIN = radians(5.0)
#: step of the lengths below the longest chord, which a loop may have in other poses where housing slides [mm]
BELOW = 10.0
#: lengths put between two neighbours of a peak where a window might hide
BETWEEN = 9
#: how far a peak on the grid may miss a radius, as a share of it, for a window to be looked for about it
NEARLY = 0.1
#: the shortest length over the chord, as a share of it
SLIGHTLY_LONGER = 5e-4
#: points along a curve at which its clearance is taken
CURVE_POINTS = 81


@dataclass(frozen=True, slots=True)
class LoopGrid:
    """One loop followed at many lengths through every pose of its sweep.

    Attributes
    ----------
    case : LoopCase
    lengths : (J,) array
        Rising [mm].
    chord : (P,) array
        Distance between its ends in each pose [mm].
    rods : Rods
        (J, P).
    """

    case: LoopCase
    lengths: Array
    chord: Array
    rods: Rods

    @property
    def radius(self) -> Array:
        """Least radius (J, P) [mm]; -1 where there is no stable shape."""
        return np.where(self.rods.converged & self.rods.stable, self.rods.least_radius, -1.0)

    def margin(self, *, advised: bool) -> Array:
        """Return by how much each length keeps its radii in its worst pose (J,), as a share of the radius."""
        required = self.case.required(self.case.poses, advised=advised)
        return np.asarray((self.radius / required - 1.0).min(axis=1))

    def riding_turn(self) -> Array:
        """Return the most turn over the riding range at each length (J,) [rad]; infinite where a pose has no shape."""
        ridden = self.case.ridden(self.case.poses)
        usable = self.radius[:, ridden] > 0
        return np.asarray(np.where(usable, self.rods.turn[:, ridden], math.inf).max(axis=1))


def follow_grids(cases: Sequence[LoopCase]) -> list[LoopGrid]:
    """Follow every loop at a grid of lengths, and between them where a window might hide."""
    chords = [_chord(case) for case in cases]
    lengths = [_lengths(case, chord) for case, chord in zip(cases, chords, strict=True)]
    cuts = [len(row) - LENGTHS + FIRST for row in lengths]
    grids = _followed(cases, chords, [row[:cut] for row, cut in zip(lengths, cuts, strict=True)])
    more = [None if _ends(grid) else row[cut:] for grid, row, cut in zip(grids, lengths, cuts, strict=True)]
    grids = _with_more(grids, more)
    return _with_more(grids, [_between(grid) for grid in grids])


def _with_more(grids: Sequence[LoopGrid], lengths: Sequence[Array | None]) -> list[LoopGrid]:
    """Follow some loops at more lengths."""
    wanted = [(place, more) for place, more in enumerate(lengths) if more is not None]
    if not wanted:
        return list(grids)
    found = list(grids)
    places = [place for place, _ in wanted]
    followed = _followed(
        [grids[place].case for place in places], [grids[place].chord for place in places], [more for _, more in wanted]
    )
    for place, grid in zip(places, followed, strict=True):
        found[place] = _merged(grids[place], grid)
    return found


def _ends(grid: LoopGrid) -> bool:
    """Return whether a grid reaches past every tidy length: where the turn allowance is used up for certain."""
    kept = np.flatnonzero(grid.margin(advised=False) >= 0)
    if not kept.size:
        return False
    turn, first = grid.riding_turn(), int(kept[0])
    allowed = _most_about(turn, first) + grid.case.turn_allowance + FOR_CERTAIN
    # where the advised radius governs, the allowance counts from the longer length that keeps it
    advised = np.flatnonzero((grid.margin(advised=True) >= 0) & (turn <= allowed))
    if advised.size:
        first = max(first, int(advised[0]))
        allowed = _most_about(turn, first) + grid.case.turn_allowance + FOR_CERTAIN
    return bool((turn[first + 1 :] > allowed).any())


def _most_about(turn: Array, at: int) -> float:
    """Return the greater turn of a grid length and the one before."""
    about = turn[max(at - 1, 0) : at + 1]
    return float(about[np.isfinite(about)].max())


def follow_cases(cases: Sequence[LoopCase], lengths: Iterable[float]) -> list[tuple[Rods, Mask]]:
    """Follow each loop at one length; return its rods (P,) and where it snapped over (P,)."""
    grids = _sweeps(cases, [np.array([length]) for length in lengths])
    return [(sweep.rods[0], sweep.snapped[0]) for sweep in grids]


def _chord(case: LoopCase) -> Array:
    clamps = case.clamps(case.poses)
    return np.asarray(np.linalg.norm(clamps.end - clamps.start, axis=-1))


def _lengths(case: LoopCase, chord: Array) -> Array:
    """Return the grid: dense near the longest chord, up to a full circle of the advised radius beyond it.

    Where housing slides a loop may be shorter in other poses, so it begins at the shortest chord.
    """
    low = float(chord.max()) * (1 + SLIGHTLY_LONGER)
    circle = 2 * math.pi * max(case.advised_radius, case.kink_radius)
    lengths = low + circle * np.linspace(0.0, 1.0, LENGTHS) ** 1.5
    least = float(chord.min()) * (1 + SLIGHTLY_LONGER)
    if not case.slides or least >= low:
        return np.asarray(lengths)
    return np.concatenate([np.linspace(least, low, math.ceil((low - least) / BELOW) + 1)[:-1], lengths])


def _between(grid: LoopGrid) -> Array | None:
    """Return lengths about peaks at which the grid misses a window by little, or None.

    A loop keeps its radii again once it balloons; the tidy window below may be narrower than the grid's steps.
    """
    places = {peak for advised in (True, False) if (peak := _near_miss(grid.margin(advised=advised))) is not None}
    if not places:
        return None
    last = len(grid.lengths) - 1
    spans = [(float(grid.lengths[max(at - 1, 0)]), float(grid.lengths[min(at + 1, last)])) for at in places]
    return np.unique(np.concatenate([np.linspace(low, high, BETWEEN + 2)[1:-1] for low, high in spans]))


def _near_miss(margin: Array) -> int | None:
    """Return the first peak of a margin (J,) that stays below 0 by little, before the first that does not."""
    keeps = np.flatnonzero(margin >= 0)
    fenced = np.concatenate([[-math.inf], margin, [-math.inf]])[: (keeps[0] if keeps.size else len(margin)) + 2]
    inner = fenced[1:-1]
    peaks = np.flatnonzero((inner >= fenced[:-2]) & (inner >= fenced[2:]) & (inner > -NEARLY))
    return int(peaks[0]) if peaks.size else None


def _followed(cases: Sequence[LoopCase], chords: Sequence[Array], lengths: Sequence[Array]) -> list[LoopGrid]:
    sweeps = _sweeps(cases, lengths)
    return [
        LoopGrid(case, length, chord, sweep.rods)
        for case, chord, length, sweep in zip(cases, chords, lengths, sweeps, strict=True)
    ]


def _sweeps(cases: Sequence[LoopCase], lengths: Sequence[Array]) -> list[Sweep]:
    """Follow loops at several lengths each (J,) in all their poses (P,), along all their ways in one batch."""
    if not cases:
        return []
    ways = [(place, walk) for place, case in enumerate(cases) for walk in case.walks.walks]
    homes = [start for case in cases for start in case.walks.starts]
    most = max(len(walk) for _, walk in ways)
    # a shorter way stays at its last pose, and is not followed there
    poses = [np.minimum(np.arange(most), len(walk) - 1) for _, walk in ways]
    clamps = joined([cases[place].clamps(cases[place].poses[walk]) for place, walk in ways])
    firsts = np.cumsum([0, *(len(walk) for _, walk in ways)])[:-1]
    times = [len(lengths[place]) for place, _ in ways]
    rows = np.repeat(np.stack([first + own for first, own in zip(firsts, poses, strict=True)]), times, axis=0)
    sweep = follow(
        clamps[rows],
        np.concatenate([lengths[place] for place, _ in ways]),
        np.repeat(homes, times),
        count=np.repeat([len(walk) for _, walk in ways], times),
    )
    found: list[list[Sweep]] = [[] for _ in cases]
    edges = np.cumsum([0, *times])
    for (place, walk), first, last in zip(ways, edges[:-1], edges[1:], strict=True):
        mine = np.s_[first:last, : len(walk)]
        found[place].append(Sweep(sweep.rods[mine], sweep.snapped[mine]))
    return [_by_pose(case, own) for case, own in zip(cases, found, strict=True)]


def _by_pose(case: LoopCase, ways: Sequence[Sweep]) -> Sweep:
    """Return one loop's ways (J, S) as one sweep (J, P), each pose where it is first met."""
    if len(ways) == 1 and np.array_equal(case.walks.walks[0], np.arange(len(case.poses))):
        return ways[0]
    flat = np.concatenate(case.walks.walks)
    met = np.array([int(np.argmax(flat == pose)) for pose in range(len(case.poses))])
    rods = ways[0].rods
    for way in ways[1:]:
        rods = _stacked(rods, way.rods, axis=1)
    return Sweep(rods[:, met], np.concatenate([way.snapped for way in ways], axis=1)[:, met])


def _merged(first: LoopGrid, second: LoopGrid) -> LoopGrid:
    lengths = np.concatenate([first.lengths, second.lengths])
    order = np.argsort(lengths, kind="stable")
    return LoopGrid(first.case, lengths[order], first.chord, _stacked(first.rods, second.rods)[order])


def _stacked(first: Rods, second: Rods, axis: int = 0) -> Rods:
    values: dict[str, Any] = {}
    for field in fields(Rods):
        one, two = getattr(first, field.name), getattr(second, field.name)
        values[field.name] = (
            joined([one, two], axis) if field.name == "clamps" else np.concatenate([one, two], axis=axis)
        )
    return Rods(**values)
