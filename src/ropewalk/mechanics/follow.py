"""Follow rods through a row of poses as a real rod would go: from the home pose outwards, always on the same branch.

Each step starts from the shape before it. A step counts only if the new shape is in equilibrium, is a minimum, lies
close to where the last steps pointed, and has gained no other energy than the work the clamps did on the way; else it
is halved, the clamps going between the poses. What still jumps in the smallest step is a snap-over and is reported.

Every rod is followed by two walkers, one each way, who go at their own pace; all walkers step in one batch.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ropewalk.mechanics.elastica import PLANNING_NODES, relax, relax_from
from ropewalk.mechanics.elastica_batch import UnitRods, judge
from ropewalk.mechanics.elastica_descent import polish
from ropewalk.mechanics.elastica_ends import Ends, ends_of, work_between
from ropewalk.mechanics.elastica_escape import escape
from ropewalk.mechanics.elastica_search import clamped, search, settle
from ropewalk.mechanics.elastica_stability import FIRM, imbalance
from ropewalk.mechanics.follow_path import Path, rods_at
from ropewalk.mechanics.follow_walkers import (
    ORDERS,
    Walkers,
    apart,
    carried,
    excess,
    fading,
    guessed,
    jumped,
    learn,
    spin,
    strain,
)
from ropewalk.mechanics.lobatto import lobatto_grid
from ropewalk.mechanics.rods import Clamps, Rods

__all__ = ["Sweep", "follow"]

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Index = NDArray[np.intp]

# The smallest step, as a share of the way between two poses.
LEAST_STRIDE = 1.0 / 32.0
# The longest step where a rod fades, lest a place where it gives way be stepped over.
FADING_STRIDE = 1.0 / 8.0
# The last turn of a tangent [rad] in a step; on random sweeps the error left was a tenth of it, or less.
CLOSE = 1e-3
# Shapes out of balance by more than this share are brought closer at the end.
AT_REST = 1e-6
# A step this much better than it need be lets the next one be twice as long.
EASE = 0.12
# Searches are put off until one in so many walkers needs one.
PATIENCE = 64


@dataclass(frozen=True, slots=True, eq=False)
class Sweep:
    """Shapes of a batch of rods through a row of poses.

    Attributes
    ----------
    rods : Rods
        Of batch shape (B, S). Poses in which no shape can exist are marked not converged; beyond them the rod is taken
        up again as it comes out of the taut.
    snapped : (B, S) array of bool
        The shape jumped to another branch on arriving at this pose from its neighbour on the home side.
    """

    rods: Rods
    snapped: Flags


@dataclass(slots=True, eq=False)
class _Record:
    """Shapes found at whole poses so far."""

    tangents: Array
    force: Array
    minimal: Flags
    snapped: Flags


def follow(
    clamps: Clamps,
    length: Array,
    home: int | NDArray[np.integer],
    *,
    count: NDArray[np.integer] | None = None,
    nodes: int = PLANNING_NODES,
    tangents: Array | None = None,
) -> Sweep:
    """Follow each rod through its poses, starting at the home pose and going outwards both ways.

    Parameters
    ----------
    clamps : Clamps
        Of batch shape (B, S): B rods, S poses each, in the order they are passed.
    length : (B,) array
        Arc length [mm].
    home : int or (B,) array of int
        Pose at which the shape of least energy is taken.
    count : (B,) array of int, optional
        Poses that each rod is followed through, the first so many; it has no shape in the others. Left out, all.
    nodes : int
        Lobatto nodes of the shapes.
    tangents : (B, n, 3) array, optional
        Shape to settle from at the home pose instead.

    Returns
    -------
    Sweep
    """
    length = np.asarray(length, dtype=float).reshape(-1)
    batch, poses = np.broadcast_shapes(clamps.shape, (length.size, 1))
    length = np.broadcast_to(length, (batch,)).copy()
    nodes = nodes if tangents is None else np.shape(tangents)[-2]
    through = None if count is None else np.asarray(count, dtype=np.intp)
    path = Path.of(clamps.spread((batch, poses)), length, nodes, through)
    begin = np.broadcast_to(np.asarray(home, dtype=np.intp), (batch,))
    row = np.arange(batch)
    at_home = path.clamps[row, begin]
    first = relax(at_home, length, nodes=nodes) if tangents is None else relax_from(at_home, length, tangents)
    record = _Record(
        np.full((batch, poses, nodes, 3), np.nan),
        np.full((batch, poses, 3), np.nan),
        np.zeros((batch, poses), dtype=bool),
        np.zeros((batch, poses), dtype=bool),
    )
    record.tangents[row, begin] = first.tangents
    record.force[row, begin] = first.end_force * length[:, None] ** 2
    record.minimal[row, begin] = first.stable
    walkers = _set_out(path, record, begin)
    last = np.where(walkers.way > 0, path.count[walkers.row] - 1, 0)
    while True:
        going = np.flatnonzero(walkers.place != last)
        if going.size == 0:
            break
        halted = walkers.lost[going] | walkers.stuck[going]
        _step(path, walkers, record, going[~halted])
        # The few that need a search wait for each other, so that they are searched for in larger batches.
        if halted.sum() * PATIENCE >= going.size:
            _snap(path, walkers, record, np.flatnonzero(walkers.stuck))
            _take_up(path, walkers, record, np.flatnonzero(walkers.lost & (walkers.place != last)))
    return _judged(path, record)


def _set_out(path: Path, record: _Record, home: Index) -> Walkers:
    """Put two walkers on every rod, at its home pose."""
    row = np.tile(np.arange(home.size), 2)
    place = np.tile(home, 2)
    tangents, force = record.tangents[row, place], record.force[row, place]
    return Walkers(
        row=row,
        way=np.repeat(np.array([1, -1]), home.size),
        place=place.astype(float),
        stride=np.ones(row.size),
        rods=rods_at(path, row, place.astype(float)),
        tangents=tangents,
        ends=ends_of(lobatto_grid(path.nodes), tangents, force),
        lacks=np.zeros((ORDERS, *tangents.shape)),
        rise=np.zeros_like(force),
        firmness=np.full(row.size, FIRM),
        lack_stride=np.zeros(row.size),
        stuck=np.zeros(row.size, dtype=bool),
        lost=~record.minimal[row, place],
        snapped=np.zeros(row.size, dtype=bool),
    )


def _step(path: Path, walkers: Walkers, record: _Record, who: Index) -> None:
    """Try one step of each walker; take it, or halve the stride, or let the rod snap over in the smallest."""
    if who.size == 0:
        return
    grid = lobatto_grid(path.nodes)
    goal = walkers.place[who] + walkers.way[who] * walkers.stride[who]
    rods = rods_at(path, walkers.row[who], goal)
    barred = who[~rods.possible]
    walkers.place[barred] = walkers.way[barred] * np.floor(walkers.way[barred] * walkers.place[barred])
    walkers.lost[barred] = True
    keep = np.flatnonzero(rods.possible)
    if keep.size == 0:
        return
    who, goal, rods = who[keep], goal[keep], rods[keep]
    spin(walkers, who, rods)
    before, ends = walkers.rods[who], walkers.ends[who]
    plain = carried(grid.nodes, walkers.tangents[who], before, rods)
    known = walkers.lack_stride[who] > 0.0
    guess, force = guessed(walkers, who, plain, rods)
    found = polish(grid, guess, force, rods.reach, axis=rods.spin, tolerance=CLOSE, limit=4)
    reached = ends_of(grid, found.tangents, found.force)
    share = excess(reached, ends, work_between(before, ends, rods, reached))
    strained = strain(apart(guess, found.tangents), share, known)
    stride = walkers.stride[who]
    fades = fading(walkers.firmness[who], found.firmness) & (stride > FADING_STRIDE)
    good = found.minimal & (strained < 1.0) & ~fades
    taken = np.flatnonzero(good)
    walkers.firmness[who[taken]] = found.firmness[taken]
    learn(walkers, who[taken], found.tangents[taken] - plain[taken], (found.force - ends.force)[taken])
    _arrive(walkers, record, who[taken], goal[taken], rods[taken], found.tangents[taken], reached[taken])
    # A walker may lengthen its stride where the longer one still ends on a pose.
    even = np.mod(walkers.place[who] / (2.0 * stride), 1.0) == 0.0
    walkers.stride[who[good & (strained < EASE) & (stride < 1.0) & even]] *= 2.0
    walkers.stride[who[~good & (stride > LEAST_STRIDE)]] *= 0.5
    walkers.stuck[who[~good & (stride <= LEAST_STRIDE)]] = True


def _arrive(
    walkers: Walkers, record: _Record, who: Index, goal: Array, rods: UnitRods, tangents: Array, ends: Ends
) -> None:
    """Move walkers to where they got, and note the shape of those at a pose."""
    walkers.place[who] = goal
    walkers.tangents[who] = tangents
    walkers.ends.put(who, ends)
    walkers.rods.put(who, rods)
    whole = np.flatnonzero(goal == np.round(goal))
    there, pose = who[whole], np.round(goal[whole]).astype(np.intp)
    row = walkers.row[there]
    record.tangents[row, pose], record.force[row, pose] = tangents[whole], ends.force[whole]
    record.minimal[row, pose] = True
    record.snapped[row, pose] = walkers.snapped[there]
    walkers.snapped[there] = False


def _snap(path: Path, walkers: Walkers, record: _Record, who: Index) -> None:
    """Let rods go downhill from where their branch ends."""
    if who.size == 0:
        return
    grid = lobatto_grid(path.nodes)
    goal = walkers.place[who] + walkers.way[who] * walkers.stride[who]
    rods = rods_at(path, walkers.row[who], goal)
    start = clamped(carried(grid.nodes, walkers.tangents[who], walkers.rods[who], rods), rods)
    found = escape(grid, start, rods.reach, axis=rods.spin)
    left = np.flatnonzero(~found.minimal)
    found.put(left, settle(grid, start[left], rods[left]))
    good = np.flatnonzero(found.minimal)
    reached = ends_of(grid, found.tangents, found.force)
    work = work_between(walkers.rods[who], walkers.ends[who], rods, reached)
    walkers.snapped[who] |= jumped(apart(start, found.tangents), excess(reached, walkers.ends[who], work))
    walkers.lack_stride[who] = 0.0
    walkers.firmness[who] = np.minimum(found.firmness, FIRM)
    walkers.stuck[who] = False
    _arrive(walkers, record, who[good], goal[good], rods[good], found.tangents[good], reached[good])
    _lose(walkers, who[~found.minimal])


def _lose(walkers: Walkers, who: Index) -> None:
    """Leave rods that have no shape here; their walkers go on to the next pose without one."""
    way = walkers.way[who]
    walkers.place[who] = way * (np.floor(way * walkers.place[who]) + 1.0)
    walkers.lost[who] = True
    walkers.snapped[who] = False


def _take_up(path: Path, walkers: Walkers, record: _Record, who: Index) -> None:
    """Look anew for the shape of lost rods, at the first place on the way to the next pose that allows one."""
    if who.size == 0:
        return
    parts = np.arange(1, round(1.0 / LEAST_STRIDE) + 1) * LEAST_STRIDE
    row, way = walkers.row[who], walkers.way[who]
    places = walkers.place[who, None] + way[:, None] * parts
    open_ = rods_at(path, np.repeat(row, parts.size), places.reshape(-1)).possible.reshape(places.shape)
    # The last unbroken run of possible places that ends at the pose.
    clear = np.cumprod(open_[:, ::-1], axis=1)[:, ::-1].astype(bool)
    back = clear.any(axis=1)
    _lose(walkers, who[~back])
    who, goal = who[back], places[back, clear[back].argmax(axis=1)]
    if who.size == 0:
        return
    rods = rods_at(path, walkers.row[who], goal)
    found = search(rods, path.nodes)
    good = np.flatnonzero(found.minimal)
    walkers.lost[who[good]] = False
    walkers.stride[who[good]] = LEAST_STRIDE
    walkers.lack_stride[who[good]] = 0.0
    walkers.firmness[who[good]] = np.minimum(found.firmness[good], FIRM)
    reached = ends_of(lobatto_grid(path.nodes), found.tangents[good], found.force[good])
    _arrive(walkers, record, who[good], goal[good], rods[good], found.tangents[good], reached)
    _lose(walkers, who[~found.minimal])


def _judged(path: Path, record: _Record) -> Sweep:
    """Bring the shapes that are still a little out of balance to rest, and judge them all."""
    shape = record.minimal.shape
    grid = lobatto_grid(path.nodes)
    tangents, force = record.tangents.reshape(-1, path.nodes, 3), record.force.reshape(-1, 3)
    minimal = record.minimal.reshape(-1)
    rest = np.flatnonzero(minimal & (imbalance(grid, tangents, force, path.rods.reach) > AT_REST))
    if rest.size:
        rods = path.rods[rest]
        found = polish(grid, tangents[rest], force[rest], rods.reach, axis=rods.spin, verdict=False)
        tangents[rest], force[rest] = found.tangents, found.force
    length = np.repeat(path.length, shape[1]).reshape(shape)
    return Sweep(judge(path.clamps, length, path.rods, tangents, force, minimal), record.snapped)
