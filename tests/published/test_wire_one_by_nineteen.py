"""Breaking strength of 1x19 stainless cable of 1/16 in, as an online article on steel cable gives it (read).

500 lb in 304 steel and 480 lb in 316; the article names no standard, so this is a plausibility check of factor and
grade together, which the catalogue knows to a tenth: it is what decides whether a brake's inner outlasts a lever test.
"""

from __future__ import annotations

import math

import pytest

from ropewalk.bike.parts import catalogue
from ropewalk.mechanics.wire import breaking_load
from ropewalk.units import MM_PER_INCH, NEWTON_PER_POUND_FORCE


@pytest.mark.parametrize("pounds", [500, 480])
def test_a_sixteenth_of_an_inch_breaks_as_reckoned_within_the_spread(pounds: float) -> None:
    strand = catalogue().strand("1x19")
    load = breaking_load(MM_PER_INCH / 16, float(strand.breaking_factor), float(strand.grade))
    spread = math.hypot(strand.breaking_factor.spread / strand.breaking_factor, strand.grade.spread / strand.grade)
    assert load == pytest.approx(pounds * NEWTON_PER_POUND_FORCE, rel=spread)
