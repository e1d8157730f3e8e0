"""Products of stacked vectors; on small stacks several times quicker than the library's general ones."""

import numpy as np
from numpy.typing import NDArray

__all__ = ["cross", "dot", "norm", "spun", "unit"]

Array = NDArray[np.float64]


def dot(one: Array, two: Array) -> Array:
    """Return scalar products.

    Parameters
    ----------
    one, two : (..., 3) array

    Returns
    -------
    (...) array
    """
    return np.asarray(np.einsum("...c,...c->...", one, two))


def norm(vectors: Array) -> Array:
    """Return lengths.

    Parameters
    ----------
    vectors : (..., 3) array

    Returns
    -------
    (...) array
    """
    return np.asarray(np.sqrt(np.einsum("...c,...c->...", vectors, vectors)))


def unit(vectors: Array) -> Array:
    """Return vectors brought to unit length; those of no length stay.

    Parameters
    ----------
    vectors : (..., 3) array

    Returns
    -------
    (..., 3) array

    Examples
    --------
    >>> unit(np.array([[0.0, 3.0, 4.0], [0.0, 0.0, 0.0]]))
    array([[0. , 0.6, 0.8],
           [0. , 0. , 0. ]])
    """
    length = norm(vectors)
    return np.asarray(vectors / np.where(length > 0.0, length, 1.0)[..., None])


def cross(one: Array, two: Array) -> Array:
    """Return vector products.

    Parameters
    ----------
    one, two : (..., 3) array
        Broadcast with each other.

    Returns
    -------
    (..., 3) array

    Examples
    --------
    >>> cross(np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0]))
    array([0., 0., 1.])
    """
    product = np.empty(np.broadcast_shapes(one.shape, two.shape))
    for k, i, j in ((0, 1, 2), (1, 2, 0), (2, 0, 1)):
        product[..., k] = one[..., i] * two[..., j] - one[..., j] * two[..., i]
    return product


def spun(vectors: Array, axis: Array, angle: Array) -> Array:
    """Turn vectors about an axis (Rodrigues' formula).

    Parameters
    ----------
    vectors : (..., 3) array
    axis : (..., 3) array
        Of unit length.
    angle : (...) array
        Right-handed about the axis [rad].

    Returns
    -------
    (..., 3) array

    Examples
    --------
    >>> x, z = np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0])
    >>> spun(x, z, np.array(np.pi / 2)).round(9) + 0.0
    array([0., 1., 0.])
    """
    cosine, sine = np.cos(angle)[..., None], np.sin(angle)[..., None]
    along = dot(vectors, axis)[..., None] * axis
    return np.asarray(cosine * vectors + sine * cross(axis, vectors) + (1.0 - cosine) * along)
