"""What the steering view's script is sent: the bike's bodies and joints, the lines' paths, and exact figures.

Points go as whole tenths of a millimetre in two bytes each; whatever people typed goes as plain text.
"""

from __future__ import annotations

import base64
import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ropewalk.bike.poses import COORDINATES, FOLD, RIDING, SHOWN, STEER, Poses, poses
from ropewalk.drawing.lineshapes import THICKENED
from ropewalk.drawing.scene import Box
from ropewalk.drawing.solids import Ball, Barrel, Block, Plate, Ring, Rod, Wires, extent
from ropewalk.drawing.standing import Standing, cockpit_things, side_things
from ropewalk.units import degrees
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.sweepview import Figures, Grid, SpanView, Worst, ranges, span_figures, span_views, worst_poses

Array = NDArray[np.float64]
Sent = dict[str, Any]

#: points go in tenths of a millimetre
TENTHS = 10.0
#: largest number that two bytes hold
_MOST = 32767.0
#: how much of the frame the view of the front shows behind the head tube and below the crown; room about it [mm]
_BEHIND, _BELOW, _ROOM = 240.0, 130.0, 30.0
#: how the script draws each kind of solid
_KINDS: Mapping[type, str] = {
    Rod: "rod",
    Ring: "ring",
    Plate: "plate",
    Ball: "ball",
    Wires: "wires",
    Barrel: "hull",
    Block: "hull",
}
_LABELS: Mapping[str, str] = {
    "steer": "Steering angle",
    "fork": "Fork travel",
    "rear": "Rear travel",
    "fold": "Fold",
    "post": "Dropper post",
}


def scene_sent(job: JobPlan, mark: str) -> Sent:
    """Return what is sent once: everything that does not depend on where the sliders stand.

    Parameters
    ----------
    job : JobPlan
    mark : str
        What tells this bike from others.
    """
    bike, sweep = job.model, poses(job.model.frame)
    # what joins bodies and would have to stretch, such as the chain, is left out
    side = [one for one in side_things(job) if isinstance(one, Standing)]
    views = {"side": side, "top": cockpit_things(job)}
    spans = span_views(job)
    stations = [
        {"line": place, "body": station.body, "at": _rounded(station.place)}
        for place, line in enumerate(job.routing)
        for station in line.stations
    ]
    return {
        "mark": mark,
        "bike": job.bike,
        "moves": [
            {
                "name": one.name,
                "label": _LABELS[one.name],
                "low": one.low,
                "high": one.high,
                "scale": SHOWN[one.name][1],
            }
            for one in ranges(sweep)
        ],
        "coordinates": list(COORDINATES),
        "riding": degrees(RIDING),
        "foldSteer": degrees(sweep.fold_steer),
        "joints": [
            {
                "body": joint.body,
                "parent": joint.parent,
                "kind": joint.kind,
                "point": joint.point.tolist(),
                "axis": joint.axis.tolist(),
                "coordinate": joint.coordinate,
                "sign": joint.sign,
                "arm": list(joint.arm),
            }
            for joint in bike.mechanism.joints
        ],
        "wheels": {
            "radius": bike.skeleton.wheel_radius,
            "rear": [bike.mounts["rear axle"].body, bike.skeleton.rear_axle.tolist()],
            "front": [bike.mounts["front axle"].body, bike.skeleton.front_axle.tolist()],
        },
        "things": {name: [_thing(one) for one in held] for name, held in views.items()},
        "boxes": _boxes(job, sweep, views["side"], views["top"]),
        "spans": [_span(job, span) for span in spans],
        "stations": stations,
        "pieces": _pieces(job, spans),
        "worst": [_worst(one) for one in worst_poses(job)],
    }


def figures_sent(job: JobPlan, setting: Mapping[str, float]) -> list[list[Sent]]:
    """Return the exact figures of every span, in the order of the scene's spans.

    Parameters
    ----------
    job : JobPlan
    setting : mapping of str to float
        Where what moves besides the bars stands [rad, mm].
    """
    return [[_figures(table) for table in tables] for tables in span_figures(job, setting)]


def _rounded(point: Array) -> list[float]:
    return [round(float(part), 1) for part in point]


def packed(points: Array) -> str:
    """Return points as base64 of little-endian tenths of a millimetre in two bytes each."""
    tenths = np.clip(np.round(points * TENTHS), -_MOST, _MOST).astype("<i2")
    return base64.b64encode(tenths.tobytes()).decode("ascii")


def _thing(one: Standing) -> Sent:
    solid = one.solid
    sent: Sent = {
        "body": one.body,
        "role": solid.role.replace(" ", "-"),
        "ahead": one.ahead,
        "kind": _KINDS[type(solid)],
    }
    if isinstance(solid, Rod):
        sent |= {"width": round(solid.width, 1), "round": solid.round_ends}
        if solid.filled:
            sent["kind"] = "filled"
    elif isinstance(solid, Ring):
        sent["width"] = round(solid.width, 1)
    elif isinstance(solid, Ball):
        sent["width"] = round(2.0 * solid.radius, 1)
    return sent | {"points": packed(extent(solid))}


def _grid(grid: Grid) -> Sent:
    return {
        "axes": [[COORDINATES[at], np.round(values, 7).tolist()] for at, values in grid.axes],
        "count": int(grid.points.shape[-2]),
        "points": packed(grid.points),
    }


def _span(job: JobPlan, span: SpanView) -> Sent:
    route = job.routing[span.line].route
    housing = route.housing_of(route.spans[span.span])
    covered = route.spans[span.span].covered
    role = span.kind if span.kind == "rigid" else "housing" if covered else "inner"
    return {
        "line": span.line,
        "role": role,
        "inside": span.kind == "inside",
        "loop": span.kind == "loop",
        "tag": span.tag,
        "body": span.body,
        "width": 0.0 if housing is None else THICKENED * float(housing.outside),
        "path": _grid(span.path),
        "folding": None if span.folding is None else _grid(span.folding),
    }


def _pieces(job: JobPlan, spans: Sequence[SpanView]) -> list[Sent]:
    found = []
    for place, (line, placed) in enumerate(zip(job.lines, job.routing, strict=True)):
        for piece in placed.route.pieces:
            # an adjuster in the housing makes two pieces of one run
            after = [inline.after for inline in line.inlines if inline.before == piece.tag]
            stations = placed.route.line.station
            found.append(
                {
                    "tag": " + ".join([piece.tag, *after]),
                    "line": place,
                    "name": line.name,
                    "start": stations[piece.start].name,
                    "end": stations[piece.end].name,
                    "kink": float(piece.housing.kink_radius),
                    "advised": float(piece.housing.advised_radius),
                    "spans": [at for at, span in enumerate(spans) if (span.line, span.tag) == (place, piece.tag)],
                }
            )
    return found


def _worst(worst: Worst) -> Sent:
    shown = {name: round(worst.pose.get(SHOWN[name][0], 0.0)) for name in COORDINATES}
    return {"tag": worst.tag, "pose": shown, "bends": list(worst.bends)}


def _figures(table: Figures) -> Sent:
    return {
        "coordinate": None if table.coordinate is None else COORDINATES[table.coordinate],
        "first": table.first,
        "radius": _tenths(table.radius),
        "spare": _tenths(table.spare),
        "others": {
            name: round(float(value) * SHOWN[name][1])
            for name, value in zip(COORDINATES, table.others, strict=True)
            if value
        },
    }


def _tenths(figures: Array) -> list[int | None]:
    """Return figures in tenths of a millimetre: -1 for none as it is straight, None where housing is too short."""
    return [
        None if math.isnan(figure) else -1 if math.isinf(figure) else round(float(f"{figure:.1f}") * TENTHS)
        for figure in figures.tolist()
    ]


def _boxes(job: JobPlan, sweep: Poses, side: Sequence[Standing], top: Sequence[Standing]) -> Sent:
    """Return what each view has to show, whatever the pose [mm]: left, bottom, right, top."""
    bones = job.model.skeleton
    about = np.array([_corner(sweep, at) for at in range(27)])
    (left, bottom), (right, high) = _limits(job, about, side, (0, 1))
    bar = [one for one in side if one.body == "bar"]
    _, (bar_right, bar_high) = _limits(job, about, bar, (0, 1))
    (aside, behind), (_, ahead) = _limits(job, about, [one for one in top if one.body == "bar"], (2, 0))
    behind = min(behind - _ROOM, float(bones.head_top[0]) - _BEHIND)
    whole = Box(left - _ROOM, min(bottom, bones.ground) - _ROOM, right + _ROOM, high + _ROOM)
    front = Box(
        float(bones.head_top[0]) - _BEHIND, float(bones.crown[1]) - _BELOW, bar_right + 2.5 * _ROOM, bar_high + _ROOM
    )
    above = Box(aside - _ROOM, behind, -aside + _ROOM, ahead + 2.0 * _ROOM)
    folding = np.zeros((8, 5))
    folding[:, STEER], folding[:, FOLD] = sweep.fold_steer, np.linspace(0.0, sweep.high[FOLD], 8)
    (least, back), (most, fore) = _limits(job, folding, [one for one in top if one.ahead], (2, 0))
    folded = Box(least - _ROOM, back - _ROOM, most + _ROOM, fore + _ROOM)
    boxes = {"whole": whole, "front": front, "top": above, "folded": folded}
    return {name: [round(edge) for edge in (box.left, box.bottom, box.right, box.top)] for name, box in boxes.items()}


def _corner(sweep: Poses, at: int) -> Array:
    """Return one of 27 poses: bars at left lock, half way and so on to right lock, springs out and in."""
    steer, fork, rear = at % 9 - 4, (at // 9) % 3 / 2.0, at % 2
    return np.array([sweep.lock * steer / 4.0, sweep.high[1] * fork, sweep.high[2] * rear, 0.0, 0.0])


def _limits(job: JobPlan, values: Array, shown: Sequence[Standing], axes: tuple[int, int]) -> tuple[Array, Array]:
    seen = []
    for one in shown:
        moved = job.model.mechanism.at(one.body, values).points(extent(one.solid))
        seen.append(moved[..., list(axes)].reshape(-1, 2))
    every = np.concatenate(seen)
    return every.min(axis=0), every.max(axis=0)
