"""Past saddles and the slow passes where a branch has just ended: Newton steps with the weakest mode turned over.

Rods of unit length, one a row, as in `elastica_newton`. Along the weakest mode of the Hessian the step goes downhill,
by the slope over the size of the eigenvalue, whatever its sign. That takes the eigenvalues, so it is for the few.
"""

import numpy as np
from numpy.typing import NDArray

from ropewalk.mechanics.elastica_descent import LARGEST_TURN, Descent, capped, largest_turn, merit
from ropewalk.mechanics.elastica_newton import GAP_WEIGHT, Linearisation, linearise, retract
from ropewalk.mechanics.elastica_stability import FIRM, reduced, weakest
from ropewalk.mechanics.lobatto import LobattoGrid

__all__ = ["balancing_force", "escape"]

Array = NDArray[np.float64]

# A weakest mode softer than this is stepped along as if it had it [1, over stiffness and length].
SOFTEST = 1e-3
# Turn [rad], in the mean square, of the first push along the weakest mode.
PUSH = 0.2
# Steps at a minimum that turn no tangent further than this [rad] are taken unseen.
CLOSE = 0.01
# After the last step allowed, rows that still turn by less than this [rad] are settled too.
NEARLY = 1e-4
# Only modes softer than this are pushed.
WEAK = 0.5
# A slope along a mode under this is level, and of two ways down the one to this side in space is taken.
LEVEL = 1e-6
SIDE = (0.36, 0.48, 0.8)


def escape(
    grid: LobattoGrid,
    start: Array,
    reach: Array,
    *,
    axis: Array | None = None,
    tolerance: float = 1e-6,
    limit: int = 80,
) -> Descent:
    """Push shapes off along their weakest mode, downhill, and go on to a minimum.

    Parameters
    ----------
    grid : LobattoGrid
    start : (B, n, 3) array
        Unit tangents, the clamped ones in place.
    reach : (B, 3) array
        Vector from start to end.
    axis : (B, 3) array, optional
        Axis of free spin, as in `linearise`.
    tolerance : float
        Turn of a tangent in the last step [rad] under which a row is settled.
    limit : int
        Most steps tried.

    Returns
    -------
    Descent
    """
    rows = start.shape[0]
    tangents = start.copy()
    force = balancing_force(grid, tangents)
    settled, firm = np.zeros(rows, dtype=bool), np.zeros(rows)
    cap = np.full(rows, LARGEST_TURN)
    active = np.arange(rows)
    for count in range(limit):
        if active.size == 0:
            break
        here, there = tangents[active], reach[active]
        spin = None if axis is None else axis[active]
        at = linearise(grid, here, force[active], there, axis=spin)
        step, new_force, lowest = _step_off(grid, at, force[active], push=PUSH if count == 0 else 0.0)
        largest = largest_turn(step)
        moved = retract(here, at.frames, capped(step, largest, cap[active]))
        before, after = (merit(grid, t, new_force, there) for t in (here, moved))
        # Close to a minimum Newton's rule needs no watching, and a soft mode would mislead the watch.
        close = (lowest > 0.0) & (largest < CLOSE)
        good = (after <= before + 1e-10 * np.abs(before)) | close | (count == 0)
        done = good & (largest < tolerance) & (lowest > 0.0)
        tangents[active[good]], force[active[good]] = moved[good], new_force[good]
        wider, narrower = np.minimum(2.0 * cap[active], LARGEST_TURN), 0.25 * np.minimum(cap[active], largest)
        cap[active] = np.where(good, wider, narrower)
        if count == limit - 1:
            # Right where a branch splits, the last steps are slow and the shape is as good as found.
            done = good & (largest < NEARLY) & (lowest > 0.0)
        settled[active[done]], firm[active[done]] = True, np.minimum(lowest[done], FIRM)
        active = active[~done]
    return Descent(tangents, force, settled, firm)


def balancing_force(grid: LobattoGrid, tangents: Array) -> Array:
    """Find the end force that leaves least of the bending moments unbalanced.

    Parameters
    ----------
    grid : LobattoGrid
    tangents : (B, n, 3) array

    Returns
    -------
    (B, 3) array
    """
    inner, weights = tangents[:, 1:-1], grid.weights[1:-1]
    bending = np.matmul(grid.stiffness[1:-1], tangents)
    across = np.eye(3) * weights.sum() - np.matmul((inner * weights[:, None]).transpose(0, 2, 1), inner)
    along = np.einsum("bic,bic->bi", inner, bending)
    wanted = (bending - along[:, :, None] * inner).sum(axis=1)
    return np.asarray(np.linalg.solve(across + 1e-12 * np.eye(3), wanted[:, :, None])[:, :, 0])


def _step_off(grid: LobattoGrid, at: Linearisation, force: Array, *, push: float) -> tuple[Array, Array, Array]:
    """Close the gap and go downhill, along the weakest mode too; give step, new force and lowest eigenvalue."""
    within = reduced(grid, at)
    hessian = at.hessian * within.scale[:, None] * within.scale
    forbidden = within.basis.transpose(0, 2, 1)
    bent = at.gradient * within.scale
    fixed = at.constraint * within.scale[:, None]
    closing = np.matmul(within.basis, np.matmul(within.roots.transpose(0, 2, 1), -at.gap[:, :, None]))
    slope = bent[:, :, None] - np.matmul(fixed, force[:, :, None]) + np.matmul(hessian, closing)
    slope -= np.matmul(within.basis, np.matmul(forbidden, slope))
    values, mode = weakest(within)
    lowest, second = values[:, 0], values[:, 1]
    # Turned over, the lowest mode goes downhill too; should there be another one, all are lifted by what it needs.
    turned = np.maximum(np.abs(lowest), SOFTEST) - lowest
    matrix = within.matrix + turned[:, None, None] * mode[:, :, None] * mode[:, None, :]
    matrix += np.maximum(-2.0 * second, 0.0)[:, None, None] * np.eye(matrix.shape[1])
    going = -np.linalg.solve(matrix, slope)
    if push:
        ambient = np.matmul(mode.reshape((*at.frames.shape[:2], 1, 2)), at.frames)[:, :, 0]
        along = np.einsum("bm,bm->b", mode, slope[:, :, 0])
        sign = np.where(_uphill(along, ambient), -push, push)
        going += (np.where(lowest < WEAK, sign, 0.0)[:, None] * mode)[:, :, None]
    step = closing + going
    # What the step leaves of the moments in the forbidden directions is the force's to balance, but for the part that
    # the weighted gap added.
    left = np.matmul(forbidden, bent[:, :, None] + np.matmul(hessian, step))
    new_force = np.matmul(within.roots, left)[:, :, 0] + GAP_WEIGHT * at.gap
    return (step[:, :, 0] * within.scale).reshape(at.frames.shape[:3]), new_force, lowest


def _uphill(slope: Array, mode: Array) -> NDArray[np.bool_]:
    """Tell where a mode points uphill; where it lies level, let its side in space decide, so that a run repeats."""
    along = np.linspace(1.0, 1.5, mode.shape[1])
    side = np.einsum("bic,i,c->b", mode, along, np.array(SIDE))
    return np.where(np.abs(slope) > LEVEL, slope > 0.0, side < 0.0)
