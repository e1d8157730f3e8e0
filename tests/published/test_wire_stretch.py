"""A strand maker's technical page: elastic stretch W G / D^2 percent, in lb and in, with a worked example (read).

G: 1x19 stainless 7.79e-6, 7x7 1.20e-5, 7x19 1.62e-5. Example: 20 in of 7x19 stainless, 1/8 in, under 500 lb
become 20.10368 in.
"""

import pytest

from ropewalk.bike.parts import catalogue
from ropewalk.mechanics.wire import axial_stiffness, gross_modulus, stretch
from ropewalk.units import MM_PER_INCH, NEWTON_PER_POUND_FORCE

FACTORS = {"1x19": 7.79e-6, "7x7": 1.20e-5, "7x19": 1.62e-5}


def test_the_worked_example():
    stiffness = axial_stiffness(1 / 8, gross_modulus(FACTORS["7x19"]))
    assert round(20.0 + stretch(500.0, 20.0, stiffness), 5) == 20.10368


@pytest.mark.parametrize("name", FACTORS)
def test_the_catalogue_modulus_is_the_page_rounded(name):
    # The page's figures in N/mm2 are 112.6, 73.1 and 54.2 thousand.
    page = gross_modulus(FACTORS[name]) * NEWTON_PER_POUND_FORCE / MM_PER_INCH**2
    assert catalogue().strand(name).gross_modulus == pytest.approx(page, rel=0.05)
