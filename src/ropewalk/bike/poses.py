"""Poses: one value for each thing that moves on a bike, and the sweep through all of them.

A pose is a row of five numbers in the order of `COORDINATES`. The straight-ahead pose of an unladen bike, unfolded and
with its post up, is all zeros.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ropewalk.bike.framefile import Frame
from ropewalk.units import degrees

Array = NDArray[np.float64]

#: what a pose is made of: steering angle [rad], fork and rear travel [mm], fold angle [rad], post sunk in [mm]
COORDINATES = ("steer", "fork", "rear", "fold", "post")
STEER, FORK, REAR, FOLD, POST = range(5)
#: keys of a pose as faces show it, and what turns a coordinate into its unit
SHOWN: Mapping[str, tuple[str, float]] = {
    "steer": ("steer_deg", 180.0 / math.pi),
    "fork": ("fork_mm", 1.0),
    "rear": ("rear_mm", 1.0),
    "fold": ("fold_deg", 180.0 / math.pi),
    "post": ("post_mm", 1.0),
}

#: steering angle to a side that is swept when no lock is given [rad]
ASSUMED_LOCK = math.radians(90.0)
#: steering angle to a side met while riding, and while shifting [rad]
RIDING = math.radians(45.0)
INDEXING = math.radians(30.0)
#: largest step between poses of a sweep: steering and fold [rad], travel [mm]
STEPS = (math.radians(5.0), 10.0, 10.0, math.radians(5.0), 10.0)
#: steps in which the worst pose is refined, in the same order
FINE = np.array([math.radians(1.0), 2.0, 2.0, math.radians(1.0), 2.0])


@dataclass(frozen=True, slots=True, eq=False)
class Poses:
    """The poses a bike is swept through.

    Attributes
    ----------
    values : (P, 5) array
        Every pose, in the order of `COORDINATES`.
    steer : (S,) array
        Steering angles from left lock to right lock, 0 among them [rad].
    low, high : (5,) array
        Least and greatest value of each coordinate.
    fold_steer : float
        Where the bars point while the bike is folded [rad].
    lock : float
        Largest steering angle to a side [rad].
    lock_assumed : bool
        Whether the lock is assumed, as the chart gives none.
    """

    values: Array
    steer: Array
    low: Array
    high: Array
    fold_steer: float
    lock: float
    lock_assumed: bool

    @property
    def straight(self) -> int:
        """Index of the straight-ahead pose."""
        return int(np.argmin(np.abs(self.values / FINE).sum(axis=1)))

    @property
    def riding(self) -> NDArray[np.bool_]:
        """Which poses are met while riding, (P,)."""
        return ridden(self.values, RIDING)

    @property
    def moving(self) -> tuple[str, ...]:
        """Names of the coordinates that take more than one value."""
        return tuple(name for name, low, high in zip(COORDINATES, self.low, self.high, strict=True) if high - low > 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class Walks:
    """The poses that matter to two bodies which some of the coordinates move against each other.

    Attributes
    ----------
    values : (P, 5) array
        Poses, each once; coordinates that do not matter are 0.
    home : int
        Index of the zero pose.
    walks : tuple of (S,) arrays of int
        Ways through these poses in small steps.
    starts : tuple of int
        Place of the zero pose in each walk.
    """

    values: Array
    home: int
    walks: tuple[NDArray[np.intp], ...]
    starts: tuple[int, ...]


def nearest_pose(values: Array, pose: Array) -> int:
    """Return which of some poses (P, 5) lies nearest to one (5,), counted in fine steps of each coordinate."""
    return int(nearest_poses(values, pose[np.newaxis])[0])


def nearest_poses(values: Array, poses: Array) -> NDArray[np.intp]:
    """Return which of some poses (P, 5) lies nearest to each of others (K, 5), counted as by `nearest_pose`: (K,)."""
    return np.asarray((np.abs(values[np.newaxis] - poses[:, np.newaxis]) / FINE).sum(axis=2).argmin(axis=1))


def ridden(values: Array, riding: float) -> NDArray[np.bool_]:
    """Return which poses (P, 5) are met while riding: bars within the riding range [rad] to a side, not folded."""
    return np.asarray((np.abs(values[..., STEER]) <= riding + 1e-9) & (np.abs(values[..., FOLD]) <= 1e-9))


def pose_words(values: Array) -> str:
    """Return a pose in words.

    Parameters
    ----------
    values : (5,) array

    Examples
    --------
    >>> pose_words(np.array([-0.2094, 0.0, 0.0, 0.0, 0.0]))
    '12° left'
    >>> pose_words(np.array([0.0, 140.0, 0.0, 0.0, 0.0]))
    'fork 140 mm in'
    """
    words = []
    angle = round(degrees(values[STEER]))
    if angle:
        words.append(f"{abs(angle)}° {'right' if angle > 0 else 'left'}")
    for at, text in ((FORK, "fork {:.0f} mm in"), (REAR, "rear wheel {:.0f} mm up")):
        if round(float(values[at])):
            words.append(text.format(values[at]))
    if round(degrees(values[FOLD])):
        words.append(f"folded by {degrees(values[FOLD]):.0f}°")
    if round(float(values[POST])):
        words.append(f"post {values[POST]:.0f} mm down")
    return ", ".join(words) or "straight ahead"


def shown_pose(values: Array, moving: Collection[str] = ("steer",)) -> dict[str, float]:
    """Return a pose (5,) as faces show it: angles in degrees, the steering angle always, others where they move."""
    return {
        SHOWN[name][0]: float(value) * SHOWN[name][1]
        for name, value in zip(COORDINATES, values, strict=True)
        if name == "steer" or name in moving
    }


def pose_of(values: Mapping[str, float]) -> Array:
    """Return a pose (5,) from named coordinates; those left out are 0.

    Examples
    --------
    >>> pose_of({"fork": 140.0}).tolist()
    [0.0, 140.0, 0.0, 0.0, 0.0]
    """
    return np.array([float(values.get(name, 0.0)) for name in COORDINATES])


def poses(frame: Frame) -> Poses:
    """Return the sweep of a bike.

    Parameters
    ----------
    frame : Frame
        The frame file: the chart's lock (±90° where it has none), its travel and its fold.

    Returns
    -------
    Poses
        The bars from lock to lock in steps of at most 5°, with ±30° and ±45° among them where the lock reaches that
        far, at every corner and the middle of what else moves; then the fold from open to shut.
    """
    travel, lock = frame.travel, lock_of(frame)
    steer = _steering(lock)
    fold = abs(math.radians(frame.fold[0].turn_deg)) if frame.fold else 0.0
    fold_steer = math.radians(frame.fold[0].steer_deg) if frame.fold else 0.0
    high = np.array([lock, float(travel.fork or 0.0), float(travel.rear or 0.0), fold, float(travel.post or 0.0)])
    low = np.array([-lock, 0.0, 0.0, 0.0, 0.0])
    rows = [
        np.array([angle, *others[:2], 0.0, others[2]])
        for others in itertools.product(*(_levels(high[at]) for at in (FORK, REAR, POST)))
        for angle in steer
    ]
    rows += [np.array([fold_steer, 0.0, 0.0, angle, 0.0]) for angle in _ramp(0.0, fold, STEPS[FOLD])[1:]]
    return Poses(np.array(rows), steer, low, high, fold_steer, lock, frame.chart.lock_deg is None)


def lock_of(frame: Frame) -> float:
    """Return the largest steering angle to a side [rad]: the chart's, or 90° where it has none."""
    given = frame.chart.lock_deg
    return ASSUMED_LOCK if given is None else math.radians(given)


def walks_of(sweep: Poses, matters: Collection[str]) -> Walks:
    """Return the poses and ways that matter to two bodies.

    Parameters
    ----------
    sweep : Poses
        The bike's.
    matters : collection of str
        Coordinates that move the two against each other.

    Notes
    -----
    Each way starts at the zero pose. Where the bars matter, one way goes to each corner and the middle of what else
    matters and turns the bars there to both locks; the fold is a way of its own, with the bars as they are folded.
    """
    box = [at for at in (FORK, REAR, POST) if COORDINATES[at] in matters and sweep.high[at] > 0.0]
    turns = "steer" in matters and sweep.lock > 0.0
    ways: list[tuple[list[Array], list[Array]]] = []
    for levels in itertools.product(*(_levels(float(sweep.high[at])) for at in box)):
        corner = np.zeros(5)
        corner[box] = levels
        run = _straight(np.zeros(5), corner)
        if turns:
            right = [_with(corner, STEER, angle) for angle in sweep.steer if angle > 0.0]
            left = [_with(corner, STEER, angle) for angle in sweep.steer[::-1] if angle < 0.0]
            ways.append((run + left, run + right))
        elif len(levels) and any(levels):
            ways.append(([], run))
    if "fold" in matters and sweep.high[FOLD] > 0.0:
        bent = _with(np.zeros(5), STEER, sweep.fold_steer if turns else 0.0)
        shut = _with(bent, FOLD, float(sweep.high[FOLD]))
        ways.append(([], _straight(np.zeros(5), bent) + _straight(bent, shut)))
    return _joined(ways)


def _joined(ways: list[tuple[list[Array], list[Array]]]) -> Walks:
    """Return walks with every pose listed once."""
    index: dict[tuple[float, ...], int] = {}
    values: list[Array] = []

    def place(pose: Array) -> int:
        key = tuple(np.round(pose, 9).tolist())
        if key not in index:
            index[key] = len(values)
            values.append(pose)
        return index[key]

    walks, starts = [], []
    for left, right in ways or [([], [])]:
        # in rising order of steering where there is one way only, as it is drawn and read
        back = [place(pose) for pose in reversed(left)]
        home = place(np.zeros(5))
        walks.append(np.array([*back, home, *(place(pose) for pose in right)], dtype=np.intp))
        starts.append(len(back))
    return Walks(np.array(values), index[(0.0,) * 5], tuple(walks), tuple(starts))


def _steering(lock: float) -> Array:
    ranges = [min(INDEXING, lock), min(RIDING, lock), lock]
    right, last = [np.zeros(1)], 0.0
    for end in ranges:
        right.append(_ramp(last, end, STEPS[STEER])[1:])
        last = end
    half = np.concatenate(right)
    return np.concatenate((-half[:0:-1], half))


def _levels(high: float) -> list[float]:
    """Return the values of a coordinate that are swept against the others: none of it, half, all."""
    return [0.0, high / 2.0, high] if high > 0.0 else [0.0]


def _ramp(low: float, high: float, step: float) -> Array:
    # a hair off, so that 30° is six steps of 5° in spite of rounding
    return np.linspace(low, high, math.ceil(abs(high - low) / step - 1e-9) + 1)


def _straight(first: Array, last: Array) -> list[Array]:
    """Return the poses after `first` up to `last`, all coordinates moving together in small steps."""
    count = math.ceil(float((np.abs(last - first) / np.array(STEPS)).max()) - 1e-9)
    return [first + (last - first) * share for share in np.linspace(0.0, 1.0, count + 1)[1:]]


def _with(pose: Array, at: int, value: float) -> Array:
    changed = pose.copy()
    changed[at] = value
    return changed
