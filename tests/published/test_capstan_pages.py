"""The capstan law as three pages print it.

- An engineering handbook page on bollards (read; its formula line has a misprint, the figures are right).
- The encyclopedia article "Capstan equation" (read, and recomputed with mpmath).
- One home-made rig of 2016 with gear wire in lined housing (read; its author calls it not laboratory grade): a
  plausibility check, not a standard.
"""

import math

import mpmath
import pytest

from ropewalk.bike.parts import catalogue
from ropewalk.mechanics.capstan import Contact, pull_needed, pull_through, release_through


def test_half_a_turn_on_a_bollard():
    assert round(pull_through(500.0, [Contact(math.pi, 0.4)])[-1]) == 142


def test_effort_over_load_of_one_turn():
    assert round(release_through(1.0, [Contact(2 * math.pi, 0.5)])[0], 3) == 0.043


def test_five_turns_at_six_tenths():
    (hold,) = pull_needed(1.0, [Contact(10 * math.pi, 0.6)])
    assert round(hold) == 153_552_935
    assert hold == pytest.approx(float(mpmath.exp(mpmath.mpf("0.6") * 10 * mpmath.pi)), rel=1e-12)


def test_the_rig_lies_within_the_spread_of_new_lined_housing():
    new = catalogue().friction("lined housing", "new")
    assert abs(new - 0.06) <= new.spread + 1e-12


@pytest.mark.parametrize(("friction", "left"), [(0.06, 12.5), (0.20, 4.2)])
def test_a_spring_of_20_newtons_over_450_degrees(friction, left):
    # Computed from the closed form, 20 exp(-mu 5 pi/2), to one decimal.
    contacts = [Contact(math.radians(150), friction)] * 3
    assert round(release_through(20.0, contacts)[0], 1) == left
