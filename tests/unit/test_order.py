"""The order of work: the guide goes over the old inner before that is pulled, the new inner is trimmed last of all."""

from __future__ import annotations

from typing import Any

import makers
import pytest
from planned import planned as fleet_plan
from workbench import CALIPER, FRONT_STOP, LEVER, REAR_STOP, bench_frame, line, station

from ropewalk.workshop.jobplan import LinePlan, Step
from ropewalk.workshop.order import PHASES, order_of_bike
from ropewalk.workshop.plan import plan

SHIFT: dict[str, Any] = {"work": "shift", "inner": "shift 1.2", "housing": "lengthwise shift 4.0"}
DERAILLEUR = {"name": "rear derailleur", "type": "stop", "part": "rear derailleur"}
PORT = station(FRONT_STOP, name="port", type="port", then="inside", through=["down tube"], carries="housing", lean=25)
REAR_PORT = station(REAR_STOP, name="rear port", type="port", lean=25)


def planned(*stations: dict[str, Any], **changes: Any) -> LinePlan:
    return plan(bench_frame(line(stations, **changes))).lines[0]


def at(made: LinePlan, text: str) -> int:
    """Return the place of the one step that says so."""
    (place,) = [place for place, step in enumerate(made.order) if text in step]
    return place


@pytest.fixture(scope="module", name="inside")
def _inside() -> LinePlan:
    return planned(LEVER, station(PORT, sleeve="anti-rattle sleeve"), REAR_PORT, CALIPER)


def test_the_guide_goes_over_the_old_inner_before_that_is_pulled(inside: LinePlan) -> None:
    steps = [
        "If an old inner is in, leave it in",
        "over the old inner, port → rear port, until it stands out 150 mm at both ends",
        "Pull the old inner out.",
        "push A1, its anti-rattle sleeve of 300 mm over it, in",
        "Draw the new inner in",
        "Fit everything dry",
        "lock to lock",
        "Pull the lever hard, standing still",
        "Last of all trim the inner to 30 mm past its anchor and cap it",
    ]
    places = [at(inside, step) for step in steps]
    assert places == sorted(places)
    assert (places[0], places[-1]) == (0, len(inside.order) - 1)


def test_every_step_is_a_sentence(inside: LinePlan) -> None:
    for step in inside.order:
        assert step[0].isupper() and step.endswith(".") and "\n" not in step


def test_lengths_in_the_steps_are_those_of_the_list(inside: LinePlan) -> None:
    (piece,) = inside.pieces
    guide, sleeve = inside.liners
    assert f"Cut A1 to {piece.first_cut:.0f} mm" in inside.order[at(inside, "Cut A1")]
    assert f"trim A1 to {piece.target:.0f} mm" in inside.order[at(inside, "Fit everything dry")]
    assert f"guide liner of {guide.cut:.0f} mm" in inside.order[1]
    assert sleeve.cut == 300.0


def test_a_line_outside_the_frame_has_no_guide() -> None:
    outside = planned(LEVER, FRONT_STOP, REAR_STOP, CALIPER)
    assert not any("guide" in step for step in outside.order)
    assert outside.order[0].startswith("Undo the anchor, pull the old inner out")


def test_a_liner_goes_over_the_new_inner_once_the_guide_has_led_it_through() -> None:
    carries = station(FRONT_STOP, then="inside", through=["down tube"], carries="liner")
    lined = planned(LEVER, carries, REAR_STOP, DERAILLEUR, liner="shift liner", **SHIFT)
    assert at(lined, "Pull the old inner out.") < at(lined, "Draw the new inner in") < at(lined, "slip the shift liner")
    assert at(lined, "slip the shift liner") < at(lined, "Last of all trim")


def test_only_the_housing_that_goes_inside_is_pushed_in() -> None:
    """The adjuster hangs in the loop before the port, so that A2 goes in and A1 does not."""
    adjusted = planned(station(LEVER, inline="inline adjuster", inline_at=150), PORT, REAR_PORT, CALIPER)
    assert "push A2 in" in adjusted.order[at(adjusted, "push")]
    assert at(adjusted, "Fit the inline adjuster between A1 and A2, screwed in") < at(adjusted, "push A2")
    assert "trim A2 to" in adjusted.order[at(adjusted, "Fit everything dry")]


def test_two_inners_meet_in_the_splitter() -> None:
    split = planned(station(LEVER, inline="cable splitter", inline_at=150), FRONT_STOP, REAR_STOP, CALIPER)
    step = split.order[at(split, "Draw the upper inner")]
    assert step.startswith("Draw the upper inner from lever into the cable splitter")
    assert "the lower one from there to caliper" in step
    assert "screwed in" not in split.order[at(split, "Fit the cable splitter")]


def test_a_nipple_at_the_moving_end_is_drawn_in_from_there() -> None:
    lever = {"name": "lever", "part": "dropper lever", "side": "left", "along": 150}
    post = {"name": "post", "type": "stop", "part": "dropper post", "from": "bottom bracket", "along": 300}
    port = station(PORT, name="port", on="down tube", through=["down tube"])
    bar = {"shape": "flat", "width": 700}
    stations = [LEVER, port, station(REAR_PORT, then="loop"), {**post, "on": "seat tube"}]
    frame = makers.frame(
        lever=[lever],
        cockpit={"bar": bar},
        line=[line(stations, work="dropper", inner="shift 1.2", housing="lengthwise shift 4.0")],
    )
    made = plan(frame).lines[0]
    assert "from post" in made.order[at(made, "Draw the new inner in")]
    assert not any("standing still" in step for step in made.order)


def test_a_hose_is_joined_to_the_old_one_and_bled_not_trimmed() -> None:
    lever = {"name": "lever", "part": "drop-bar hydraulic lever", "side": "left", "along": 215}
    caliper = {"name": "caliper", "type": "stop", "part": "hydraulic disc caliper, rear"}
    hose = line([LEVER, PORT, REAR_PORT, caliper], work="hose", inner=None, housing="hydraulic hose")
    made = plan(makers.frame(lever=[lever], line=[hose])).lines[0]
    joined = at(made, "Join new hose to old end to end and draw it through: port → rear port")
    assert at(made, "Leave the old hose in") < joined < at(made, "fill and bleed")
    assert at(made, "fill and bleed") < at(made, "wet joints") == len(made.order) - 1
    assert not any("inner" in step for step in made.order)


def test_housing_under_a_stop_is_not_to_be_cut() -> None:
    wrong = planned(LEVER, FRONT_STOP, station(REAR_STOP, housing="lengthwise shift 4.0"), CALIPER)
    assert "Do not cut A2 before the findings are settled." in wrong.order


def test_the_order_of_a_bike_says_what_is_alike_once_and_loses_no_step() -> None:
    for name in ("touring", "road", "trail", "tandem", "city"):
        job = fleet_plan(name)
        told = order_of_bike(job)
        assert len(set(told)) == len(told) < sum(len(made.steps) for made in job.lines)
        for made in job.lines:
            # Each step of a line is one of the bike's, in the same order, and names the line unless all lines have it.
            places = [next(at for at, text in enumerate(told) if _is_in(step, text)) for step in made.steps]
            assert places == sorted(places)
            for step, at in zip(made.steps, places, strict=True):
                assert step.own in told[at]
                everywhere = all(any(other.lead == step.lead for other in one.steps) for one in job.lines)
                # What is cut is told by the pieces' tags.
                tags = step.phase == "cut" and all(piece.tag in told[at] for piece in made.pieces)
                assert made.name in told[at] or tags or (everywhere and not step.own)
    assert PHASES.index("guide") < PHASES.index("clear") < PHASES.index("dry fit") < PHASES.index("trim")


def _is_in(step: Step, text: str) -> bool:
    # Where pieces are cut their tags stand in the middle of it.
    parts = step.lead.split(";") if step.phase == "cut" else [step.lead]
    return text.startswith(parts[0]) and all(part in text for part in parts)
