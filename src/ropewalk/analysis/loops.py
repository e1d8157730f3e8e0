"""Loops as they are studied: what each has to keep, in which poses, and what was found of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ropewalk.bike.poses import Walks, nearest_poses, ridden
from ropewalk.mechanics.elastica import Clamps, Rods

if TYPE_CHECKING:
    from ropewalk.analysis.loopgrid import LoopGrid

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class LoopCase:
    """One loop and what it has to keep.

    Attributes
    ----------
    name : str
        What messages call it.
    walks : Walks
        The poses (P, 5) of its sweep and the ways through them; a loop whose ends do not move has the zero pose only.
    low, high : (5,) array
        Least and greatest value of each coordinate of a pose.
    clamps : callable
        Takes poses (K, 5) to the clamps (K,).
    kink_radius, advised_radius : float
        Radii to keep: the first in every pose, the second in the riding range [mm].
    riding : float
        Half of the riding range [rad].
    trim : float
        What the target has over the shortest safe length [mm].
    turn_allowance : float
        How much more turn than at the shortest safe length is still tidy [rad].
    clearance : callable or None
        Takes curves (K, n, 3) and poses (K, 5) to the free distance (K,) to what it must not rub [mm].
    slides : bool
        Whether housing slides at either end, so that its neighbours share its slack.
    """

    name: str
    walks: Walks
    low: Array
    high: Array
    clamps: Callable[[Array], Clamps]
    kink_radius: float
    advised_radius: float
    riding: float
    trim: float
    turn_allowance: float
    clearance: Callable[[Array, Array], Array] | None = None
    slides: bool = False

    @property
    def poses(self) -> Array:
        """Poses of its sweep, (P, 5)."""
        return self.walks.values

    @property
    def moves(self) -> bool:
        """Whether its ends move against each other."""
        return len(self.poses) > 1

    @property
    def home(self) -> int:
        """Place of the zero pose in the sweep."""
        return self.walks.home

    def ridden(self, poses: Array) -> Mask:
        """Return which poses (K, 5) lie in the riding range."""
        return ridden(poses, self.riding)

    def places_of(self, poses: Array) -> NDArray[np.intp]:
        """Return which pose of its sweep stands for each of the bike's (K, 5); what does not move it is left out."""
        moving = self.poses.max(axis=0) > self.poses.min(axis=0)
        return nearest_poses(self.poses, poses * moving)

    def required(self, poses: Array, *, advised: bool) -> Array:
        """Return the radius to keep [mm] in poses (K, 5); advised: the advised one in the riding range."""
        ridden = self.ridden(poses)
        return np.where(ridden & advised, max(self.advised_radius, self.kink_radius), self.kink_radius)


@dataclass(frozen=True, slots=True, eq=False)
class Limit:
    """One end of a window: the length [mm], the pose (5,) that sets it, and the reason in words."""

    length: float
    pose: Array
    why: str


@dataclass(frozen=True, slots=True)
class Demand:
    """The shortest length each pose asks for; the first cut's uncertainty is worked out from it.

    Attributes
    ----------
    poses : (K, 5) array
    length : (K,) array
        Their lengths [mm].
    taut : (K,) bool array
        Poses in which the straight chord, not a radius, sets the length.
    radius : (K,) array
        The radius to keep there [mm].
    tangents : (K, n, 3) array
        The rods' shapes; not meant for taut poses.
    """

    poses: Array
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
    grid : LoopGrid or None
        The loop at many lengths, kept where housing slides.
    highs : (P,) array
        Longest length in each pose of the sweep by itself, worked out where housing slides [mm].
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
    grid: LoopGrid | None = None
    highs: Array = field(default_factory=lambda: np.empty(0))

    @property
    def lows(self) -> Array:
        """Shortest length in each pose of the sweep (P,) [mm]; the sweep's own poses come first in the demand."""
        assert self.demand is not None
        return self.demand.length[: len(self.case.poses)]

    def turn_at(self, length: float) -> Array:
        """Return the turn in every pose (P,) at a length within the window [rad]."""
        return between(self.lengths, self.turns, length)

    def turn_in(self, poses: Array) -> Array:
        """Return the turn at the target length in each of the bike's poses (K, 5) [rad]."""
        return np.asarray(self.sweep.turn[self.case.places_of(poses)])

    @property
    def radius(self) -> Array:
        """Least radius at the target length in each pose (P,) [mm]; 0 where there is no shape."""
        return np.where(self.sweep.converged, self.sweep.least_radius, 0.0)


def between(lengths: Array, table: Array, length: float) -> Array:
    """Return the row of a table (J, P) at a length between those of its rows (J,), which rise; at an end beyond it."""
    if len(lengths) == 1:
        return np.asarray(table[0])
    low = int(np.clip(np.searchsorted(lengths, length, side="right") - 1, 0, len(lengths) - 2))
    share = np.clip((length - lengths[low]) / (lengths[low + 1] - lengths[low]), 0.0, 1.0)
    return np.asarray(table[low] + share * (table[low + 1] - table[low]))


def joined(clamps: Sequence[Clamps], axis: int = 0) -> Clamps:
    """Return batches of clamps as one."""
    return Clamps(
        np.concatenate([clamp.start for clamp in clamps], axis=axis),
        np.concatenate([clamp.start_direction for clamp in clamps], axis=axis),
        np.concatenate([clamp.end for clamp in clamps], axis=axis),
        np.concatenate([clamp.end_direction for clamp in clamps], axis=axis),
    )
