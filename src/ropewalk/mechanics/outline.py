"""The hole that a round rod makes in the wall of a round tube: its true outline, its size, what it takes away.

Everything is told in the tube's own axes at the hole: x along the tube, y outward, z round the tube, so that the
rod's direction is (cos lean, sin lean cos skew, sin lean sin skew). The origin lies on the tube's axis.

Examples
--------
A rod of 7 mm at 30° to the axis of a tube of 34.9 mm makes a hole 7 / sin 30° long and, measured straight, 7 mm wide.

>>> hole = hole_outline(RodInWall(34.9, 1.2, 7.0, math.radians(30.0)))
>>> round(hole.length, 3), round(hole.chord, 3), round(hole.width, 3)
(14.0, 7.0, 7.048)
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

__all__ = ["LEAST_ANGLE", "Hole", "Passage", "RodInWall", "hole_outline", "passage"]

Array = NDArray[np.float64]
#: through: it passes the whole wall; along: it runs in the wall and never leaves it; inward: it heads into the tube;
#: beside: a part of it misses the bore, so it cuts a groove; too thick: it is as thick as the bore or thicker
Passage = Literal["through", "along", "inward", "beside", "too thick"]

#: below this angle to the wall a hole would be 57 rods long: it counts as along the wall [rad]
LEAST_ANGLE = math.radians(1.0)
#: places along the hole at which the wall that is left is looked at, and points across the hole at each
_PLACES, _ACROSS = 241, 180


@dataclass(frozen=True, slots=True)
class RodInWall:
    """A straight round rod that crosses the wall of a straight round tube.

    Attributes
    ----------
    tube_diameter, wall : float
        Outside diameter of the tube and thickness of its wall [mm].
    rod_diameter : float
        [mm]
    lean : float
        Angle of the rod to the tube's axis, outward [rad].
    skew : float
        Turn of the rod's direction about the tube's axis, away from straight outward [rad].
    height : float
        How far over the outer surface, in y, the rod's axis passes the origin [mm].
    """

    tube_diameter: float
    wall: float
    rod_diameter: float
    lean: float
    skew: float = 0.0
    height: float = 0.0

    def __post_init__(self) -> None:
        """Refuse sizes that are none."""
        sizes = (self.tube_diameter, self.wall, self.rod_diameter, self.lean, self.skew, self.height)
        if not all(math.isfinite(size) for size in sizes):
            raise ValueError("a size or angle of the rod or the tube is not a finite number")
        if self.rod_diameter <= 0.0 or self.wall <= 0.0 or self.wall * 2.0 >= self.tube_diameter:
            raise ValueError(
                f"a rod of {self.rod_diameter:g} mm in a tube of {self.tube_diameter:g} mm with a wall of "
                f"{self.wall:g} mm: both diameters and the wall have to be over 0, and the wall less than half the tube"
            )

    @property
    def direction(self) -> Array:
        """Unit direction of the rod, (3,)."""
        across = math.sin(self.lean)
        return np.array([math.cos(self.lean), across * math.cos(self.skew), across * math.sin(self.skew)])


@dataclass(frozen=True, slots=True, eq=False)
class Hole:
    """What a rod cuts out of a tube's wall.

    Attributes
    ----------
    outer, inner : (n, 3) array
        Closed curves on the outer and the inner surface, the first point not repeated [mm].
    flat, inner_flat : (n, 2) array
        The same rolled flat: along the tube from the origin, and round the tube on that surface [mm].
    length : float
        Length of the outer curve along the tube [mm].
    width : float
        Its width round the tube, rolled flat [mm].
    chord : float
        Its width measured straight [mm].
    through_length : float
        Length along the tube of the outer and inner curves together: what the whole wall loses [mm].
    share : float
        The most of the wall's section that is gone in any plane square to the tube, as a share of the section (0 to 1).
    share_at : float
        Where along the tube that is [mm].
    """

    outer: Array
    inner: Array
    flat: Array
    inner_flat: Array
    length: float
    width: float
    chord: float
    through_length: float
    share: float
    share_at: float


def passage(rod: RodInWall) -> Passage:
    """Return whether a rod passes the wall, or why it makes no hole.

    Parameters
    ----------
    rod : RodInWall

    Examples
    --------
    >>> passage(RodInWall(34.9, 1.2, 7.0, math.radians(30.0)))
    'through'
    >>> passage(RodInWall(34.9, 1.2, 7.0, 0.0)), passage(RodInWall(34.9, 1.2, 33.0, 1.0))
    ('along', 'too thick')
    """
    half, bore = rod.rod_diameter / 2.0, rod.tube_diameter / 2.0 - rod.wall
    if abs(math.sin(rod.lean)) < math.sin(LEAST_ANGLE):
        return "along"
    if math.sin(rod.lean) * math.cos(rod.skew) < 0.0:
        return "inward"
    if half >= bore:
        return "too thick"
    if abs(_off_axis(rod)) + half >= bore:
        return "beside"
    return "through"


def hole_outline(rod: RodInWall, *, count: int = 360) -> Hole:
    """Return the outline of the hole that a rod cuts.

    Parameters
    ----------
    rod : RodInWall
        Rod and tube; only the wall on the side the rod heads to is cut.
    count : int
        Points of each curve.

    Raises
    ------
    ValueError
        When `passage` says that it does not pass the wall.

    Notes
    -----
    The rod's surface is the straight lines parallel to its axis; each pierces a surface of radius rho once on the way
    out. With r the rod's half thickness, lat the line's distance from the tube's axis seen along that axis, and c the
    height of the rod's axis over the tube's, phi running round the rod:
    lat = r sin phi - c sin skew, x = cot(lean) (sqrt(rho² - lat²) - c cos skew) - r cos(phi) / sin(lean), and the place
    round the tube is skew + asin(lat / rho). Exact for straight round rods and tubes; a filed edge is not counted.
    """
    why = passage(rod)
    if why != "through":
        raise ValueError(f"the rod makes no hole through the wall: {why}")
    phi = np.linspace(0.0, 2.0 * math.pi, count, endpoint=False)
    surface, bore = rod.tube_diameter / 2.0, rod.tube_diameter / 2.0 - rod.wall
    outer, flat = _curve(rod, surface, phi)
    inner, inner_flat = _curve(rod, bore, phi)
    width = float(np.ptp(flat[:, 1]))
    both = np.concatenate([outer[:, 0], inner[:, 0]])
    share, at = _most_gone(rod, float(both.min()), float(both.max()))
    return Hole(
        outer=outer,
        inner=inner,
        flat=flat,
        inner_flat=inner_flat,
        length=float(np.ptp(outer[:, 0])),
        width=width,
        chord=2.0 * surface * math.sin(width / (2.0 * surface)),
        through_length=float(np.ptp(both)),
        share=share,
        share_at=at,
    )


def _off_axis(rod: RodInWall) -> float:
    """Return how far the rod's axis passes the tube's, seen along the tube [mm]."""
    return -(rod.tube_diameter / 2.0 + rod.height) * math.sin(rod.skew)


def _curve(rod: RodInWall, radius: float, phi: Array) -> tuple[Array, Array]:
    """Return where the rod's surface pierces a cylinder about the tube's axis: in space (n, 3), and flat (n, 2)."""
    half, centre = rod.rod_diameter / 2.0, rod.tube_diameter / 2.0 + rod.height
    lateral = half * np.sin(phi) + _off_axis(rod)
    reach = np.sqrt(radius**2 - lateral**2)
    along = (math.cos(rod.lean) * (reach - centre * math.cos(rod.skew)) - half * np.cos(phi)) / math.sin(rod.lean)
    angle = rod.skew + np.arcsin(lateral / radius)
    points = np.stack([along, radius * np.cos(angle), radius * np.sin(angle)], axis=-1)
    return points, np.stack([along, radius * angle], axis=-1)


def _most_gone(rod: RodInWall, first: float, last: float) -> tuple[float, float]:
    """Return the greatest share of the wall's section that is gone between two places along the tube, and where."""
    places = np.linspace(first, last, _PLACES)
    for _ in range(2):
        gone = _gone(rod, places)
        worst = int(gone.argmax())
        step = float(places[1] - places[0])
        most, at = float(gone[worst]), float(places[worst])
        places = np.linspace(max(at - step, first), min(at + step, last), _PLACES)
    surface, bore = rod.tube_diameter / 2.0, rod.tube_diameter / 2.0 - rod.wall
    return most / (math.pi * (surface**2 - bore**2)), at


def _gone(rod: RodInWall, places: Array) -> Array:
    """Return the area of wall that is gone in planes square to the tube [mm²].

    A plane cuts the rod in an ellipse; over strips across it, the overlap of ellipse and wall is added up.
    """
    half, centre = rod.rod_diameter / 2.0, rod.tube_diameter / 2.0 + rod.height
    # strips by the sine of an angle, so that they are narrow where the ellipse is steep
    angle = (np.arange(_ACROSS) + 0.5) * math.pi / _ACROSS - math.pi / 2.0
    strip = half * np.cos(angle) * math.pi / _ACROSS
    lateral = half * np.sin(angle) + _off_axis(rod)
    outer = np.sqrt((rod.tube_diameter / 2.0) ** 2 - lateral**2)
    inner = np.sqrt((rod.tube_diameter / 2.0 - rod.wall) ** 2 - lateral**2)
    slope = math.tan(rod.lean)
    middle = centre * math.cos(rod.skew) + places[:, None] * slope
    reach = half * np.cos(angle) * slope / math.sin(rod.lean)
    overlap = np.minimum(middle + reach, outer) - np.maximum(middle - reach, inner)
    return np.asarray(np.maximum(overlap, 0.0) @ strip)
