"""Scenes: plain shapes with roles, that a writer turns into a picture; nothing here knows how that is done.

A view holds shapes in the bike's own millimetres, seen from one side. A scene is a sheet of paper with everything
where it belongs, in millimetres of the paper. In both x points right and y up.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

Points = NDArray[np.float64]
Align = Literal["left", "middle", "right"]
Sign = Literal["disc", "square", "triangle", "diamond", "cross", "wedge", "bar"]


@dataclass(frozen=True, slots=True, eq=False)
class Polyline:
    """A stroke along points (n, 2); its width in the units of the points, None for the one of its role.

    `line` is the place of the line it belongs to, `tag` that of the piece of housing.
    """

    points: Points
    role: str
    width: float | None = None
    line: int | None = None
    tag: str | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Area:
    """A filled shape with an outline: its rings (n, 2), holes among them, by the even-odd rule."""

    rings: tuple[Points, ...]
    role: str
    line: int | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Circle:
    """A circle about a centre (2,)."""

    centre: Points
    radius: float
    role: str
    line: int | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Mark:
    """A small sign at a place (2,); its size is millimetres of paper at any scale."""

    centre: Points
    sign: Sign
    size: float
    role: str
    line: int | None = None
    name: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Label:
    """One line of text: where its baseline starts, has its middle or ends (2,), and its size in mm of paper."""

    at: Points
    text: str
    size: float
    role: str = "text"
    align: Align = "left"
    bold: bool = False
    line: int | None = None


Shape: TypeAlias = Polyline | Area | Circle | Mark | Label


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        """Its width."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Its height."""
        return self.top - self.bottom

    @property
    def corners(self) -> Points:
        """Its corners, (4, 2)."""
        return np.array(
            [[self.left, self.bottom], [self.right, self.bottom], [self.right, self.top], [self.left, self.top]]
        )

    def overlaps(self, other: Box, gap: float = 0.0) -> bool:
        """Whether two boxes are nearer to each other than a gap."""
        return (
            self.left < other.right + gap
            and other.left < self.right + gap
            and self.bottom < other.top + gap
            and other.bottom < self.top + gap
        )

    def holds(self, other: Box) -> bool:
        """Whether another box lies inside."""
        return (
            self.left <= other.left
            and self.bottom <= other.bottom
            and other.right <= self.right
            and other.top <= self.top
        )

    def shrunk(self, by: float) -> Box:
        """Return the box with each side moved inwards."""
        return Box(self.left + by, self.bottom + by, self.right - by, self.top - by)


@dataclass(frozen=True, slots=True, eq=False)
class Wanted:
    """A note that a view wants beside one of its lines; where it goes is settled on the paper.

    Attributes
    ----------
    text : tuple of str
        Its lines of text.
    role : str
        tag, look or stop.
    line : int
        Place of the line it speaks of.
    path : (n, 2) array
        Where it may point to; a single point when it means just that.
    """

    text: tuple[str, ...]
    role: str
    line: int
    path: Points


@dataclass(frozen=True, slots=True, eq=False)
class View:
    """What is seen from one side, in the bike's millimetres, and the notes wanted beside it.

    Attributes
    ----------
    name : str
    backdrop : tuple of Shape
        The bike.
    lines : tuple of Polyline
        The lines' spans, far ones first.
    marks : tuple of Mark or Circle
        Stations and what else lies over the lines.
    wanted : tuple of Wanted
    box : Box
        What has to be seen.
    """

    name: str
    backdrop: tuple[Shape, ...]
    lines: tuple[Polyline, ...]
    marks: tuple[Mark | Circle, ...]
    wanted: tuple[Wanted, ...]
    box: Box


@dataclass(frozen=True, slots=True)
class Fit:
    """How a view lies on the paper: paper = scale · view + (right, up)."""

    name: str
    scale: float
    right: float
    up: float

    def points(self, given: ArrayLike) -> Points:
        """Return points (..., 2) of the view on the paper."""
        there: Points = self.scale * np.asarray(given, dtype=np.float64) + np.array([self.right, self.up])
        return there

    def back(self, given: ArrayLike) -> Points:
        """Return points (..., 2) of the paper in the view."""
        here: Points = (np.asarray(given, dtype=np.float64) - np.array([self.right, self.up])) / self.scale
        return here

    def shape(self, shape: Shape) -> Shape:
        """Return a shape of the view as it lies on the paper."""
        if isinstance(shape, Polyline):
            width = None if shape.width is None else shape.width * self.scale
            return replace(shape, points=self.points(shape.points), width=width)
        if isinstance(shape, Area):
            return replace(shape, rings=tuple(self.points(ring) for ring in shape.rings))
        if isinstance(shape, Circle):
            return replace(shape, centre=self.points(shape.centre), radius=shape.radius * self.scale)
        if isinstance(shape, Mark):
            return replace(shape, centre=self.points(shape.centre))
        return replace(shape, at=self.points(shape.at))


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """A sheet of paper with everything where it belongs.

    Attributes
    ----------
    width, height : float
        [mm]
    title, description : str
        For those who hear the picture instead of seeing it.
    shapes : tuple of Shape
        In the order they are drawn.
    fits : tuple of Fit
        How the views lie on it.
    left_out : tuple of str
        Notes there was no room for.
    """

    width: float
    height: float
    title: str
    description: str
    shapes: tuple[Shape, ...]
    fits: tuple[Fit, ...] = ()
    left_out: tuple[str, ...] = field(default=())

    def labels(self) -> Iterator[Label]:
        """Return its texts."""
        return (shape for shape in self.shapes if isinstance(shape, Label))

    def fit(self, name: str) -> Fit:
        """Return how the view of that name lies on the paper."""
        return next(fit for fit in self.fits if fit.name == name)


def shifted(point: Points, right: float, up: float) -> Points:
    """Return a point (2,) moved to the right and up."""
    moved: Points = point + np.array([right, up])
    return moved


def bounds(shapes: tuple[Shape, ...]) -> Box:
    """Return the box about all points of shapes; texts count with their place only."""
    found = []
    for shape in shapes:
        if isinstance(shape, Polyline):
            found.append(shape.points)
        elif isinstance(shape, Area):
            found.extend(shape.rings)
        elif isinstance(shape, Circle):
            found.append(np.array([shape.centre - shape.radius, shape.centre + shape.radius]))
        else:
            found.append(np.atleast_2d(shape.at if isinstance(shape, Label) else shape.centre))
    every = np.concatenate(found)
    (left, bottom), (right, top) = every.min(axis=0).tolist(), every.max(axis=0).tolist()
    return Box(left, bottom, right, top)
