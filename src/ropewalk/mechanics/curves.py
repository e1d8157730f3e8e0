"""Measures of curves given by points: turn, arc length, least radius, even spacing. Batched over leading axes."""

import numpy as np
from numpy.typing import NDArray

__all__ = ["arc_length", "least_radius", "resample", "turn"]

Array = NDArray[np.float64]


def _legs(points: Array) -> tuple[Array, Array]:
    legs = np.diff(np.asarray(points, dtype=float), axis=-2)
    return legs, np.linalg.norm(legs, axis=-1)


def arc_length(points: Array) -> Array:
    """Return the length of polylines.

    Parameters
    ----------
    points : (..., n, 3) array
        [mm]

    Returns
    -------
    (...) array
        [mm]

    Examples
    --------
    >>> float(arc_length(np.array([[0.0, 0.0, 0.0], [3.0, 0.0, 0.0], [3.0, 4.0, 0.0]])))
    7.0
    """
    return np.asarray(_legs(points)[1].sum(axis=-1))


def turn(points: Array) -> Array:
    """Return the total angle polylines turn through: the sum of the angles between neighbouring legs.

    Parameters
    ----------
    points : (..., n, 3) array
        [mm]. A point that repeats its neighbour is passed over.

    Returns
    -------
    (...) array
        [rad]

    Examples
    --------
    >>> corner = np.array([[0.0, 0.0, 0.0], [3.0, 0.0, 0.0], [3.0, 4.0, 0.0]])
    >>> round(float(np.degrees(turn(corner))), 9)
    90.0
    """
    legs, sizes = _legs(points)
    # A leg of no length has no direction: it takes that of the leg before it, so that the angle is counted once.
    place = np.where(sizes > 0.0, np.arange(sizes.shape[-1]), 0)
    place = np.maximum.accumulate(place, axis=-1)
    legs = np.take_along_axis(legs, place[..., None], axis=-2)
    one, two = legs[..., :-1, :], legs[..., 1:, :]
    sine = np.linalg.norm(np.cross(one, two), axis=-1)
    cosine = np.einsum("...c,...c->...", one, two)
    return np.asarray(np.arctan2(sine, cosine).sum(axis=-1))


def least_radius(points: Array) -> Array:
    """Return the least radius of the circles through three neighbouring points.

    Parameters
    ----------
    points : (..., n, 3) array
        [mm], at least three of them.

    Returns
    -------
    (...) array
        [mm], infinite for a straight line.

    Notes
    -----
    For points on a smooth curve at even steps the error falls with the square of the step.

    Examples
    --------
    >>> angle = np.linspace(0.0, 1.0, 9)
    >>> arc = 50.0 * np.stack([np.cos(angle), np.sin(angle), 0.0 * angle], axis=-1)
    >>> round(float(least_radius(arc)), 9)
    50.0
    """
    legs, sizes = _legs(points)
    one, two = legs[..., :-1, :], legs[..., 1:, :]
    across = np.linalg.norm(one + two, axis=-1)
    area = np.linalg.norm(np.cross(one, two), axis=-1)
    product = sizes[..., :-1] * sizes[..., 1:] * across
    bent = area > 1e-12 * product
    # The circumradius is the product of the sides over four times the area; `area` here is twice that of the triangle.
    radius = np.where(bent, product / np.where(bent, 2.0 * area, 1.0), np.inf)
    return np.asarray(radius.min(axis=-1))


def resample(points: Array, count: int) -> Array:
    """Place points at even steps of arc length along polylines.

    Parameters
    ----------
    points : (..., n, 3) array
        [mm]
    count : int
        Number of points, both ends included.

    Returns
    -------
    (..., count, 3) array
        [mm]

    Examples
    --------
    >>> resample(np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [4.0, 0.0, 0.0]]), 3)[:, 0]
    array([0., 2., 4.])
    """
    points = np.asarray(points, dtype=float)
    sizes = _legs(points)[1]
    arc = np.concatenate([np.zeros((*sizes.shape[:-1], 1)), np.cumsum(sizes, axis=-1)], axis=-1)
    wanted = arc[..., -1:] * np.linspace(0.0, 1.0, count)
    passed = (arc[..., None, :] <= wanted[..., :, None]).sum(axis=-1) - 1
    cell = np.clip(passed, 0, sizes.shape[-1] - 1)
    left = np.take_along_axis(arc, cell, axis=-1)
    size = np.take_along_axis(sizes, cell, axis=-1)
    share = np.clip((wanted - left) / np.where(size > 0.0, size, 1.0), 0.0, 1.0)[..., None]
    before = np.take_along_axis(points, cell[..., None], axis=-2)
    after = np.take_along_axis(points, cell[..., None] + 1, axis=-2)
    return np.asarray((1.0 - share) * before + share * after)
