"""How every figure of the frame file moves every loop and every other span: what first cuts are worked out from."""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ropewalk.analysis.cases import clamps_of
from ropewalk.analysis.groups import Group
from ropewalk.analysis.loops import Array
from ropewalk.analysis.merging import Demands, merged
from ropewalk.analysis.tolerance import Sensitivity, Spread, spread
from ropewalk.bike.deviations import KnownFigure, deviated, figures
from ropewalk.bike.framefile import Frame
from ropewalk.bike.model import Bike, build
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.poses import lock_of
from ropewalk.mechanics.elastica import Clamps
from ropewalk.routing.course import Course, Loop
from ropewalk.routing.lines import Piece
from ropewalk.routing.spans import PlacedLine, onward_through, shape_span, spans_about
from ropewalk.routing.stations import place_station

#: step of the differences by a figure, as a share of its spread
_STEP = 0.05
#: how far a station may come to lie past its tube's end when a figure is moved [mm]
PAST_END = 30.0


@dataclass(frozen=True, slots=True)
class Moved:
    """What one figure does to one line, per unit of the figure.

    Attributes
    ----------
    clamps : dict of (12,) or (K, 12) array
        By span, the change of a loop's clamps in the poses that can govern it.
    lengths : dict of float
        By span, the change of the length of everything that is no loop [mm].
    """

    clamps: dict[int, Array]
    lengths: dict[int, float]


@dataclass(frozen=True, slots=True, eq=False)
class PieceDemand:
    """What the poses of one piece ask for, and how that changes with the figures it rests on.

    Attributes
    ----------
    figures : tuple of KnownFigure
        Figures of the frame file that move it; other pieces may rest on them too.
    sigmas : (F,) array
        Standard deviations of these figures, then of what is the piece's own, such as its ferrules.
    lengths : tuple of (K,) array
        For each loop or group, the shortest safe length in each of its poses [mm].
    changes : tuple of (K, F) array
        Their changes per unit of each figure.
    poses : tuple of (K, 5) array
    fixed : (F,) array
        Change per unit of each figure of everything else in the piece [mm].
    rest : float
        Length of everything else [mm].
    """

    figures: tuple[KnownFigure, ...]
    sigmas: Array
    lengths: tuple[Array, ...]
    changes: tuple[Array, ...]
    poses: tuple[Array, ...]
    fixed: Array
    rest: float

    def spread(self, risk: float) -> Spread:
        """Return how surely its shortest safe length is known; risk: the share that may prove too short."""
        return spread(self.lengths, self.changes, self.sigmas, self.fixed, risk)


def measured_figures(frame: Frame) -> list[KnownFigure]:
    """Return the figures of a completed frame that are not taken as exact."""
    return [figure for figure in figures(frame) if figure.within > 0]


def figure_effects(
    bike: Bike, lines: Sequence[PlacedLine], poses: Mapping[tuple[int, int], Array]
) -> tuple[list[KnownFigure], list[dict[int, Moved]]]:
    """Return the figures that are not exact, and what each does to the lines it touches.

    Parameters
    ----------
    bike : Bike
        Built from a completed frame.
    lines : sequence of PlacedLine
        Its lines.
    poses : mapping of (line, span) to (K, 5) array
        Poses in which each loop's clamps are wanted.

    Returns
    -------
    figures : list of KnownFigure
    effects : list of dict
        For each figure, by line.
    """
    known = measured_figures(bike.frame)
    base = [_state(bike, line, place, poses, range(len(line.spans))) for place, line in enumerate(lines)]
    effects = []
    for figure in known:
        step = _STEP * figure.within
        frame = deviated(bike.frame, {figure.path: step})
        moved = dataclasses.replace(bike, frame=frame) if figure.path[0] in ("line", "lever") else build(frame)
        effect: dict[int, Moved] = {}
        for place, line in enumerate(lines):
            stations = _stations_moved(bike, line, place, figure)
            if stations:
                spans = _spans_moved(line, stations, figure)
                clamps, lengths = _state(moved, _moved_line(moved, line, stations, spans), place, poses, spans)
                effect[place] = Moved(
                    {span: (clamps[span] - base[place][0][span]) / step for span in clamps},
                    {span: (lengths[span] - base[place][1][span]) / step for span in lengths},
                )
        effects.append(effect)
    return known, effects


def _stations_moved(bike: Bike, line: PlacedLine, place: int, figure: KnownFigure) -> list[int]:
    """Return the stations of a line that a figure can move."""
    if figure.path[0] == "line":
        return [int(figure.path[3])] if figure.path[1] == place else []
    if figure.path[0] == "lever":
        return [0] if bike.frame.lever[int(figure.path[1])].name == line.route.line.lever else []
    if figure.path[0] == "cockpit":
        return [at for at, station in enumerate(line.stations) if station.body == "bar"]
    return list(range(len(line.stations)))


def _spans_moved(line: PlacedLine, stations: Sequence[int], figure: KnownFigure) -> list[int]:
    """Return the spans that a figure can change; chart and tubes move the bar as a whole, so not what lies along it."""
    spans = sorted({span for station in stations for span in spans_about(line.route, station)})
    if figure.path[0] not in ("chart", "tubes"):
        return spans
    ends = [(line.stations[line.route.spans[span].start], line.stations[line.route.spans[span].end]) for span in spans]
    return [span for span, pair in zip(spans, ends, strict=True) if any(station.body != "bar" for station in pair)]


def _moved_line(bike: Bike, line: PlacedLine, moved: Sequence[int], spans: Sequence[int]) -> PlacedLine:
    """Return a line with some stations placed again on a bike with a figure moved, and the spans that changes."""
    route, written = line.route, bike.frame.line[line.route.place]
    stations, onward = list(line.stations), line.onward.copy()
    for at in moved:
        stations[at] = place_station(bike, written, written.station[at], route.side, PAST_END)
        onward[at] = onward_through(written, at, stations[at])
    shapes = list(line.spans)
    for span in spans:
        shapes[span] = shape_span(bike, route, span, stations, onward, radii=False)
    return PlacedLine(route, tuple(stations), onward, tuple(shapes))


def _state(
    bike: Bike,
    line: PlacedLine,
    place: int,
    poses: Mapping[tuple[int, int], Array],
    spans: Iterable[int],
) -> tuple[dict[int, Array], dict[int, float]]:
    """Return the clamps of loops and the lengths of other spans."""
    clamps: dict[int, Array] = {}
    lengths: dict[int, float] = {}
    for span in spans:
        shape = line.spans[span]
        if not isinstance(shape, Loop):
            lengths[span] = float(shape.length_in(_ends_of_steering(bike)).max())
        elif (place, span) in poses:
            clamps[span] = _flat(clamps_of(bike, shape)(poses[place, span]))
    return clamps, lengths


def _ends_of_steering(bike: Bike) -> Array:
    """Return the steering angles between which a span about the steerer may be longest."""
    lock = lock_of(bike.frame)
    return np.array([-lock, 0.0, lock])


def _flat(clamps: Clamps) -> Array:
    return np.concatenate([clamps.start, clamps.start_direction, clamps.end, clamps.end_direction], axis=-1)


def piece_demand(
    place: int,
    line: PlacedLine,
    piece: Piece,
    bike: Bike,
    sensitivities: Mapping[int, Sensitivity],
    groups: Sequence[Group],
    known: Sequence[KnownFigure],
    effects: Sequence[Mapping[int, Moved]],
    catalogue: Catalogue,
) -> PieceDemand:
    """Return what the poses of a piece ask for, and how that changes with the figures.

    Parameters
    ----------
    place : int
        The line's place in the frame file.
    line, piece : PlacedLine, Piece
        The line and its piece.
    bike : Bike
    sensitivities : mapping of int to Sensitivity
        Of the piece's loops by span.
    groups : sequence of Group
        Its runs of spans that share their slack.
    known, effects : sequences
        From `figure_effects`.
    catalogue : Catalogue
        For the spread of ferrules.
    """
    touching = [(figure, effect[place]) for figure, effect in zip(known, effects, strict=True) if place in effect]
    loops = [span for span in piece.spans if span in sensitivities]
    fixed = [sum(moved.lengths.get(span, 0.0) for span in piece.spans) for _, moved in touching]
    changes = [
        np.stack([_change(sensitivities[span], moved.clamps.get(span)) for _, moved in touching], axis=1)
        if touching
        else np.zeros((len(sensitivities[span].poses), 0))
        for span in loops
    ]
    sigmas = [figure.sigma for figure, _ in touching]
    for end, insertion in (("start", True), ("start", False), ("end", True), ("end", False)):
        tolerance = catalogue.tolerances.ferrule
        sigmas.append((tolerance.insertion if insertion else tolerance.floor).sigma)
        at_span = piece.spans[0] if end == "start" else piece.spans[-1]
        shape = line.spans[at_span]
        fixed.append((1.0 if insertion else 0.0) - (0.0 if isinstance(shape, Loop) else 1.0))
        for order, span in enumerate(loops):
            column = np.zeros(len(sensitivities[span].poses))
            if span == at_span and isinstance(shape, Loop):
                column = _along_mouth(bike, shape, sensitivities[span], end)
            changes[order] = np.column_stack([changes[order], column])
    lengths = [sensitivities[span].length for span in loops]
    poses = [sensitivities[span].poses for span in loops]
    for group in groups:
        lengths, changes, poses, loops = merged(line, group, Demands(lengths, changes, poses, loops), len(sigmas))
    return PieceDemand(
        figures=tuple(figure for figure, _ in touching),
        sigmas=np.array(sigmas),
        lengths=tuple(lengths),
        changes=tuple(changes),
        poses=tuple(poses),
        fixed=np.array(fixed),
        rest=_rest(line, piece, {span for group in groups for span in group.spans}),
    )


def _rest(line: PlacedLine, piece: Piece, grouped: Collection[int]) -> float:
    """Return the length of a piece without its loops and groups: other spans and what lies in its ferrules [mm]."""
    alone = [shape for span in piece.spans if isinstance(shape := line.spans[span], Course) and span not in grouped]
    return sum(shape.length for shape in alone) + float(piece.start_ferrule.insertion + piece.end_ferrule.insertion)


def _change(sensitivity: Sensitivity, clamps: Array | None) -> Array:
    """Return the change of a loop's demand in each pose (K,) with a change of its clamps (K, 12)."""
    if clamps is None:
        return np.zeros(len(sensitivity.poses))
    return np.asarray(np.sum(sensitivity.gradient * clamps, axis=1))


def _along_mouth(bike: Bike, loop: Loop, sensitivity: Sensitivity, end: str) -> Array:
    """Return the change of a loop's demand per mm that a mouth moves out of its seat."""
    clamps = clamps_of(bike, loop)(sensitivity.poses)
    if end == "start":
        return np.asarray(np.sum(sensitivity.gradient[:, :3] * clamps.start_direction, axis=1))
    return np.asarray(-np.sum(sensitivity.gradient[:, 6:9] * clamps.end_direction, axis=1))
