"""Feyrer, Wire Ropes, table 1.9: EN 12385 factors (read), as the catalogue ships them and as wire.py uses them.

Metallic area A = C d^2, least breaking load F = K d^2 R/1000 kN, mass W d^2/100 kg/m.
7x7: C 0.432, K 0.388, W 0.384; 7x19: C 0.418, K 0.362, W 0.372.
1x19 has K 0.525 (EN 12385-10; from memory).
"""

import pytest

from ropewalk.bike.parts import catalogue
from ropewalk.mechanics.wire import breaking_load, metallic_area

PRINTED = {"7x7": (0.432, 0.388, 0.384), "7x19": (0.418, 0.362, 0.372)}


@pytest.mark.parametrize("name", PRINTED)
def test_the_catalogue_ships_the_printed_factors(name):
    strand = catalogue().strand(name)
    area, breaking, _ = PRINTED[name]
    assert strand.area_factor == area
    assert strand.breaking_factor == breaking


@pytest.mark.parametrize("name", PRINTED)
def test_area_load_and_mass_belong_together(name):
    # Steel weighs 7.85e-6 kg/mm3; the lay and the grease make a rope 8 to 18 % heavier than its section (estimate).
    # A rope breaks at 80 to 95 % of what its wires hold one by one (the loss by stranding; common practice).
    diameter, grade = 3.0, 1770.0
    _, _, mass_factor = PRINTED[name]
    strand = catalogue().strand(name)
    area = metallic_area(diameter, strand.area_factor)
    assert 1.08 < mass_factor * diameter**2 / 100 / (area * 1000 * 7.85e-6) < 1.18
    assert 0.80 < breaking_load(diameter, strand.breaking_factor, grade) / (area * grade) < 0.95


def test_a_single_strand_loses_less_than_a_rope():
    # K of 1x19 from memory: 0.525 against 0.597 of its section, 88 %.
    strand = catalogue().strand("1x19")
    assert strand.breaking_factor == 0.525
    assert 0.85 < strand.breaking_factor / strand.area_factor < 0.95


def test_breaking_load_in_the_units_printed():
    # Fmin = K d^2 R / 1000 kN: a 3 mm 7x7 of grade 1770 holds 0.388 * 9 * 1.77 = 6.18 kN.
    assert round(breaking_load(3.0, 0.388, 1770.0) / 1000, 2) == 6.18
