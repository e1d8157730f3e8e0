"""The bar's curve: its centre line in straight lines and arcs, and places on and along it.

Axes as the bike's, origin in the middle of the clamp: x forward, y up, z to the rider's right [mm].
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ropewalk.bike.barshapes import (
    base_segments,
    drop_segments,
    extension_segments,
    flat_segments,
    swept_segments,
)
from ropewalk.bike.cockpit import Bar, BaseBar, DropBar, SweptBar
from ropewalk.bike.framefile import Side
from ropewalk.bike.segments import Segment
from ropewalk.bike.vectors import Vector, unit, vector
from ropewalk.errors import FrameFileError
from ropewalk.units import clock_angle

#: steps in which arcs are sampled [rad]; chords of 2° fall short of their arcs by 1 part in 20,000
ARC_STEP = math.radians(2.0)
#: one hour on the clock [rad]
CLOCK_HOUR = clock_angle(1.0)


@dataclass(frozen=True, slots=True, eq=False)
class BarCurve:
    """Centre line of half a bar or of an extension.

    A bar is counted from its end (0) to the middle of the clamp (`length`); an extension from its front end to its
    rear end, past its clamp. Kept as the right half, walked from the clamp or rear end outwards; the left half is its
    mirror image.
    """

    side: Side
    shape: str
    #: outside diameter where the levers sit [mm]
    diameter: float
    #: length of the centre line [mm]
    length: float
    #: distances of the segments' starts from the clamp and the whole length, (n + 1,) [mm]
    starts: NDArray[np.float64]
    #: start points, start tangents (outwards) and directions of bending, (n, 3)
    origins: Vector
    tangents: Vector
    bends: Vector
    #: curvatures, 0 for straight lines, (n,) [1/mm]
    curvatures: NDArray[np.float64]
    #: direction of 12 o'clock at the segments' starts, (n, 3)
    ups: Vector
    #: how far the centre line goes on past the clamp: 0 for a bar [mm]
    behind: float = 0.0

    @property
    def stem(self) -> float:
        """How far the clamp lies from the end, along the centre line [mm]."""
        return self.length - self.behind

    @property
    def end_name(self) -> str:
        """What its outer end is called: bar end or extension end."""
        return "extension end" if self.shape == "extension" else "bar end"

    def at(self, along: float, *, beyond: float = 0.0) -> tuple[Vector, Vector]:
        """Return the point at `along` mm from the bar's end, and the unit tangent towards the stem, (3,) each.

        Parameters
        ----------
        along : float
            Distance from the bar's end [mm].
        beyond : float
            How far past the bar's end and its middle the place may lie, where the bar goes on straight [mm]; leave it
            0 to check what somebody wrote.

        Raises
        ------
        FrameFileError
            When the place lies beyond the bar's end or its middle.
        """
        points, tangents, _ = self._evaluate(self._outwards(np.array([along]), beyond))
        return points[0], -tangents[0]

    def cross_at(self, along: float, *, beyond: float = 0.0) -> tuple[Vector, Vector, Vector, Vector]:
        """Return point, unit tangent towards the stem, and the directions of 12 and 3 o'clock, (3,) each, as `at`."""
        points, tangents, ups = self._evaluate(self._outwards(np.array([along]), beyond))
        return points[0], -tangents[0], ups[0], self._radials(tangents, ups, 3.0)[0]

    def radial(self, along: float, clock: float, *, beyond: float = 0.0) -> Vector:
        """Return the unit vector out of the bar at a clock place, square to it, (3,).

        Parameters
        ----------
        along : float
            Distance from the bar's end [mm].
        clock : float
            Place round the bar [h]: at the stem 12 up, 3 forward, 6 down, 9 back on both halves.
        beyond : float
            As in `at`.

        Notes
        -----
        Clock places are carried from the stem without twist (a rotation-minimising frame): a line at one clock place
        runs along the bar without winding round it. On the hooks of a drop bar 12 is therefore the outside of the
        curve and 3 the side of the middle plane.
        """
        _, tangents, ups = self._evaluate(self._outwards(np.array([along]), beyond))
        radial: Vector = self._radials(tangents, ups, clock)[0]
        return radial

    def offset_path(
        self, along_from: float, along_to: float, clock: float, height: float, *, beyond: float = 0.0
    ) -> Vector:
        """Return the path of a line that lies along the bar.

        Parameters
        ----------
        along_from, along_to : float
            Where it starts and ends, from the bar's end [mm]; either may be the greater.
        clock : float
            Its place round the bar [h].
        height : float
            Its centre over the bar's surface [mm].
        beyond : float
            As in `at`.

        Returns
        -------
        ndarray, shape (k, 3)
            Points of its centre [mm], with arcs sampled every 2°.
        """
        ends = self._outwards(np.array([along_from, along_to]), beyond)
        distances = self._samples(float(ends.min()), float(ends.max()))
        points, tangents, ups = self._evaluate(distances)
        path: Vector = points + (self.diameter / 2.0 + height) * self._radials(tangents, ups, clock)
        # more `along` is nearer to the stem
        return path if ends[0] <= ends[1] else path[::-1]

    def beside(self, along: Vector, clock: Vector, off: Vector) -> Vector:
        """Return points beside the bar, each at its own place round it.

        Parameters
        ----------
        along : (k,) array
            Distances from the bar's end [mm].
        clock : (k,) array
            Places round the bar [h], as in `radial`.
        off : (k,) array
            Distances from the bar's centre line [mm].

        Returns
        -------
        (k, 3) array
            [mm]
        """
        points, tangents, ups = self._evaluate(self._outwards(along))
        beside: Vector = points + off[:, None] * self._radials(tangents, ups, clock[:, None])
        return beside

    def locate(self, point: Vector) -> tuple[float, float, float]:
        """Return where a point beside the bar lies: distance from the bar's end [mm], clock [h], off the centre [mm].

        Parameters
        ----------
        point : (3,) array
            [mm]
        """
        distance = np.array([self._nearest(point)])
        centres, tangents, ups = self._evaluate(distance)
        away = point - centres[0]
        up = float(away @ ups[0])
        forward = float(away @ self._radials(tangents, ups, 3.0)[0])
        clock = math.atan2(forward, up) / CLOCK_HOUR % 12.0
        return self.length - float(distance[0]), clock, math.hypot(up, forward)

    def _nearest(self, point: Vector) -> float:
        """Return the distance from the clamp of the centre line's place nearest to a point [mm]."""
        x, y, z = np.asarray(point).tolist()
        away = np.array((x, y, z if self.side == "right" else -z)) - self.origins
        ahead, aside = np.sum(away * self.tangents, axis=1), np.sum(away * self.bends, axis=1)
        round_ = np.where(self.curvatures > 0.0, self.curvatures, 1.0)
        # on an arc the nearest place lies in line with its centre
        run = np.where(self.curvatures > 0.0, np.arctan2(ahead, 1.0 / round_ - aside) / round_, ahead)
        distances = self.starts[:-1] + np.clip(run, 0.0, np.diff(self.starts))
        centres, _, _ = self._evaluate(distances)
        return float(distances[np.argmin(np.sum((centres - point) ** 2, axis=1))])

    def points(self) -> Vector:
        """Return the centre line from the bar's end to the clamp, with arcs sampled every 2°, (k, 3) [mm]."""
        points, _, _ = self._evaluate(self._samples(0.0, self.length)[::-1])
        return points

    def mirrored(self) -> BarCurve:
        """Return the other half of the same bar."""
        return replace(self, side="left" if self.side == "right" else "right")

    def _outwards(self, along: NDArray[np.float64], beyond: float = 0.0) -> NDArray[np.float64]:
        """Return distances from the clamp for distances from the bar's end."""
        outside = (along < -beyond) | (along > self.length + beyond)
        if outside.any():
            wrong = along[outside][0]
            what, where = ("extension", "rear end") if self.shape == "extension" else ("half of the bar", "stem")
            raise FrameFileError(
                f"along is {wrong:g} mm from the {self.end_name}: the {self.side} {what} is {self.length:.0f} mm long "
                f"from its end to {'its' if self.shape == 'extension' else 'the'} {where}; measure along it again"
            )
        return self.length - along

    def _samples(self, low: float, high: float) -> NDArray[np.float64]:
        """Return distances from the clamp between two of them: the segments' ends, and arcs in steps of 2°."""
        cuts = [low, high]
        for start, end, curvature in zip(self.starts[:-1], self.starts[1:], self.curvatures, strict=True):
            first, last = max(start, low), min(end, high)
            if first < last:
                count = max(1, math.ceil((last - first) * curvature / ARC_STEP))
                cuts.extend(np.linspace(first, last, count + 1).tolist())
        return np.unique(cuts)

    def _evaluate(self, distances: NDArray[np.float64]) -> tuple[Vector, Vector, Vector]:
        """Return points, outward tangents and 12 o'clock at distances from the clamp, (k, 3) each, on this half."""
        index = np.clip(np.searchsorted(self.starts, distances, side="right") - 1, 0, self.curvatures.size - 1)
        run = (distances - self.starts[index])[:, None]
        curvature = self.curvatures[index][:, None]
        tangent, bend, up = self.tangents[index], self.bends[index], self.ups[index]
        angle = run * curvature
        cos, sin = np.cos(angle), np.sin(angle)
        # sin(a)/k and (1 − cos(a))/k, which are the run and 0 on a straight line
        round_ = np.where(curvature > 0.0, curvature, 1.0)
        ahead = np.where(curvature > 0.0, sin / round_, run)
        aside = np.where(curvature > 0.0, (1.0 - cos) / round_, 0.0)
        points = self.origins[index] + ahead * tangent + aside * bend
        turned_tangent = cos * tangent + sin * bend
        turned_bend = cos * bend - sin * tangent
        up_in_bend = np.sum(up * bend, axis=1, keepdims=True)
        turned_up = up + up_in_bend * (turned_bend - bend)
        if self.side == "left":
            mirror = np.array([1.0, 1.0, -1.0])
            return points * mirror, turned_tangent * mirror, turned_up * mirror
        return points, turned_tangent, turned_up

    def _radials(self, tangents: Vector, ups: Vector, clock: float | Vector) -> Vector:
        angle = np.asarray(clock) * (CLOCK_HOUR if self.side == "right" else -CLOCK_HOUR)
        u, v, w = ups.T
        x, y, z = tangents.T
        # 3 o'clock is 12 o'clock × tangent outwards on the right half, and the other way round on the left
        forward = np.stack((v * z - w * y, w * x - u * z, u * y - v * x), axis=1)
        radials: Vector = np.cos(angle) * ups + np.sin(angle) * forward
        return radials


def bar_curve(bar: Bar, side: Side) -> BarCurve:
    """Return half a bar's centre line.

    Parameters
    ----------
    bar : DropBar, FlatBar, SweptBar or BaseBar
        The bar, as the frame file gives it.
    side : "left" or "right"
        The rider's side.

    Returns
    -------
    BarCurve
        From the bar's end to the middle of the clamp, turned up by the bar's roll.

    Raises
    ------
    FrameFileError
        When a bar of these figures cannot be bent.
    """
    if isinstance(bar, DropBar):
        segments = drop_segments(bar)
    elif isinstance(bar, SweptBar):
        segments = swept_segments(bar)
    elif isinstance(bar, BaseBar):
        segments = base_segments(bar)
    else:
        segments = flat_segments(bar)
    return _curve(segments, side, bar.shape, float(bar.diameter), float(bar.roll_deg))


def extension_curve(bar: Bar, side: Side) -> BarCurve | None:
    """Return one extension's centre line, or None for a bar without any.

    Parameters
    ----------
    bar : Bar
        The bar, as the frame file gives it.
    side : "left" or "right"
        The rider's side.

    Returns
    -------
    BarCurve or None
        From its front end to its rear end, in axes with their origin in the middle of the base bar's clamp.

    Raises
    ------
    FrameFileError
        When an extension of these figures cannot be bent.

    Notes
    -----
    12 o'clock is up, 3 the side of the middle plane, on both.
    """
    given = bar.extensions if isinstance(bar, BaseBar) else None
    if given is None:
        return None
    segments = extension_segments(given)
    made = _curve(segments, side, "extension", float(given.diameter), float(bar.roll_deg))
    return replace(made, behind=float(given.behind))


def _curve(segments: Sequence[Segment], side: Side, shape: str, diameter: float, roll_deg: float) -> BarCurve:
    """Return a curve of segments, turned up about the clamp."""
    roll = math.radians(roll_deg)
    cos, sin = math.cos(roll), math.sin(roll)
    turn = np.array([[cos, sin, 0.0], [-sin, cos, 0.0], [0.0, 0.0, 1.0]])
    lengths = [segment.length for segment in segments]
    starts = np.concatenate(([0.0], np.cumsum(lengths)))
    bends = np.array([segment.bend for segment in segments]) @ turn
    tangents = np.array([segment.tangent for segment in segments]) @ turn
    return BarCurve(
        side=side,
        shape=shape,
        diameter=diameter,
        length=float(starts[-1]),
        starts=starts,
        origins=np.array([segment.origin for segment in segments]) @ turn,
        tangents=tangents,
        bends=bends,
        curvatures=np.array([segment.curvature for segment in segments]),
        ups=_carried(segments, tangents, bends),
    )


def _carried(segments: Sequence[Segment], tangents: Vector, bends: Vector) -> Vector:
    """Carry 12 o'clock from the clamp outwards without twist; return it at each segment's start, (n, 3)."""
    x, y, z = tangents[0].tolist()
    # as plumb as a direction square to the start can be
    up = unit(vector(-x * y, x * x + z * z, -y * z))
    ups = []
    for segment, tangent, bend in zip(segments, tangents, bends, strict=True):
        ups.append(up)
        angle = segment.length * segment.curvature
        if angle > 0.0:
            turned_bend = math.cos(angle) * bend - math.sin(angle) * tangent
            up = up + float(up @ bend) * (turned_bend - bend)
    return np.array(ups)
