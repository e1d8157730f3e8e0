"""Correct shapes per second against scipy's collocation solver, in one run, by processor time.

Run with the threads of BLAS set to one. Both start from the same curves. The other solver is given its loosest
tolerance, in steps of ten, at which the shapes it finds are as exact as ours (nine in ten of them), and only rods for
which both find the same shape count; their share is printed. Errors are distances from shapes of 48 nodes, over length.
"""

import time
from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray
from rod_cases import random_pairs, turning_loops
from scipy.integrate import solve_bvp

from ropewalk.mechanics.elastica import Rods, relax, relax_from
from ropewalk.mechanics.elastica_starts import hermite_tangents
from ropewalk.mechanics.follow import follow
from ropewalk.mechanics.lobatto import accumulation, interpolation, lobatto_grid

Array = NDArray[np.float64]

TOLERANCES = (1e-1, 1e-2, 1e-3, 1e-4, 1e-5, 1e-6)
SAME_SHAPE = 5e-3
PLACES = np.linspace(0.0, 1.0, 33)


@dataclass(frozen=True)
class Ends:
    """One rod of unit length, from the origin."""

    first: Array
    last: Array
    reach: Array


def ends_of(rods: Rods, index: tuple[int, ...]) -> Ends:
    c = rods.clamps[index]
    return Ends(c.start_direction, c.end_direction, (c.end - c.start) / rods.length[index])


def collocate(ends: Ends, mesh: Array, state: Array, force: Array, tolerance: float):
    """Solve the pendulum equation t'' = -F + (F.t - t'.t') t with place r' = t, for the unknown force F."""
    aside = np.linalg.svd(ends.last[None])[2][1:]

    def slope(_s: Array, y: Array, f: Array) -> Array:
        t, k = y[3:6], y[6:9]
        return np.vstack([t, k, (f @ t - (k * k).sum(axis=0)) * t - f[:, None]])

    def clamped(a: Array, b: Array, _f: Array) -> Array:
        return np.concatenate([a[:3], a[3:6] - ends.first, [a[3:6] @ a[6:9]], b[:3] - ends.reach, aside @ b[3:6]])

    # Where it fails, it fails by running away.
    with np.errstate(all="ignore"):
        return solve_bvp(slope, clamped, mesh, state, p=force, tol=tolerance, max_nodes=1000)


def sampled(tangents: Array, mesh: Array) -> Array:
    """Give place, tangent and its change along a curve at the points of a mesh."""
    grid = lobatto_grid(len(tangents))
    to_mesh = interpolation(grid, mesh)
    return np.vstack([(m @ tangents).T for m in (accumulation(grid, mesh), to_mesh, to_mesh @ grid.derivative)])


@dataclass
class Tally:
    """What the other solver came to at one tolerance."""

    seconds: float = 0.0
    tried: int = 0
    errors: tuple[float, ...] = ()

    def add(self, seconds: float, solution, reference: Array) -> bool:
        self.tried += 1
        error = np.linalg.norm(solution.sol(PLACES)[:3].T - reference, axis=1).max() if solution.success else np.inf
        if error < SAME_SHAPE:
            self.seconds += seconds
            self.errors = (*self.errors, float(error))
        return bool(solution.success)


def timed(run):
    start = time.process_time()
    result = run()
    return time.process_time() - start, result


def compared(name: str, ours: float, our_error: float, tallies: dict[float, Tally]) -> float:
    """Print the figures; give the ratio at the loosest tolerance that is as exact as ours."""
    print(f"\n{name}: {1e6 * ours:.0f} µs a shape, error {our_error:.1e} (nine in ten)")
    for tolerance, tally in tallies.items():
        error = np.percentile(tally.errors, 90)
        each = tally.seconds / len(tally.errors)
        share = len(tally.errors) / tally.tried
        print(
            f"  collocation at {tolerance:.0e}: {1e3 * each:.2f} ms, error {error:.1e}, same shape in {share:.0%}"
            f" of {tally.tried}; {each / ours:.0f} times"
        )
        if error <= our_error:
            return each / ours
    pytest.fail("the other solver does not become as exact as ours")


def test_cold_starts(benchmark) -> None:
    clamps, length = random_pairs(400)
    relax(clamps, length)
    rods = benchmark.pedantic(relax, args=(clamps, length), rounds=5)
    seconds = min(timed(lambda: relax(clamps, length))[0] for _ in range(5)) / length.size
    fine = relax_from(clamps, length, refined(rods.tangents, 48))
    reference = fine.points(33) / length[:, None, None]
    error = np.linalg.norm(rods.points(33) / length[:, None, None] - reference, axis=2).max(axis=1)
    mesh = np.linspace(0.0, 1.0, 11)
    tallies: dict[float, Tally] = {}
    for tolerance in TOLERANCES:
        tally = tallies[tolerance] = Tally()
        for row in range(40):
            ends = ends_of(rods, (row,))
            start = hermite_tangents(lobatto_grid(21), ends.first[None], ends.last[None], ends.reach[None])[0]
            state = sampled(start, mesh)
            spent, solution = timed(lambda e=ends, s=state, t=tolerance: collocate(e, mesh, s, np.zeros(3), t))
            tally.add(spent, solution, reference[row])
        if np.percentile(tally.errors, 90) <= np.percentile(error, 90):
            break
    assert compared("cold starts", seconds, float(np.percentile(error, 90)), tallies) >= 25.0


def refined(tangents: Array, nodes: int) -> Array:
    matrix = interpolation(lobatto_grid(tangents.shape[-2]), lobatto_grid(nodes).nodes)
    return np.asarray(np.matmul(matrix, tangents))


def test_following_a_sweep(benchmark) -> None:
    clamps, length, home = turning_loops(400, 5.0, seed=2)
    first = follow(clamps, length, home)
    plain = np.flatnonzero(~first.snapped.any(axis=1) & first.rods.converged.all(axis=1))
    clamps, length = clamps.spread(first.rods.shape)[plain], length[plain]
    sweep = benchmark.pedantic(follow, args=(clamps, length, home), rounds=5)
    shapes = sweep.snapped.size
    seconds = min(timed(lambda: follow(clamps, length, home))[0] for _ in range(5)) / shapes
    few = sweep.rods[:6]
    fine = relax_from(few.clamps, few.length, refined(few.tangents, 48))
    starts = few.clamps.start[:, :, None, :]
    reference = (fine.points(33) - starts) / few.length[:, :, None, None]
    ours = (few.points(33) - starts) / few.length[:, :, None, None]
    error = float(np.percentile(np.linalg.norm(ours - reference, axis=3).max(axis=2), 90))
    tallies: dict[float, Tally] = {}
    for tolerance in TOLERANCES:
        tally = tallies[tolerance] = Tally()
        for row in range(few.shape[0]):
            walk(few, reference, row, home, tolerance, tally)
        if np.percentile(tally.errors, 90) <= error:
            break
    print(f"\n{plain.size} rods through {few.shape[1]} poses, cold start at home included in ours")
    assert compared("following a sweep", seconds, error, tallies) >= 60.0


def walk(rods: Rods, reference: Array, row: int, home: int, tolerance: float, tally: Tally) -> None:
    """Take one rod from pose to pose, each solution the start of the next; the home shape is given to it."""
    nodes = lobatto_grid(rods.tangents.shape[-2]).nodes
    force = rods.end_force[row, home] * rods.length[row, home] ** 2
    given = (nodes, sampled(rods.tangents[row, home], nodes), force)
    for way in (1, -1):
        mesh, state, force = given
        pose = home + way
        while 0 <= pose < rods.shape[1]:
            ends = ends_of(rods, (row, pose))
            spent, solution = timed(lambda e=ends, m=mesh, s=state, f=force: collocate(e, m, s, f, tolerance))
            if not tally.add(spent, solution, reference[row, pose]):
                break
            mesh, state, force = solution.x, solution.y, solution.p
            pose += way
