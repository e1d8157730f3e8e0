"""Legendre-Gauss-Lobatto nodes on the unit interval: quadrature, differentiation and interpolation.

A smooth function given at the ``n`` nodes is differentiated, integrated and interpolated by fixed matrices whose error
falls faster than any power of ``n``. All positions are fractions of the interval, 0 at its start and 1 at its end.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.polynomial import legendre
from numpy.typing import NDArray

__all__ = ["LobattoGrid", "accumulation", "interpolation", "lobatto_grid"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class LobattoGrid:
    """Nodes of one count with the matrices that act on values at them.

    Attributes
    ----------
    nodes : (n,) array
        Places on [0, 1], both ends included.
    weights : (n,) array
        Quadrature weights, exact for polynomials of degree 2n - 3; they add up to 1.
    derivative : (n, n) array
        Values at the nodes to the derivative at the nodes.
    stiffness : (n, n) array
        ``derivative.T @ diag(weights) @ derivative``: the integral of a product of two derivatives, exact for the
        interpolating polynomials.
    barycentric : (n,) array
        Weights of the barycentric interpolation formula.
    """

    nodes: Array
    weights: Array
    derivative: Array
    stiffness: Array
    barycentric: Array


@lru_cache(maxsize=64)
def lobatto_grid(count: int) -> LobattoGrid:
    """Lay out the grid of ``count`` nodes.

    Parameters
    ----------
    count : int
        Number of nodes, at least 2.

    Returns
    -------
    LobattoGrid
        Cached; its arrays are read-only.

    Notes
    -----
    The inner nodes are the zeros of the derivative of the Legendre polynomial of degree n - 1, polished by Newton's
    rule; weights 2 / (n (n - 1) P(x)^2) on [-1, 1] (Abramowitz & Stegun 25.4.32), halved for the unit interval.

    Examples
    --------
    >>> lobatto_grid(3).weights * 6
    array([1., 4., 1.])
    """
    if count < 2:
        raise ValueError(f"a Lobatto grid has at least 2 nodes, not {count}")
    degree = count - 1
    unit = np.zeros(count)
    unit[degree] = 1.0
    slope = legendre.legder(unit)
    inner = np.sort(np.real(legendre.legroots(slope))) if degree > 1 else np.empty(0)
    for _ in range(3):
        inner = inner - legendre.legval(inner, slope) / legendre.legval(inner, legendre.legder(slope))
    inner = (inner - inner[::-1]) / 2
    x = np.concatenate(([-1.0], inner, [1.0]))
    height = legendre.legval(x, unit)
    weights = 1.0 / (degree * count * height**2)
    gaps = x[:, None] - x[None, :] + np.eye(count)
    derivative = height[:, None] / (height[None, :] * gaps)
    np.fill_diagonal(derivative, 0.0)
    # Rows of a differentiation matrix add up to nothing; setting the diagonal so keeps constants exactly flat.
    np.fill_diagonal(derivative, -derivative.sum(axis=1))
    derivative *= 2.0
    stiffness = derivative.T @ (weights[:, None] * derivative)
    # The barycentric weights of Lobatto nodes are 1 / P(x) but for a common factor.
    arrays = ((1.0 + x) / 2, weights, derivative, (stiffness + stiffness.T) / 2, 1.0 / height)
    nodes, weights, derivative, stiffness, barycentric = (np.ascontiguousarray(a, dtype=np.float64) for a in arrays)
    for array in (nodes, weights, derivative, stiffness, barycentric):
        array.flags.writeable = False
    return LobattoGrid(nodes, weights, derivative, stiffness, barycentric)


def interpolation(grid: LobattoGrid, places: Array) -> Array:
    """Give the matrix that takes values at the nodes to values at other places.

    Parameters
    ----------
    grid : LobattoGrid
        The nodes.
    places : (k,) array
        Places on [0, 1].

    Returns
    -------
    (k, n) array
        Barycentric interpolation of the second kind (Berrut & Trefethen, SIAM Review 46 (2004) 501).
    """
    gaps = np.asarray(places, dtype=float)[:, None] - grid.nodes[None, :]
    hits = gaps == 0.0
    terms = grid.barycentric / np.where(hits, 1.0, gaps)
    on_node = hits.any(axis=1)
    terms[on_node] = hits[on_node]
    matrix = terms / terms.sum(axis=1, keepdims=True)
    return np.ascontiguousarray(matrix, dtype=np.float64)


def accumulation(grid: LobattoGrid, places: Array) -> Array:
    """Give the matrix that takes values at the nodes to the integral from 0 to other places.

    Parameters
    ----------
    grid : LobattoGrid
        The nodes.
    places : (k,) array
        Places on [0, 1].

    Returns
    -------
    (k, n) array
        Exact for the interpolating polynomial.
    """
    count = grid.nodes.size
    x = 2 * np.asarray(places, dtype=float) - 1
    tables = legendre.legvander(x, count)
    degrees = np.arange(count)
    # The integral of P_k from -1 to x is (P_{k+1} - P_{k-1}) / (2k + 1), and x + 1 for k = 0.
    integrals = np.empty((x.size, count))
    integrals[:, 0] = x + 1
    integrals[:, 1:] = (tables[:, 2:] - tables[:, : count - 1]) / (2 * degrees[1:] + 1)
    coefficients = np.linalg.inv(legendre.legvander(2 * grid.nodes - 1, count - 1))
    return np.ascontiguousarray(integrals @ coefficients / 2, dtype=np.float64)
