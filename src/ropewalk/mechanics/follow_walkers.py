"""The walkers who follow rods from pose to pose: what they carry, guess and believe."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ropewalk.mechanics.elastica_batch import UnitRods
from ropewalk.mechanics.elastica_ends import Ends, spun_to_rest
from ropewalk.mechanics.vectors import unit

__all__ = [
    "ORDERS",
    "Walkers",
    "apart",
    "carried",
    "excess",
    "fading",
    "guessed",
    "jumped",
    "learn",
    "spin",
    "strain",
]

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Index = NDArray[np.intp]

# Differences of what guesses lacked that are kept, and how fast they must fall to be used.
ORDERS = 3
FALLING = 0.5
UNKNOWN = 1e9
# How far [rad] a shape may lie from where the last steps pointed, and from the last shape if there was no step yet.
NEAR_GUESS = 0.1
NEAR_LAST = 0.25
# Energy that may differ from the work done: as it is, and as a share of the energy and of the work (unit length and
# stiffness).
ENERGY_SLACK = 0.02
ENERGY_SHARE = 0.002
WORK_SHARE = 0.03
# Where firmness falls below this (unit length and stiffness), or below half its change, a rod may have given way.
FADING = 0.15
# A swing [rad] in a smallest step that is a jump whatever the energy says.
SWING = 1.0


@dataclass(slots=True, eq=False)
class Walkers:
    """Where each walker is and what shape it carries; the arrays are overwritten as they go.

    Attributes
    ----------
    row, way : (W,) array of int
        Which rod is followed, and whether up (1) or down (-1) the poses.
    place, stride : (W,) array
        Where the walker is and how far it will try to go, in poses.
    rods : UnitRods
        The rods where the walkers are.
    tangents : (W, n, 3) array
    ends : Ends
    lacks : (ORDERS, W, n, 3) array
        What the carried shape lacked in the last step, and its differences over the steps before.
    rise : (W, 3) array
        Of the force in the last step.
    firmness : (W,) array
    lack_stride : (W,) array
        Stride of the last step; nothing where there was none to learn from.
    stuck, lost, snapped : (W,) array of bool
        Needs to be let go; has no shape here; has snapped over since the last pose.
    """

    row: Index
    way: Index
    place: Array
    stride: Array
    rods: UnitRods
    tangents: Array
    ends: Ends
    lacks: Array
    rise: Array
    firmness: Array
    lack_stride: Array
    stuck: Flags
    lost: Flags
    snapped: Flags


def carried(places: Array, tangents: Array, before: UnitRods, after: UnitRods) -> Array:
    """Carry shapes along with their clamps: each tangent follows the nearer clamp the more.

    Parameters
    ----------
    places : (n,) array
        Nodes.
    tangents : (W, n, 3) array
    before, after : UnitRods

    Returns
    -------
    (W, n, 3) array
        Not of unit length.
    """
    share = places[:, None]
    first, last = (after.first - before.first)[:, None, :], (after.last - before.last)[:, None, :]
    return np.asarray(tangents + (1.0 - share) * first + share * last)


def guessed(walkers: Walkers, who: Index, plain: Array, rods: UnitRods) -> tuple[Array, Array]:
    """Add to carried shapes what they lacked in the steps before, with its differences while those fall.

    Parameters
    ----------
    walkers : Walkers
    who : (W,) array of int
    plain : (W, n, 3) array
        Carried shapes.
    rods : UnitRods
        Where the step leads.

    Returns
    -------
    tangents : (W, n, 3) array
    force : (W, 3) array
        Taken to go on rising as it did.
    """
    before = walkers.lack_stride[who]
    ratio = np.where(before > 0.0, walkers.stride[who] / np.where(before > 0.0, before, 1.0), 0.0)
    guess = plain + walkers.lacks[0, who] * (ratio**2)[:, None, None]
    size = np.abs(walkers.lacks[:, who]).max(axis=(2, 3))
    steady = ratio == 1.0
    for order in range(1, ORDERS):
        steady &= size[order] < FALLING * size[order - 1]
        guess += walkers.lacks[order, who] * steady[:, None, None]
    guess = unit(guess)
    guess[:, 0], guess[:, -1] = rods.first, rods.last
    return guess, walkers.ends.force[who] + walkers.rise[who] * ratio[:, None]


def learn(walkers: Walkers, who: Index, lack: Array, rise: Array) -> None:
    """Note what carried shapes lacked, and its differences over the steps before as far as those were even.

    Parameters
    ----------
    walkers : Walkers
    who : (W,) array of int
    lack : (W, n, 3) array
    rise : (W, 3) array
        Of the force.
    """
    stride = walkers.stride[who]
    same = (walkers.lack_stride[who] == stride)[:, None, None]
    for order in range(ORDERS):
        lack, walkers.lacks[order, who] = np.where(same, lack - walkers.lacks[order, who], UNKNOWN), lack
    walkers.lack_stride[who], walkers.rise[who] = stride, rise


def fading(before: Array, after: Array) -> Flags:
    """Tell where a rod may have given way between two stable shapes: firmness is small, or fell to little."""
    return np.asarray(np.minimum(before, after) < 0.5 * np.abs(before - after) + FADING)


def spin(walkers: Walkers, who: Index, rods: UnitRods) -> None:
    """Spin rods that are free to, to where the clamps are about to lead them: to ``rods``."""
    free = np.flatnonzero(walkers.rods.axis[who].any(axis=1))
    if free.size == 0:
        return
    who = who[free]
    walkers.tangents[who], ends = spun_to_rest(walkers.tangents[who], walkers.ends[who], walkers.rods[who], rods[free])
    walkers.ends.put(who, ends)
    walkers.lack_stride[who] = 0.0


def apart(guess: Array, found: Array) -> Array:
    """Give the largest angle between the tangents of two shapes [rad], of shape (W,)."""
    return np.asarray(np.arccos(np.clip(np.einsum("wic,wic->wi", guess, found).min(axis=1, initial=1.0), -1.0, 1.0)))


def excess(reached: Ends, ends: Ends, work: Array) -> Array:
    """Measure how far the energy gained differs from the work done, of shape (W,); at 1 it is not believed.

    Parameters
    ----------
    reached, ends : Ends
        After and before the step.
    work : (W,) array
        Done by the clamps in between.
    """
    limit = ENERGY_SLACK + ENERGY_SHARE * np.minimum(reached.energy, ends.energy) + WORK_SHARE * np.abs(work)
    share = np.abs(reached.energy - ends.energy - work) / limit
    return np.where(np.isfinite(share), share, np.inf)


def strain(angle: Array, share: Array, known: Flags) -> Array:
    """Measure how near a step is to not being believed, of shape (W,); at 1 it is not.

    Parameters
    ----------
    angle : (W,) array
        Between guess and shape found [rad].
    share : (W,) array
        Excess of energy.
    known : (W,) array of bool
        Whether the guess had steps to go by.
    """
    return np.maximum(angle / np.where(known, NEAR_GUESS, NEAR_LAST), share)


def jumped(angle: Array, share: Array) -> Flags:
    """Tell where a smallest step went to another branch, of shape (W,).

    A taut rod gains energy faster than the rule of the trapezium can tell, but hardly moves; a nearly free one swings
    far at no cost. Only both together, or a swing through most of a right angle, are a jump.
    """
    return np.asarray(((share >= 1.0) & (angle > NEAR_GUESS)) | (angle > SWING))
