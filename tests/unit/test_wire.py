"""Stretch of a wire against the integral, and area by geometry."""

import math

import pytest
from scipy.integrate import quad

from ropewalk.mechanics.wire import (
    axial_stiffness,
    gross_modulus,
    metallic_area,
    modulus_on_metal,
    stretch,
    stretch_decaying,
)


@pytest.mark.parametrize("exponent", [1e-12, 1e-6, 0.1, 0.5, 2.5, -0.7])
def test_the_stretch_of_a_decaying_tension_is_its_integral(exponent):
    tension, length, stiffness = 150.0, 1700.0, 1.9e5
    integral, _ = quad(lambda s: tension * math.exp(-exponent * s / length) / stiffness, 0.0, length, epsrel=1e-12)
    assert stretch_decaying(tension, exponent, length, stiffness) == pytest.approx(integral, rel=1e-10)


def test_cutting_a_line_in_two_does_not_change_its_stretch():
    whole = stretch_decaying(100.0, 0.6, 1000.0, 1e5)
    near = stretch_decaying(100.0, 0.24, 400.0, 1e5)
    far = stretch_decaying(100.0 * math.exp(-0.24), 0.36, 600.0, 1e5)
    assert whole == pytest.approx(near + far, rel=1e-12)


def test_nineteen_wires_fill_nineteen_twenty_fifths_of_their_circle():
    # A straight strand of 1 + 6 + 12 equal wires is five wires across.
    wire = 0.3
    nineteen = 19 * math.pi * wire**2 / 4
    assert metallic_area(5 * wire, 19 / 25 * math.pi / 4) == pytest.approx(nineteen, rel=1e-12)


def test_both_moduli_stretch_the_same():
    diameter, factor, gross = 1.6, 0.597, 110e3
    on_metal = modulus_on_metal(gross, factor) * metallic_area(diameter, factor)
    assert on_metal == pytest.approx(axial_stiffness(diameter, gross), rel=1e-12)


def test_a_stretch_factor_gives_the_stretch_it_stands_for():
    # W G / D^2 percent, in any units.
    load, factor, diameter, length = 40.0, 3.0e-5, 1.5, 800.0
    percent = load * factor / diameter**2
    assert stretch(load, length, axial_stiffness(diameter, gross_modulus(factor))) == pytest.approx(
        percent / 100 * length, rel=1e-12
    )
