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
from ropewalk.mechanics.elastica_ends import Ends, ends_of, spun_to_rest, work_between
from ropewalk.mechanics.elastica_escape import escape
from ropewalk.mechanics.elastica_search import search
from ropewalk.mechanics.elastica_stability import FIRM, imbalance
from ropewalk.mechanics.follow_path import Path, rods_at
from ropewalk.mechanics.lobatto import lobatto_grid
from ropewalk.mechanics.rods import Clamps, Rods
from ropewalk.mechanics.vectors import unit

__all__ = ["Sweep", "follow"]

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Index = NDArray[np.intp]

# Differences of what guesses lacked that are kept, and how fast they must fall to be used.
ORDERS = 3
FALLING = 0.5
UNKNOWN = 1e9
# The smallest step, as a share of the way between two poses.
LEAST_STRIDE = 1.0 / 32.0
# How far [rad] a shape may lie from where the last steps pointed, and from the last shape if there was no step yet.
NEAR_GUESS = 0.1
NEAR_LAST = 0.25
# Energy that may differ from the work done: as it is, and as a share of the energy and of the work (unit length and
# stiffness).
ENERGY_SLACK = 0.02
ENERGY_SHARE = 0.002
WORK_SHARE = 0.03
# Where firmness falls below this (unit length and stiffness), or below half its change, steps are no longer than the
# stride given, lest a place where the rod gives way be stepped over.
FADING = 0.15
FADING_STRIDE = 1.0 / 8.0
# The last turn of a tangent [rad] in a step; the error left is about its square.
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
class _Walkers:
    """Where each walker is and what shape it carries; the arrays are overwritten as they go."""

    row: Index
    way: Index
    place: Array
    stride: Array
    rods: UnitRods
    tangents: Array
    ends: Ends
    lacks: Array
    rise: Array
    firmness: Array
    lack_stride: Array
    stuck: Flags
    lost: Flags
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
    nodes : int
        Lobatto nodes of the shapes.
    tangents : (B, n, 3) array, optional
        Shape to settle from at the home pose instead.

    Returns
    -------
    Sweep
    """
    length = np.asarray(length, dtype=float).reshape(-1)
    count, poses = np.broadcast_shapes(clamps.shape, (length.size, 1))
    length = np.broadcast_to(length, (count,)).copy()
    nodes = nodes if tangents is None else np.shape(tangents)[-2]
    path = Path.of(clamps.spread((count, poses)), length, nodes)
    begin = np.broadcast_to(np.asarray(home, dtype=np.intp), (count,))
    row = np.arange(count)
    at_home = path.clamps[row, begin]
    first = relax(at_home, length, nodes=nodes) if tangents is None else relax_from(at_home, length, tangents)
    record = _Record(
        np.full((count, poses, nodes, 3), np.nan),
        np.full((count, poses, 3), np.nan),
        np.zeros((count, poses), dtype=bool),
        np.zeros((count, poses), dtype=bool),
    )
    record.tangents[row, begin] = first.tangents
    record.force[row, begin] = first.end_force * length[:, None] ** 2
    record.minimal[row, begin] = first.stable
    walkers = _set_out(path, record, begin)
    last = np.where(walkers.way > 0, poses - 1, 0)
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


def _set_out(path: Path, record: _Record, home: Index) -> _Walkers:
    """Put two walkers on every rod, at its home pose."""
    row = np.tile(np.arange(home.size), 2)
    place = np.tile(home, 2)
    tangents, force = record.tangents[row, place], record.force[row, place]
    return _Walkers(
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


def _step(path: Path, walkers: _Walkers, record: _Record, who: Index) -> None:
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
    _spin(walkers, who, rods)
    before, ends = walkers.rods[who], walkers.ends[who]
    plain = _carried(grid.nodes, walkers.tangents[who], before, rods)
    known = walkers.lack_stride[who] > 0.0
    guess, force = _guess(walkers, who, plain, rods)
    found = polish(grid, guess, force, rods.reach, axis=rods.spin, tolerance=CLOSE, limit=4)
    reached = ends_of(grid, found.tangents, found.force)
    apart = _apart(guess, found.tangents)
    strain = _strain(apart, known, reached, ends, work_between(before, ends, rods, reached))
    stride = walkers.stride[who]
    fading = _fading(walkers.firmness[who], found.firmness) & (stride > FADING_STRIDE)
    good = found.minimal & (strain < 1.0) & ~fading
    taken = np.flatnonzero(good)
    walkers.firmness[who[taken]] = found.firmness[taken]
    _learn(walkers, who[taken], found.tangents[taken] - plain[taken], (found.force - ends.force)[taken])
    _arrive(walkers, record, who[taken], goal[taken], rods[taken], found.tangents[taken], reached[taken])
    # A walker may lengthen its stride where the longer one still ends on a pose.
    even = np.mod(walkers.place[who] / (2.0 * stride), 1.0) == 0.0
    walkers.stride[who[good & (strain < EASE) & (stride < 1.0) & even]] *= 2.0
    walkers.stride[who[~good & (stride > LEAST_STRIDE)]] *= 0.5
    walkers.stuck[who[~good & (stride <= LEAST_STRIDE)]] = True


def _carried(places: Array, tangents: Array, before: UnitRods, after: UnitRods) -> Array:
    """Carry a shape along with its clamps: each tangent follows the nearer clamp the more."""
    share = places[:, None]
    first, last = (after.first - before.first)[:, None, :], (after.last - before.last)[:, None, :]
    return np.asarray(tangents + (1.0 - share) * first + share * last)


def _guess(walkers: _Walkers, who: Index, plain: Array, rods: UnitRods) -> tuple[Array, Array]:
    """Add to the carried shapes what they lacked in the steps before, with its differences while those fall.

    The force is taken to go on rising as it did.
    """
    before = walkers.lack_stride[who]
    ratio = np.where(before > 0.0, walkers.stride[who] / np.where(before > 0.0, before, 1.0), 0.0)
    guess = plain + walkers.lacks[0, who] * (ratio**2)[:, None, None]
    size = np.abs(walkers.lacks[:, who]).max(axis=(2, 3))
    steady = ratio == 1.0
    for order in range(1, ORDERS):
        steady &= size[order] < FALLING * size[order - 1]
        guess += walkers.lacks[order, who] * steady[:, None, None]
    guess = unit(guess)
    guess[:, 0], guess[:, -1] = rods.first, rods.last
    return guess, walkers.ends.force[who] + walkers.rise[who] * ratio[:, None]


def _learn(walkers: _Walkers, who: Index, lack: Array, rise: Array) -> None:
    """Note what the carried shapes lacked, and its differences over the steps before as far as those were even."""
    stride = walkers.stride[who]
    same = (walkers.lack_stride[who] == stride)[:, None, None]
    for order in range(ORDERS):
        lack, walkers.lacks[order, who] = np.where(same, lack - walkers.lacks[order, who], UNKNOWN), lack
    walkers.lack_stride[who], walkers.rise[who] = stride, rise


def _fading(before: Array, after: Array) -> Flags:
    """Tell where a rod may have given way between two stable shapes: firmness is small, or falls to little."""
    return np.asarray(np.minimum(before, after) < 0.5 * np.abs(before - after) + FADING)


def _spin(walkers: _Walkers, who: Index, rods: UnitRods) -> None:
    """Spin rods that are free to, to where the clamps are about to lead them."""
    free = np.flatnonzero(walkers.rods.axis[who].any(axis=1))
    if free.size == 0:
        return
    who = who[free]
    walkers.tangents[who], ends = spun_to_rest(walkers.tangents[who], walkers.ends[who], walkers.rods[who], rods[free])
    walkers.ends.put(who, ends)
    walkers.lack_stride[who] = 0.0


def _apart(guess: Array, found: Array) -> Array:
    """Give the largest angle between the tangents of two shapes."""
    return np.asarray(np.arccos(np.clip(np.einsum("wic,wic->wi", guess, found).min(axis=1, initial=1.0), -1.0, 1.0)))


def _strain(apart: Array, known: Flags, reached: Ends, ends: Ends, work: Array) -> Array:
    """Measure how near a step is to not being believed; at 1 it is not."""
    excess = np.abs(reached.energy - ends.energy - work)
    limit = ENERGY_SLACK + ENERGY_SHARE * np.minimum(reached.energy, ends.energy) + WORK_SHARE * np.abs(work)
    strain = np.maximum(apart / np.where(known, NEAR_GUESS, NEAR_LAST), excess / limit)
    return np.where(np.isfinite(strain), strain, np.inf)


def _arrive(
    walkers: _Walkers, record: _Record, who: Index, goal: Array, rods: UnitRods, tangents: Array, ends: Ends
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


def _snap(path: Path, walkers: _Walkers, record: _Record, who: Index) -> None:
    """Let rods go downhill from where their branch ends."""
    if who.size == 0:
        return
    grid = lobatto_grid(path.nodes)
    goal = walkers.place[who] + walkers.way[who] * walkers.stride[who]
    rods = rods_at(path, walkers.row[who], goal)
    start = _carried(grid.nodes, walkers.tangents[who], walkers.rods[who], rods)
    start /= np.sqrt(np.einsum("wic,wic->wi", start, start))[:, :, None]
    found = escape(grid, start, rods.reach, axis=rods.spin)
    good = np.flatnonzero(found.minimal)
    reached = ends_of(grid, found.tangents, found.force)
    work = work_between(walkers.rods[who], walkers.ends[who], rods, reached)
    known = np.zeros(who.size, dtype=bool)
    apart = _apart(start, found.tangents)
    # A taut rod gains energy faster than the rule of the trapezium can tell, but it hardly moves.
    walkers.snapped[who] |= (_strain(apart, known, reached, walkers.ends[who], work) >= 1.0) & (apart > NEAR_GUESS)
    walkers.lack_stride[who] = 0.0
    walkers.firmness[who] = np.minimum(found.firmness, FIRM)
    walkers.stuck[who] = False
    _arrive(walkers, record, who[good], goal[good], rods[good], found.tangents[good], reached[good])
    _lose(walkers, who[~found.minimal])


def _lose(walkers: _Walkers, who: Index) -> None:
    """Leave rods that have no shape here; their walkers go on to the next pose without one."""
    way = walkers.way[who]
    walkers.place[who] = way * (np.floor(way * walkers.place[who]) + 1.0)
    walkers.lost[who] = True
    walkers.snapped[who] = False


def _take_up(path: Path, walkers: _Walkers, record: _Record, who: Index) -> None:
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
