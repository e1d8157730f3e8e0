"""Makers of small valid inputs that tests share."""

from __future__ import annotations

import copy
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ropewalk.analysis.loops import LoopCase
from ropewalk.bike.framefile import Frame
from ropewalk.bike.poses import STEER, Walks

#: a touring bike's figures; its chart closes to a millimetre
_TOURING: dict[str, Any] = {
    "format": 1,
    "name": "touring",
    "chart": {
        "stack": 591,
        "reach": 380,
        "head_angle": 71.5,
        "seat_angle": 73,
        "head_tube": 150,
        "lower_cup": 12,
        "fork": 398,
        "fork_offset": 50,
        "bb_drop": 76,
        "chainstay": 450,
        "seat_tube": 540,
        "wheel": "39-622",
    },
    "tubes": {
        "head_tube": {"diameter": 36},
        "top_tube": {"diameter": 28.6, "at_head": 35, "at_seat": 505},
        "down_tube": {"diameter": 31.8, "at_head": 35},
        "seat_tube": {"diameter": 28.6},
        "seat_stay": {"diameter": 16, "at_seat": 500, "spread_near": 26, "spread_axle": 64},
        "chainstay": {"diameter": 19, "spread_near": 30, "spread_axle": 64},
        "fork_leg": {"diameter": 22, "spread_near": 36, "spread_axle": 52},
    },
    "cockpit": {
        "spacers": 20,
        "stem": 90,
        "stem_angle": -6,
        "bar": {"shape": "drop", "width": 440, "reach": 75, "drop": 125},
    },
    "lever": [{"name": "left lever", "part": "drop brake lever", "side": "left", "along": 250}],
    "line": [
        {
            "name": "front brake",
            "work": "brake",
            "lever": "left lever",
            "inner": "brake 1.5",
            "housing": "spiral brake",
            "station": [
                {"name": "lever", "type": "lever"},
                {"name": "caliper", "type": "anchor", "on": "fork crown", "offset": [40, 20, 25], "towards": [0, 1, 0]},
            ],
        }
    ],
}


def frame_dict() -> dict[str, Any]:
    """Return a small valid frame file as plain data: chart, tubes, cockpit, one lever and one line."""
    return copy.deepcopy(_TOURING)


def frame(**changes: Any) -> Frame:
    """Return the small frame with changes; tables are merged key by key, a bar with a shape replaces the bar.

    For example ``frame(chart={"stack": 600}, cockpit={"bar": {"shape": "flat", "width": 740}})``.
    """
    return Frame.model_validate(merged(frame_dict(), changes))


def merged(base: Mapping[str, Any], changes: Mapping[str, Any]) -> dict[str, Any]:
    """Return plain data with changes: tables are merged key by key, a bar with a shape replaces the bar."""
    found = dict(base)
    for key, change in changes.items():
        whole = not isinstance(change, Mapping) or not isinstance(base.get(key), Mapping) or "shape" in change
        found[key] = change if whole else merged(base[key], change)
    return found


def steered(steer_deg: ArrayLike) -> NDArray[np.float64]:
    """Return poses (K, 5) with the bars at these steering angles [°] and nothing else moved."""
    poses = np.zeros((np.size(steer_deg), 5))
    poses[:, STEER] = np.radians(steer_deg)
    return poses


def steering_walk(steer_deg: ArrayLike) -> Walks:
    """Return one way through poses of these rising steering angles [°], 0 among them."""
    home = int(np.argmin(np.abs(np.atleast_1d(steer_deg))))
    return Walks(steered(steer_deg), home, (np.arange(np.size(steer_deg)),), (home,))


def loop_case(
    steer_deg: ArrayLike, clamps: Callable[[Any], Any], kink: float, advised: float, **changes: Any
) -> LoopCase:
    """Return a loop swept through steering angles [°], with riding 45°, trim 10 mm and 30° of turn unless changed."""
    walks = steering_walk(steer_deg)
    standard = {"name": "a loop", "riding": np.radians(45.0), "trim": 10.0, "turn_allowance": np.radians(30.0)}
    return LoopCase(
        walks=walks,
        low=walks.values.min(axis=0),
        high=walks.values.max(axis=0),
        clamps=clamps,
        kink_radius=kink,
        advised_radius=advised,
        **{**standard, **changes},
    )
