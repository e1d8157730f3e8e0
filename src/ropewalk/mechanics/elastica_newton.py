"""Newton's rule for a batch of rods on a product of spheres.

Everything here works on rods of unit length, one rod a row. The unknowns are unit tangents t at Lobatto nodes; the
first and the last are clamped. A step turns every other tangent within its own tangent plane (two unknowns a node) or,
for a rod held in a plane, within that plane (one unknown a node).

The energy is 1/2 sum t_i . K_ij t_j with K the grid's stiffness; the constraint is sum w_i t_i = d with d the vector
from start to end. The multiplier of the constraint is the force the end clamp exerts.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from ropewalk.mechanics.lobatto import LobattoGrid
from ropewalk.mechanics.vectors import cross

__all__ = [
    "GAP_WEIGHT",
    "Linearisation",
    "Move",
    "energy",
    "linearise",
    "newton_step",
    "retract",
]

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

# Weight of the squared gap added to the energy. It changes neither the solution nor a Newton step; it lifts the
# directions the constraint forbids, so that a stable shape has a positive definite matrix. Bending alone has
# eigenvalues from about 10 (longest wave) to 10^4 (shortest), so the condition number does not suffer.
GAP_WEIGHT = 1000.0
# Where an in-line rod spins freely about its chord, the mode of spin is given this eigenvalue to keep steps finite.
SPIN_WEIGHT = 100.0


@dataclass(frozen=True, slots=True, eq=False)
class Linearisation:
    """First and second order of the constrained energy at a batch of shapes.

    Attributes
    ----------
    frames : (B, n - 2, d, 3) array
        Orthonormal directions in which each inner tangent may move.
    gradient : (B, m) array
        Derivative of the bending energy along the frames, m = d (n - 2).
    hessian : (B, m, m) array
        Second derivative of the Lagrangian on the spheres, with the weighted square of the gap added.
    constraint : (B, m, 3) array
        Derivative of sum w_i t_i along the frames.
    gap : (B, 3) array
        What the constraint lacks.
    normal : (B, 3) array or None
        Normal of the plane the rods are held in.
    """

    frames: Array
    gradient: Array
    hessian: Array
    constraint: Array
    gap: Array
    normal: Array | None

    def __getitem__(self, index: NDArray[np.intp]) -> "Linearisation":
        """Select rows."""
        return Linearisation(
            self.frames[index],
            self.gradient[index],
            self.hessian[index],
            self.constraint[index],
            self.gap[index],
            None if self.normal is None else self.normal[index],
        )


@dataclass(frozen=True, slots=True, eq=False)
class Move:
    """A Newton step.

    Attributes
    ----------
    turns : (B, n - 2, d) array
        Turn of each inner tangent along its frame [rad].
    force : (B, 3) array
        The new end force.
    schur : (B, 3, 3) array
        Yield of the end to a force on it at the stiffness of the Hessian.
    """

    turns: Array
    force: Array
    schur: Array


def energy(grid: LobattoGrid, tangents: Array) -> Array:
    """Return half the integral of squared curvature of rods of unit length, of shape (B,)."""
    return np.asarray(0.5 * np.einsum("bic,bic->b", tangents, np.matmul(grid.stiffness, tangents)))


def _frames(tangents: Array, normal: Array | None) -> Array:
    """Lay an orthonormal frame in the tangent plane of each inner tangent (or the one direction within the plane)."""
    if normal is not None:
        return cross(normal[:, None, :], tangents)[:, :, None, :]
    # Duff et al., "Building an orthonormal basis, revisited", J. Computer Graphics Techniques 6 (2017): no branches.
    x, y, z = tangents[..., 0], tangents[..., 1], tangents[..., 2]
    sign = np.where(z < 0.0, -1.0, 1.0)
    a = -1.0 / (sign + z)
    b = x * y * a
    frames = np.empty((*tangents.shape[:-1], 2, 3))
    frames[..., 0, 0] = 1.0 + sign * x * x * a
    frames[..., 0, 1] = sign * b
    frames[..., 0, 2] = -sign * x
    frames[..., 1, 0] = b
    frames[..., 1, 1] = sign + y * y * a
    frames[..., 1, 2] = -y
    return frames


@lru_cache(maxsize=64)
def _per_unknown(grid: LobattoGrid, ways: int) -> tuple[Array, Array]:
    """Spread weights and stiffness of the inner nodes over their unknowns; the weighted gap stiffens too."""
    weights = grid.weights[1:-1]
    pairs = grid.stiffness[1:-1, 1:-1] + GAP_WEIGHT * np.outer(weights, weights)
    return np.repeat(weights, ways), np.repeat(np.repeat(pairs, ways, axis=0), ways, axis=1)


def linearise(
    grid: LobattoGrid,
    tangents: Array,
    force: Array,
    reach: Array,
    *,
    axis: Array | None = None,
    normal: Array | None = None,
) -> Linearisation:
    """Set up gradient, Hessian and constraint at a batch of shapes.

    Parameters
    ----------
    grid : LobattoGrid
        The nodes.
    tangents : (B, n, 3) array
        Unit tangents.
    force : (B, 3) array
        Multiplier of the constraint [1, force times length squared over stiffness].
    reach : (B, 3) array
        Vector from start to end of the rod of unit length.
    axis : (B, 3) array, optional
        Axis of free spin: the chord's direction where both clamps lie in line with it, zero elsewhere.
    normal : (B, 3) array, optional
        Unit normal of the plane the rods are held in; without it they move in space.

    Returns
    -------
    Linearisation

    Notes
    -----
    With g_i = sum_j K_ij t_j - w_i F, the Riemannian Hessian on the sphere of node i is the ordinary one within the
    tangent plane less t_i . g_i on its diagonal (Absil, Mahony & Sepulchre, Optimization Algorithms on Matrix
    Manifolds, 2008, chapter 5).
    """
    rows = tangents.shape[0]
    inner, weights = tangents[:, 1:-1], grid.weights[1:-1]
    bending = np.matmul(grid.stiffness[1:-1], tangents)
    frames = _frames(inner, normal)
    ways = frames.shape[2]
    size = ways * inner.shape[1]
    flat = frames.reshape(rows, size, 3)
    spread, pairs = _per_unknown(grid, ways)
    hessian: Array = np.matmul(flat, flat.transpose(0, 2, 1))
    hessian *= pairs
    along = np.einsum("bic,bic->bi", inner, bending) - weights * np.einsum("bic,bc->bi", inner, force)
    hessian.reshape(rows, size * size)[:, :: size + 1] -= along.repeat(ways, axis=1)
    if axis is not None and normal is None:
        spin = np.einsum("bidc,bic->bid", frames, cross(axis[:, None, :], inner)).reshape(rows, size) * spread
        hessian += SPIN_WEIGHT * spin[:, :, None] * spin[:, None, :]
    return Linearisation(
        frames=frames,
        gradient=np.einsum("bidc,bic->bid", frames, bending).reshape(rows, size),
        hessian=hessian,
        constraint=spread[:, None] * flat,
        gap=np.matmul(grid.weights, tangents) - reach,
        normal=normal,
    )


def newton_step(grid: LobattoGrid, at: Linearisation, shift: Array | None = None) -> Move:
    """Solve for the step and the new force.

    Parameters
    ----------
    grid : LobattoGrid
        The nodes.
    at : Linearisation
        Where the step starts; its Hessian is altered if a shift is given.
    shift : (B,) array, optional
        Added to every eigenvalue of the Hessian (in the norm of the mean square over the rod).

    Returns
    -------
    Move
    """
    rows, size, _ = at.constraint.shape
    if shift is not None:
        spread, _ = _per_unknown(grid, at.frames.shape[2])
        at.hessian.reshape(rows, size * size)[:, :: size + 1] += shift[:, None] * spread
    right = np.empty((rows, size, 4))
    right[:, :, 0] = at.gradient + GAP_WEIGHT * np.matmul(at.constraint, at.gap[:, :, None])[:, :, 0]
    right[:, :, 1:] = at.constraint
    solved = _solve(at.hessian, right)
    schur = np.matmul(at.constraint.transpose(0, 2, 1), solved)
    if at.normal is not None:
        # Nothing moves out of the plane: the force has no part along its normal.
        schur[:, :, 1:] += at.normal[:, :, None] * at.normal[:, None, :]
    # A straight rod cannot move along itself to first order: a trace of stiffness keeps its force finite.
    schur[:, :, 1:] += 1e-17 * np.eye(3)
    force: Array = np.linalg.solve(schur[:, :, 1:], (schur[:, :, 0] - at.gap)[:, :, None])[:, :, 0]
    step = np.matmul(solved[:, :, 1:], force[:, :, None])[:, :, 0] - solved[:, :, 0]
    return Move(step.reshape(at.frames.shape[:3]), force, schur[:, :, 1:])


def _solve(matrices: Array, right: Array) -> Array:
    """Solve a batch of systems; an exactly singular one (an accident) makes the batch repeat a hair off."""
    try:
        return np.asarray(np.linalg.solve(matrices, right))
    except np.linalg.LinAlgError:
        size = matrices.shape[1]
        return np.asarray(np.linalg.solve(matrices + 1e-9 * np.eye(size), right))


def retract(tangents: Array, frames: Array, step: Array) -> Array:
    """Turn the inner tangents by a step and bring them back to unit length; the clamped ones stay.

    Parameters
    ----------
    tangents : (B, n, 3) array
    frames : (B, n - 2, d, 3) array
    step : (B, n - 2, d) array

    Returns
    -------
    (B, n, 3) array
    """
    moved = tangents.copy()
    inner = moved[:, 1:-1]
    inner += np.matmul(step[:, :, None, :], frames)[:, :, 0]
    inner /= np.sqrt(np.einsum("bic,bic->bi", inner, inner))[:, :, None]
    return moved
