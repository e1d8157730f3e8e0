"""Mattiasson, Numerical results from large deflection beam and frame problems analysed by means of elliptic integrals,
Int. J. Numer. Meth. Eng. 17 (1981) 145-153, table 1: a cantilever with a transverse load at its tip.

Printed to five decimals for the load P L² / EI; read in tests that quote the table. The free tip carries no moment, so
a cantilever and its image through the tip are one rod clamped at both ends, twice as long, whose end force is the load.
"""

import numpy as np
import pytest
from scipy.optimize import root

from ropewalk.mechanics.elastica import Clamps, Rods, stationary_planar
from ropewalk.mechanics.lobatto import lobatto_grid

NODES = 36
X = np.array([1.0, 0.0, 0.0])


def cantilever_and_image(shift: np.ndarray) -> Rods:
    """Solve the double rod, a cantilever of unit length and its image, for the place of its far end."""
    bend = 0.5 * np.sin(np.pi * lobatto_grid(NODES).nodes)
    start = np.column_stack([np.cos(bend), np.sin(bend), 0.0 * bend])
    end = np.array([shift[0], shift[1], 0.0])
    return stationary_planar(Clamps(np.zeros(3), X, end, X), np.array(2.0), np.array([0.0, 0.0, 1.0]), tangents=start)


@pytest.mark.parametrize(("load", "w", "u", "angle"), [(1.0, 0.30172, 0.05643, 0.46135), (2.0, 0.49346, 0.16064, None)])
def test_table_1(load: float, w: float, u: float, angle: float | None) -> None:
    found = root(
        lambda shift: cantilever_and_image(shift).end_force[:2] - [0.0, load],
        x0=[1.98 * np.cos(0.3 * load), 1.98 * np.sin(0.3 * load)],
        tol=1e-11,
    )
    assert found.success
    rods = cantilever_and_image(found.x)
    assert rods.converged
    tip = rods.points(3)[1]
    assert tip[1] == pytest.approx(w, abs=5.1e-6)
    assert 1.0 - tip[0] == pytest.approx(u, abs=5.1e-6)
    if angle is not None:
        hop = rods.points(8001)[4001] - rods.points(8001)[3999]
        assert np.arctan2(hop[1], hop[0]) == pytest.approx(angle, abs=5.1e-6)
