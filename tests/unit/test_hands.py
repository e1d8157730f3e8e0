"""Changing hands: which lever works which brake, what moves with it, which lengths change; when it cannot be told."""

from __future__ import annotations

from typing import Any

import makers
import pytest
from workbench import CALIPER, FRONT_CALIPER, FRONT_STOP, LEVER, PARTS, REAR_STOP, line, station

from ropewalk.bike.framefile import Frame
from ropewalk.errors import FrameFileError
from ropewalk.workshop import words
from ropewalk.workshop.cautions import HANDS_CAUTION
from ropewalk.workshop.hands import brakes_of, plan_hands, swapped
from ropewalk.workshop.jobplan import HandsPlan, JobPlan, LengthChange
from ropewalk.workshop.plan import place_lines, plan

PART = "drop-bar brake-and-shift lever"
LEFT = {"name": "left lever", "part": PART, "side": "left", "along": 215}
RIGHT = {"name": "right lever", "part": PART, "side": "right", "along": 215}
#: a rear brake whose first stop lies in the middle plane, under the down tube
REAR = [station(LEVER, name="left lever"), station(FRONT_STOP, clock=6), station(REAR_STOP, clock=6), CALIPER]
FRONT = [station(LEVER, name="right lever"), FRONT_CALIPER]
DERAILLEUR = {"name": "rear derailleur", "type": "stop", "part": "rear derailleur"}
SHIFT: dict[str, Any] = {"work": "shift", "inner": "shift 1.2", "housing": "lengthwise shift 4.0"}


def front(**changes: Any) -> dict[str, Any]:
    return line(changes.pop("stations", FRONT), **{"name": "front brake", "lever": "right lever", **changes})


def rear(**changes: Any) -> dict[str, Any]:
    return line(changes.pop("stations", REAR), **{"name": "rear brake", "lever": "left lever", **changes})


def bike(*lines: dict[str, Any], levers: tuple[dict[str, Any], ...] = (LEFT, RIGHT), **changes: Any) -> Frame:
    return makers.frame(lever=list(levers), line=list(lines or (front(), rear())), chart={"lock": 60}, **changes)


def brakes(frame: Frame) -> Any:
    return brakes_of(frame, place_lines(frame, PARTS)[1])


@pytest.fixture(scope="module", name="changed")
def _changed() -> JobPlan:
    return plan_hands(bike(), "front-left")


def test_the_brake_that_ends_on_the_fork_is_the_front_one() -> None:
    found = brakes(bike())
    assert (found.front.name, found.rear.name) == ("right lever", "left lever")
    assert (found.front_lines, found.rear_lines) == (("front brake",), ("rear brake",))


def test_a_caliper_on_a_sliding_lower_leg_is_a_front_one_too() -> None:
    disc = [
        station(LEVER, name="right lever"),
        {"name": "caliper", "type": "stop", "part": "cable disc caliper, front"},
    ]
    legs = {"lower_leg": {"diameter": 30, "height": 300}}
    frame = bike(front(stations=disc), rear(), tubes=legs, travel={"fork": 60})
    assert {placed.stations[-1].body for placed in place_lines(frame, PARTS)[1]} >= {"lower"}
    assert brakes(frame).front_lines == ("front brake",)


def test_brakes_change_levers_and_shift_lines_stay() -> None:
    gear = line([*REAR[1:3], DERAILLEUR], name="gear", lever="right lever", **SHIFT)
    gear["station"].insert(0, station(LEVER, name="right lever"))
    frame = bike(front(), rear(), gear)
    other = swapped(frame, brakes(frame))
    assert [made.lever for made in other.line] == ["left lever", "right lever", "right lever"]
    assert [made.station[0].name for made in other.line] == ["left lever", "right lever", "right lever"]
    assert other.lever == frame.lever
    assert swapped(other, brakes(other)) == frame


def test_levers_of_two_kinds_change_places_so_that_each_brake_keeps_its_own() -> None:
    """A long-pull lever for the front brake and a short-pull one for the rear: each goes to the other side."""
    levers = (
        {**LEFT, "part": "flat-bar brake lever, short pull", "along": 110},
        {**RIGHT, "part": "flat-bar brake lever, long pull", "along": 125},
    )
    frame = bike(levers=levers, cockpit={"bar": {"shape": "flat", "width": 700}})
    other = swapped(frame, brakes(frame))
    assert [(made.name, made.side, made.part.split(", ")[1], made.along) for made in other.lever] == [
        ("left lever", "left", "long pull", 125.0),
        ("right lever", "right", "short pull", 110.0),
    ]
    assert [made.lever for made in other.line] == ["left lever", "right lever"]
    assert swapped(other, brakes(other)) == frame


def test_a_lever_that_shifts_besides_stays_where_it_is() -> None:
    gear = line([station(LEVER, name="left lever"), *REAR[1:3], DERAILLEUR], name="gear", lever="left lever", **SHIFT)
    frame = bike(front(), rear(), gear, levers=(LEFT, {**RIGHT, "part": "drop-bar brake lever"}))
    other = swapped(frame, brakes(frame))
    assert other.lever == frame.lever
    assert [made.lever for made in other.line] == ["left lever", "right lever", "left lever"]


def test_the_only_brake_s_lever_moves_to_the_other_side() -> None:
    frame = bike(front(), levers=(RIGHT,))
    other = swapped(frame, brakes(frame))
    (lever,) = other.lever
    assert (lever.name, lever.side) == ("left lever", "left")
    assert (other.line[0].lever, other.line[0].station[0].name) == ("left lever", "left lever")
    assert swapped(other, brakes(other)) == frame


def test_a_moved_lever_takes_its_shift_line_along() -> None:
    gear = line([station(LEVER, name="right lever"), *REAR[1:3], DERAILLEUR], name="gear", lever="right lever", **SHIFT)
    found = plan_hands(bike(front(), gear, levers=(RIGHT,)), "front-left")
    assert found.hands is not None
    assert found.hands.moved == ("front brake", "gear")
    assert found.hands.levers == (("left", PART),)
    assert [made.hand for made in found.lines] == ["left", "left"]


def test_a_first_station_keeps_its_name_where_the_other_is_taken() -> None:
    named = [station(LEVER, name="right lever"), station(FRONT_CALIPER, name="left lever")]
    frame = bike(front(stations=named), rear())
    assert swapped(frame, brakes(frame)).line[0].station[0].name == "right lever"


def test_lengths_are_those_of_a_bike_written_so(changed: JobPlan) -> None:
    written = bike(
        front(stations=[station(LEVER, name="left lever"), FRONT_CALIPER], lever="left lever"),
        rear(stations=[station(LEVER, name="right lever"), *REAR[1:]], lever="right lever"),
    )
    other = plan(written)
    for found, expected in zip(changed.lines, other.lines, strict=True):
        assert found.hand == expected.hand
        assert [piece.first_cut for piece in found.pieces] == [piece.first_cut for piece in expected.pieces]
        assert [piece.target for piece in found.pieces] == [piece.target for piece in expected.pieces]


def test_a_run_that_mirrors_itself_keeps_its_length_and_the_other_does_not(changed: JobPlan) -> None:
    """The rear brake's first stop lies in the middle plane, so its loop is mirrored; the front caliper does not."""
    assert changed.hands is not None
    assert (changed.hands.moved, changed.hands.levers) == (("front brake", "rear brake"), ())
    assert {change.what for change in changed.hands.changes if change.line == "rear brake"} == set()
    before = plan(bike())
    (own,) = [change for change in changed.hands.changes if change.what == "A1"]
    assert (own.before, own.after) == (before.lines[0].pieces[0].first_cut, changed.lines[0].pieces[0].first_cut)
    assert own.target == (before.lines[0].pieces[0].target, changed.lines[0].pieces[0].target)
    assert own.target[0] != pytest.approx(own.target[1], abs=1.0)


def test_a_bike_that_has_it_so_is_planned_as_it_is() -> None:
    found = plan_hands(bike(), "front-right")
    assert found.hands == HandsPlan("front-right", True, (), (), HANDS_CAUTION)
    assert words.hands(found.hands) == [
        "The right lever works the front brake already: nothing changes.",
        HANDS_CAUTION,
    ]


def test_changing_twice_is_changing_back(changed: JobPlan) -> None:
    frame = bike()
    back = plan_hands(swapped(frame, brakes(frame)), "front-right")
    assert [p.first_cut for made in back.lines for p in made.pieces] == [
        p.first_cut for made in plan(frame).lines for p in made.pieces
    ]
    assert back.hands is not None and changed.hands is not None
    assert [(c.what, c.after, c.before) for c in back.hands.changes] == [
        (c.what, c.before, c.after) for c in changed.hands.changes
    ]


def test_changes_are_told_piece_by_piece_with_the_caution() -> None:
    changes = (
        LengthChange("front brake", "A1", 545.0, 560.0, (528.4, 546.6)),
        LengthChange("front brake", "inner", 900.0, None),
        LengthChange("rear brake", "B1", None, 550.0, (540.0, 541.0)),
    )
    told = words.hands(HandsPlan("front-left", False, ("front brake", "rear brake"), changes, HANDS_CAUTION))
    assert told == [
        'The left lever works the front brake now; planned again: "front brake" and "rear brake".',
        "A1, front brake: 545 mm → 560 mm first cut, target 528 → 547",
        "inner, front brake: 900 mm → no stock length",
        "B1, rear brake: no cut → 550 mm first cut, target 540 → 541",
        HANDS_CAUTION,
    ]
    moved = HandsPlan("front-left", False, ("front brake",), (), HANDS_CAUTION, (("left", "drop-bar brake lever"),))
    assert words.hands(moved)[1:3] == ["Move the drop-bar brake lever to the left.", "No length changes."]
    nothing = words.hands(HandsPlan("front-left", False, ("front brake",), (), HANDS_CAUTION))
    assert nothing[1] == "No length changes."


def test_the_caution_names_law_and_custom() -> None:
    """UK: right lever front on sale; US 16 CFR 1512.5: left front unless asked otherwise; both read in summaries."""
    for part in (
        "UK",
        "right lever on the front",
        "16 CFR 1512.5",
        "left lever on the front",
        "local law",
        "summaries",
    ):
        assert part in HANDS_CAUTION


#: what is wrong, the bike, and what the message has to name
UNTOLD: dict[str, tuple[Frame, list[str]]] = {
    "no brake on the fork": (bike(rear()), ["no brake sits on the fork", '"rear brake"']),
    "two front brakes": (
        bike(front(), front(name="other front brake", lever="left lever")),
        ['"front brake" and "other front brake" are front brakes', '"right lever" and "left lever"'],
    ),
    "levers on the same side": (
        bike(levers=({**LEFT, "side": "right", "along": 120}, RIGHT)),
        ['levers "right lever" and "left lever" both sit on the right'],
    ),
    "one lever for both brakes": (
        bike(
            front(lever="left lever"),
            rear(),
            levers=({**LEFT, "part": "flat-bar brake lever, two inners", "along": 120},),
            cockpit={"bar": {"shape": "flat", "width": 700}},
        ),
        ['lever "left lever" works both brakes'],
    ),
    "two rear brakes": (
        bike(front(), rear(), rear(name="drag brake", lever="third"), levers=(LEFT, RIGHT, {**LEFT, "name": "third"})),
        ['"rear brake" and "drag brake" are rear brakes'],
    ),
    "no brake": (
        bike(line([*REAR[:3], DERAILLEUR], name="gear", lever="left lever", **SHIFT)),
        ["no line of this bike works a brake"],
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", UNTOLD)
def test_a_bike_that_does_not_tell_is_refused_in_one_line(case: str) -> None:
    frame, expected = UNTOLD[case]
    with pytest.raises(FrameFileError) as refusal:
        plan_hands(frame, "front-left")
    said = str(refusal.value)
    assert "\n" not in said
    for part in expected:
        assert part in said
