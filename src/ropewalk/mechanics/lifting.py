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

Floats = NDArray[np.float64]

#: points nearer to each other than this are one [mm]
GRAZE = 1e-6
#: slopes that differ by less are the same
SLOPE_GIVE = 1e-12


def lifted(points: Floats, low: Floats, high: Floats, first: float, last: float) -> Floats:
    """Return a path of a plane with the shortest way aside between limits.

    Parameters
    ----------
    points : (n, 2) array
        The flat path [mm]; more points than corners where the limits change on the way.
    low, high : (n,) arrays
        How far aside the line may lie at each point but the ends [mm]; between two points the limits run straight.
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
    low, high = low.copy(), high.copy()
    low[0] = high[0] = first
    low[-1] = high[-1] = last
    # the ends are kept, so a point that falls together with the last one goes
    apart = np.concatenate([[True], steps > GRAZE])
    apart[1:-1] &= along[-1] - along[1:-1] > GRAZE
    apart[-1] = True
    turns = _string(along[apart], low[apart], high[apart])
    return np.column_stack([points, np.interp(along, turns[:, 0], turns[:, 1])])


def _string(along: Floats, low: Floats, high: Floats) -> Floats:
    """Return where a string pulled tight between lower and upper limits turns, its ends included, (m, 2).

    From each turn the cone of slopes that pass all limits so far is narrowed; where it closes, the string turns at the
    limit that narrowed it last from the other side.
    """
    place, height = 0, low[0]
    turns = [(along[0], height)]
    while place < len(along) - 1:
        run = along[place + 1 :] - along[place]
        lower, upper = (low[place + 1 :] - height) / run, (high[place + 1 :] - height) / run
        least, most = np.maximum.accumulate(lower), np.minimum.accumulate(upper)
        closed = int((least > most + SLOPE_GIVE).argmax())
        if closed == 0:
            place, height = len(along) - 1, low[-1]
        elif least[closed] > most[closed - 1]:
            # the furthest of the upper limits that narrowed the cone to this slope
            place += 1 + int(np.flatnonzero(upper[:closed] <= most[closed - 1] + SLOPE_GIVE)[-1])
            height = high[place]
        else:
            place += 1 + int(np.flatnonzero(lower[:closed] >= least[closed - 1] - SLOPE_GIVE)[-1])
            height = low[place]
        turns.append((along[place], height))
    return np.array(turns)
