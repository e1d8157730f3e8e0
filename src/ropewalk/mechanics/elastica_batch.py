"""Between rods as they are asked for, of any batch shape and length, and flat batches of rods of unit length."""

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from ropewalk.mechanics.elastica_newton import energy
from ropewalk.mechanics.elastica_stability import imbalance, spin_axis
from ropewalk.mechanics.elastica_starts import end_bend
from ropewalk.mechanics.lobatto import lobatto_grid
from ropewalk.mechanics.rods import Clamps, Rods, measure
from ropewalk.mechanics.vectors import norm

__all__ = ["UnitRods", "judge", "unit_rods"]

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

# Equilibrium is reached when no more than this share is left.
RESIDUAL_LIMIT = 2e-6
# Bends at the clamps are resolved if their length times the nodes squared exceeds this; at 4 the least radius is wrong
# by up to a quarter, at 10 by less than a hundredth.
RESOLVED = 4.0


@dataclass(frozen=True, slots=True, eq=False)
class UnitRods:
    """Rods scaled to unit length, one a row.

    Attributes
    ----------
    first, last : (B, 3) array
        Unit tangents at the clamps.
    reach : (B, 3) array
        Vector from start to end.
    axis : (B, 3) array
        Axis of free spin: the chord's direction where both clamps lie in line with it, else zero.
    bend : (B,) array
        Length over which the rod would bend at its clamps if it were taut; see `end_bend`.
    possible : (B,) array of bool
        Whether there is a shape of this length that the nodes can resolve.
    """

    first: Array
    last: Array
    reach: Array
    axis: Array
    bend: Array
    possible: Flags

    def __getitem__(self, index: NDArray[np.intp]) -> "UnitRods":
        """Select rows."""
        return UnitRods(*(getattr(self, field.name)[index] for field in fields(self)))

    def put(self, index: NDArray[np.intp], other: "UnitRods") -> None:
        """Overwrite rows."""
        for field in fields(self):
            getattr(self, field.name)[index] = getattr(other, field.name)

    @property
    def spin(self) -> Array | None:
        """The axes of free spin, or None if no row has one."""
        return self.axis if self.axis.any() else None


def _unit(vectors: Array) -> tuple[Array, Flags]:
    size = norm(vectors)
    sound = np.isfinite(size) & (size > 0.0)
    return vectors / np.where(sound, size, 1.0)[:, None], sound


def unit_rods(clamps: Clamps, length: Array, nodes: int) -> UnitRods:
    """Scale a flat batch of rods to unit length.

    Parameters
    ----------
    clamps : Clamps
        Of batch shape (B,).
    length : (B,) array
        [mm]
    nodes : int
        Lobatto nodes the shapes will have.

    Returns
    -------
    UnitRods

    Notes
    -----
    A shape is possible if the length exceeds the chord and its bends are long enough for the nodes, which lie about
    10 / n² apart at the ends: rods tauter than that cannot be told from those that cannot exist.
    """
    sound = np.isfinite(length) & (length > 0.0)
    reach = (clamps.end - clamps.start) / np.where(sound, length, 1.0)[:, None]
    first, directed = _unit(clamps.start_direction)
    last, seated = _unit(clamps.end_direction)
    sound &= directed & seated & np.isfinite(reach).all(axis=1)
    first, last, reach = (np.where(sound[:, None], a, 0.0) for a in (first, last, reach))
    possible = sound & (norm(reach) < 1.0)
    bend = end_bend(first, last, reach)
    possible &= bend * nodes**2 > RESOLVED
    axis = spin_axis(first, last, reach)
    return UnitRods(first, last, reach, np.where(possible[:, None], axis, 0.0), bend, possible)


def judge(
    clamps: Clamps,
    length: Array,
    unit: UnitRods,
    tangents: Array,
    force: Array,
    minimal: Flags,
    *,
    normal: Array | None = None,
) -> Rods:
    """Judge the shapes found, measure them and scale them back.

    Parameters
    ----------
    clamps : Clamps
        Of the batch shape asked for.
    length : (...) array
        Of that shape [mm].
    unit : UnitRods
        The same rods, flat.
    tangents : (B, n, 3) array
        Shapes found, NaN where none was tried.
    force : (B, 3) array
        End forces for unit length.
    minimal : (B,) array of bool
        Whether each shape, if in equilibrium, is a minimum.
    normal : (B, 3) array, optional
        Normal of the plane the rods were held in.

    Returns
    -------
    Rods
    """
    shape, count = length.shape, length.size
    grid = lobatto_grid(tangents.shape[1])
    residual = imbalance(grid, tangents, force, unit.reach, normal)
    residual[~np.isfinite(residual)] = np.inf
    converged = residual < RESIDUAL_LIMIT
    good = np.flatnonzero(converged)
    flat = length.reshape(-1)[good]
    height = energy(grid, tangents[good])
    found = measure(grid, tangents[good], force[good], unit.reach[good], height)

    def scaled(values: Array, power: int) -> Array:
        whole = np.full((count, *values.shape[1:]), np.nan)
        whole[good] = values * (flat**power).reshape(-1, *(1,) * (values.ndim - 1))
        return whole.reshape(shape + values.shape[1:])

    return Rods(
        clamps=clamps,
        length=length,
        tangents=tangents.reshape(shape + tangents.shape[1:]),
        energy=scaled(height, -1),
        turn=scaled(found.turn, 0),
        least_radius=scaled(found.least_radius, 1),
        least_radius_at=scaled(found.least_radius_at, 0),
        end_force=scaled(force[good], -2),
        end_moment=scaled(found.end_moment, -1),
        start_moment=scaled(found.start_moment, -1),
        residual=residual.reshape(shape),
        converged=converged.reshape(shape),
        stable=(converged & minimal).reshape(shape),
    )
