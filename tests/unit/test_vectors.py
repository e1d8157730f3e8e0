"""Vector helpers against the general routines."""

import numpy as np
import pytest

from ropewalk.bike.vectors import cross, unit, vector


def test_cross_and_unit_are_the_general_routines():
    first, second = vector(1.0, -2.0, 3.0), vector(0.5, 4.0, -1.0)
    assert cross(first, second) == pytest.approx(np.cross(first, second))
    assert unit(first) == pytest.approx(first / np.linalg.norm(first))


def test_vectors_cannot_be_overwritten():
    with pytest.raises(ValueError, match="read-only"):
        vector(1.0, 2.0, 3.0)[0] = 0.0
