"""Shapes of a torsion-free, inextensible elastic rod clamped at both ends in position and direction.

The rod takes the shape of least bending energy, half the integral of squared curvature, among all curves of its length
between its clamps. It may spin in the clamps, so torsion is nothing, and its stiffness does not matter to its shape.
Weight, natural curl and contact are left out. Every function takes a batch and returns verdicts instead of raising.

`relax` looks for the least shape from nowhere; `relax_from` stays close to a known one.
"""

import numpy as np
from numpy.typing import NDArray

from ropewalk.mechanics.elastica_batch import UnitRods, judge, unit_rods
from ropewalk.mechanics.elastica_descent import Descent, polish
from ropewalk.mechanics.elastica_escape import balancing_force
from ropewalk.mechanics.elastica_search import best_of, clamped, search, settle
from ropewalk.mechanics.elastica_stability import firmness
from ropewalk.mechanics.elastica_starts import flat_tangents
from ropewalk.mechanics.lobatto import lobatto_grid
from ropewalk.mechanics.rods import Clamps, Rods

__all__ = ["PLANNING_NODES", "Clamps", "Rods", "relax", "relax_from", "stationary_planar"]

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

#: Nodes that place a rod within 1e-4 of its length, up to in-line ends that have come together by 0.7 of it.
PLANNING_NODES = 21


def relax(clamps: Clamps, length: Array, *, nodes: int = PLANNING_NODES) -> Rods:
    """Find the stable shape of least energy of each rod.

    Parameters
    ----------
    clamps : Clamps
        Both ends; arrays broadcast with each other and with ``length``.
    length : (...) array
        Arc length [mm].
    nodes : int
        Lobatto nodes of the shapes returned.

    Returns
    -------
    Rods
        Rows whose length does not exceed the chord, or with anything not finite, are marked not converged.

    Notes
    -----
    Each row starts from the cubic Hermite curve of the asked length and from a bow to the side the clamps lean to and
    goes downhill on a coarse grid; the lower shape is brought to full resolution. Most clamps have one stable shape
    only, some have two; of 17,000 random ones these two starts missed the lowest known shape twice.

    Examples
    --------
    A rod of 110 mm between two clamps in line, 99 mm apart, bows to the side by 0.195 of its length:

    >>> x = np.array([1.0, 0.0, 0.0])
    >>> rods = relax(Clamps(np.zeros(3), x, 99.0 * x, x), np.array(110.0))
    >>> bool(rods.converged), bool(rods.stable)
    (True, True)
    >>> middle = rods.points(3)[1]
    >>> round(float(np.hypot(middle[1], middle[2])) / 110.0, 4)
    0.1949
    """
    clamps, length, unit = _asked(clamps, length, nodes)
    live = np.flatnonzero(unit.possible)
    return judge(clamps, length, unit, *_filled(length.size, nodes, live, search(unit[live], nodes)))


def relax_from(clamps: Clamps, length: Array, tangents: Array) -> Rods:
    """Let each rod settle from a given shape, staying on its branch if there is one close by.

    Parameters
    ----------
    clamps : Clamps
        Both ends.
    length : (...) array
        Arc length [mm].
    tangents : (..., n, 3) array
        Tangents to start from, at Lobatto nodes; their ends are replaced by the clamps' directions. Rows with NaN are
        marked not converged.

    Returns
    -------
    Rods
    """
    nodes = np.shape(tangents)[-2]
    clamps, length, unit = _asked(clamps, length, nodes)
    start = np.broadcast_to(np.asarray(tangents, dtype=float), (*length.shape, nodes, 3)).reshape(-1, nodes, 3)
    live = np.flatnonzero(unit.possible & np.isfinite(start).all(axis=(1, 2)))
    rods = unit[live]
    found = settle(lobatto_grid(nodes), clamped(start[live], rods), rods)
    return judge(clamps, length, unit, *_filled(length.size, nodes, live, found))


def stationary_planar(
    clamps: Clamps, length: Array, normal: Array, *, nodes: int = PLANNING_NODES, tangents: Array | None = None
) -> Rods:
    """Find the shape of each rod while it is held in a plane.

    Parameters
    ----------
    clamps : Clamps
        Both ends, with directions and chord in the plane.
    length : (...) array
        Arc length [mm].
    normal : (..., 3) array
        Normal of the plane.
    nodes : int
        Lobatto nodes of the shapes returned.
    tangents : (..., n, 3) array, optional
        Tangents close to a shape in equilibrium, which may be a saddle even in the plane; otherwise bows to both sides
        of the chord are gone downhill from, and the lowest shape is given.

    Returns
    -------
    Rods
        ``stable`` is the verdict on the same shape set free in space.
    """
    nodes = nodes if tangents is None else np.shape(tangents)[-2]
    clamps, length, unit = _asked(clamps, length, nodes)
    grid = lobatto_grid(nodes)
    plane = np.broadcast_to(np.asarray(normal, dtype=float), (*length.shape, 3)).reshape(-1, 3)
    plane = plane / np.linalg.norm(plane, axis=1, keepdims=True)
    live = np.flatnonzero(unit.possible)
    rods, flat = unit[live], plane[live]
    if tangents is None:
        starts = [flat_tangents(grid, rods.first, rods.last, rods.reach, flat, size) for size in (1.5, -1.5, 0.0)]
        found = best_of(grid, starts, rods, normal=flat)
    else:
        given = np.broadcast_to(np.asarray(tangents, dtype=float), (*length.shape, nodes, 3)).reshape(-1, nodes, 3)
        start = clamped(given[live], rods)
        force = balancing_force(grid, start)
        found = polish(grid, start, force, rods.reach, normal=flat, limit=20, verdict=False)
        left = np.flatnonzero(~found.settled)
        found.put(left, best_of(grid, [start[left]], rods[left], normal=flat[left]))
    free = firmness(grid, found.tangents, found.force, rods.reach, rods.spin)
    found = Descent(found.tangents, found.force, found.settled, free)
    return judge(clamps, length, unit, *_filled(length.size, nodes, live, found), normal=plane)


def _asked(clamps: Clamps, length: Array, nodes: int) -> tuple[Clamps, Array, UnitRods]:
    """Broadcast what is asked to one batch shape, and give the same rods flat and of unit length."""
    shape = np.broadcast_shapes(clamps.shape, np.shape(length))
    clamps = clamps.spread(shape)
    length = np.broadcast_to(np.asarray(length, dtype=float), shape).copy()
    return clamps, length, unit_rods(clamps.reshape(-1), length.reshape(-1), nodes)


def _filled(count: int, nodes: int, live: NDArray[np.intp], found: Descent) -> tuple[Array, Array, Flags]:
    """Put the rows found back among those that were not tried."""
    tangents, force = np.full((count, nodes, 3), np.nan), np.full((count, 3), np.nan)
    minimal = np.zeros(count, dtype=bool)
    tangents[live], force[live], minimal[live] = found.tangents, found.force, found.minimal
    return tangents, force, minimal
