"""Shapes of a torsion-free, inextensible elastic rod clamped at both ends in position and direction.

The rod takes the shape of least bending energy, half the integral of squared curvature, among all curves of its length
between its clamps. It may spin in the clamps, so torsion is nothing, and its stiffness does not matter to its shape.
Weight, natural curl and contact are left out. Every function takes a batch and returns verdicts instead of raising.

`relax` looks for the least shape from nowhere; `relax_from` stays close to a known one.
"""

import numpy as np
from numpy.typing import NDArray

from ropewalk.mechanics.elastica_descent import Descent, descend, energy
from ropewalk.mechanics.elastica_newton import linearise, lowest_mode, lowest_value, retract, steepness
from ropewalk.mechanics.elastica_starts import bowed_tangents, hermite_tangents, spin_axis
from ropewalk.mechanics.lobatto import LobattoGrid, interpolation, lobatto_grid
from ropewalk.mechanics.rods import Clamps, Rods, measure

__all__ = ["PLANNING_NODES", "Clamps", "Rods", "relax", "relax_from", "stationary_planar"]

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

#: Nodes that place a loop within 1e-4 of its length.
PLANNING_NODES = 16
# Cold searches run on this many nodes: enough to tell the shapes apart.
SEARCH_NODES = 12
# Equilibrium is reached when no more than this is left, for a rod of unit length.
RESIDUAL_LIMIT = 1e-6
# Angle [rad] and size of the bows a cold search starts from, besides the cubic.
BOWS = ((0.0, 1.0), (np.pi, 1.0), (np.pi / 2, 1.0))


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
    Each row starts from the cubic Hermite curve of the asked length and from several bows about the chord and goes
    downhill on a coarse grid; the lowest shape found is brought to full resolution.

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
    clamps, length, shape = _broadcast(clamps, length)
    first, last, reach, possible = _unit_rods(clamps, length)
    live = np.flatnonzero(possible)
    tangents = np.full((length.size, nodes, 3), np.nan)
    force = np.full((length.size, 3), np.nan)
    if live.size:
        found = _search(first[live], last[live], reach[live], nodes)
        tangents[live], force[live] = found.tangents, found.force
    return _verdicts(clamps, length, shape, tangents, force, reach, possible)


def relax_from(clamps: Clamps, length: Array, tangents: Array) -> Rods:
    """Let each rod settle from a given shape, going downhill all the way.

    Parameters
    ----------
    clamps : Clamps
        Both ends.
    length : (...) array
        Arc length [mm].
    tangents : (..., n, 3) array
        Tangents to start from, at Lobatto nodes; their ends are replaced by the clamps' directions.

    Returns
    -------
    Rods
    """
    clamps, length, shape = _broadcast(clamps, length)
    first, last, reach, possible = _unit_rods(clamps, length)
    nodes = np.shape(tangents)[-2]
    start = np.broadcast_to(np.asarray(tangents, dtype=float), (*shape, nodes, 3)).reshape(-1, nodes, 3)
    live = np.flatnonzero(possible & np.isfinite(start).all(axis=(1, 2)))
    settled = np.full((length.size, nodes, 3), np.nan)
    force = np.full((length.size, 3), np.nan)
    if live.size:
        begin = start[live].copy()
        begin[:, 0], begin[:, -1] = first[live], last[live]
        found = _settle(lobatto_grid(nodes), begin, reach[live], spin_axis(first[live], last[live], reach[live]))
        settled[live], force[live] = found.tangents, found.force
    return _verdicts(clamps, length, shape, settled, force, reach, possible)


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
        Tangents to start from; otherwise a bow to the side of ``normal`` cross chord is tried besides the cubic.

    Returns
    -------
    Rods
        ``stable`` and ``lowest_eigenvalue`` are those of the same shape set free in space.
    """
    clamps, length, shape = _broadcast(clamps, length)
    first, last, reach, possible = _unit_rods(clamps, length)
    grid = lobatto_grid(nodes if tangents is None else np.shape(tangents)[-2])
    count = grid.nodes.size
    plane = np.broadcast_to(np.asarray(normal, dtype=float), (*shape, 3)).reshape(-1, 3)
    plane = plane / np.linalg.norm(plane, axis=1, keepdims=True)
    live = np.flatnonzero(possible)
    settled = np.full((length.size, count, 3), np.nan)
    force = np.full((length.size, 3), np.nan)
    if live.size:
        ends = first[live], last[live], reach[live]
        if tangents is None:
            starts = [
                hermite_tangents(grid, *ends),
                *(_flat_bow(grid, *ends, plane[live], size) for size in (1.5, -1.5)),
            ]
        else:
            given = np.broadcast_to(np.asarray(tangents, dtype=float), (*shape, count, 3)).reshape(-1, count, 3)
            starts = [given[live]]
        found = _best_of(grid, starts, reach[live], None, plane[live])
        settled[live], force[live] = found.tangents, found.force
    return _verdicts(clamps, length, shape, settled, force, reach, possible, plane)


def _broadcast(clamps: Clamps, length: Array) -> tuple[Clamps, Array, tuple[int, ...]]:
    """Bring clamps and lengths to one flat batch and remember its shape."""
    shape = np.broadcast_shapes(clamps.shape, np.shape(length))
    spread = clamps.spread(shape)
    flat = Clamps(*(a.reshape(-1, 3) for a in (spread.start, spread.start_direction, spread.end, spread.end_direction)))
    lengths = np.broadcast_to(np.asarray(length, dtype=float), shape).reshape(-1)
    return flat, lengths, shape


def _unit_rods(clamps: Clamps, length: Array) -> tuple[Array, Array, Array, Flags]:
    """Scale rods to unit length: first and last tangent, reach, and whether a shape can exist at all."""
    sound = np.isfinite(length) & (length > 0.0)
    scale = np.where(sound, length, 1.0)[:, None]
    reach = (clamps.end - clamps.start) / scale
    sizes = [np.linalg.norm(d, axis=1, keepdims=True) for d in (clamps.start_direction, clamps.end_direction)]
    first = clamps.start_direction / np.where(sizes[0] > 0.0, sizes[0], 1.0)
    last = clamps.end_direction / np.where(sizes[1] > 0.0, sizes[1], 1.0)
    finite = np.isfinite(reach).all(axis=1) & np.isfinite(first).all(axis=1) & np.isfinite(last).all(axis=1)
    directed = (sizes[0] > 0.0)[:, 0] & (sizes[1] > 0.0)[:, 0]
    possible = sound & finite & directed
    possible[possible] = np.linalg.norm(reach[possible], axis=1) < 1.0
    return first, last, reach, possible


def _flat_bow(grid: LobattoGrid, first: Array, last: Array, reach: Array, normal: Array, size: float) -> Array:
    """Blend from clamp to clamp over a bow within the plane."""
    s = grid.nodes[:, None]
    side = np.cross(normal, reach / np.maximum(np.linalg.norm(reach, axis=1, keepdims=True), 1e-300))
    chord = np.cross(side, normal)
    blend = (1 - s) ** 2 * first[:, None, :] + s**2 * last[:, None, :] + 2 * s * (1 - s) * chord[:, None, :]
    blend = blend + size * np.sin(2 * np.pi * s) * side[:, None, :]
    tangents: Array = blend / np.linalg.norm(blend, axis=2, keepdims=True)
    tangents[:, 0], tangents[:, -1] = first, last
    return tangents


def _best_of(
    grid: LobattoGrid, starts: list[Array], reach: Array, axis: Array | None, normal: Array | None = None
) -> Descent:
    """Go downhill from every start and keep each row's lowest settled shape."""
    tries, rows = len(starts), reach.shape[0]
    stack = [None if a is None else np.tile(a, (tries, 1)) for a in (axis, normal)]
    found = descend(grid, np.concatenate(starts), np.tile(reach, (tries, 1)), axis=stack[0], normal=stack[1])
    height = np.where(found.settled, energy(grid, found.tangents), np.inf).reshape(tries, rows)
    pick = height.argmin(axis=0) * rows + np.arange(rows)
    return Descent(found.tangents[pick], found.force[pick], found.settled[pick])


def _search(first: Array, last: Array, reach: Array, nodes: int) -> Descent:
    """Search on the coarse grid and bring the lowest shape to full resolution."""
    coarse, fine = lobatto_grid(min(SEARCH_NODES, nodes)), lobatto_grid(nodes)
    axis = spin_axis(first, last, reach)
    cubic = hermite_tangents(coarse, first, last, reach)
    # In line, the cubic is straight, and nothing tells it which way to bow.
    in_line = axis.any(axis=1)
    cubic[in_line] = bowed_tangents(coarse, first[in_line], last[in_line], reach[in_line], 0.0, 0.5)
    starts = [cubic]
    starts += [bowed_tangents(coarse, first, last, reach, angle, size) for angle, size in BOWS]
    rough = _best_of(coarse, starts, reach, axis)
    tangents = np.matmul(interpolation(coarse, fine.nodes), rough.tangents)
    tangents /= np.linalg.norm(tangents, axis=2, keepdims=True)
    tangents[:, 0], tangents[:, -1] = first, last
    return _settle(fine, tangents, reach, axis, rough.force)


def _settle(grid: LobattoGrid, start: Array, reach: Array, axis: Array, force: Array | None = None) -> Descent:
    """Go downhill to a minimum; where the shape reached is a saddle, push it off and go on."""
    found = descend(grid, start, reach, axis=axis, force=force, first_shift=0.0 if force is not None else 20.0)
    tangents, forces, settled = found.tangents, found.force, found.settled.copy()
    left = np.flatnonzero(~settled)
    if left.size:
        at = linearise(grid, tangents[left], forces[left], reach[left], axis=axis[left])
        value, mode = lowest_mode(grid, at)
        nudge = 0.3 * mode * (value < 0.0)[:, None, None]
        again = descend(grid, retract(tangents[left], at.frames, nudge), reach[left], axis=axis[left], limit=200)
        tangents[left], forces[left], settled[left] = again.tangents, again.force, again.settled
    return Descent(tangents, forces, settled)


def _verdicts(
    clamps: Clamps,
    length: Array,
    shape: tuple[int, ...],
    tangents: Array,
    force: Array,
    reach: Array,
    possible: Flags,
    normal: Array | None = None,
) -> Rods:
    """Judge equilibrium and stability, measure the shapes and scale everything back."""
    count = length.size
    grid = lobatto_grid(tangents.shape[1])
    residual, lowest = np.full(count, np.inf), np.full(count, np.nan)
    live = np.flatnonzero(possible & np.isfinite(force).all(axis=1))
    if live.size:
        axis = spin_axis(tangents[live, 0], tangents[live, -1], reach[live])
        free = linearise(grid, tangents[live], force[live], reach[live], axis=axis)
        lowest[live] = lowest_value(grid, free)
        plane = None if normal is None else normal[live]
        held = free if plane is None else linearise(grid, tangents[live], force[live], reach[live], normal=plane)
        residual[live] = steepness(grid, held, force[live])
    converged = residual < RESIDUAL_LIMIT
    good = np.flatnonzero(converged)
    height = energy(grid, tangents[good])
    found = measure(grid, tangents[good], force[good], reach[good], height)
    found |= {"energy": height, "end_force": force[good]}
    powers = {"energy": -1, "turn": 0, "least_radius": 1, "least_radius_at": 0, "end_force": -2}
    powers |= {"end_moment": -1, "start_moment": -1}
    scaled: dict[str, Array] = {}
    for name, power in powers.items():
        values = found[name]
        factor = length[good] ** power
        whole = np.full((count, *values.shape[1:]), np.nan)
        whole[good] = values * (factor[:, None] if values.ndim == 2 else factor)
        scaled[name] = whole.reshape(shape + values.shape[1:])
    return Rods(
        clamps=Clamps(
            *(a.reshape((*shape, 3)) for a in (clamps.start, clamps.start_direction, clamps.end, clamps.end_direction))
        ),
        length=length.reshape(shape),
        tangents=tangents.reshape(shape + tangents.shape[1:]),
        energy=scaled["energy"],
        turn=scaled["turn"],
        least_radius=scaled["least_radius"],
        least_radius_at=scaled["least_radius_at"],
        end_force=scaled["end_force"],
        end_moment=scaled["end_moment"],
        start_moment=scaled["start_moment"],
        residual=residual.reshape(shape),
        lowest_eigenvalue=lowest.reshape(shape),
        converged=converged.reshape(shape),
        stable=(converged & (lowest > 0.0)).reshape(shape),
    )
