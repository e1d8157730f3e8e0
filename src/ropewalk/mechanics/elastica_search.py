"""Where rods come to rest: from nowhere, from close by, and downhill from anywhere.

Rods of unit length, one a row, as in `elastica_newton`.
"""

import numpy as np
from numpy.typing import NDArray

from ropewalk.mechanics.elastica_batch import UnitRods
from ropewalk.mechanics.elastica_descent import Descent, descend, polish
from ropewalk.mechanics.elastica_ends import Ends, ends_of, in_line, spun_to_rest
from ropewalk.mechanics.elastica_escape import balancing_force, escape
from ropewalk.mechanics.elastica_newton import energy
from ropewalk.mechanics.elastica_starts import bowed_tangents, hermite_tangents, taut_tangents
from ropewalk.mechanics.lobatto import LobattoGrid, interpolation, lobatto_grid
from ropewalk.mechanics.vectors import dot, norm, unit

__all__ = ["best_of", "clamped", "downhill", "search", "settle"]

Array = NDArray[np.float64]
Index = NDArray[np.intp]

# Cold searches run on this many nodes: enough to tell the shapes apart.
SEARCH_NODES = 12
# A cold search need only come this close [rad] before it goes on with all nodes.
SEARCH_TOLERANCE = 0.02
# Rods whose bends at the clamps, times the search nodes squared, are shorter than this are not searched for but taut.
TAUT = 8.0
# Clamps that lean off the chord by less than this [rad] hardly keep a rod from spinning about it.
NEARLY_IN_LINE = 0.1
# Clamps that lean less than this do not hold a rod's spin more than rounding does.
HARDLY = 1e-4
# Rounds of bending and spinning for such rods.
SPIN_ROUNDS = 3
# Energies that differ by no more than this share are taken for equal.
EQUAL = 1e-4
# Plain Newton steps that turn a tangent further than this [rad] may have left the branch.
SAME_BRANCH = 0.5


def search(rods: UnitRods, nodes: int) -> Descent:
    """Search for the lowest shapes on a coarse grid and bring them to full resolution.

    Parameters
    ----------
    rods : UnitRods
        That are possible.
    nodes : int
        Lobatto nodes of the shapes wanted.

    Returns
    -------
    Descent
    """
    coarse, fine = lobatto_grid(min(SEARCH_NODES, nodes)), lobatto_grid(nodes)
    tangents, force = np.empty((rods.bend.size, nodes, 3)), np.empty((rods.bend.size, 3))
    tight = rods.bend * coarse.nodes.size**2 < TAUT
    # A taut rod has one shape only, and its bends need all nodes.
    taut = rods[np.flatnonzero(tight)]
    tangents[tight] = taut_tangents(fine, taut.first, taut.last, taut.reach)
    force[tight] = unit(taut.reach) / (taut.bend**2)[:, None]
    slack = rods[np.flatnonzero(~tight)]
    rough, force[~tight] = _rough_search(coarse, slack)
    tangents[~tight] = clamped(np.matmul(interpolation(coarse, fine.nodes), rough), slack)
    return settle(fine, tangents, rods, force)


def _rough_search(coarse: LobattoGrid, rods: UnitRods) -> tuple[Array, Array]:
    """Find the lower of the shapes two starts lead to, with its force; nearly in-line rods first in line, then spun."""
    aimed = rods[np.arange(rods.bend.size)]
    nearly = _nearly_in_line(rods)
    aimed.put(nearly, in_line(rods[nearly]))
    ends = aimed.first, aimed.last, aimed.reach
    found = best_of(coarse, [bowed_tangents(coarse, *ends), hermite_tangents(coarse, *ends)], aimed)
    tangents, force = found.tangents, found.force
    tangents[nearly], spun = _spun(coarse, tangents[nearly], force[nearly], aimed[nearly], rods[nearly])
    force[nearly] = spun.force
    return tangents, force


def _lean(rods: UnitRods) -> Array:
    """Give how far the clamps lean off the chord."""
    chord = unit(rods.reach)
    return np.maximum(*(norm(end - dot(end, chord)[:, None] * chord) for end in (rods.first, rods.last)))


def _nearly_in_line(rods: UnitRods) -> Index:
    """Give the rods that would spin freely but for a slight lean of their clamps."""
    return np.flatnonzero((_lean(rods) < NEARLY_IN_LINE) & ~rods.axis.any(axis=1))


def _spun(grid: LobattoGrid, tangents: Array, force: Array, before: UnitRods, after: UnitRods) -> tuple[Array, Ends]:
    """Spin in-line rods to where their clamps' lean takes them."""
    return spun_to_rest(tangents, ends_of(grid, tangents, force), before, after)


def best_of(grid: LobattoGrid, starts: list[Array], rods: UnitRods, *, normal: Array | None = None) -> Descent:
    """Go downhill from every start and keep each row's lowest settled shape.

    Parameters
    ----------
    grid : LobattoGrid
    starts : list of (B, n, 3) array
        Unit tangents, the clamped ones in place.
    rods : UnitRods
    normal : (B, 3) array, optional
        Normal of the plane the rods are held in; then they are settled to the last, otherwise roughly.

    Returns
    -------
    Descent
    """
    tries, rows = len(starts), rods.reach.shape[0]
    axis = None if normal is not None or rods.spin is None else np.tile(rods.axis, (tries, 1))
    found = descend(
        grid,
        np.concatenate(starts),
        np.tile(rods.reach, (tries, 1)),
        axis=axis,
        normal=None if normal is None else np.tile(normal, (tries, 1)),
        tolerance=SEARCH_TOLERANCE if normal is None else 1e-6,
    )
    height = np.where(found.settled, energy(grid, found.tangents), np.inf).reshape(tries, rows)
    # Mirror images have the same energy: the first start decides between them, so that a run repeats.
    pick = (height <= height.min(axis=0) * (1.0 + EQUAL)).argmax(axis=0) * rows + np.arange(rows)
    return Descent(found.tangents[pick], found.force[pick], found.settled[pick], found.firmness[pick])


def settle(grid: LobattoGrid, start: Array, rods: UnitRods, force: Array | None = None) -> Descent:
    """Bring rods from close by to equilibrium: plain steps, and downhill where those leave the branch.

    Parameters
    ----------
    grid : LobattoGrid
    start : (B, n, 3) array
        Unit tangents, the clamped ones in place.
    rods : UnitRods
    force : (B, 3) array, optional
        End forces close to those looked for; otherwise the ones that balance the start best.

    Returns
    -------
    Descent
    """
    force = balancing_force(grid, start) if force is None else force
    found = polish(grid, start, force, rods.reach, axis=rods.spin)
    turned = np.einsum("bic,bic->bi", found.tangents, start).min(axis=1, initial=1.0) < np.cos(SAME_BRANCH)
    left = np.flatnonzero(~found.minimal | turned)
    spinning = left[_nearly_in_line(rods[left])]
    if spinning.size:
        found.put(spinning, _settle_spinning(grid, start[spinning], rods[spinning], force[spinning]))
        left = np.setdiff1d(left, spinning[found.minimal[spinning]])
    if left.size:
        found.put(left, downhill(grid, start[left], rods[left]))
    return found


def _settle_spinning(grid: LobattoGrid, start: Array, rods: UnitRods, force: Array) -> Descent:
    """Settle nearly in-line rods, which may have far to spin at next to no cost: bend and spin in turn.

    Bending is settled as if the rods were free to spin; then they are spun to rest. Each round leaves an error smaller
    by the lean of the clamps, and what a plain step can mend is left to it.
    """
    line = in_line(rods)
    tangents, pull = start, force
    for _ in range(SPIN_ROUNDS):
        tangents, ends = _spun(grid, tangents, pull, line, rods)
        found = polish(grid, clamped(tangents, rods), ends.force, rods.reach, axis=line.axis)
        tangents, pull = found.tangents, found.force
    plain = np.flatnonzero(_lean(rods) > HARDLY)
    some = rods[plain]
    found.put(plain, polish(grid, tangents[plain], pull[plain], some.reach, axis=some.spin))
    return found


def downhill(grid: LobattoGrid, start: Array, rods: UnitRods) -> Descent:
    """Go downhill with all nodes, and on past saddles and the slow passes where a branch has just ended.

    Parameters
    ----------
    grid : LobattoGrid
    start : (B, n, 3) array
        Unit tangents, the clamped ones in place.
    rods : UnitRods

    Returns
    -------
    Descent
    """
    found = descend(grid, start, rods.reach, axis=rods.spin, limit=30)
    left = np.flatnonzero(~found.settled)
    if left.size == 0:
        return found
    rest = rods[left]
    found.put(left, escape(grid, found.tangents[left], rest.reach, axis=rest.spin))
    return found


def clamped(tangents: Array, rods: UnitRods) -> Array:
    """Bring tangents to unit length and put the clamps' directions at their ends.

    Parameters
    ----------
    tangents : (B, n, 3) array
    rods : UnitRods

    Returns
    -------
    (B, n, 3) array
    """
    tangents = unit(tangents)
    tangents[:, 0], tangents[:, -1] = rods.first, rods.last
    return tangents
