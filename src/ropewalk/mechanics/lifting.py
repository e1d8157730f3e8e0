"""A flat path lifted out of its plane: how far aside a taut line runs on its way, between given limits.

Examples
--------
Along a straight path of 100, free to 5 aside for its first half, a line from 0 to 10 aside has to wait:

>>> flat = np.array([[0.0, 0.0], [50.0, 0.0], [100.0, 0.0]])
>>> lifted(flat, np.array([0.0, -5.0, 0.0]), np.array([0.0, 5.0, 20.0]), 0.0, 20.0)[:, 2].round(3).tolist()
[0.0, 5.0, 20.0]
"""

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import Polygon

from ropewalk.mechanics.corridor import taut_path

Floats = NDArray[np.float64]

#: limits that are passed by less than this are kept [mm]
GRAZE = 1e-6


def lifted(points: Floats, low: Floats, high: Floats, first: float, last: float) -> Floats:
    """Return a path of a plane with the shortest way aside between limits.

    Parameters
    ----------
    points : (n, 2) array
        The flat path [mm]; more points than corners where the limits change on the way.
    low, high : (n,) arrays
        How far aside the line may lie at each point [mm]; between two points the limits run straight. Limits
        of neighbouring points that exclude each other are widened to what lies between them.
    first, last : float
        How far aside it starts and ends [mm].

    Returns
    -------
    (n, 3) array
        [mm]

    Notes
    -----
    The flat path is kept and unrolled: along it and aside is a plane again, in which the taut path is found. The
    shortest path in space is shorter by a second order of the slopes.
    """
    steps = np.hypot(*np.diff(points, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    if along[-1] <= 0.0:
        return np.column_stack([points, np.full(len(points), last)])
    aside = first + along / along[-1] * (last - first)
    low, high = low.copy(), high.copy()
    low[0], high[0] = min(low[0], first), max(high[0], first)
    low[-1], high[-1] = min(low[-1], last), max(high[-1], last)
    if (aside < low - GRAZE).any() or (aside > high + GRAZE).any():
        shut = np.flatnonzero((low[1:] > high[:-1]) | (high[1:] < low[:-1]))
        for place in shut:
            low[place : place + 2] = low[place : place + 2].min()
            high[place : place + 2] = high[place : place + 2].max()
        apart = np.concatenate([[True], steps > GRAZE])
        room = Polygon(
            np.concatenate([np.column_stack([along, low])[apart], np.column_stack([along, high])[apart][::-1]])
        )
        path = taut_path(room.buffer(GRAZE, join_style="mitre"), (0.0, first), (along[-1], last))
        if path.reached:
            aside = np.interp(along, path.points[:, 0], path.points[:, 1])
    return np.column_stack([points, aside])
