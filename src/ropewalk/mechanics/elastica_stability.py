"""Verdicts on the shapes of a batch of rods: are they in equilibrium, are they minima, and how do they give way.

Rods of unit length, one a row, as in `elastica_newton`.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ropewalk.mechanics.elastica_newton import Linearisation, Move, linearise
from ropewalk.mechanics.lobatto import LobattoGrid, interpolation, lobatto_grid
from ropewalk.mechanics.vectors import dot, norm, unit

__all__ = [
    "FIRM",
    "Reduced",
    "firmness",
    "imbalance",
    "is_minimum",
    "lowest_value",
    "negative_pivots",
    "reduced",
    "spin_axis",
    "weakest",
]

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

# Clamps this close to the chord [rad] let the rod spin freely about it.
IN_LINE = 1e-6
# A batch no larger than this is quicker by the library's eigenvalues, one by one.
FEW = 12
# Eigenvalue given to what the constraint forbids.
FORBIDDEN = 1e6
# Shapes whose lowest eigenvalue [1, over stiffness and length] is no less than this are far from giving way; a straight
# rod without load has pi² and more.
FIRM = 2.0
FIRM_NODES = 16
FIRM_MARGIN = 1.0
# Weight of the squared gap in that test: great beside what couples the gap to the bending, small beside 1e7, where
# single precision ends.
FIRM_GAP_WEIGHT = 1e5


@dataclass(frozen=True, slots=True, eq=False)
class Reduced:
    """A Hessian restricted to the steps that keep the constraint, in the norm of the mean square turn over the rod.

    Attributes
    ----------
    matrix : (B, m, m) array
        Acts on steps divided by ``scale``.
    scale : (m,) array
    basis : (B, m, 3) array
        Orthonormal directions of the scaled steps that the constraint forbids.
    roots : (B, 3, 3) array
        Turns the constraint into that basis.
    """

    matrix: Array
    scale: Array
    basis: Array
    roots: Array


def spin_axis(first: Array, last: Array, reach: Array) -> Array:
    """Give the axis a rod spins freely about: the chord's direction where both clamps lie along it, else zero.

    Parameters
    ----------
    first, last : (B, 3) array
        Unit tangents at the clamps.
    reach : (B, 3) array
        Vector from start to end.

    Returns
    -------
    (B, 3) array
    """
    size = norm(reach)
    # A closed rod has no chord; if it is smooth where it closes, it spins about its tangent there.
    chord = np.where((size > 0.0)[:, None], reach / np.where(size > 0.0, size, 1.0)[:, None], first)
    aside = [a - dot(a, chord)[:, None] * chord for a in (first, last)]
    in_line = np.maximum(*(np.abs(a).max(axis=1) for a in aside)) < IN_LINE
    return np.where(in_line[:, None], chord, 0.0)


def negative_pivots(matrices: Array | NDArray[np.float32]) -> NDArray[np.intp]:
    """Count the negative eigenvalues of symmetric matrices.

    Parameters
    ----------
    matrices : (B, m, m) array

    Returns
    -------
    (B,) array of int
        Number of pivots of the elimination without exchange that are not positive, which is the number of such
        eigenvalues (Sylvester's law of inertia).

    Notes
    -----
    Eliminates all rows of the batch together. A library Cholesky factorisation raises for the whole batch when one
    matrix is indefinite, which is the ordinary case here.
    """
    if matrices.shape[0] <= FEW:
        return np.asarray((np.linalg.eigvalsh(matrices) <= 0.0).sum(axis=1), dtype=np.intp)
    work: NDArray[Any] = np.ascontiguousarray(matrices.transpose(1, 2, 0))
    size = work.shape[0]
    # A pivot of exactly nothing spoils what follows in its row, which then counts as negative.
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        for k in range(size - 1):
            rest = work[k, k + 1 :]
            work[k + 1 :, k + 1 :] -= (rest / work[k, k])[:, None] * rest
    pivots = work.reshape(size * size, -1)[:: size + 1]
    return np.asarray(size - (pivots > 0.0).sum(axis=0), dtype=np.intp)


def is_minimum(at: Linearisation, move: Move) -> Flags:
    """Tell where the Hessian (shifted, if the step was) is positive definite among the steps that keep the constraint.

    Parameters
    ----------
    at : Linearisation
    move : Move
        The step solved from it.

    Returns
    -------
    (B,) array of bool

    Notes
    -----
    The bordered matrix has as many negative eigenvalues as the Hessian has, and as the Schur complement with its sign
    turned has (Haynsworth); a minimum needs exactly one for each of the three constraints. So the Hessian and the Schur
    complement must have the same number of negative ones.
    """
    return np.asarray(negative_pivots(at.hessian) == negative_pivots(move.schur))


def firmness(grid: LobattoGrid, tangents: Array, force: Array, reach: Array, axis: Array | None = None) -> Array:
    """Give the lowest eigenvalue of the Hessian among the steps that keep the constraint, as far as it is below `FIRM`.

    Parameters
    ----------
    grid : LobattoGrid
    tangents : (B, n, 3) array
        Shapes in equilibrium, in space.
    force, reach : (B, 3) array
    axis : (B, 3) array, optional
        Axis of free spin, as in `linearise`.

    Returns
    -------
    (B,) array
        `FIRM` for all that are no softer; a shape is a minimum if its firmness is positive.

    Notes
    -----
    With `FIRM` taken off all eigenvalues and a great weight on the gap, the Hessian of a firm shape is positive
    definite, which is found out by elimination; single precision tells eigenvalues apart to about 0.01 there, which is
    enough, and takes half the time. No more than `FIRM_NODES` nodes are used for that, and `FIRM_MARGIN` more is asked
    of fewer nodes than the shape has: on 70,000 random shapes they put the lowest eigenvalue of a soft one at most 0.3
    too high. Shapes that fail need their eigenvalues.
    """
    rows = tangents.shape[0]
    if rows == 0:
        return np.empty(0)
    floor, few, thinned = FIRM, grid, tangents
    if grid.nodes.size > FIRM_NODES:
        floor, few = FIRM + FIRM_MARGIN, lobatto_grid(FIRM_NODES)
        thinned = unit(np.matmul(_thinning(grid, few), tangents))
    at = linearise(few, thinned, force, reach, axis=axis)
    hessian = np.matmul(at.constraint, at.constraint.transpose(0, 2, 1))
    hessian *= FIRM_GAP_WEIGHT
    hessian += at.hessian
    size = hessian.shape[1]
    hessian.reshape(rows, size * size)[:, :: size + 1] -= floor * np.repeat(few.weights[1:-1], 2)
    firm = np.full(rows, FIRM)
    soft = np.flatnonzero(negative_pivots(hessian.astype(np.float32)))
    if soft.size:
        spin = None if axis is None else axis[soft]
        values = lowest_value(grid, linearise(grid, tangents[soft], force[soft], reach[soft], axis=spin))
        firm[soft] = np.minimum(values, FIRM)
    return firm


@lru_cache(maxsize=64)
def _thinning(grid: LobattoGrid, few: LobattoGrid) -> Array:
    return interpolation(grid, few.nodes)


def imbalance(grid: LobattoGrid, tangents: Array, force: Array, reach: Array, normal: Array | None = None) -> Array:
    """Measure how far shapes are from equilibrium.

    Parameters
    ----------
    grid : LobattoGrid
    tangents : (B, n, 3) array
    force, reach : (B, 3) array
    normal : (B, 3) array, optional
        Normal of the plane the rods are held in.

    Returns
    -------
    (B,) array
        Root mean square over the rod of the moment per length left unbalanced, as a share of the end force or of pi²,
        the buckling force, if that is greater; or the length of the gap if that is greater still.
    """
    inner, weights = tangents[:, 1:-1], grid.weights[1:-1]
    left = np.matmul(grid.stiffness[1:-1], tangents) - weights[:, None] * force[:, None, :]
    left -= np.einsum("bic,bic->bi", inner, left)[:, :, None] * inner
    if normal is not None:
        left -= np.einsum("bic,bc->bi", left, normal)[:, :, None] * normal[:, None, :]
    squared = np.matmul(np.einsum("bic,bic->bi", left, left), 1.0 / weights)
    gap = np.matmul(grid.weights, tangents) - reach
    scale = np.maximum(np.einsum("bc,bc->b", force, force), np.pi**4)
    return np.asarray(np.sqrt(np.maximum(squared / scale, np.einsum("bc,bc->b", gap, gap))))


def reduced(grid: LobattoGrid, at: Linearisation) -> Reduced:
    """Restrict a Hessian to the steps that keep the constraint.

    Parameters
    ----------
    grid : LobattoGrid
    at : Linearisation

    Returns
    -------
    Reduced
    """
    spread = np.repeat(grid.weights[1:-1], at.frames.shape[2])
    scale = 1.0 / np.sqrt(spread)
    hessian = at.hessian * scale[:, None] * scale
    fixed = at.constraint * scale[:, None]
    across = np.linalg.eigh(np.matmul(fixed.transpose(0, 2, 1), fixed))
    # A rod held in a plane has one direction of the constraint that nothing moves: its root is left out.
    live = across.eigenvalues > 1e-9 * across.eigenvalues[:, -1:]
    roots = across.eigenvectors * np.where(live, 1.0 / np.sqrt(np.where(live, across.eigenvalues, 1.0)), 0.0)[:, None]
    basis = np.matmul(fixed, roots)
    turned = basis.transpose(0, 2, 1)
    pulled = np.matmul(hessian, basis)
    # The forbidden directions are given an eigenvalue that is never the lowest.
    centre = np.matmul(turned, pulled) + FORBIDDEN * np.eye(3)
    half = np.matmul(pulled, turned)
    matrix = hessian - half - half.transpose(0, 2, 1) + np.matmul(np.matmul(basis, centre), turned)
    return Reduced(matrix, scale, basis, roots)


def weakest(within: Reduced) -> tuple[Array, Array]:
    """Find the lowest eigenvalues of restricted Hessians, and the mode of the lowest.

    Parameters
    ----------
    within : Reduced

    Returns
    -------
    values : (B, 2) array
        The two lowest eigenvalues [1, over stiffness and length].
    mode : (B, m) array
        Scaled step of unit size that belongs to the first.

    Notes
    -----
    The mode comes from inverse iteration just below its eigenvalue. The library's full set of modes would do, but for
    matrices of this size it wakes all processors and takes a hundred times as long when they are busy.
    """
    size = within.matrix.shape[1]
    values = np.asarray(np.linalg.eigvalsh(within.matrix)[:, :2])
    below = values[:, 0] - 1e-4 * (1.0 + np.abs(values[:, 0]))
    lifted = within.matrix - below[:, None, None] * np.eye(size)
    mode = np.broadcast_to(np.cos(np.arange(size) ** 2)[:, None], (*within.matrix.shape[:2], 1))
    for _ in range(4):
        mode = np.asarray(np.linalg.solve(lifted, mode))
        mode /= np.sqrt(np.einsum("bmk,bmk->bk", mode, mode))[:, None, :]
    return values, mode[:, :, 0]


def lowest_value(grid: LobattoGrid, at: Linearisation) -> Array:
    """Find the lowest eigenvalue of the Hessian among the steps that keep the constraint.

    Parameters
    ----------
    grid : LobattoGrid
    at : Linearisation

    Returns
    -------
    (B,) array
        [1, over stiffness and length], in the norm of the mean square turn over the rod.
    """
    return np.asarray(np.linalg.eigvalsh(reduced(grid, at).matrix)[:, 0])
