"""Bikes unlike the usual one, small but complete: what drawings, bars and stations have to cope with."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache
from typing import Any

import makers

from ropewalk.bike.framefile import Frame
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.plan import plan

BRAKE = {"work": "brake", "inner": "brake 1.5", "housing": "spiral brake 5.0"}
SHIFT = {"work": "shift", "inner": "shift 1.2", "housing": "lengthwise shift 4.0"}
HOSE = {"work": "hose", "housing": "hydraulic hose"}
FRONT_CALIPER = {"name": "front caliper", "type": "stop", "part": "dual-pivot rim caliper, front"}
REAR_CALIPER = {"name": "rear caliper", "type": "stop", "part": "dual-pivot rim caliper, rear"}


def lever(name: str, part: str, side: str, along: float, **more: Any) -> dict[str, Any]:
    """Return a lever."""
    return {"name": name, "part": part, "side": side, "along": along, **more}


def line(name: str, kind: dict[str, Any], at: str, *stations: dict[str, Any], **more: Any) -> dict[str, Any]:
    """Return a line from a lever over stations; the first says only how it goes on from the lever."""
    first = {"name": "lever", "type": "lever", **stations[0]}
    return {"name": name, "lever": at, **kind, **more, "station": [first, *stations[1:]]}


def stop(name: str, on: str, from_: str, along: float, clock: float, facing: str, **more: Any) -> dict[str, Any]:
    """Return a stop on a tube."""
    here = {"on": on, "from": from_, "along": along, "clock": clock, "facing": facing}
    return {"name": name, "type": "stop", **here, **more}


def clip(name: str, on: str, from_: str, along: float, clock: float, facing: str, **more: Any) -> dict[str, Any]:
    """Return a clip on a tube or bar."""
    return {**stop(name, on, from_, along, clock, facing, **more), "type": "clip"}


def chart(**figures: Any) -> dict[str, Any]:
    """Return a chart whose stack closes: drop + (head tube + lower cup + fork) sin HTA - offset cos HTA."""
    angle = math.radians(figures["head_angle"])
    long = figures["head_tube"] + figures["lower_cup"] + figures["fork"]
    stack = figures["bb_drop"] + long * math.sin(angle) - figures["fork_offset"] * math.cos(angle)
    return {"stack": round(stack, 1), **figures}


def time_trial() -> Frame:
    """Return a bike with a base bar, ski-bend extensions and shifters in their ends."""
    bar = {
        "shape": "base", "width": 400, "reach": 150, "rise": -20,
        "extensions": {"bend": "ski", "spread": 110, "length": 300, "rise": 60, "height": 50, "behind": 40},
    }  # fmt: skip
    run = [
        {"then": "strapped"},
        clip("extension clip", "extension", "stem", 60, 6, "stem", then="strapped"),
        clip("rear of the extension", "extension", "stem", -30, 6, "stem", then="loop"),
    ]
    shift_stop = stop("down tube stop", "down tube", "head tube", 110, 3, "head tube", lean=15, then="bare")
    chainstay = stop("chainstay stop", "right chainstay", "rear axle", 90, 6, "rear axle", then="loop")
    under = {"name": "guide", "type": "guide", "on": "bottom bracket", "offset": [-4, -24, 14], "radius": 20}
    return makers.frame(
        name="time trial",
        chart=chart(
            reach=415, head_angle=72.5, seat_angle=77.5, head_tube=95, lower_cup=8, fork=370, fork_offset=43,
            bb_drop=76, chainstay=408, seat_tube=520, wheel="25-622",
        ),
        tubes={
            "top_tube": {"diameter": 34, "at_head": 30, "at_seat": 480}, "down_tube": {"diameter": 40, "at_head": 30},
        },
        cockpit={"spacers": 10, "stem": 80, "stem_angle": -10, "bar": bar},
        lever=[
            lever("right brake lever", "base-bar brake lever", "right", 0),
            lever("left brake lever", "base-bar brake lever", "left", 0),
            lever("right shifter", "extension shifter", "right", 0, on="extension"),
        ],
        line=[
            line(
                "front brake", BRAKE, "right brake lever", {"then": "strapped"},
                clip("bar exit", "bar", "stem", 60, 2, "stem", then="loop"), FRONT_CALIPER,
            ),
            line(
                "rear brake", BRAKE, "left brake lever", {"then": "strapped"},
                clip("bar exit", "bar", "stem", 60, 2, "stem", then="loop"),
                stop("top tube stop", "top tube", "head tube", 70, 9, "head tube", then="bare"),
                stop("rear top tube stop", "top tube", "seat tube", 80, 9, "seat tube", then="loop"), REAR_CALIPER,
            ),
            line(
                "rear derailleur", SHIFT, "right shifter", *run, shift_stop, {**under, "then": "bare"}, chainstay,
                {"name": "derailleur", "type": "stop", "part": "rear derailleur"},
            ),
        ],
    )  # fmt: skip


def tandem() -> Frame:
    """Return a tandem with a boom tube and two seats."""
    return makers.frame(
        name="tandem",
        chart=chart(
            reach=388, head_angle=73, seat_angle=73, head_tube=150, lower_cup=14, fork=395, fork_offset=55,
            bb_drop=78, chainstay=445, boom=710, seat_tube=560, wheel="32-622", lock=70,
        ),
        tubes={
            "top_tube": {"diameter": 34, "at_head": 40, "at_seat": 520}, "down_tube": {"diameter": 44, "at_head": 40},
            "seat_stay": {"at_seat": 430},
            "boom_tube": {"diameter": 44}, "rear_seat_tube": {"diameter": 32, "length": 480},
            "rear_top_tube": {"diameter": 34, "at_front": 510, "at_rear": 440},
        },
        lever=[lever("left lever", "drop-bar brake-and-shift lever", "left", 215)],
        line=[
            line(
                "rear brake", BRAKE, "left lever", {"then": "strapped"},
                clip("tape end", "bar", "stem", 50, 2, "stem", then="loop"),
                stop("front stop", "top tube", "head tube", 70, 9, "head tube", then="bare"),
                stop("rear stop", "rear top tube", "rear seat tube", 90, 9, "rear seat tube", then="loop"),
                REAR_CALIPER,
            )
        ],
    )  # fmt: skip


def trail() -> Frame:
    """Return a bike with a suspension fork, a swing arm and a dropper post."""
    return makers.frame(
        name="trail",
        chart=chart(
            reach=460, head_angle=64.5, seat_angle=77, head_tube=110, lower_cup=12, fork=561, fork_offset=44,
            bb_drop=32, chainstay=438, seat_tube=430, wheel="58-622", lock=75,
        ),
        tubes={
            "head_tube": {"diameter": 44}, "down_tube": {"diameter": 50, "at_head": 35},
            "top_tube": {"diameter": 40, "at_head": 35, "at_seat": 380},
            "seat_stay": {"at_seat": 330, "spread_axle": 72}, "chainstay": {"spread_axle": 72},
            "fork_leg": {"diameter": 35, "spread_near": 66, "spread_axle": 66},
            "lower_leg": {"diameter": 45, "height": 260},
        },
        travel={"fork": 140, "rear": 130, "pivot": [15, 45], "post": 150},
        cockpit={"spacers": 15, "stem": 45, "stem_angle": 0, "bar": {"shape": "riser", "width": 780, "rise": 25}},
        lever=[
            lever("right lever", "flat-bar hydraulic lever", "right", 125),
            lever("left lever", "flat-bar hydraulic lever", "left", 125),
        ],
        line=[
            line(
                "front brake", HOSE, "right lever", {"then": "loop"},
                clip("leg clip", "left lower leg", "front axle", 200, 12, "front axle", then="strapped"),
                {"name": "front caliper", "type": "stop", "part": "hydraulic disc caliper, front"},
            ),
            line(
                "rear brake", HOSE, "left lever", {"then": "loop"},
                clip("head clip", "down tube", "head tube", 120, 9, "bottom bracket", then="strapped"),
                clip("pivot clip", "down tube", "bottom bracket", 160, 9, "bottom bracket", then="loop"),
                clip("stay clip", "left chainstay", "rear axle", 170, 12, "rear axle", then="strapped"),
                {"name": "rear caliper", "type": "stop", "part": "hydraulic disc caliper, rear"},
            ),
        ],
    )  # fmt: skip


def folding() -> Frame:
    """Return a small-wheeled bike with one main tube, a tall post with the bar on top of it, and two hinges."""
    return makers.frame(
        name="folding",
        chart=chart(
            reach=380, head_angle=71.5, seat_angle=71, head_tube=100, lower_cup=14, fork=300, fork_offset=38,
            bb_drop=-20, chainstay=400, seat_tube=330, wheel="47-406", lock=80,
        ),
        tubes={
            "top_tube": None, "down_tube": {"diameter": 60, "at_head": 45, "wall": 1.6},
            "seat_stay": {"at_seat": 200}, "fork_leg": {"diameter": 24, "spread_near": 30, "spread_axle": 50},
        },
        cockpit={
            "spacers": 0, "post": 300, "stem": 0, "stem_angle": 0,
            "bar": {"shape": "flat", "width": 580, "backsweep": 5, "upsweep": 0},
        },
        fold=[
            {"moves": "front half", "on": "down tube", "from": "bottom bracket", "along": 170, "aside": 30,
             "axis": [0, 1, 0], "turn": 170, "steer": 0},
            {"moves": "bar", "on": "steerer", "from": "head tube top", "along": 30, "aside": 0, "axis": [0, 0, 1],
             "turn": -160, "steer": 0},
        ],
        lever=[lever("left lever", "flat-bar brake lever, short pull", "left", 120)],
        line=[
            line(
                "rear brake", BRAKE, "left lever", {"then": "loop"},
                clip("front clip", "down tube", "head tube", 60, 9, "bottom bracket", then="loop"),
                clip("rear clip", "down tube", "bottom bracket", 60, 9, "bottom bracket", then="loop"), REAR_CALIPER,
            )
        ],
    )  # fmt: skip


def city() -> Frame:
    """Return a bike without a top tube, with a swept bar, a hub gear and roller brakes."""
    drum = {"name": "rear drum", "type": "stop", "part": "roller brake, rear"}
    return makers.frame(
        name="city",
        chart=chart(
            reach=375, head_angle=69, seat_angle=70, head_tube=190, lower_cup=14, fork=395, fork_offset=55,
            bb_drop=62, chainstay=465, seat_tube=460, wheel="42-622", lock=80,
        ),
        tubes={"top_tube": None, "down_tube": {"diameter": 50, "at_head": 60}, "seat_stay": {"at_seat": 400}},
        cockpit={
            "spacers": 10, "stem": 60, "stem_angle": 30,
            "bar": {"shape": "swept", "width": 620, "backsweep": 60},
        },
        lever=[
            lever("right lever", "flat-bar brake lever, short pull", "right", 165),
            lever("left lever", "flat-bar brake lever, short pull", "left", 165),
        ],
        line=[
            line(
                "front brake", BRAKE, "right lever", {"then": "loop"},
                clip("leg clip", "left fork leg", "front axle", 150, 12, "front axle", then="loop"),
                {"name": "front drum", "type": "stop", "part": "roller brake, front"},
            ),
            line(
                "rear brake", BRAKE, "left lever", {"then": "loop"},
                clip("front clip", "down tube", "head tube", 130, 9, "bottom bracket", then="strapped"),
                clip("rear clip", "down tube", "bottom bracket", 90, 9, "bottom bracket", then="loop"),
                clip("stay clip", "left chainstay", "rear axle", 170, 12, "rear axle", then="loop"), drum,
            ),
        ],
    )  # fmt: skip


def tourer() -> Frame:
    """Return a bike with a down-tube shifter on the left, a bar-end shifter on the right and cantilever brakes."""
    guide = {"name": "guide", "type": "guide", "on": "bottom bracket", "radius": 20, "then": "bare"}
    return makers.frame(
        name="tourer",
        chart={"lock": 75},
        lever=[
            lever("right lever", "drop-bar brake lever", "right", 215),
            lever("right shifter", "bar-end shifter", "right", 0),
            lever("left shifter", "down-tube shifter", "left", 130, on="down tube"),
        ],
        line=[
            line(
                "front brake", BRAKE, "right lever", {"then": "strapped"},
                clip("tape end", "bar", "stem", 50, 2, "stem", then="loop"), FRONT_CALIPER,
            ),
            line(
                "front derailleur", SHIFT, "left shifter", {"then": "bare"}, {**guide, "offset": [-4, -24, -10]},
                {"name": "front derailleur", "type": "anchor", "part": "front derailleur, from below",
                 "on": "seat tube", "from": "bottom bracket", "along": 150},
            ),
            line(
                "rear derailleur", SHIFT, "right shifter", {"then": "strapped"},
                clip("tape end", "bar", "stem", 60, 8, "stem", then="loop"),
                stop("down tube stop", "down tube", "head tube", 110, 3, "head tube", lean=15, then="bare"),
                {**guide, "offset": [-4, -24, 14]},
                stop("chainstay stop", "right chainstay", "rear axle", 90, 6, "rear axle", then="loop"),
                {"name": "derailleur", "type": "stop", "part": "rear derailleur"},
            ),
        ],
    )  # fmt: skip


#: makers by name
ODD_BIKES: dict[str, Callable[[], Frame]] = {
    "time trial": time_trial,
    "tandem": tandem,
    "trail": trail,
    "folding": folding,
    "city": city,
    "tourer": tourer,
}


@cache
def planned_odd(name: str) -> JobPlan:
    """Return the plan of one of these bikes, made once."""
    return plan(ODD_BIKES[name]())
