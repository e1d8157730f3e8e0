"""Euler, Methodus inveniendi lineas curvas, additamentum I, De curvis elasticis (1744): the rectangular elastica.

The curve whose ends are pulled at right angles to it. Euler gives its half length and its breadth as integrals,
A = 1.3110 and B = 0.5991 of its half height, and that A B is a quarter of pi. Constants to the digits of the closed
form.
"""

import numpy as np
import pytest

from ropewalk.mechanics.elastica import Clamps, stationary_planar
from ropewalk.mechanics.lobatto import lobatto_grid

A = 1.311028777146
B = 0.599070117368


def test_the_product_of_length_and_breadth_is_a_quarter_of_pi() -> None:
    # A rod clamped in line whose chord is B / A of its length: at its quarters it is square to the chord, and a quarter
    # is Euler's curve from its middle to its end.
    nodes = 48
    x = np.array([1.0, 0.0, 0.0])
    wave = 0.5 * np.pi * np.sin(2.0 * np.pi * lobatto_grid(nodes).nodes)
    start = np.column_stack([np.cos(wave), np.sin(wave), 0.0 * wave])
    length = 4.0 * A
    rods = stationary_planar(
        Clamps(np.zeros(3), x, 4.0 * B * x, x), np.array(length), np.array([0.0, 0.0, 1.0]), tangents=start
    )
    assert rods.converged
    along, across, _ = rods.points(5)[1]
    assert across == pytest.approx(1.0, abs=1e-9)
    assert along == pytest.approx(B, abs=1e-9)
    assert (length / 4.0 / across) * (along / across) == pytest.approx(np.pi / 4.0, abs=1e-9)
    # Curvature grows with the distance from the line of force: y² of the height gives the classical 2 y per square.
    curvature = rods.curvature(5)
    assert curvature[0] == pytest.approx(2.0, abs=1e-6)
    ahead, behind = rods.points(4001)[1001], rods.points(4001)[999]
    assert (ahead - behind)[0] / (ahead - behind)[1] == pytest.approx(0.0, abs=1e-6)
