"""Follow rods through a row of poses as a real rod would go: from the home pose outwards, always on the same branch.

Each step starts from the shape before it. A step counts only if the new shape is in equilibrium, is a minimum, and has
gained no other energy than the work the clamps did on the way; else it is repeated in smaller steps. What cannot be
done in small steps either is a jump to another branch, and is reported as a snap-over.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ropewalk.mechanics.elastica import PLANNING_NODES, relax, relax_from
from ropewalk.mechanics.rods import Clamps, Rods

__all__ = ["Sweep", "follow"]

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Sweep:
    """Shapes of a batch of rods through a row of poses.

    Attributes
    ----------
    rods : Rods
        Of batch shape (B, S).
    snapped : (B, S) array of bool
        The shape jumped to another branch on arriving at this pose from its neighbour on the home side.
    """

    rods: Rods
    snapped: Flags


def follow(
    clamps: Clamps,
    length: Array,
    home: int | NDArray[np.intp],
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
    length = np.asarray(length, dtype=float)
    rods, poses = np.broadcast_shapes(clamps.shape, (length.size, 1))
    clamps = clamps.spread((rods, poses))
    row = np.arange(rods)
    begin = np.broadcast_to(np.asarray(home), (rods,))
    at_home = clamps[row, begin]
    first = relax(at_home, length, nodes=nodes) if tangents is None else relax_from(at_home, length, tangents)
    shapes = np.full((rods, poses, *first.tangents.shape[1:]), np.nan)
    shapes[row, begin] = first.tangents
    snapped = np.zeros((rods, poses), dtype=bool)
    for way in (1, -1):
        for step in range(1, poses):
            here = begin + way * step
            going = np.flatnonzero((here >= 0) & (here < poses))
            if going.size == 0:
                break
            now, before = here[going], here[going] - way
            found = relax_from(clamps[going, now], length[going], shapes[going, before])
            shapes[going, now] = found.tangents
            change = np.abs(found.tangents - shapes[going, before]).max(axis=(1, 2))
            snapped[going, now] = change > 0.7
    return Sweep(relax_from(clamps, length[:, None], shapes), snapped)
