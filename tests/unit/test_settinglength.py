"""Exact setting lengths: what the list says, where the slack goes, and a setting longer than its housing."""

from __future__ import annotations

import math
from typing import Any

import pytest
from workbench import FRONT_STOP, LEVER, REAR_STOP, bench_frame, line, station

from ropewalk.analysis.findings import Finding
from ropewalk.errors import FrameFileError
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.plan import plan

SHIFT: dict[str, Any] = {"work": "shift", "inner": "shift 1.2", "housing": "lengthwise shift 4.0"}
HUB = {"name": "hub", "type": "stop", "part": "hub gear"}
CLIP = {
    "name": "stay clip", "type": "clip", "on": "right chainstay", "from": "rear axle", "along": 200, "clock": 3,
    "facing": "rear axle", "then": "loop",
}  # fmt: skip


def job(*clips: dict[str, Any], along: float = 420, **changes: Any) -> JobPlan:
    rear = station(REAR_STOP, clock=3, along=along)
    return plan(bench_frame(line([LEVER, FRONT_STOP, rear, *clips, station(HUB, **changes)], **SHIFT)))


@pytest.fixture(scope="module", name="alone")
def _alone() -> JobPlan:
    return job(setting=101)


@pytest.fixture(scope="module", name="clipped")
def _clipped() -> JobPlan:
    return job(CLIP, setting=101)


def found(planned: JobPlan, text: str) -> list[Finding]:
    return [finding for finding in planned.findings if text in finding.text]


def test_the_list_says_from_where_to_where_to_measure(alone: JobPlan) -> None:
    setting = alone.lines[0].setting
    assert setting is not None
    assert (setting.length, setting.start, setting.end) == (101.0, "hub", "hub")
    (note,) = found(alone, "setting length 101 mm: measure from the seat at hub to its anchor")
    assert (note.grade, note.where, note.value, note.unit) == ("note", "brake", 101.0, "mm")
    inner = alone.lines[0].inner
    assert inner is not None
    assert [term.mm for term in inner.terms if term.label.startswith("setting length")] == [101.0]


def test_the_loop_at_the_hub_has_nothing_to_trim_and_its_neighbour_has_both(clipped: JobPlan, alone: JobPlan) -> None:
    """The catalogue's choice is 3 mm for a loop that stands still: 6 mm before the clip, none at the hub."""
    trims = [clipped.loops[0, span].case.trim for span in (2, 3)]
    assert trims == [6.0, 0.0]
    last = clipped.loops[0, 3]
    assert last.shortest is not None
    assert last.target == pytest.approx(last.shortest.length)
    assert alone.loops[0, 2].case.trim == 3.0


def test_slack_that_has_nowhere_to_go_is_a_look(alone: JobPlan, clipped: JobPlan) -> None:
    (look,) = found(alone, "slack there changes the setting length")
    assert (look.grade, look.where, look.value, look.limit) == ("look", "brake, A2", 3.0, 0.0)
    assert found(clipped, "slack there changes the setting length") == []


def test_the_station_s_setting_makes_the_inner_longer_by_what_it_is_longer(alone: JobPlan) -> None:
    """The catalogue's hub gear asks for 100 mm."""
    catalogue_s, own = job().lines[0].inner, alone.lines[0].inner
    assert catalogue_s is not None and own is not None
    assert own.path - catalogue_s.path == pytest.approx(1.0)


def test_a_setting_longer_than_the_housing_that_ends_there_is_refused() -> None:
    nearer = {"along": 520, "offset": [160, 20, 72]}
    target = job(**nearer).lines[0].pieces[1].target
    longer, as_long = math.ceil(target), math.floor(target)
    with pytest.raises(FrameFileError) as refusal:
        job(setting=longer, **nearer)
    said = str(refusal.value)
    assert "\n" not in said
    assert said.startswith(f'line "brake", station "hub": the setting length of {longer} mm is longer than the')
    assert job(setting=as_long, **nearer).lines[0].setting is not None


def test_the_order_of_work_measures_the_setting_twice(alone: JobPlan) -> None:
    steps = alone.lines[0].order
    first = next(at for at, step in enumerate(steps) if "setting length 101 mm" in step)
    pulled = next(at for at, step in enumerate(steps) if step.startswith("Pull the inner hard"))
    again = next(at for at, step in enumerate(steps) if step.startswith("Measure the setting length again"))
    assert first < pulled < again < len(steps) - 1
