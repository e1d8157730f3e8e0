"""From a start to a shape in equilibrium: regularised Newton steps downhill from afar, plain ones from close by.

Rods of unit length, one a row, as in `elastica_newton`. Going downhill, each row carries its own shift of the Hessian.
A step counts only where the shifted Hessian is positive definite among the steps that keep the constraint and where the
energy with the weighted gap falls; then the shift is cut, else it is raised and the step tried again. Close to a
minimum the shift is nothing and the rule is plain Newton.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ropewalk.mechanics.elastica_newton import GAP_WEIGHT, energy, linearise, newton_step, retract
from ropewalk.mechanics.elastica_stability import firmness, is_minimum
from ropewalk.mechanics.lobatto import LobattoGrid

__all__ = ["Descent", "capped", "descend", "largest_turn", "merit", "polish"]

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Index = NDArray[np.intp]

# Shift of the first step, about the buckling load of a clamped rod, and the least that is not left off [1, over
# stiffness and length].
FIRST_SHIFT = 40.0
LEAST_SHIFT = 0.5
# Bytes of matrices worked on at a time.
CACHE = 3_000_000
# A tangent turns no further than this [rad] in one step: the frames are flat, the sphere is not.
LARGEST_TURN = 0.7


@dataclass(frozen=True, slots=True, eq=False)
class Descent:
    """Where Newton steps ended.

    Attributes
    ----------
    tangents : (B, n, 3) array
    force : (B, 3) array
    settled : (B,) array of bool
        The last step was below the tolerance.
    firmness : (B,) array
        Lowest eigenvalue of the second variation, as far as it is small (see `firmness`), infinite where only its sign
        is known; nothing where the shape did not settle or no verdict was wanted.
    """

    tangents: Array
    force: Array
    settled: Flags
    firmness: Array

    @property
    def minimal(self) -> Flags:
        """Settled, and at a minimum among the shapes that keep the constraint."""
        return self.settled & (self.firmness > 0.0)

    def put(self, index: Index, other: "Descent") -> None:
        """Overwrite rows."""
        self.tangents[index], self.force[index] = other.tangents, other.force
        self.settled[index], self.firmness[index] = other.settled, other.firmness


def merit(grid: LobattoGrid, tangents: Array, force: Array, reach: Array) -> Array:
    """Give the energy, corrected to first order for the gap, with the weighted square of the gap, of shape (B,)."""
    gap = np.matmul(grid.weights, tangents) - reach
    squared = np.einsum("bc,bc->b", gap, gap)
    return np.asarray(energy(grid, tangents) - np.einsum("bc,bc->b", force, gap) + 0.5 * GAP_WEIGHT * squared)


def largest_turn(step: Array) -> Array:
    """Give the largest turn of any tangent of each row."""
    return np.asarray(np.sqrt(np.einsum("bid,bid->bi", step, step).max(axis=1, initial=0.0)))


def capped(step: Array, largest: Array, cap: float | Array = LARGEST_TURN) -> Array:
    """Shorten steps so that no tangent turns further than the cap."""
    if not (largest > cap).any():
        return step
    return np.asarray(step * np.minimum(1.0, cap / np.maximum(largest, 1e-300))[:, None, None])


def _rows(array: Array | None, index: Index) -> Array | None:
    return None if array is None else array[index]


def _pieces(rows: Index, grid: LobattoGrid) -> list[Index]:
    """Split rows into pieces whose matrices stay in the processor's cache."""
    size = (2 * grid.nodes.size) ** 2 * 8
    return np.array_split(rows, -(-rows.size * size // CACHE)) if rows.size else []


def descend(
    grid: LobattoGrid,
    start: Array,
    reach: Array,
    *,
    axis: Array | None = None,
    normal: Array | None = None,
    tolerance: float = 1e-6,
    limit: int = 80,
) -> Descent:
    """Go downhill from each start to a nearby minimum.

    Parameters
    ----------
    grid : LobattoGrid
    start : (B, n, 3) array
        Unit tangents with the clamped ones in place; they need not meet the constraint.
    reach : (B, 3) array
        Vector from start to end of the rod of unit length.
    axis, normal : (B, 3) array, optional
        Axis of free spin and normal of the plane, as in `linearise`.
    tolerance : float
        Turn of a tangent in the last step [rad] under which a row is settled; the error left is about its square.
    limit : int
        Most steps tried.

    Returns
    -------
    Descent
    """
    tangents = start.copy()
    rows = tangents.shape[0]
    force, shift = np.zeros((rows, 3)), np.full(rows, FIRST_SHIFT)
    settled = np.zeros(rows, dtype=bool)
    active = np.arange(rows)
    for _ in range(limit):
        going = []
        for some in _pieces(active, grid):
            here, there = tangents[some], reach[some]
            at = linearise(grid, here, force[some], there, axis=_rows(axis, some), normal=_rows(normal, some))
            move = newton_step(grid, at, shift[some])
            largest = largest_turn(move.turns)
            moved = retract(here, at.frames, capped(move.turns, largest))
            before, after = merit(grid, here, move.force, there), merit(grid, moved, move.force, there)
            good = is_minimum(at, move) & (after <= before + 1e-10 * np.abs(before))
            taken, refused = some[good], some[~good]
            done = np.flatnonzero(good & (shift[some] == 0.0) & (largest < tolerance))
            tangents[taken], force[taken] = moved[good], move.force[good]
            shift[taken] *= 0.1
            shift[taken[shift[taken] < LEAST_SHIFT]] = 0.0
            shift[refused] = np.maximum(5.0 * shift[refused], 10.0 * LEAST_SHIFT)
            settled[some[done]] = True
            going.append(np.delete(some, done))
        active = np.concatenate(going) if going else active[:0]
        if active.size == 0:
            break
    # Every step taken was at a minimum; how firm it is, is not asked.
    return Descent(tangents, force, settled, np.where(settled, np.inf, 0.0))


def polish(
    grid: LobattoGrid,
    start: Array,
    force: Array,
    reach: Array,
    *,
    axis: Array | None = None,
    normal: Array | None = None,
    tolerance: float = 1e-6,
    limit: int = 5,
    verdict: bool = True,
) -> Descent:
    """Bring shapes that are already close to equilibrium by plain Newton steps.

    Parameters
    ----------
    grid, start, reach, axis, normal
        As in `descend`.
    force : (B, 3) array
        End force close to that of the shape looked for.
    tolerance : float
        Turn of a tangent in the last step [rad] under which a row is settled; the error left is about its square.
    limit : int
        Most steps.
    verdict : bool
        Whether firmness is wanted.

    Returns
    -------
    Descent
        A settled row that is not minimal has come to a saddle.
    """
    tangents, force = start.copy(), force.copy()
    rows = tangents.shape[0]
    settled, firm = np.zeros(rows, dtype=bool), np.zeros(rows)
    active = np.arange(rows)
    for _ in range(limit):
        going = []
        for some in _pieces(active, grid):
            here = tangents[some]
            at = linearise(grid, here, force[some], reach[some], axis=_rows(axis, some), normal=_rows(normal, some))
            move = newton_step(grid, at)
            largest = largest_turn(move.turns)
            force[some] = move.force
            tangents[some] = retract(here, at.frames, capped(move.turns, largest))
            done = np.flatnonzero(largest < tolerance)
            settled[some[done]] = True
            going.append(np.delete(some, done))
        active = np.concatenate(going) if going else active[:0]
        if active.size == 0:
            break
    for some in _pieces(np.flatnonzero(settled), grid) if verdict else ():
        firm[some] = firmness(grid, tangents[some], force[some], reach[some], _rows(axis, some))
    return Descent(tangents, force, settled, firm)
