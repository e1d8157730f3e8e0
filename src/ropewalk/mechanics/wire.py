"""Stiffness, stretch and strength of stranded wire.

Symbols: d `diameter` [mm], C `area_factor`, K `breaking_factor`, R `grade` [N/mm2], E modulus, A area.
EN 12385 gives the metallic area as C d^2 and the least breaking load as K d^2 R. Because the lay of a strand gives
way, its stretch is told by a modulus on the full circle pi d^2/4, the gross modulus.

Examples
--------
>>> stiffness = axial_stiffness(1.5, 110e3)
>>> round(stretch(100.0, 1700.0, stiffness), 2)
0.87
"""

import math


def metallic_area(diameter: float, area_factor: float) -> float:
    """Return the cross-section of steel in a wire, C d^2 [mm2] (EN 12385)."""
    return area_factor * diameter**2


def breaking_load(diameter: float, breaking_factor: float, grade: float) -> float:
    """Return the least breaking load of a wire, K d^2 R [N] (EN 12385, which prints it in kN).

    Examples
    --------
    >>> round(breaking_load(1.5, 0.525, 1770.0))
    2091
    """
    return breaking_factor * diameter**2 * grade


def axial_stiffness(diameter: float, gross_modulus: float) -> float:
    """Return the force per unit strain of a wire, E pi d^2/4 with E on the full circle [N]."""
    return gross_modulus * math.pi * diameter**2 / 4.0


def gross_modulus(stretch_factor: float) -> float:
    """Return the modulus on the full circle [force per area] from a maker's stretch factor.

    Parameters
    ----------
    stretch_factor : float
        G in: stretch in percent = W G / D^2, W the load and D the diameter, in whatever units G was given for.

    Returns
    -------
    float
        400 / (pi G), in the load's unit over the square of the diameter's.
    """
    return 400.0 / (math.pi * stretch_factor)


def modulus_on_metal(gross: float, area_factor: float) -> float:
    """Return the modulus on the metallic area [N/mm2] that stretches as the gross modulus on the full circle does."""
    return gross * math.pi / 4.0 / area_factor


def stretch(tension: float, length: float, stiffness: float) -> float:
    """Return the elastic stretch [mm] of a line under one tension, T L / EA.

    Parameters
    ----------
    tension : float
        Tension beyond that at rest [N].
    length : float
        Length [mm].
    stiffness : float
        EA, force per unit strain [N].
    """
    return tension * length / stiffness


def stretch_decaying(tension_in: float, exponent: float, length: float, stiffness: float) -> float:
    """Return the elastic stretch [mm] of a line whose tension decays evenly along it.

    Parameters
    ----------
    tension_in : float
        Tension at the end that pulls [N].
    exponent : float
        Friction times turn over the whole length, mu theta [1]; a negative one lets the tension grow.
    length : float
        Length [mm].
    stiffness : float
        EA, force per unit strain [N].

    Notes
    -----
    With the turn spread evenly, T(s) = T0 exp(-mu theta s/L), and the integral of T/EA over the length L is
    T0 L / EA (1 - exp(-mu theta)) / (mu theta).

    Examples
    --------
    >>> stretch_decaying(100.0, 0.0, 1000.0, 1e5) == stretch(100.0, 1000.0, 1e5)
    True
    """
    mean = 1.0 if exponent == 0.0 else -math.expm1(-exponent) / exponent
    return stretch(tension_in * mean, length, stiffness)
