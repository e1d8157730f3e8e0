"""The side view at true scale, sorted into layers, for programs that measure, trace or cut: a mm of the bike is a mm.

Outlines only, in the bike's own axes: x forward and y up from the bottom bracket, seen from the rider's right. What
lies aside of the bike's middle plane is seen in projection, so a line's outline is shorter than its housing; the
figures beside it are true.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import groupby

import numpy as np

from ropewalk import __version__
from ropewalk.bike.mechanism import Placement
from ropewalk.bike.model import Bike
from ropewalk.drawing.bikeview import bike_shapes
from ropewalk.drawing.freelabels import Wish, free_labels
from ropewalk.drawing.measures import measures
from ropewalk.drawing.posing import STRAIGHT, Pose, placements, shown_words
from ropewalk.drawing.scene import Area, Box, Circle, Label, Mark, Points, Polyline, Shape, bounds
from ropewalk.drawing.silhouettes import Places, from_the_right
from ropewalk.drawing.truelines import Housing, housing_courses, wire_courses
from ropewalk.workshop import words
from ropewalk.workshop.jobplan import JobPlan, LinePlan, PiecePlan
from ropewalk.workshop.posed import PosedLine, posed_lines

#: sizes of text of tags, stations and notes, of a station's sign, and free room about it all [mm]
TAG, NAME, NOTE, STATION, ROOM = 12.0, 6.0, 11.0, 4.0, 40.0
_LAYER_OF = {
    "ground": "GROUND",
    "tyre": "WHEELS",
    "rim": "WHEELS",
    "spoke": "SPOKES",
    "tube": "FRAME",
    "far tube": "FRAME",
    "metal": "HARDWARE",
    "bar": "COCKPIT",
    "tape": "COCKPIT",
    "lever": "COCKPIT",
}
#: layers that labels keep clear of where they can
_OPAQUE = ("HINTS", "FRAME", "HARDWARE", "COCKPIT")
#: layers of every drawing and what lies on them
BIKE_LAYERS = {
    "GROUND": "the ground",
    "SPOKES": "spokes",
    "WHEELS": "tyres and rims; circles where a wheel is seen square",
    "HINTS": "cranks, saddle, brakes and drive at usual sizes: the frame file does not describe them",
    "FRAME": "tubes of frame and fork, by their outside diameters",
    "HARDWARE": "stem, spacers, cups, posts, upper fork legs and hinges",
    "COCKPIT": "bar, tape and levers",
    "CENTRES": "axes of the tubes and of the steering, middles of axles and bottom bracket",
    "DIMENSIONS": "wheelbase, wheel diameter and height of the bottom bracket, measured in the pose drawn",
    "NOTES": "what this drawing is, and the cautions",
}
#: layers of each line, after its letter, and what lies on them
LINE_LAYERS = {
    "HOUSING": "housing, a stroke a piece, at its target length",
    "INNER": "bare inner and what it runs through",
    "STATIONS": "stations at their seats, with their names",
    "TAGS": "tag of each piece with its first cut and target",
    "COURSE-3D": "housing in space: these have the true lengths; off at first",
}


@dataclass(frozen=True, slots=True, eq=False)
class Layer:
    """Shapes under one name; `place` is that of the line they belong to, `courses` are strokes in space (n, 3)."""

    name: str
    told: str
    shapes: tuple[Shape, ...]
    place: int | None = None
    courses: tuple[Places, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class TrueDrawing:
    """Layers in the bike's millimetres, the lowest first, and the box about them."""

    title: str
    description: str
    layers: tuple[Layer, ...]
    box: Box


def true_drawing(job: JobPlan, pose: Pose = STRAIGHT) -> TrueDrawing:
    """Return the side view at true scale.

    Parameters
    ----------
    job : JobPlan
    pose : mapping of str to float
        Steering angle, positive to the rider's right, and what else moves [rad, mm].

    Raises
    ------
    ChoiceError
        When the bike does not move so, or not so far.
    """
    posed = posed_lines(job, pose)
    placed = placements(job.model, pose)
    travel = {name: value for name, value in pose.items() if name not in ("steer", "fold")}
    sorted_shapes = _by_layer(job, placed, placements(job.model, travel))
    sorted_shapes["CENTRES"] = list(_centres(job.model, placed))
    sorted_shapes["DIMENSIONS"] = list(measures(job.model, placed, folded=bool(pose.get("fold"))))
    outlines = [stroke for name in _OPAQUE for shape in sorted_shapes.get(name, ()) for stroke in _strokes(shape)]
    lines = list(_line_layers(job, posed, outlines))
    drawn = [shape for shapes in sorted_shapes.values() for shape in shapes]
    drawn += [shape for layer in lines for shape in layer.shapes]
    about = bounds(tuple(drawn))
    title = f"{job.bike}, {shown_words(pose)}"
    notes = tuple(_notes(job, title, about.left, about.bottom - ROOM))
    sorted_shapes["NOTES"] = list(notes)
    layers = [Layer(name, told, tuple(sorted_shapes.get(name, ()))) for name, told in BIKE_LAYERS.items()]
    low = float(notes[-1].at[1]) - NOTE
    box = Box(about.left - ROOM, low - ROOM, about.right + ROOM, about.top + ROOM)
    told = "Side view at true scale, in layers. " + job.cautions[0]
    return TrueDrawing(title, told, (*layers[:-2], *lines, *layers[-2:]), box)


def letter(line: LinePlan, place: int) -> str:
    """Return what the layers of a line are called by: the letter of its pieces, or its place where it has none."""
    return line.pieces[0].tag.rstrip("0123456789") if line.pieces else f"LINE{place + 1}"


def _by_layer(
    job: JobPlan, placed: Mapping[str, Placement], travelled: Mapping[str, Placement]
) -> dict[str, list[Shape]]:
    wheels = list(_round_wheels(job.model, placed))
    found: dict[str, list[Shape]] = {"WHEELS": list(wheels)}
    for shape in bike_shapes(job, placed, travelled):
        layer = _LAYER_OF.get(shape.role, "HINTS")
        if layer == "WHEELS" and isinstance(shape, Area) and any(_about(shape, wheel.centre) for wheel in wheels):
            continue
        found.setdefault(layer, []).append(shape)
    return found


def _round_wheels(bike: Bike, placed: Mapping[str, Placement]) -> Iterator[Circle]:
    """Return tyre and bead seat of each wheel that is seen square, as circles."""
    bones = bike.skeleton
    for name, axle in (("rear axle", bones.rear_axle), ("front axle", bones.front_axle)):
        body = placed[bike.mounts[name].body]
        if abs(abs(float(body.directions(np.array([0.0, 0.0, 1.0]))[0, 2])) - 1.0) < 1e-9:
            centre = from_the_right(body.points(axle))[0]
            yield Circle(centre, bones.wheel_radius, "tyre")
            yield Circle(centre, bones.bead_radius, "rim")


def _about(shape: Area, centre: Points) -> bool:
    ring = shape.rings[0]
    middle = (ring.min(axis=0) + ring.max(axis=0)) / 2.0
    return bool(np.linalg.norm(middle - centre) < 1.0)


def _centres(bike: Bike, placed: Mapping[str, Placement]) -> Iterator[Shape]:
    bones = bike.skeleton
    for tube in bike.tubes.values():
        parts = [(tube.body, tube.start, tube.end)]
        if 0.0 < tube.hinge < tube.length:
            hinge = tube.start + tube.hinge * tube.axis
            parts = [(tube.body_before, tube.start, hinge), (tube.body, hinge, tube.end)]
        for body, start, end in parts:
            axis = from_the_right(placed[body].points(np.stack([start, end]))[0])
            if np.linalg.norm(axis[1] - axis[0]) > 1.0:
                yield Polyline(axis, "centre")
    head = placed[bike.tubes["head tube"].body]
    down = bones.steering_axis
    reach = float((bones.front_axle - bones.head_top) @ down)
    ends = np.stack([bones.head_top - 150.0 * down, bones.head_top + (reach + 100.0) * down])
    yield Polyline(from_the_right(head.points(ends)[0]), "centre")
    middles = [
        (bike.mounts["rear axle"].body, bones.rear_axle),
        (bike.mounts["front axle"].body, bones.front_axle),
        (bike.tubes["shell"].body, bones.bottom_bracket),
    ]
    if bike.frame.chart.boom is not None:
        middles.append((bike.tubes["shell"].body, bones.rear_bottom_bracket))
    for body, point in middles:
        x, y = from_the_right(placed[body].points(point))[0].tolist()
        yield Polyline(np.array([[x - 12.0, y], [x + 12.0, y]]), "centre")
        yield Polyline(np.array([[x, y - 12.0], [x, y + 12.0]]), "centre")


def _strokes(shape: Shape) -> tuple[Points, ...]:
    if isinstance(shape, Area):
        return tuple(np.concatenate([ring, ring[:1]]) for ring in shape.rings)
    return (shape.points,) if isinstance(shape, Polyline) else ()


def _line_layers(job: JobPlan, posed: tuple[PosedLine, ...], outlines: list[Points]) -> Iterator[Layer]:
    """Return the layers of every line; no name lies on another, of whichever line, nor on outlines if it can."""
    courses = [list(housing_courses(job, place, line)) for place, line in enumerate(posed)]
    wishes = [*_tag_wishes(courses), *_station_wishes(posed)]
    labels = list(zip(wishes, free_labels(wishes, outlines), strict=True))
    for place, (line, plan) in enumerate(zip(posed, job.lines, strict=True)):
        own = {role: [shape for wish, shapes in labels if (wish.line, wish.role) == (place, role) for shape in shapes]
               for role in ("tag", "station")}  # fmt: skip
        seats = zip(line.station_names, from_the_right(line.stations), strict=True)
        marks = [Mark(point, "disc", STATION, "station", place, name) for name, point in seats]
        wires = [Polyline(from_the_right(path), role, None, place) for role, path in wire_courses(line)]
        shapes: dict[str, list[Shape]] = {
            "HOUSING": [_flat(course, place) for course in courses[place]],
            "INNER": list(wires),
            "STATIONS": [*marks, *own["station"]],
            "TAGS": own["tag"],
            "COURSE-3D": [],
        }
        for name, told in LINE_LAYERS.items():
            deep = tuple(course.points for course in courses[place]) if name == "COURSE-3D" else ()
            yield Layer(f"{letter(plan, place)}-{name}", f"{plan.name}: {told}", tuple(shapes[name]), place, deep)


def _flat(course: Housing, place: int) -> Polyline:
    return Polyline(from_the_right(course.points), "housing", course.outside, place, course.piece.tag)


def _tag_wishes(courses: list[list[Housing]]) -> Iterator[Wish]:
    for place, pieces in enumerate(courses):
        for course in pieces:
            path = from_the_right(course.points)
            skip = len(path) // 5
            yield Wish(_tag_text(course.piece), TAG, "tag", place, path[skip : len(path) - skip])


def _tag_text(piece: PiecePlan) -> str:
    if piece.first_cut is None:
        return f"{piece.tag}: stop, do not cut"
    return f"{piece.tag}: first cut {words.millimetres(piece.first_cut)}, target {words.millimetres(piece.target)}"


def _station_wishes(posed: tuple[PosedLine, ...]) -> Iterator[Wish]:
    """Return the names of stations; lines that share a place and a name there share its label."""
    seats = sorted(
        (name, tuple(np.round(point, 1).tolist()), place)
        for place, line in enumerate(posed)
        for name, point in zip(line.station_names, from_the_right(line.stations), strict=True)
    )
    for (name, at), found in groupby(seats, key=lambda seat: seat[:2]):
        yield Wish(name, NAME, "station", next(iter(found))[2], np.array([at]))


def _notes(job: JobPlan, title: str, left: float, top: float) -> Iterator[Label]:
    told = [
        (title, 1.6),
        (
            "Seen from the rider's right, 1:1 in mm; x forward, y up from the bottom bracket. What lies aside of the "
            "middle is drawn in projection: cut by the figures, not by the strokes.",
            1.0,
        ),
        *((caution, 1.0) for caution in job.cautions),
        (f"Ropewalk {__version__}", 1.0),
    ]
    for place, (text, size) in enumerate(told):
        yield Label(np.array([left, top - 1.7 * NOTE * (place + 1)]), text, size * NOTE, "text")
