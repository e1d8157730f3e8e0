"""Write `second_method.csv`: the first hundred random clamp pairs by a method of another kind.

Run it as ``PYTHONPATH=tests python tests/convergence/second_method.py``. A chain of straight links, each with its own
direction, is bent between the clamps; its energy is half the square of the angle at each joint over the length that
joint stands for. It is minimised by scipy's L-BFGS-B from six random starts of its own, with the place of the end
enforced by an augmented Lagrangian; the lowest chain of 24 links is refined to 192. No shape, force or start of the
package is used.
"""

import csv
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from rod_cases import random_pairs
from scipy.optimize import minimize

Array = NDArray[np.float64]

PAIRS = 100
STARTS = 6
COARSE, FINE = 24, 192


def chain_energy(links: Array, first: Array, last: Array) -> tuple[float, Array]:
    """Give the bending energy of links of unit direction (N, 3), a rod of unit length, and its derivative."""
    step = 1.0 / len(links)
    every = np.vstack([first, links, last])
    hops = np.diff(every, axis=0)
    angle = 2.0 * np.arcsin(np.minimum(0.5 * np.linalg.norm(hops, axis=1), 1.0))
    # A joint stands for the length from middle to middle of its links, half a link at the clamps.
    stands_for = np.full(len(angle), step)
    stands_for[[0, -1]] = step / 2.0
    slope = (angle / np.sin(np.maximum(angle, 1e-9)) / stands_for)[:, None] * hops
    return float((0.5 * angle**2 / stands_for).sum()), slope[:-1] - slope[1:]


def relaxed(links: Array, first: Array, last: Array, reach: Array) -> tuple[float, Array, float]:
    """Minimise from a start; give energy, links and what is left of the gap."""
    count = len(links)
    force, weight = np.zeros(3), 100.0
    free = links.reshape(-1)

    def lagrangian(x: Array) -> tuple[float, Array]:
        vectors = x.reshape(count, 3)
        size = np.linalg.norm(vectors, axis=1, keepdims=True)
        unit = vectors / size
        energy, slope = chain_energy(unit, first, last)
        gap = unit.mean(axis=0) - reach
        slope = slope + (force + weight * gap) / count
        slope = (slope - (slope * unit).sum(axis=1, keepdims=True) * unit) / size
        return energy + float(force @ gap + 0.5 * weight * gap @ gap), slope.reshape(-1)

    for _ in range(12):
        found = minimize(
            lagrangian,
            free,
            jac=True,
            method="L-BFGS-B",
            options={"maxiter": 4000, "maxfun": 6000, "ftol": 1e-13, "gtol": 1e-7},
        )
        free = found.x
        links = free.reshape(count, 3) / np.linalg.norm(free.reshape(count, 3), axis=1, keepdims=True)
        gap = links.mean(axis=0) - reach
        force = force + weight * gap
        if np.abs(gap).max() < 1e-7:
            break
        weight = min(weight * 3.0, 3e4)
    return chain_energy(links, first, last)[0], links, float(np.abs(gap).max())


def refined(links: Array, count: int) -> Array:
    """Interpolate directions to more links."""
    old, new = ((np.arange(n) + 0.5) / n for n in (len(links), count))
    finer = np.column_stack([np.interp(new, old, links[:, c]) for c in range(3)])
    return np.asarray(finer / np.linalg.norm(finer, axis=1, keepdims=True))


def lowest(first: Array, last: Array, reach: Array, draw: np.random.Generator) -> tuple[float, float, int]:
    """Give the lowest energy found, the gap left, and how many coarse starts came to it."""
    places = ((np.arange(COARSE) + 0.5) / COARSE)[:, None]
    tries = []
    for _ in range(STARTS):
        waves = sum(np.sin(np.pi * (k + 1) * places) * draw.normal(size=3) for k in range(3))
        links = (1.0 - places) * first + places * last + 1.5 * waves
        tries.append(relaxed(links / np.linalg.norm(links, axis=1, keepdims=True), first, last, reach))
    tries = [t for t in tries if t[2] < 1e-5]
    tries.sort(key=lambda t: t[0])
    same = sum(t[0] < tries[0][0] * 1.01 for t in tries)
    energy, _, gap = relaxed(refined(tries[0][1], FINE), first, last, reach)
    return energy, gap, same


def main() -> None:
    """Write the table beside this file."""
    clamps, lengths = random_pairs(PAIRS)
    with Path(__file__).with_suffix(".csv").open("w", encoding="utf-8", newline="") as file:
        table = csv.writer(file, lineterminator="\n")
        table.writerow(["pair", "energy_times_length", "gap", "starts_of_six_that_came_to_it"])
        for pair in range(PAIRS):
            draw = np.random.default_rng(pair)
            reach = clamps.end[pair] / lengths[pair]
            energy, gap, same = lowest(clamps.start_direction[pair], clamps.end_direction[pair], reach, draw)
            table.writerow([pair, f"{energy:.6f}", f"{gap:.1e}", same])
            file.flush()


if __name__ == "__main__":
    main()
