"""The ways inside a frame, from port to port: what they carry and how long they are."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ropewalk.analysis.portbends import passing_of
from ropewalk.bike.rows import Housing, Liner
from ropewalk.routing.course import Course, Wrap
from ropewalk.routing.spans import PlacedLine


@dataclass(frozen=True, slots=True)
class InsideRun:
    """One way inside, from port to port.

    Attributes
    ----------
    line, start, end : str
        Names of the line and of its stations.
    through : tuple of str
        The tubes, in order.
    carries : str
        housing, hose, or liner.
    passing : Housing or Liner
    length, slack : float
        Length of the taut way, straight ahead where it turns with the bars, and what it can hold beyond that [mm].
    least_radius : float
        Of its bends between the ports [mm]; infinite where it runs straight.
    reached : bool
        False when no way leads through the tubes.
    """

    line: str
    start: str
    end: str
    through: tuple[str, ...]
    carries: str
    passing: Housing | Liner
    length: float
    slack: float
    least_radius: float
    reached: bool


def inside_runs(line: PlacedLine) -> tuple[InsideRun, ...]:
    """Return the ways inside of a line, from lever to work."""
    return tuple(_runs(line))


def _runs(line: PlacedLine) -> Iterator[InsideRun]:
    stations = line.route.line.station
    for span, shape in zip(line.route.spans, line.spans, strict=True):
        if span.kind != "inside" or not isinstance(shape, (Course, Wrap)):
            continue
        length = shape.length if isinstance(shape, Course) else float(shape.at([0.0]).length[0])
        passing = passing_of(line, span)
        carries = "liner" if isinstance(passing, Liner) else "hose" if passing.is_hose else "housing"
        yield InsideRun(
            line.route.line.name,
            stations[span.start].name,
            stations[span.end].name,
            stations[span.start].through,
            carries,
            passing,
            length,
            shape.slack,
            shape.least_radius,
            shape.reached,
        )
