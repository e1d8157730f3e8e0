"""Random clamps for checks of the rod, from fixed seeds."""

import numpy as np
from numpy.typing import NDArray

from ropewalk.mechanics.elastica import Clamps

Array = NDArray[np.float64]


def directions(draw: np.random.Generator, count: int) -> Array:
    """Draw unit vectors evenly from the sphere."""
    vectors = draw.normal(size=(count, 3))
    return np.asarray(vectors / np.linalg.norm(vectors, axis=1, keepdims=True))


def random_pairs(count: int, *, seed: int = 20_251) -> tuple[Clamps, Array]:
    """Draw clamp pairs: chord 100 to 500 mm, length 1.15 to 1.8 chords, all directions anywhere on the sphere.

    The first pairs are the same whatever the count.
    """
    starts, first, last, lengths = [], [], [], []
    for draw in map(np.random.default_rng, range(seed, seed + count)):
        chord = draw.uniform(100.0, 500.0)
        starts.append(chord * directions(draw, 1)[0])
        first.append(directions(draw, 1)[0])
        last.append(directions(draw, 1)[0])
        lengths.append(chord * draw.uniform(1.15, 1.8))
    return Clamps(np.zeros(3), np.array(first), np.array(starts), np.array(last)), np.array(lengths)


def turned(vectors: Array, axes: Array, angles: Array) -> Array:
    """Turn vectors (B, 3) about axes (B, 3) by angles (B, S), to (B, S, 3)."""
    v, k = vectors[:, None, :], axes[:, None, :]
    cosine, sine = np.cos(angles)[..., None], np.sin(angles)[..., None]
    along = (k * v).sum(axis=-1, keepdims=True) * k
    return np.asarray(cosine * v + sine * np.cross(k, v) + (1.0 - cosine) * along)


def turning_loops(count: int, step_deg: float, *, seed: int) -> tuple[Clamps, Array, int]:
    """Draw loops whose end clamp turns about an inclined axis close by, lock to lock: clamps, lengths, home pose.

    The lock is 60 to 90 degrees, the same for all loops of a seed; clamps lean up to some 45 degrees off the chord.
    """
    draw = np.random.default_rng(seed)
    lock = 15.0 * draw.integers(4, 7)
    chord = draw.uniform(100.0, 500.0, count)
    along = directions(draw, count)
    first = along + 0.7 * directions(draw, count)
    last = along + 0.7 * directions(draw, count)
    first, last = (v / np.linalg.norm(v, axis=1, keepdims=True) for v in (first, last))
    end = chord[:, None] * along
    axes = directions(draw, count)
    pivot = end + draw.uniform(10.0, 80.0, count)[:, None] * directions(draw, count)
    lengths = chord * draw.uniform(1.1, 1.7, count)
    angles = np.radians(np.arange(-lock, lock + step_deg / 2.0, step_deg))
    swept = np.broadcast_to(angles, (count, angles.size))
    ends = pivot[:, None, :] + turned(end - pivot, axes, swept)
    clamps = Clamps(np.zeros((count, 1, 3)), first[:, None, :], ends, turned(last, axes, swept))
    return clamps, lengths, angles.size // 2
