"""Loops as they are studied: what each has to keep, in which poses, and what was found of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ropewalk.mechanics.elastica import Clamps, Rods
from ropewalk.units import degrees

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class LoopCase:
    """One loop and what it has to keep.

    Attributes
    ----------
    name : str
        What messages call it.
    steer : (P,) array
        Steering angles of the sweep [rad], rising, 0 among them; a loop whose ends do not move has the 0 only.
    clamps : callable
        Takes steering angles (K,) to the clamps (K,).
    kink_radius, advised_radius : float
        Radii to keep: the first in every pose, the second in the riding range [mm].
    riding : float
        Half of the riding range [rad].
    trim : float
        What the target has over the shortest safe length [mm].
    turn_allowance : float
        How much more turn than at the shortest safe length is still tidy [rad].
    clearance : callable or None
        Takes curves (K, n, 3) and steering angles (K,) to the free distance (K,) to what it must not rub [mm].
    """

    name: str
    steer: Array
    clamps: Callable[[Array], Clamps]
    kink_radius: float
    advised_radius: float
    riding: float
    trim: float
    turn_allowance: float
    clearance: Callable[[Array, Array], Array] | None = None

    @property
    def moves(self) -> bool:
        """Whether its ends move against each other."""
        return len(self.steer) > 1

    @property
    def home(self) -> int:
        """Place of the straight-ahead pose in the sweep."""
        return int(np.argmin(np.abs(self.steer)))

    def ridden(self, steer: Array) -> Mask:
        """Return which steering angles lie in the riding range."""
        return np.asarray(np.abs(steer) <= self.riding + 1e-9)

    def required(self, steer: Array, *, advised: bool) -> Array:
        """Return the radius to keep [mm] at steering angles (K,); advised: the advised one in the riding range."""
        ridden = self.ridden(steer)
        return np.where(ridden & advised, max(self.advised_radius, self.kink_radius), self.kink_radius)


@dataclass(frozen=True, slots=True)
class Limit:
    """One end of a window: the length [mm], the steering angle that sets it [rad], and the reason in words."""

    length: float
    steer: float
    why: str


@dataclass(frozen=True, slots=True)
class Demand:
    """The shortest length each pose asks for; the first cut's uncertainty is worked out from it.

    Attributes
    ----------
    steer, length : (K,) array
        Steering angles [rad] and lengths [mm].
    taut : (K,) bool array
        Poses in which the straight chord, not a radius, sets the length.
    radius : (K,) array
        The radius to keep there [mm].
    tangents : (K, n, 3) array
        The rods' shapes; not meant for taut poses.
    """

    steer: Array
    length: Array
    taut: Mask
    radius: Array
    tangents: Array


@dataclass(frozen=True, slots=True)
class LoopWindow:
    """What was found of one loop.

    Attributes
    ----------
    case : LoopCase
    shortest, longest : Limit or None
        Ends of the window; None when no length keeps the kink radius.
    target : float
        The length to aim for; of least violation when there is no window [mm].
    keeps_advised : bool
        Whether the advised radius is kept in the riding range; otherwise only the kink radius is.
    squeezed : bool
        Whether the target had to give way to the longest tidy length.
    demand : Demand or None
        None when there is no window.
    sweep : Rods
        The loop at its target length in every pose of the sweep (P,).
    snapped : (P,) bool array
        Poses on arriving at which the loop snaps over.
    lengths : (J,) array
        Lengths across the window at which its turn is known [mm].
    turns : (J, P) array
        Turn at those lengths in every pose of the sweep [rad].
    """

    case: LoopCase
    shortest: Limit | None
    longest: Limit | None
    target: float
    keeps_advised: bool
    squeezed: bool
    demand: Demand | None
    sweep: Rods
    snapped: Mask
    lengths: Array
    turns: Array

    def turn_at(self, length: float) -> Array:
        """Return the turn in every pose (P,) at a length within the window [rad]."""
        return np.array([np.interp(length, self.lengths, column) for column in self.turns.T])

    @property
    def radius(self) -> Array:
        """Least radius at the target length in each pose (P,) [mm]; 0 where there is no shape."""
        return np.where(self.sweep.converged, self.sweep.least_radius, 0.0)


def steer_words(steer: float) -> str:
    """Return a steering angle in words.

    Examples
    --------
    >>> steer_words(-0.2094)
    '12° left'
    """
    angle = round(degrees(steer))
    if angle == 0:
        return "straight ahead"
    return f"{abs(angle)}° {'right' if angle > 0 else 'left'}"


def joined(clamps: list[Clamps]) -> Clamps:
    """Return batches of clamps (K,) as one."""
    return Clamps(
        np.concatenate([clamp.start for clamp in clamps]),
        np.concatenate([clamp.start_direction for clamp in clamps]),
        np.concatenate([clamp.end for clamp in clamps]),
        np.concatenate([clamp.end_direction for clamp in clamps]),
    )
