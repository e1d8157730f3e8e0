"""What is asked of a batch of rods and what is found: clamps in, shapes with their measures out."""

from dataclasses import dataclass, fields
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray

from ropewalk.mechanics.elastica_newton import linearise
from ropewalk.mechanics.elastica_stability import lowest_value, spin_axis
from ropewalk.mechanics.lobatto import LobattoGrid, accumulation, interpolation, lobatto_grid
from ropewalk.mechanics.vectors import cross, dot, norm, unit

__all__ = ["Clamps", "Rods", "measure"]

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

# Bends below this curvature times length count as straight.
STRAIGHT = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Clamps:
    """Both ends of a batch of rods, held in position and direction but free to spin about the rod's own axis.

    Attributes
    ----------
    start, end : (..., 3) array
        Where the rod leaves the first clamp and enters the second [mm].
    start_direction, end_direction : (..., 3) array
        Unit tangents of travel at the two: out of the first clamp, into the second.
    """

    start: Array
    start_direction: Array
    end: Array
    end_direction: Array

    @property
    def shape(self) -> tuple[int, ...]:
        """Batch shape of the clamps together."""
        shapes = (np.shape(getattr(self, field.name))[:-1] for field in fields(self))
        return np.broadcast_shapes(*shapes)

    def spread(self, shape: tuple[int, ...]) -> "Clamps":
        """Return the clamps with every array broadcast to one batch shape.

        Parameters
        ----------
        shape : tuple of int
            Batch shape, without the last axis of 3.
        """
        return Clamps(
            *(
                np.broadcast_to(np.asarray(getattr(self, field.name), dtype=float), (*shape, 3)).copy()
                for field in fields(self)
            )
        )

    def reshape(self, *shape: int) -> "Clamps":
        """Return the clamps in another batch shape; the arrays must already share one."""
        return Clamps(*(getattr(self, field.name).reshape(*shape, 3) for field in fields(self)))

    def __getitem__(self, index: Any) -> "Clamps":
        """Select rows by an index into the batch axes; the arrays must already share one batch shape."""
        return Clamps(*(getattr(self, field.name)[index] for field in fields(self)))


@dataclass(frozen=True, slots=True, eq=False)
class Rods:
    """Shapes of a batch of rods, complete with verdicts.

    A row that did not converge has NaN in every measure; its tangents are the last ones tried, or NaN where no shape
    can exist because the length does not exceed the chord. A row that converged to an unstable shape keeps its
    measures.

    Attributes
    ----------
    clamps : Clamps
        Broadcast to the batch shape.
    length : (...) array
        Arc length [mm].
    tangents : (..., n, 3) array
        Unit tangents at the Lobatto nodes.
    energy : (...) array
        Half the integral of squared curvature [1/mm]; times the stiffness it is the bending energy.
    turn : (...) array
        Integral of curvature [rad].
    least_radius : (...) array
        Least radius of curvature anywhere on the rod [mm], infinite if straight.
    least_radius_at : (...) array
        Where it is, as a fraction of the arc from the start.
    end_force : (..., 3) array
        Force the end clamp exerts on the rod, over the stiffness [1/mm²]: the derivative of energy by the end's place.
    end_moment, start_moment : (..., 3) array
        Moments the clamps exert on the rod, over the stiffness [1/mm]: the derivatives of energy by their turning.
    residual : (...) array
        What is left of the equilibrium or of the gap, whichever is greater, without dimension; infinite if impossible.
    converged, stable : (...) array of bool
        Whether the shape is in equilibrium, and whether it is a minimum of energy in space.
    """

    clamps: Clamps
    length: Array
    tangents: Array
    energy: Array
    turn: Array
    least_radius: Array
    least_radius_at: Array
    end_force: Array
    end_moment: Array
    start_moment: Array
    residual: Array
    converged: Flags
    stable: Flags

    @property
    def shape(self) -> tuple[int, ...]:
        """Batch shape."""
        return self.length.shape

    @property
    def chord(self) -> Array:
        """Distance between the ends [mm], of shape (...)."""
        return norm(self.clamps.end - self.clamps.start)

    @property
    def pull(self) -> Array:
        """End force along the chord over the stiffness [1/mm²], of shape (...).

        Positive where the clamps pull the rod taut, negative where they push it together.
        """
        return dot(self.end_force, unit(self.clamps.end - self.clamps.start))

    @property
    def lowest_eigenvalue(self) -> Array:
        """Lowest eigenvalue of the second variation among shapes of the same ends and length, of shape (...).

        For a rod of unit length and stiffness, in the norm of the mean square turn of its tangents: those of a straight
        rod free of load are multiples of pi². The free spin of an in-line rod is left out. Takes longer than the
        verdict ``stable``, which is its sign.
        """
        nodes = self.tangents.shape[-2]
        good = np.flatnonzero(self.converged)
        tangents = self.tangents.reshape(-1, nodes, 3)[good]
        length = self.length.reshape(-1)[good, None]
        reach = (self.clamps.end - self.clamps.start).reshape(-1, 3)[good] / length
        force = self.end_force.reshape(-1, 3)[good] * length**2
        grid = lobatto_grid(nodes)
        axis = spin_axis(tangents[:, 0], tangents[:, -1], reach)
        values = np.full(self.length.size, np.nan)
        values[good] = lowest_value(grid, linearise(grid, tangents, force, reach, axis=axis))
        return values.reshape(self.shape)

    def points(self, count: int) -> Array:
        """Return points at even steps of arc length, both ends included.

        Parameters
        ----------
        count : int
            Number of points.

        Returns
        -------
        (..., count, 3) array
            [mm]
        """
        sums = accumulation(lobatto_grid(self.tangents.shape[-2]), np.linspace(0.0, 1.0, count))
        return np.asarray(
            self.clamps.start[..., None, :] + self.length[..., None, None] * np.matmul(sums, self.tangents)
        )

    def curvature(self, count: int) -> Array:
        """Return curvature at even steps of arc length, both ends included.

        Parameters
        ----------
        count : int
            Number of points.

        Returns
        -------
        (..., count) array
            [1/mm]
        """
        grid = lobatto_grid(self.tangents.shape[-2])
        places = np.linspace(0.0, 1.0, count)
        length = np.where(self.converged, self.length, np.nan)
        directions = _directions(grid, self.tangents, places)
        force = self.end_force * length[..., None] ** 2
        reach = (self.clamps.end - self.clamps.start) / length[..., None]
        level = self.energy * length + dot(force, reach)
        balanced = _squared_curvature(directions, force, level)
        change = np.matmul(interpolation(grid, places) @ grid.derivative, self.tangents)
        measured = dot(change, change)
        # Balance is far the more exact where the rod bends, the derivative where it hardly does.
        bent = balanced > 0.1 * np.max(measured, axis=-1, initial=0.0, keepdims=True)
        return np.asarray(np.sqrt(np.where(bent, balanced, measured)) / length[..., None])

    def __getitem__(self, index: Any) -> Self:
        """Select rows by an index into the batch axes."""
        return type(self)(*(getattr(self, field.name)[index] for field in fields(self)))


def _directions(grid: LobattoGrid, tangents: Array, places: Array) -> Array:
    """Interpolate unit tangents."""
    return unit(np.matmul(interpolation(grid, places), tangents))


def _squared_curvature(directions: Array, force: Array, level: Array) -> Array:
    """Give squared curvature from balance: half of it plus force . tangent is the same all along the rod."""
    level_here = level[..., None] - np.einsum("...sc,...c->...s", directions, force)
    return np.asarray(np.maximum(2.0 * level_here, 0.0))


@dataclass(frozen=True, slots=True, eq=False)
class Measures:
    """Measures of rods of unit length in equilibrium, one a row; see `Rods` for their meaning."""

    turn: Array
    least_radius: Array
    least_radius_at: Array
    end_moment: Array
    start_moment: Array


def measure(grid: LobattoGrid, tangents: Array, force: Array, reach: Array, energy: Array) -> Measures:
    """Measure turn, least radius and end moments of rods of unit length in equilibrium.

    Parameters
    ----------
    grid : LobattoGrid
    tangents : (B, n, 3) array
    force : (B, 3) array
        End force times length squared over stiffness.
    reach : (B, 3) array
        Vector from start to end.
    energy : (B,) array

    Returns
    -------
    Measures

    Notes
    -----
    The turn is the length of the path of the tangent on the unit sphere. Curvature comes from the balance of the
    pendulum equation t'' = -F + mu t, whose first integral is t'.t'/2 + F.t; averaged over the rod that constant is
    energy + F . reach. At the same nodes this is some hundred times as exact as differentiating the tangents.
    """
    places = np.linspace(0.0, 1.0, 4 * grid.nodes.size + 1)
    directions = _directions(grid, tangents, places)
    hops = np.diff(directions, axis=1)
    half = 0.5 * norm(hops)
    turn = 2.0 * np.arcsin(np.minimum(half, 1.0)).sum(axis=1)
    level = energy + dot(force, reach)
    squared = _squared_curvature(directions, force, level)
    row = np.arange(squared.shape[0])
    peak = squared.argmax(axis=1)
    inner = np.clip(peak, 1, places.size - 2)
    before, at, after = squared[row, inner - 1], squared[row, inner], squared[row, inner + 1]
    bend = before - 2.0 * at + after
    # A parabola through the three highest values; at a clamp the value itself is the highest.
    offset = np.where((bend < 0.0) & (peak == inner), 0.5 * (before - after) / np.where(bend < 0.0, bend, 1.0), 0.0)
    highest = np.maximum(squared[row, peak], at - 0.25 * (before - after) * offset)
    curvature = np.sqrt(highest)
    straight = curvature < STRAIGHT
    sharp = np.where(straight, 1.0, curvature)
    last = np.matmul(grid.stiffness[-1], tangents) - grid.weights[-1] * force
    first = np.matmul(grid.stiffness[0], tangents) - grid.weights[0] * force
    return Measures(
        turn=turn,
        least_radius=np.where(straight, np.inf, 1.0 / sharp),
        least_radius_at=(peak + offset) / (places.size - 1),
        end_moment=cross(tangents[:, -1], last),
        start_moment=cross(tangents[:, 0], first),
    )
