"""The study of ports: axes, hole, welds, bends and water of ports on a small bike; limits from either side."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import makers
import numpy as np
import pytest
from planned import planned
from scipy.optimize import brentq
from workbench import CALIPER, FRONT_STOP, LEVER, PARTS, placed, station

from ropewalk.analysis.findings import Finding
from ropewalk.analysis.insideruns import inside_runs
from ropewalk.analysis.portchecks import port_checks, port_findings
from ropewalk.analysis.ports import PortStudy, study_ports
from ropewalk.mechanics import curves
from ropewalk.units import degrees, radians
from ropewalk.workshop.insideorder import threading_order
from ropewalk.workshop.liners import plan_liners

FRONT = {
    "name": "front port",
    "type": "port",
    "on": "top tube",
    "from": "head tube",
    "along": 95,
    "clock": 9,
    "facing": "head tube",
    "lean": 25,
    "hole": 7,
    "then": "inside",
    "through": ["top tube"],
    "carries": "housing",
}
REAR = {
    "name": "rear port",
    "type": "port",
    "on": "top tube",
    "from": "seat tube",
    "along": 85,
    "clock": 8,
    "facing": "seat tube",
    "lean": 25,
    "hole": 7,
    "then": "loop",
}


def studied(
    front: dict[str, Any] | None = None, rear: dict[str, Any] | None = None
) -> tuple[Any, Any, PortStudy, PortStudy]:
    bike, line = placed([LEVER, station(FRONT, **(front or {})), station(REAR, **(rear or {})), CALIPER])
    first, last = study_ports(bike, line, {}, PARTS)
    return bike, line, first, last


def graded(figure: str, **front: Any) -> str | None:
    """Return the grade of one figure of the front port with changes."""
    checks = port_checks(studied(front)[2], PARTS)
    return next(check for check in checks if check.figure.startswith(figure)).grade


def findings(front: dict[str, Any]) -> list[Finding]:
    bike, line, *_ = studied(front)
    return [found for found in port_findings(bike, line, {}, PARTS) if found.where == "brake, front port"]


# Axes: what the file says comes back, and the hole lies about the very line the loop starts on.


@pytest.mark.parametrize("clock", [0.5, 3.0, 7.25, 11.0])
@pytest.mark.parametrize("place", [0, 1])
@pytest.mark.parametrize("skew", [0.0, 25.0, -25.0])
def test_the_hole_lies_about_the_direction_of_the_loop(clock: float, place: int, skew: float) -> None:
    turned = {"clock": clock, "skew": skew}
    bike, line, *ports = studied(turned, turned)
    port, end = ports[place], ("head tube", "seat tube")[place]
    assert (port.from_, port.facing) == (end, end)
    assert (port.clock, port.along) == pytest.approx((clock, (95.0, 85.0)[place]))
    assert (degrees(port.lean), degrees(port.skew)) == pytest.approx((25.0, skew))
    seat = line.stations[1 + place]
    away = np.linalg.norm(np.cross(port.edge - seat.place, seat.direction), axis=1)
    assert away == pytest.approx(np.full(len(port.edge), 3.5))
    tube = bike.tubes["top tube"]
    off = np.linalg.norm(np.cross(port.edge - tube.start, tube.axis), axis=1)
    assert off == pytest.approx(np.full(len(port.edge), tube.diameter / 2))


def test_a_port_told_in_raw_coordinates_is_the_same_port() -> None:
    bike, line, told, _ = studied({"skew": 20.0})
    seat, tube = line.stations[1], bike.tubes["top tube"]
    raw = {
        "offset": (seat.place - tube.place(95.0, "head tube")).tolist(),
        "towards": seat.direction.tolist(),
        "clock": None,
        "lean": None,
        "facing": None,
    }
    port = studied(raw)[2]
    assert (port.lean, port.skew, port.clock, port.along) == pytest.approx((told.lean, told.skew, 9.0, 95.0), abs=1e-6)
    assert port.edge == pytest.approx(told.edge, abs=1e-6)


def test_the_slot_rule_holds_on_the_bike() -> None:
    # Slot length = diameter / sin(lean), common practice of the trade.
    outline = studied({"lean": 30})[2].outline
    assert outline is not None
    assert outline.length == pytest.approx(14.0, abs=0.05)


# Places.


def test_the_weld_is_nearer_than_the_axis_by_the_tubes_and_the_hole() -> None:
    bike, _, port, _ = studied()
    top, head = bike.tubes["top tube"], bike.tubes["head tube"]
    sine = np.linalg.norm(np.cross(top.axis, head.axis))
    surface = math.sqrt((head.diameter / 2) ** 2 - (top.diameter / 2) ** 2) / sine
    edge = float(((port.edge - top.start) @ top.axis).min())
    near, far = port.welds
    assert (near.to, near.side, far.to, far.side) == ("head tube", "head tube", "seat tube", "seat tube")
    # the joint's line slants there, so the shortest way is a little shorter than that along the tube
    assert 0.9 * (edge - surface) < near.distance <= edge - surface + 1e-6


def test_a_hole_that_reaches_into_the_joint_is_a_stop() -> None:
    assert studied({"along": 15})[2].welds[0].distance == 0.0
    assert [found.grade for found in findings({"along": 15}) if "reaches into" in found.text] == ["stop"]


def test_a_leg_no_tube_meets_is_measured_to_its_end() -> None:
    leg = {
        "on": "left fork leg",
        "from": "fork crown",
        "along": 60,
        "facing": "fork crown",
        "through": ["left fork leg"],
    }
    low = {"on": "left fork leg", "from": "front axle", "along": 150, "facing": "front axle"}
    front = {"part": "dual-pivot rim caliper, front"}
    bike, line = placed([LEVER, station(FRONT, **leg), station(REAR, **low), station(CALIPER, **front)])
    port = study_ports(bike, line, {}, PARTS)[0]
    along = (port.edge - port.tube.start) @ port.tube.axis
    assert [weld.is_end for weld in port.welds] == [True, True]
    assert port.welds[0].distance == pytest.approx(float(along.min()))
    assert port.welds[1].distance == pytest.approx(port.tube.length - float(along.max()))
    assert port.from_head is None
    assert math.isinf(port.water.from_top)


def test_only_the_half_at_the_head_tube_has_a_distance_from_it() -> None:
    _, _, front, rear = studied()
    assert front.from_head == pytest.approx(95.0)
    assert rear.from_head is None


@pytest.mark.parametrize(
    ("front", "passage", "grade"),
    [
        ({"lean": 0}, "along", "look"),
        ({"lean": 60, "skew": 80}, "beside", "look"),
        ({"lean": 25, "hole": 27}, "too thick", "stop"),
    ],
)
def test_a_port_without_a_hole_says_why(front: dict[str, Any], passage: str, grade: str) -> None:
    port = studied(front)[2]
    assert (port.passage, port.outline) == (passage, None)
    said = [found for found in findings(front) if found.text.startswith("no drill")]
    assert [found.grade for found in said] == [grade]


def test_a_port_that_points_into_its_tube_is_a_stop() -> None:
    port = replace(studied()[2], passage="inward", outline=None)
    assert next(check.grade for check in port_checks(port, PARTS) if check.figure == "lean") == "stop"


def test_a_line_that_enters_at_the_open_end_needs_no_hole() -> None:
    port = studied({"along": 0, "clock": None, "lean": None, "offset": [0, 5, 0], "towards": [1, 0, 0]})[2]
    assert (port.passage, port.outline, port.welds) == ("open end", None, ())
    assert not [check for check in port_checks(port, PARTS) if check.figure in ("lean", "share of the tube")]


def test_a_line_through_the_headset_cuts_no_steerer() -> None:
    upper = {"on": "steerer", "from": "head tube top", "along": -8, "facing": "top", "lean": 30, "height": 2}
    tubes = makers.frame_dict()["tubes"] | {
        "head_tube": {"diameter": 52, "wall": 1.5},
        "down_tube": {"diameter": 45, "at_head": 35},
    }
    frame = {"tubes": tubes, "opening": [{"between": ["head tube", "down tube"], "size": 25}]}
    first = station(FRONT, **upper, hole=None, through=["head tube", "down tube"])
    last = station(REAR, on="down tube", from_="bottom bracket", along=80, clock=9, facing="bottom bracket")
    bike, line = placed([LEVER, first, last, CALIPER], frame=frame)
    above, below = study_ports(bike, line, {}, PARTS)
    assert (above.passage, above.outline, above.welds) == ("open end", None, ())
    assert below.passage == "through"
    assert not [
        found
        for found in port_findings(bike, line, {}, PARTS)
        if found.where.endswith("front port") and found.grade == "stop"
    ]
    (run,) = inside_runs(line)
    assert run.reached
    assert run.length > math.dist(line.stations[1].place, line.stations[2].place)


# Water.


def test_water_by_the_side_the_wall_and_the_mouth_look_to() -> None:
    top, side, below = (studied({"clock": clock})[2].water for clock in (12, 9, 6))
    assert (degrees(top.from_top), degrees(side.from_top), degrees(below.from_top)) == pytest.approx((0.0, 90.0, 180.0))
    assert side.face == pytest.approx(0.0, abs=1e-9)
    assert top.face == pytest.approx(-below.face)
    assert degrees(top.face) > 75.0
    # a mouth on top of a level tube looks up by its lean, one below down by it
    slope = math.asin(float(studied()[0].tubes["top tube"].axis[1]))
    assert top.mouth == pytest.approx(radians(25.0) - slope)
    assert below.mouth == pytest.approx(-radians(25.0) - slope)


# Bends.


def test_the_widest_arc_inside_just_meets_the_far_wall() -> None:
    bike, _, port, _ = studied({"lean": 40})
    assert port.inside is not None
    assert port.inside.radius is not None
    bore = bike.tubes["top tube"].diameter / 2 - bike.tubes["top tube"].wall
    # from the inner wall, at the lean, until it runs along the tube: the housing's far side touches the far wall
    angle = np.linspace(0.0, radians(40.0), 200)
    height = bore - port.inside.radius * (np.cos(angle) - math.cos(radians(40.0)))[::-1]
    assert height.min() - 2.5 == pytest.approx(-bore)
    assert port.inside.angle < radians(40.0)


def test_the_bend_outside_is_the_tightest_of_its_loop_near_the_port() -> None:
    job = planned("road")
    number = next(at for at, line in enumerate(job.lines) if line.name == "rear brake")
    line = job.routing[number]
    loops = {span: loop for (at, span), loop in job.loops.items() if at == number}
    front, rear = study_ports(job.model, line, loops, job.catalogue)
    for port, span, first in ((front, 1, False), (rear, 3, True)):
        loop = loops[span]
        points = loop.sweep.points(401)
        near = np.linspace(0.0, loop.target, 401) <= 40.0
        kept = points[:, near if first else near[::-1]]
        assert port.outside is not None
        assert port.outside.radius == pytest.approx(float(curves.least_radius(kept).min()), rel=0.02)
        assert 0.0 < port.outside.angle < 40.0 / port.outside.radius + 1e-6


def test_without_its_loop_a_port_has_no_bend_outside() -> None:
    assert studied()[2].outside is None


# Limits, from either side.


@pytest.mark.parametrize(
    ("lean", "grade"), [(19.5, "note"), (20, None), (30, None), (30.5, "note"), (45, "note"), (45.5, "look")]
)
def test_lean_20_to_30_is_good_and_over_45_a_hard_bend(lean: float, grade: str | None) -> None:
    assert graded("lean", lean=lean) == grade


@pytest.mark.parametrize(("hole", "grade"), [(4.9, "stop"), (5.0, "note"), (5.4, "note"), (5.5, None), (None, None)])
def test_a_hole_passes_what_goes_through_with_clearance(hole: float | None, grade: str | None) -> None:
    assert graded("hole", hole=hole) == grade


@pytest.mark.parametrize("least", [25.0, 30.0])
def test_the_weld_stays_25_mm_away_better_30(least: float) -> None:
    just = brentq(lambda along: studied({"along": along})[2].welds[0].distance - least, 40.0, 95.0)
    nearer, further = (graded("weld to head", along=round(just + step, 2)) for step in (-0.2, 0.2))
    assert (nearer, further) == (("look", "note") if least == 25.0 else ("note", None))


@pytest.mark.parametrize(("along", "grade"), [(49, "note"), (50, None), (120, None), (121, "note")])
def test_a_port_lies_50_to_120_mm_from_the_head_tubes_axis(along: float, grade: str | None) -> None:
    assert graded("head tube's axis", along=along) == grade


@pytest.mark.parametrize(("clock", "grade"), [(12, "look"), (10.6, "look"), (10.4, None), (3, None)])
def test_never_on_top(clock: float, grade: str | None) -> None:
    assert graded("off the tube's top", clock=clock) == grade


@pytest.mark.parametrize(("clock", "figure", "grade"), [(10.0, "mouth", "note"), (9.0, "mouth", None)])
def test_a_mouth_that_looks_up_is_noted(clock: float, figure: str, grade: str | None) -> None:
    lean = 35.0 if clock == 10.0 else 25.0
    assert graded(f"{figure} looks up", clock=clock, lean=lean) == grade


@pytest.mark.parametrize(("hole", "grade"), [(9.5, None), (12.0, "look")])
def test_a_hole_takes_no_more_of_the_tube_than_its_maker_is_asked_for(hole: float, grade: str | None) -> None:
    assert graded("share", hole=hole) == grade


def test_the_share_is_an_estimate_and_says_so() -> None:
    most = PARTS.settings.ports.most_share
    assert (most.kind, most.source.startswith("default: ask the maker")) == ("estimate", True)
    check = next(check for check in port_checks(studied()[2], PARTS) if check.figure.startswith("share"))
    assert "default: ask the maker" in check.reason


def test_every_finding_says_what_to_do_and_what_limit() -> None:
    for front in ({"lean": 60, "clock": 12, "hole": 4, "along": 40}, {"lean": 10, "hole": 14, "along": 300}):
        found = findings(front)
        assert len(found) >= 2
        for one in found:
            assert one.text
            assert one.advice
            assert one.value is not None
            assert one.limit is not None
            assert one.unit


# The way inside.


def test_the_way_inside_is_straight_in_one_tube_and_what_it_needs_follows() -> None:
    _, line, *_ = studied()
    (run,) = inside_runs(line)
    assert run.length == pytest.approx(math.dist(line.stations[1].place, line.stations[2].place))
    guide = next(liner for liner in plan_liners(line, PARTS) if liner.use == "guide")
    # internal length and 150 mm out at both ends, rounded up to 5 mm
    assert run.length + 300.0 <= guide.cut < run.length + 305.0


def order_of(*stations: dict[str, Any], **line: Any) -> list[str]:
    _, found = placed([LEVER, *stations, CALIPER], **line)
    (run,) = inside_runs(found)
    return list(threading_order(run, plan_liners(found, PARTS), PARTS))


def test_full_housing_is_threaded_guide_sleeve_housing() -> None:
    steps = order_of(station(FRONT, sleeve="anti-rattle sleeve"), REAR)
    at = [
        next(n for n, step in enumerate(steps) if word in step) for word in ("over it", "sleeve", "Slide the housing")
    ]
    assert at == sorted(at)
    assert len(set(at)) == 3
    guide = steps[at[0]]
    assert guide.startswith("Before the old inner is pulled slide the guide liner over it")
    assert "150 mm at both ends" in guide
    assert guide.endswith("Then pull the old inner.")


def test_a_bare_inner_is_threaded_through_its_liner() -> None:
    front = station(FRONT_STOP, then="inside", through=["down tube"], carries="liner", lean=25)
    rear = station(FRONT_STOP, name="exit", along=420, facing="bottom bracket", then="loop", lean=25)
    steps = order_of(front, rear, liner="brake liner")
    assert not [step for step in steps if "housing" in step]
    assert "through it" in steps[-1]


def test_a_hose_has_no_inner_to_lead_it() -> None:
    job = planned("road")
    run = inside_runs(job.routing[1])[0]
    hose = PARTS.housing("hydraulic hose")
    steps = threading_order(replace(run, carries="hose", passing=hose), (), PARTS)
    assert "old hose" in steps[0]
    assert not [step for step in steps if "inner" in step or "housing" in step]


def test_no_order_where_no_way_leads_through() -> None:
    (run,) = inside_runs(studied()[1])
    assert threading_order(replace(run, reached=False), (), PARTS) == ()
