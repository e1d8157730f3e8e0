"""Lines taken apart: spans, pieces with their tags, and stations in an impossible order refused one by one."""

from __future__ import annotations

from typing import Any

import pytest
from workbench import CALIPER, FRONT_STOP, LEVER, PARTS, REAR_STOP, bench_frame, line, placed, refusal_of, station

from ropewalk.routing.lines import Route
from ropewalk.workshop.plan import place_lines

ANCHOR = {
    "name": "derailleur",
    "type": "anchor",
    "part": "front derailleur, from below",
    "on": "seat tube",
    "from": "bottom bracket",
    "along": 150,
}
CLIP = station(REAR_STOP, name="clip", type="clip", along=300, then="strapped")
PORT = station(FRONT_STOP, name="port", type="port", then="inside", through=["down tube"], carries="housing")
REAR_PORT = station(REAR_STOP, name="rear port", type="port")
GUIDE = {"name": "guide", "type": "guide", "on": "bottom bracket", "offset": [-4, -24, 8], "radius": 20, "then": "bare"}
SHIFT = {"work": "shift", "inner": "shift 1.2", "housing": "lengthwise shift 4.0"}


def route(stations: list[dict[str, Any]], **changes: Any) -> Route:
    return placed(stations, **changes)[1].route


def test_spans_lie_between_neighbours_and_know_what_covers_them() -> None:
    found = route([LEVER, FRONT_STOP, REAR_STOP, CALIPER])
    assert [(span.kind, span.start, span.end, span.covered) for span in found.spans] == [
        ("loop", 0, 1, True),
        ("bare", 1, 2, False),
        ("loop", 2, 3, True),
    ]


def test_pieces_run_from_seat_to_seat_with_letter_and_number() -> None:
    found = route([LEVER, FRONT_STOP, REAR_STOP, CALIPER])
    assert [(piece.tag, piece.spans, piece.start, piece.end) for piece in found.pieces] == [
        ("A1", (0,), 0, 1),
        ("A2", (2,), 2, 3),
    ]


def test_housing_runs_on_through_clips_and_ports() -> None:
    found = route([LEVER, PORT, REAR_PORT, CALIPER])
    assert [(piece.tag, piece.spans) for piece in found.pieces] == [("A1", (0, 1, 2))]


def test_a_stop_between_housing_and_housing_makes_two_pieces() -> None:
    found = route([LEVER, station(FRONT_STOP, then="strapped"), REAR_STOP, CALIPER])
    assert [(piece.tag, piece.spans) for piece in found.pieces] == [("A1", (0,)), ("A2", (1,)), ("A3", (2,))]


def test_a_second_line_has_the_second_letter() -> None:
    stations = [LEVER, FRONT_STOP, REAR_STOP]
    derailleur = {"name": "rear derailleur", "type": "stop", "part": "rear derailleur"}
    frame = bench_frame(line([*stations, CALIPER]), line([*stations, derailleur], name="other", **SHIFT))
    lines = place_lines(frame, PARTS)[1]
    assert [[piece.tag for piece in one.route.pieces] for one in lines] == [["A1", "A2"], ["B1", "B2"]]


def test_a_piece_takes_the_housing_and_ferrules_of_its_own_start() -> None:
    found = route([LEVER, FRONT_STOP, station(REAR_STOP, housing="link"), CALIPER])
    assert [piece.housing.name for piece in found.pieces] == ["spiral brake 5.0", "link"]
    assert [piece.start_ferrule.name for piece in found.pieces] == ["ferrule 5", "link end"]
    assert found.housing_of(found.spans[1]) is None


#: what is wrong, the stations, changes to the line, and what the message has to name
IMPOSSIBLE: dict[str, tuple[list[dict[str, Any]], dict[str, Any], list[str]]] = {
    "a line that starts at a stop": ([FRONT_STOP, CALIPER], {}, ['"front stop"', "starts at its lever"]),
    "a second lever": (
        [LEVER, station(LEVER, name="lever 2"), CALIPER],
        {},
        ['"lever 2"', "starts at its lever, and only there"],
    ),
    "a last station without a part": ([LEVER, station(FRONT_STOP, then=None)], {}, ['"front stop"', "add part"]),
    "something after the last station": ([LEVER, station(CALIPER, then="loop")], {}, ['"caliper"', "leave it out"]),
    "an anchor on the way": (
        [LEVER, station(ANCHOR, then="bare"), CALIPER],
        {},
        ['"derailleur"', "only the last station"],
    ),
    "a station that does not say how the line goes on": (
        [LEVER, station(FRONT_STOP, then=None), CALIPER],
        {},
        ['"front stop"', "then is missing", "loop, strapped, bare, inside, rigid"],
    ),
    "an inside span through no tube": ([LEVER, station(PORT, through=None), REAR_PORT, CALIPER], {}, ["through"]),
    "an inside span that carries nothing": ([LEVER, station(PORT, carries=None), REAR_PORT, CALIPER], {}, ["carries"]),
    "a rigid part without arc": ([LEVER, station(FRONT_STOP, then="rigid", turn=90), CALIPER], {}, ["arc"]),
    "a guide without a radius": (
        [LEVER, FRONT_STOP, station(GUIDE, radius=None), ANCHOR],
        SHIFT,
        ['"guide"', "radius is missing"],
    ),
    "a clip on bare inner": (
        [LEVER, FRONT_STOP, station(CLIP, then="loop"), CALIPER],
        {},
        ['"clip"', "needs housing before and after"],
    ),
    "a guide for housing": ([LEVER, station(GUIDE, then="loop"), CALIPER], {}, ['"guide"', "bare"]),
    "a port without a span inside": (
        [LEVER, station(REAR_PORT, along=200), CALIPER],
        {},
        ['"rear port"', "one span beside it has to be inside"],
    ),
    "housing that ends at a port": (
        [LEVER, PORT, station(REAR_PORT, then="bare"), FRONT_STOP, CALIPER],
        {},
        ['"rear port"', "make it a stop"],
    ),
    "a port between two spans inside": (
        [LEVER, PORT, station(REAR_PORT, then="inside", through=["seat tube"], carries="housing"), CALIPER],
        {},
        ['"rear port"', "one side inside"],
    ),
    "housing that runs to an anchor": ([LEVER, ANCHOR], SHIFT, ['"derailleur"', "end at a stop"]),
    "a liner that is not named": (
        [LEVER, station(FRONT_STOP, then="inside", through=["down tube"], carries="liner"), REAR_STOP, CALIPER],
        {},
        ["liner is missing"],
    ),
    "bare inner in a hose": (
        [LEVER, FRONT_STOP, REAR_STOP, CALIPER],
        {"work": "hose", "inner": None, "housing": "hydraulic hose"},
        ['line "brake"'],
    ),
    "an inner that is not named": ([LEVER, FRONT_STOP, REAR_STOP, CALIPER], {"inner": None}, ["inner is missing"]),
    "bare inner to where the bar turns away": (
        [station(LEVER, then="bare"), FRONT_STOP, REAR_STOP, CALIPER],
        {},
        ['"lever"', "bare inner", '"front stop"', "move against each other"],
    ),
    "strapped housing between bar and frame": (
        [station(LEVER, then="strapped"), FRONT_STOP, REAR_STOP, CALIPER],
        {},
        ["strapped", "move against each other"],
    ),
}


@pytest.mark.parametrize("fault", IMPOSSIBLE)
def test_an_impossible_order_is_refused_in_one_line_that_says_where(fault: str) -> None:
    stations, changes, expected = IMPOSSIBLE[fault]
    said = refusal_of(bench_frame(line(stations, **changes)))
    assert [part for part in expected if part not in said] == []
