"""Liners, guide liners and sleeves of inside spans: lengths by hand from a straight way of known length."""

from __future__ import annotations

from typing import Any

import makers
import pytest
from workbench import CALIPER, FRONT_STOP, LEVER, PARTS, REAR_STOP, line, placed, station

from ropewalk.routing.course import Course
from ropewalk.routing.spans import PlacedLine
from ropewalk.workshop.jobplan import LinerPlan
from ropewalk.workshop.liners import plan_liners
from ropewalk.workshop.plan import place_lines

SHIFT: dict[str, Any] = {"work": "shift", "inner": "shift 1.2", "housing": "lengthwise shift 4.0"}
DERAILLEUR = {"name": "rear derailleur", "type": "stop", "part": "rear derailleur"}
CARRIES_LINER = station(FRONT_STOP, then="inside", through=["down tube"], carries="liner")
PORT = station(FRONT_STOP, name="port", type="port", then="inside", through=["down tube"], carries="housing")
REAR_PORT = station(REAR_STOP, name="rear port", type="port")


def way_inside(made: PlacedLine) -> float:
    inside = made.spans[1]
    assert isinstance(inside, Course)
    return inside.length


def by_use(made: PlacedLine) -> dict[str, LinerPlan]:
    found = plan_liners(made, PARTS)
    assert len({liner.use for liner in found}) == len(found)
    return {liner.use: liner for liner in found}


def test_a_liner_between_stops_is_cut_to_the_way_inside_rounded_up() -> None:
    """The stops are 300 mm apart on a straight tube; both stand off its surface alike."""
    made = placed([LEVER, CARRIES_LINER, REAR_STOP, DERAILLEUR], liner="shift liner", **SHIFT)[1]
    liner = by_use(made)["liner"]
    assert way_inside(made) == pytest.approx(300.0, abs=1e-6)
    assert (liner.kind, liner.start, liner.end) == ("shift liner", "front stop", "rear stop")
    assert (liner.cut, liner.out) == (300.0, (0.0, 0.0))


def test_a_liner_stands_out_where_it_ends_at_a_port() -> None:
    """10 mm at the port: common practice, an estimate of the catalogue."""
    out = station(REAR_STOP, name="exit", type="port", then="bare")
    stop = station(REAR_STOP, along=520)
    made = placed([LEVER, CARRIES_LINER, out, stop, DERAILLEUR], liner="shift liner", **SHIFT)[1]
    liner = by_use(made)["liner"]
    assert liner.out == (0.0, 10.0)
    assert way_inside(made) + 10.0 <= liner.cut < way_inside(made) + 15.0
    assert liner.cut % 5.0 == 0.0


@pytest.mark.parametrize("carries", ["housing", "liner"])
def test_a_guide_liner_is_the_way_inside_and_150_mm_at_both_ends(carries: str) -> None:
    """Over the old inner before that is pulled, 150 mm out at both ends: common practice."""
    stations = (
        [LEVER, CARRIES_LINER, REAR_STOP, DERAILLEUR] if carries == "liner" else [LEVER, PORT, REAR_PORT, DERAILLEUR]
    )
    made = placed(stations, liner="shift liner" if carries == "liner" else None, **SHIFT)[1]
    guide = by_use(made)["guide"]
    assert guide.out == (150.0, 150.0)
    assert way_inside(made) + 300.0 - 1e-6 <= guide.cut < way_inside(made) + 305.0
    assert guide.cut % 5.0 == 0.0


def test_a_guide_liner_has_room_for_the_inner() -> None:
    made = placed([LEVER, PORT, REAR_PORT, CALIPER])[1]
    kind = by_use(made)["guide"].kind
    assert PARTS.liner(kind).bore >= PARTS.inner("brake 1.5").diameter
    assert "brake" in PARTS.liner(kind).work


def test_a_sleeve_stays_within_the_way_inside() -> None:
    made = placed([LEVER, station(PORT, sleeve="anti-rattle sleeve", lean=25), REAR_PORT, CALIPER])[1]
    sleeve = by_use(made)["sleeve"]
    assert (sleeve.kind, sleeve.start, sleeve.end) == ("anti-rattle sleeve", "port", "rear port")
    assert way_inside(made) - 5.0 < sleeve.cut <= way_inside(made) + 1e-6
    assert sleeve.cut % 5.0 == 0.0


def test_full_housing_inside_wants_no_liner_and_a_line_outside_nothing() -> None:
    assert "liner" not in by_use(placed([LEVER, PORT, REAR_PORT, CALIPER])[1])
    assert plan_liners(placed([LEVER, FRONT_STOP, REAR_STOP, CALIPER])[1], PARTS) == ()


def test_a_hose_is_drawn_in_by_the_old_one_and_wants_no_guide() -> None:
    levers = [{"name": "lever", "part": "drop-bar hydraulic lever", "side": "left", "along": 215}]
    caliper = {"name": "caliper", "type": "stop", "part": "hydraulic disc caliper, rear"}
    stations = [LEVER, station(PORT, sleeve="thin anti-rattle sleeve"), REAR_PORT, caliper]
    hose = line(stations, work="hose", inner=None, housing="hydraulic hose")
    _, (made,) = place_lines(makers.frame(lever=levers, line=[hose]), PARTS)
    assert [liner.use for liner in plan_liners(made, PARTS)] == ["sleeve"]
