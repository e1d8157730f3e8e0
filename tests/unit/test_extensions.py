"""Base bars, extensions, and levers and housing on them: points and lengths worked by hand, refusals in one line."""

from __future__ import annotations

import math
from typing import Any

import makers
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from oddbikes import BRAKE, FRONT_CALIPER, REAR_CALIPER, SHIFT, clip, line, stop
from workbench import PARTS

from ropewalk.bike.bars import BarCurve, bar_curve, extension_curve
from ropewalk.bike.cockpit import BaseBar
from ropewalk.bike.complete import complete
from ropewalk.bike.framefile import Frame, Lever
from ropewalk.bike.model import LeverClamp, build, lever_clamp
from ropewalk.errors import FrameFileError
from ropewalk.routing.course import Course
from ropewalk.routing.lines import routes
from ropewalk.routing.spans import PlacedLine, place_line
from ropewalk.workshop.plan import place_lines

SKI: dict[str, Any] = {"bend": "ski", "spread": 110, "length": 300, "rise": 60, "height": 50, "behind": 40}
S_BEND: dict[str, Any] = {"bend": "S", "spread": 100, "length": 320, "rise": 70, "behind": 30}
STRAIGHT: dict[str, Any] = {"bend": "straight", "spread": 120, "length": 300, "height": 45, "behind": 30}
BASE: dict[str, Any] = {"shape": "base", "width": 400, "reach": 150}


def base(**changes: Any) -> BaseBar:
    return BaseBar.model_validate({**BASE, **changes})


def extension(side: str = "right", **figures: Any) -> BarCurve:
    found = extension_curve(base(extensions=figures), side)  # type: ignore[arg-type]
    assert found is not None
    return found


# The base bar.


def test_a_base_bar_s_length_by_hand() -> None:
    """200 out and 150 ahead with a corner of 45: 155 + 45 π/2 + 105."""
    assert bar_curve(base(), "right").length == pytest.approx(155.0 + 45.0 * math.pi / 2.0 + 105.0)


@pytest.mark.parametrize(("side", "sign"), [("left", -1.0), ("right", 1.0)])
@pytest.mark.parametrize("rise", [-40.0, 0.0, 35.0])
def test_a_base_bar_s_grips_point_straight_ahead(side: Any, sign: float, rise: float) -> None:
    curve = bar_curve(base(rise=rise), side)
    end, inward = curve.at(0.0)
    assert end == pytest.approx([150.0, rise, sign * 200.0])
    assert inward == pytest.approx([-1.0, 0.0, 0.0])
    assert curve.at(60.0)[0] == pytest.approx([90.0, rise, sign * 200.0])
    assert curve.at(curve.length)[0] == pytest.approx(np.zeros(3), abs=1e-9)


def test_clock_places_on_a_base_bar_s_grips_twelve_up_three_towards_the_middle() -> None:
    for side, sign in (("left", -1.0), ("right", 1.0)):
        curve = bar_curve(base(), side)  # type: ignore[arg-type]
        assert curve.radial(20.0, 12.0) == pytest.approx([0.0, 1.0, 0.0], abs=1e-9)
        assert curve.radial(20.0, 3.0) == pytest.approx([0.0, 0.0, -sign], abs=1e-9)


# Extensions.


def test_other_bars_have_no_extensions() -> None:
    assert extension_curve(base(), "right") is None
    assert extension_curve(makers.frame().cockpit.bar, "left") is None
    assert build(makers.frame()).extensions is None


def test_a_ski_bend_by_hand() -> None:
    """Level from 40 behind the clamp to 190 ahead, then up 60 over 110: 28.61°, corner of 60 mm radius.

    By a pocket calculator: 230 - 15.300 + 60·0.49935 + 125.300 - 15.300.
    """
    curve = extension(**SKI)
    assert curve.length == pytest.approx(230.0 - 15.300 + 29.961 + 125.300 - 15.300, abs=0.005)
    assert curve.stem == pytest.approx(curve.length - 40.0)
    assert curve.at(0.0)[0] == pytest.approx([300.0, 110.0, 55.0])
    assert curve.at(curve.length)[0] == pytest.approx([-40.0, 50.0, 55.0])
    assert curve.at(curve.stem)[0] == pytest.approx([0.0, 50.0, 55.0])
    _, inward = curve.at(10.0)
    assert math.degrees(math.atan2(-inward[1], -inward[0])) == pytest.approx(28.6105, abs=1e-3)
    # 50 mm from the end, down the slope: 110 and 60 shared as 110/125.300 and 60/125.300
    assert curve.at(50.0)[0] == pytest.approx([300.0 - 43.895, 110.0 - 23.943, 55.0], abs=2e-3)


def test_an_s_bend_by_hand() -> None:
    """Level to 120 ahead, up 70 over 110 (32.47°), level for the last 90; both corners of 60 mm radius.

    By a pocket calculator: 150 - 17.473 + 34.004 + 130.384 - 2·17.473 + 34.004 + 90 - 17.473.
    """
    curve = extension(**S_BEND)
    assert curve.length == pytest.approx(368.500, abs=0.005)
    assert curve.at(0.0)[0] == pytest.approx([320.0, 45.0 + 70.0, 50.0])
    for along in (0.0, 40.0, curve.length - 10.0):
        assert curve.at(along)[1] == pytest.approx([-1.0, 0.0, 0.0])


def test_a_straight_extension_slopes_by_its_rise() -> None:
    level = extension(**STRAIGHT)
    assert level.length == pytest.approx(330.0)
    assert level.at(100.0)[0] == pytest.approx([200.0, 45.0, 60.0])
    sloping = extension(**STRAIGHT | {"rise": 40})
    assert sloping.length == pytest.approx(math.hypot(300.0, 40.0) + 30.0)
    assert sloping.at(0.0)[0] == pytest.approx([300.0, 85.0, 60.0])
    assert sloping.at(sloping.stem)[0] == pytest.approx([0.0, 45.0, 60.0])


@pytest.mark.parametrize("figures", [SKI, S_BEND, STRAIGHT, STRAIGHT | {"rise": 40}])
def test_extensions_are_smooth_mirrored_and_have_their_clock(figures: dict[str, Any]) -> None:
    right, left = extension(**figures), extension("left", **figures)
    assert left.points() == pytest.approx(right.points() * [1.0, 1.0, -1.0])
    for along in np.linspace(0.01, right.length - 0.02, 120):
        (here, inward), (there, _) = right.at(along), right.at(along + 0.01)
        assert there - here == pytest.approx(0.01 * inward, abs=1e-5)
        assert right.radial(along, 3.0) == pytest.approx([0.0, 0.0, -1.0], abs=1e-9)
        assert left.radial(along, 3.0) == pytest.approx([0.0, 0.0, 1.0], abs=1e-9)
        assert right.radial(along, 12.0) @ inward == pytest.approx(0.0, abs=1e-9)
        assert right.radial(along, 12.0)[1] > 0.8
    assert right.curvatures.max() <= 1.0 / 60.0 + 1e-12


def test_extensions_roll_with_their_bar() -> None:
    plain, rolled = extension(**SKI), extension_curve(base(roll=8, extensions=SKI), "right")
    assert rolled is not None
    x, y, z = plain.points().T
    angle = math.radians(8.0)
    turned = np.stack([x * math.cos(angle) - y * math.sin(angle), x * math.sin(angle) + y * math.cos(angle), z], axis=1)
    assert rolled.points() == pytest.approx(turned)


@settings(max_examples=60, deadline=None)
@given(
    figures=st.sampled_from([SKI, S_BEND, STRAIGHT]),
    share=st.floats(0.02, 0.98),
    clock=st.floats(0.0, 11.99),
    off=st.floats(1.0, 14.0),
    side=st.sampled_from(["left", "right"]),
)
def test_locating_a_place_beside_an_extension_gives_it_back(
    figures: dict[str, Any], share: float, clock: float, off: float, side: str
) -> None:
    curve = extension(side, **figures)
    along = share * curve.length
    found = curve.locate(curve.beside(np.array([along]), np.array([clock]), np.array([off]))[0])
    assert found[0] == pytest.approx(along, abs=1e-6)
    assert math.remainder(found[1] - clock, 12.0) == pytest.approx(0.0, abs=1e-6)
    assert found[2] == pytest.approx(off, abs=1e-9)


@pytest.mark.parametrize(
    ("changes", "begins"),
    [
        ({"rise": 0}, "cockpit.bar.extensions.rise is 0 mm: a bend of kind ski rises"),
        ({"length": 150, "bend": "S"}, "cockpit.bar.extensions.length is 150 mm: a bend of kind S takes 200 mm"),
    ],
)
def test_extensions_that_cannot_be_bent_are_refused(changes: dict[str, Any], begins: str) -> None:
    with pytest.raises(FrameFileError) as refused:
        extension(**SKI | changes)
    assert str(refused.value).startswith(begins)
    assert "\n" not in str(refused.value)


def test_a_place_beyond_an_extension_is_refused() -> None:
    curve = extension("left", **STRAIGHT)
    with pytest.raises(FrameFileError, match=r"^along is 400 mm from the extension end: the left extension is 330 mm"):
        curve.at(400.0)


# Levers.


def time_trial(*levers: dict[str, Any], lines: list[dict[str, Any]] | None = None, **bar: Any) -> Frame:
    changes: dict[str, Any] = {} if lines is None else {"line": lines}
    bars = {**BASE, "extensions": STRAIGHT, **bar}
    named = [{"name": "left lever", "part": "base-bar brake lever", "side": "left", "along": 0}, *levers]
    return makers.frame(cockpit={"bar": bars}, lever=named, **changes)


def clamp_of(frame: Frame, **lever: Any) -> LeverClamp:
    bike = build(frame)
    found = lever_clamp(bike, Lever.model_validate({"name": "lever", "part": "any", "along": 0, **lever}))
    origin = bike.skeleton.bar_clamp if found.body == "bar" else np.zeros(3)
    return LeverClamp(found.body, found.origin - origin, found.inward, found.forward, found.up)


@pytest.mark.parametrize(("side", "sign"), [("left", -1.0), ("right", 1.0)])
def test_a_lever_in_an_extension_s_end(side: str, sign: float) -> None:
    found = clamp_of(time_trial(), side=side, on="extension")
    assert found.body == "bar"
    assert found.origin == pytest.approx([300.0, 45.0, sign * 60.0])
    assert found.inward == pytest.approx([-1.0, 0.0, 0.0])
    assert found.forward == pytest.approx([0.0, 0.0, -sign])
    assert found.up == pytest.approx([0.0, 1.0, 0.0])


@pytest.mark.parametrize(("side", "sign"), [("left", -1.0), ("right", 1.0)])
def test_a_lever_on_the_side_of_the_down_tube(side: str, sign: float) -> None:
    """Its boss lies on the wall, 130 mm from the head tube's axis, and belongs to the frame."""
    frame = makers.frame()
    bones = build(frame).skeleton
    found = clamp_of(frame, side=side, on="down tube", along=130)
    start = bones.head_bottom + 35.0 / 150.0 * (bones.head_top - bones.head_bottom)
    axis = (bones.bottom_bracket - start) / np.linalg.norm(bones.bottom_bracket - start)
    assert found.body == "frame"
    assert found.origin == pytest.approx(start + 130.0 * axis + [0.0, 0.0, sign * 15.9], abs=1e-9)
    assert found.inward == pytest.approx(axis)
    assert found.up == pytest.approx([0.0, 0.0, sign])
    assert found.forward[1] > 0.0


def test_a_lever_on_a_tube_that_does_not_meet_the_head_tube_is_refused() -> None:
    with pytest.raises(FrameFileError, match=r'^on is "seat tube": a lever sits on one of bar, top tube, down tube;'):
        clamp_of(makers.frame(), side="left", on="seat tube")


SHIFTER = {"name": "shifter", "part": "extension shifter", "side": "right", "along": 0, "on": "extension"}


@pytest.mark.parametrize(
    ("lever", "bar", "expected"),
    [
        (SHIFTER | {"on": "bar"}, {}, ['lever "shifter"', "made for the extension", 'write on = "extension"']),
        (SHIFTER, {"extensions": None}, ['on is "extension"', "the base bar has none"]),
        (
            SHIFTER | {"part": "bar-end shifter", "along": 90},
            {},
            ["along is 90 mm", "plugs into the end", "0 to 20 mm"],
        ),
        (
            SHIFTER | {"part": "down-tube shifter", "on": "bar"},
            {},
            ["made for the down tube", 'write on = "down tube"'],
        ),
        (SHIFTER | {"on": "down tube"}, {}, ["does not sit on the down tube"]),
        (SHIFTER | {"part": "flat-bar shifter", "on": "bar"}, {}, ["does not fit the base bar"]),
        (SHIFTER, {"extensions": STRAIGHT | {"diameter": 19}}, ["22 mm outside diameter", "the extension has 19 mm"]),
    ],
)
def test_levers_that_do_not_fit_are_refused(lever: dict[str, Any], bar: dict[str, Any], expected: list[str]) -> None:
    with pytest.raises(FrameFileError) as refused:
        complete(time_trial(lever, **bar), PARTS)
    said = str(refused.value)
    assert "\n" not in said
    for part in expected:
        assert part in said


@pytest.mark.parametrize("part", ["bar-end shifter", "bar-end brake lever"])
@pytest.mark.parametrize(
    "bar",
    [
        {"shape": "drop", "width": 440, "reach": 75, "drop": 125},
        {"shape": "flat", "width": 600},
        {"shape": "swept", "width": 620, "backsweep": 60},
        BASE,
    ],
)
def test_bar_end_levers_fit_every_bar_with_an_open_end(part: str, bar: dict[str, Any]) -> None:
    kind = BRAKE if "brake" in part else SHIFT
    lever = {"name": "lever", "part": part, "side": "right", "along": 0}
    one = line("line", kind, "lever", {"then": "loop"}, FRONT_CALIPER)
    made = complete(makers.frame(cockpit={"bar": bar}, lever=[lever], line=[one]), PARTS)
    assert made.line[0].station[0].offset is not None


# Stations and housing.

UNDER = clip("under", "extension", "stem", 50, 6, "stem", then="loop")


def shift_line(*stations: dict[str, Any]) -> dict[str, Any]:
    end = stop("tube stop", "down tube", "head tube", 120, 3, "head tube", then="bare")
    last = {"name": "caliper", "type": "anchor", "part": "front derailleur, from below", "on": "seat tube"}
    return line("shift", SHIFT, "shifter", *stations, end, {**last, "from": "bottom bracket", "along": 150})


def placed(*stations: dict[str, Any], **lever: Any) -> tuple[np.ndarray, PlacedLine]:
    """Return the bar's clamp and the shift line, placed on the time-trial bike."""
    bike, (found,) = place_lines(time_trial(SHIFTER | lever, lines=[shift_line(*stations)]), PARTS)
    return bike.skeleton.bar_clamp, found


@pytest.mark.parametrize(
    ("from_", "along", "facing", "x", "way"),
    [
        ("extension end", 100, "stem", 200.0, -1.0),
        ("stem", 60, "stem", 60.0, -1.0),
        ("stem", -20, "extension end", -20.0, 1.0),
    ],
)
def test_a_place_on_an_extension(from_: str, along: float, facing: str, x: float, way: float) -> None:
    """6 o'clock below it: half the tube of 22.2 and half the housing of 4 mm under its axis, which lies at 45."""
    here = clip("under", "extension", from_, along, 6, facing, then="loop")
    clamp, found = placed({"then": "strapped"}, here)
    assert found.stations[1].place - clamp == pytest.approx([x, 45.0 - 11.1 - 2.0, 60.0], abs=1e-9)
    assert found.stations[1].direction == pytest.approx([way, 0.0, 0.0], abs=1e-12)
    assert found.stations[1].body == "bar"


def test_housing_strapped_under_an_extension_is_as_long_as_the_way_along_it() -> None:
    """From the lever's mouth, on the axis, to a clip 13.1 mm below it: a line that slopes by that much."""
    clamp, found = placed({"then": "strapped"}, UNDER)
    span = found.spans[0]
    assert isinstance(span, Course)
    mouth = span.points[0] - clamp
    assert mouth[[1, 2]] == pytest.approx([45.0, 60.0], abs=1e-6)
    assert span.length == pytest.approx(math.hypot(mouth[0] - 50.0, 13.1), abs=1e-3)


@pytest.mark.parametrize("moved", [(0.05, 0.0), (-0.05, 0.0), (0.0, 0.05), (0.0, -0.05)])
def test_no_small_change_of_a_seat_on_the_axis_makes_the_housing_jump(moved: tuple[float, float]) -> None:
    frame = complete(time_trial(SHIFTER, lines=[shift_line({"then": "strapped"}, UNDER)]), PARTS)
    offset = frame.line[0].station[0].offset
    assert offset is not None and float(offset[1]) == float(offset[2]) == 0.0
    inward, forward, up = offset
    shifted = (inward, type(forward)(forward + moved[0], forward.within), type(up)(up + moved[1], up.within))
    lengths = []
    for place in (offset, shifted):
        lever = frame.line[0].station[0].model_copy(update={"offset": place})
        one = frame.line[0].model_copy(update={"station": (lever, *frame.line[0].station[1:])})
        bike = build(frame.model_copy(update={"line": (one,)}))
        span = place_line(bike, routes(bike.frame, PARTS)[0]).spans[0]
        assert isinstance(span, Course)
        lengths.append(span.length)
    assert abs(lengths[1] - lengths[0]) < 0.05


def test_housing_cannot_be_strapped_from_an_extension_to_the_bar() -> None:
    with pytest.raises(FrameFileError) as refused:
        placed({"then": "strapped"}, clip("on the bar", "bar", "stem", 60, 6, "stem", then="loop"))
    said = str(refused.value)
    assert said.startswith('line "shift", station "lever": strapped housing cannot run to "on the bar"')
    assert "\n" not in said


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"from": "bar end"}, 'from is "bar end": on the extension write "extension end" or "stem"'),
        ({"facing": "fork"}, 'facing is "fork": on the extension write "extension end" or "stem"'),
        ({"along": 390}, "along is -90 mm from the extension end: the right extension is 330 mm long"),
    ],
)
def test_places_off_an_extension_are_refused(changes: dict[str, Any], expected: str) -> None:
    here = clip("under", "extension", "stem", 60, 6, "stem", then="loop") | changes
    with pytest.raises(FrameFileError) as refused:
        placed({"then": "strapped"}, here)
    assert str(refused.value).startswith(f'line "shift", station "under": {expected}')


def test_a_station_on_an_extension_of_a_bar_without_any_is_refused() -> None:
    here = clip("under", "extension", "stem", 60, 6, "stem", then="loop")
    lever = {"name": "shifter", "part": "bar-end shifter", "side": "right", "along": 0}
    frame = makers.frame(lever=[lever], line=[shift_line({"then": "strapped"}, here)])
    with pytest.raises(FrameFileError) as refused:
        place_lines(frame, PARTS)
    said = str(refused.value)
    assert said.startswith('line "shift", station "under": on is "extension": write one of ')
    assert "extension," not in said.split("write one of ")[1]


@pytest.mark.parametrize(("groove", "clock"), [("front", 2.0), ("rear", 8.0)])
def test_under_tape_the_front_groove_is_shorter_than_the_rear_one(groove: str, clock: float) -> None:
    """Parallel curves: round the tops' corner the length changes by distance × a quarter turn × sin of the clock.

    440 wide with a reach of 75: the corner has a radius of 33.75, and starts 220 - 33.75 from the middle.
    """
    frame = makers.frame()
    bar = frame.cockpit.bar
    curve = bar_curve(bar, "left")
    first = round(curve.length - (220.0 - 33.75) - 33.75 * math.pi / 2.0 - 1.5, 3)
    rows = [
        {"then": "strapped"},
        clip("corner", "bar", "bar end", first, clock, "stem", then="strapped"),
        clip("tape end", "bar", "stem", 50, clock, "stem", then="loop"),
        stop("stop", "down tube", "head tube", 120, 9, "head tube", then="bare"),
        stop("rear stop", "down tube", "head tube", 420, 9, "bottom bracket", then="loop"),
        REAR_CALIPER,
    ]
    lever = {"name": "lever", "part": "drop-bar brake lever", "side": "left", "along": 215}
    _, (found,) = place_lines(makers.frame(lever=[lever], line=[line("brake", BRAKE, "lever", *rows)]), PARTS)
    span = found.spans[1]
    assert isinstance(span, Course)
    off = bar.diameter / 2.0 + 2.5
    toward_the_middle = math.sin(clock * math.pi / 6.0)
    assert span.length == pytest.approx(curve.length - 50.0 - first - off * toward_the_middle * math.pi / 2.0, abs=0.1)
    assert (toward_the_middle > 0) is (groove == "front")
