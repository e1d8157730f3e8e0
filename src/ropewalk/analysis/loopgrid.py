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

#: lengths on the grid
LENGTHS = 30
#: lengths put between two neighbours of the best one where a window might hide
BETWEEN = 9
#: how far the best grid length may miss a radius, as a share of it, for a window to be looked for between
NEARLY = 0.1
#: the shortest length over the chord, as a share of it
SLIGHTLY_LONGER = 5e-4
#: points along a curve at which its clearance is taken
CURVE_POINTS = 25


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
        required = self.case.required(self.case.steer, advised=advised)
        return np.asarray((self.radius / required - 1.0).min(axis=1))

    def riding_turn(self) -> Array:
        """Return the most turn over the riding range at each length (J,) [rad]; infinite where a pose has no shape."""
        ridden = self.case.ridden(self.case.steer)
        usable = self.radius[:, ridden] > 0
        return np.asarray(np.where(usable, self.rods.turn[:, ridden], math.inf).max(axis=1))


def follow_grids(cases: Sequence[LoopCase]) -> list[LoopGrid]:
    """Follow every loop at a grid of lengths, and between them where a window might hide."""
    chords = [_chord(case) for case in cases]
    grids = _followed(cases, chords, [_lengths(case, chord) for case, chord in zip(cases, chords, strict=True)])
    extra = [_between(grid) for grid in grids]
    hiding = [place for place, lengths in enumerate(extra) if lengths is not None]
    if hiding:
        more = _followed(
            [cases[place] for place in hiding],
            [chords[place] for place in hiding],
            [lengths for lengths in extra if lengths is not None],
        )
        for place, grid in zip(hiding, more, strict=True):
            grids[place] = _merged(grids[place], grid)
    return grids


def follow_cases(cases: Sequence[LoopCase], lengths: Iterable[float]) -> list[tuple[Rods, Mask]]:
    """Follow each loop at one length; return its rods (P,) and where it snapped over (P,)."""
    grids = _sweeps(cases, [np.array([length]) for length in lengths])
    return [(sweep.rods[0], sweep.snapped[0]) for sweep in grids]


def _chord(case: LoopCase) -> Array:
    clamps = case.clamps(case.steer)
    return np.asarray(np.linalg.norm(clamps.end - clamps.start, axis=-1))


def _lengths(case: LoopCase, chord: Array) -> Array:
    """Return the grid: dense near the chord, up to a full circle of the advised radius beyond it."""
    low = float(chord.max()) * (1 + SLIGHTLY_LONGER)
    circle = 2 * math.pi * max(case.advised_radius, case.kink_radius)
    return np.asarray(low + circle * np.linspace(0.0, 1.0, LENGTHS) ** 1.5)


def _between(grid: LoopGrid) -> Array | None:
    """Return lengths beside the best one when the grid misses a window by little."""
    for advised in (True, False):
        margin = grid.margin(advised=advised)
        best = int(margin.argmax())
        if margin[best] >= 0:
            return None
        if margin[best] > -NEARLY:
            low, high = grid.lengths[max(best - 1, 0)], grid.lengths[min(best + 1, len(margin) - 1)]
            return np.linspace(low, high, BETWEEN + 2)[1:-1]
    return None


def _followed(cases: Sequence[LoopCase], chords: Sequence[Array], lengths: Sequence[Array]) -> list[LoopGrid]:
    sweeps = _sweeps(cases, lengths)
    return [
        LoopGrid(case, length, chord, sweep.rods)
        for case, chord, length, sweep in zip(cases, chords, lengths, sweeps, strict=True)
    ]


def _sweeps(cases: Sequence[LoopCase], lengths: Sequence[Array]) -> list[Sweep]:
    """Follow loops at several lengths each (J,); loops with the same number of poses go in one batch."""
    found: dict[int, Sweep] = {}
    for count in sorted({len(case.steer) for case in cases}):
        places = [place for place, case in enumerate(cases) if len(case.steer) == count]
        rows = [np.repeat(np.arange(len(places)), [len(lengths[place]) for place in places])][0]
        clamps = joined([cases[place].clamps(cases[place].steer) for place in places])
        index = rows[:, np.newaxis] * count + np.arange(count)
        homes = np.array([cases[place].home for place in places])[rows]
        sweep = follow(clamps[index], np.concatenate([lengths[place] for place in places]), homes)
        for order, place in enumerate(places):
            mine = rows == order
            found[place] = Sweep(sweep.rods[mine], sweep.snapped[mine])
    return [found[place] for place in range(len(cases))]


def _merged(first: LoopGrid, second: LoopGrid) -> LoopGrid:
    lengths = np.concatenate([first.lengths, second.lengths])
    order = np.argsort(lengths, kind="stable")
    return LoopGrid(first.case, lengths[order], first.chord, _stacked(first.rods, second.rods)[order])


def _stacked(first: Rods, second: Rods) -> Rods:
    values: dict[str, Any] = {}
    for field in fields(Rods):
        one, two = getattr(first, field.name), getattr(second, field.name)
        values[field.name] = joined([one, two]) if field.name == "clamps" else np.concatenate([one, two])
    return Rods(**values)
