"""What a span is on a built bike: a loop between two mouths, or a course of known path."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
Vector = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Loop:
    """Housing free in the air between two mouths, each on its body.

    Attributes
    ----------
    start_body, end_body : str
    start, end : (3,) array
        Mouths [mm] in the axes of their bodies.
    start_direction, end_direction : (3,) array
        Unit tangents of travel from lever to work.
    """

    start_body: str
    end_body: str
    start: Vector
    start_direction: Vector
    end: Vector
    end_direction: Vector


@dataclass(frozen=True, slots=True)
class Corner:
    """A bend of an inside span.

    Attributes
    ----------
    place : (3,) array
        Middle of the bend [mm] in the span's body's axes.
    radius : float
        Largest radius that stays between the walls [mm]; infinite when radii were not asked for.
    turn : float
        [rad]
    at : str
        What it bends round, in words: a joint of two tubes, or an obstacle.
    """

    place: Vector
    radius: float
    turn: float
    at: str


@dataclass(frozen=True, slots=True)
class Course:
    """A span of known path: strapped, bare, inside or rigid.

    Attributes
    ----------
    body : str
        The body it runs on.
    points : (n, 3) array
        Its path [mm] in that body's axes.
    length : float
        Shortest length [mm].
    slack : float
        What it can hold beyond that, the upper end of its window [mm].
    turn : float
        Turn of the path, angles at its ends included [rad].
    least_radius : float
        Smallest bend radius along it [mm]; infinite when straight.
    reached : bool
        False when no way leads through the tubes.
    reason, advice : str
        Why not, and what to do, in words; empty when reached.
    corners : tuple of Corner
        The bends of an inside span between its ends, in order.
    """

    body: str
    points: Points
    length: float
    slack: float
    turn: float
    least_radius: float
    reached: bool = True
    reason: str = ""
    advice: str = ""
    corners: tuple[Corner, ...] = ()
