"""From a start to a stable shape: regularised Newton steps that only go downhill.

Rods of unit length, one a row, as in `elastica_newton`. Each row carries its own shift of the Hessian. A step counts
only where the shifted matrix is positive definite and the energy with the weighted gap falls; then the shift is cut,
else it is raised and the step tried again. Close to a minimum the shift is nothing and the rule is plain Newton.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ropewalk.mechanics.elastica_newton import GAP_WEIGHT, definite, linearise, newton_step, retract
from ropewalk.mechanics.lobatto import LobattoGrid

__all__ = ["Descent", "descend", "energy", "polish"]

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

FIRST_SHIFT = 20.0
LEAST_SHIFT = 0.5
LARGEST_TURN = 0.7


@dataclass(frozen=True, slots=True, eq=False)
class Descent:
    """Where a descent ended.

    Attributes
    ----------
    tangents : (B, n, 3) array
    force : (B, 3) array
    settled : (B,) array of bool
        The last step was below the tolerance, unshifted, on a positive definite matrix (or plain Newton converged).
    """

    tangents: Array
    force: Array
    settled: Flags


def energy(grid: LobattoGrid, tangents: Array) -> Array:
    """Return half the integral of squared curvature of rods of unit length, one a row."""
    return 0.5 * np.einsum("bic,bic->b", tangents, np.matmul(grid.stiffness, tangents))


def _merit(grid: LobattoGrid, tangents: Array, force: Array, reach: Array) -> Array:
    gap = np.matmul(grid.weights, tangents) - reach
    return (
        energy(grid, tangents) - np.einsum("bc,bc->b", force, gap) + 0.5 * GAP_WEIGHT * np.einsum("bc,bc->b", gap, gap)
    )


def _capped(step: Array) -> Array:
    """Shorten steps so that no tangent turns further than the frames hold good."""
    widest = np.sqrt(np.einsum("bid,bid->bi", step, step).max(axis=1, initial=0.0))
    return step * np.minimum(1.0, LARGEST_TURN / np.maximum(widest, 1e-300))[:, None, None]


def _rows(array: Array | None, index: NDArray[np.intp]) -> Array | None:
    return None if array is None else array[index]


def descend(
    grid: LobattoGrid,
    start: Array,
    reach: Array,
    *,
    axis: Array | None = None,
    normal: Array | None = None,
    force: Array | None = None,
    first_shift: float = FIRST_SHIFT,
    tolerance: float = 1e-7,
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
    force : (B, 3) array, optional
        First guess of the end force; nothing otherwise.
    first_shift : float
        Shift of the first step [1, over stiffness and length].
    tolerance : float
        Turn of a tangent in the last step [rad] under which a row is settled; the error left is its square.
    limit : int
        Most steps tried.

    Returns
    -------
    Descent
    """
    tangents = start.copy()
    rows = tangents.shape[0]
    force = np.zeros((rows, 3)) if force is None else force.copy()
    shift = np.full(rows, first_shift)
    settled = np.zeros(rows, dtype=bool)
    active = np.arange(rows)
    for _ in range(limit):
        if active.size == 0:
            break
        here, there = tangents[active], reach[active]
        at = linearise(grid, here, force[active], there, axis=_rows(axis, active), normal=_rows(normal, active))
        step, new_force = newton_step(grid, at, shift[active])
        moved = retract(here, at.frames, _capped(step))
        before, after = _merit(grid, here, new_force, there), _merit(grid, moved, new_force, there)
        good = definite(at.hessian) & (after <= before + 1e-10 * np.abs(before))
        taken, refused = active[good], active[~good]
        done = good & (shift[active] == 0.0) & (np.abs(step).max(axis=(1, 2), initial=0.0) < tolerance)
        tangents[taken], force[taken] = moved[good], new_force[good]
        shift[taken] *= 0.1
        shift[taken[shift[taken] < LEAST_SHIFT]] = 0.0
        shift[refused] = np.maximum(5.0 * shift[refused], 10.0 * LEAST_SHIFT)
        settled[active[done]] = True
        active = active[~done]
    return Descent(tangents, force, settled)


def polish(
    grid: LobattoGrid,
    start: Array,
    force: Array,
    reach: Array,
    *,
    axis: Array | None = None,
    normal: Array | None = None,
    tolerance: float = 1e-6,
    limit: int = 6,
) -> Descent:
    """Bring shapes that are already close to equilibrium by plain Newton steps; see `descend` for the parameters.

    Notes
    -----
    A row is settled when its last step was below the tolerance; whether it is a minimum is left to the caller.
    """
    tangents, force = start.copy(), force.copy()
    settled = np.zeros(tangents.shape[0], dtype=bool)
    active = np.arange(tangents.shape[0])
    for _ in range(limit):
        if active.size == 0:
            break
        here = tangents[active]
        at = linearise(grid, here, force[active], reach[active], axis=_rows(axis, active), normal=_rows(normal, active))
        step, force[active] = newton_step(grid, at)
        tangents[active] = retract(here, at.frames, _capped(step))
        done = np.abs(step).max(axis=(1, 2), initial=0.0) < tolerance
        settled[active[done]] = True
        active = active[~done]
    return Descent(tangents, force, settled)
