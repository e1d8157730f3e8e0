"""Wires of lines on the small bike of `workbench`, their loops of made-up length and turn."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
from makers import loop_case, steered
from workbench import CALIPER, FRONT_STOP, LEVER, PARTS, REAR_STOP, placed, station

from ropewalk.analysis.causes import Wire
from ropewalk.analysis.friction import LineFriction, line_friction
from ropewalk.analysis.loops import LoopWindow
from ropewalk.analysis.wireline import wire_of
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.poses import Poses
from ropewalk.routing.spans import PlacedLine

#: steering angles of the sweep [°]: the middle three are ridden
STEER = (-70.0, -45.0, 0.0, 45.0, 70.0)
HOME = 2
SWEEP = Poses(
    steered(STEER),
    np.radians(STEER),
    *steered([-70.0, 70.0]),
    fold_steer=0.0,
    lock=float(np.radians(70.0)),
    lock_assumed=False,
)
#: turn [rad] in those poses and length [mm] of the loop at the bar, and of the one at the moving end
BAR, BAR_LENGTH = (9.0, 2.6, 2.0, 2.3, 9.0), 500.0
END, END_LENGTH = 1.1, 150.0
DERAILLEUR = {"name": "rear derailleur", "type": "stop", "part": "rear derailleur"}
SHIFT = {"work": "shift", "inner": "shift 1.2", "housing": "lengthwise shift 4.0"}


def loop(steer: tuple[float, ...], turn: tuple[float, ...], length: float) -> LoopWindow:
    """Return what was found of a loop, as far as friction asks."""
    case = loop_case(steer, lambda _poses: None, 30.0, 50.0)
    sweep: Any = SimpleNamespace(turn=np.array(turn))
    return LoopWindow(
        case, None, None, length, True, False, None, sweep, np.zeros(len(steer), bool), np.zeros(0), np.zeros((0, 1))
    )


def loops(bar: tuple[float, ...] = BAR, end: float = END) -> dict[int, LoopWindow]:
    """Return the loops of a line whose first and third span are loops."""
    return {0: loop(STEER, bar, BAR_LENGTH), 2: loop((0.0,), (end,), END_LENGTH)}


def brake_line(**lever: Any) -> PlacedLine:
    """Return a brake line, with changes to its first station."""
    return placed([station(LEVER, **lever), FRONT_STOP, REAR_STOP, CALIPER])[1]


def shift_line() -> PlacedLine:
    """Return a shift line."""
    return placed([LEVER, FRONT_STOP, REAR_STOP, DERAILLEUR], **SHIFT)[1]


def friction_of_line(
    line: PlacedLine, found: dict[int, LoopWindow] | None = None, hand_force: float = 100.0, parts: Catalogue = PARTS
) -> LineFriction:
    """Return the friction of a line with made-up loops."""
    stretches = wire_of(line, found or loops(), SWEEP, parts)
    friction = line_friction(line.route, stretches, SWEEP, parts, hand_force)
    assert friction is not None
    return friction


def wire(line: PlacedLine, found: dict[int, LoopWindow] | None = None, parts: Catalogue = PARTS) -> Wire:
    """Return a line's wire straight ahead with all that its figures rest on."""
    friction = friction_of_line(line, found, parts=parts)
    return Wire(line.route, friction.stretches, friction.hand_force, HOME, parts)
