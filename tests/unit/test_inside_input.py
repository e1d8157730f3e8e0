"""Bad input about the inside of tubes: one clear line that says what, where, and what to do."""

from __future__ import annotations

import re
from typing import Any

import pytest
from insides import CHAINSTAY, SHELL_OPENINGS, TO_CHAINSTAY, WIDE_SHELL, boss, inside, port, rear_port

from ropewalk.errors import FrameFileError


def refused(first: dict[str, Any], last: dict[str, Any], **frame: Any) -> str:
    with pytest.raises(FrameFileError) as caught:
        inside(first, last, **frame)
    message = str(caught.value)
    assert "\n" not in message
    return message


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"inside": "downtube"}, r'obstacle "bottle boss": inside is "downtube": did you mean "down tube"\?'),
        ({"inside": "shell", "from": "left"}, r'obstacle "bottle boss": inside is shell: only its spindle is counted'),
        (
            {"along": 900},
            r'obstacle "bottle boss": along is 900 mm from the head tube: .*beyond the end of the down tube',
        ),
        ({"from": "saddle"}, r'obstacle "bottle boss": from is "saddle": the down tube has no such join'),
        ({"depth": 30}, r'obstacle "bottle boss": depth is 30 mm, but the down tube is 29.8 mm wide inside: measure'),
    ],
)
def test_an_obstacle_that_is_not_in_its_tube(changes: dict[str, Any], words: str) -> None:
    assert re.search(words, refused(port(), rear_port(), obstacle=[boss(**changes)]))


@pytest.mark.parametrize(
    ("between", "size", "words"),
    [
        (["down tub", "shell"], 10, r'opening 1: between names "down tub": did you mean "down tube"\?'),
        (["down tube", "down tube"], 10, "opening 1: between names the down tube twice"),
        (
            ["top tube", "left chainstay"],
            10,
            "opening 1: between names the top tube and the left chainstay, which do not",
        ),
        (["down tube", "seat tube"], 30, r"opening 1: size is 30 mm, wider than the down tube \(29.8 mm inside\) and"),
    ],
)
def test_an_opening_that_cannot_be(between: list[str], size: float, words: str) -> None:
    assert re.search(words, refused(port(), rear_port(), opening=[{"between": between, "size": size}]))


def test_an_opening_as_wide_as_the_wider_tube_is_taken() -> None:
    opening = {"between": ["down tube", "seat tube"], "size": 29.8}
    bike, _, _ = inside(port(), rear_port(), opening=[opening])
    assert [(*one.between, one.size) for one in bike.frame.opening] == [("down tube", "seat tube", 29.8)]


@pytest.mark.parametrize(
    ("through", "words"),
    [
        (["down tubes"], r'station "port": through names "down tubes": did you mean "down tube"\?'),
        (["down tube", "down tube"], "through names the down tube twice running"),
        (
            ["down tube", "left seat stay"],
            "through goes from the down tube to the left seat stay, which do not meet: name the tube between them",
        ),
    ],
)
def test_through_names_what_is_there_without_a_gap(through: list[str], words: str) -> None:
    assert re.search(words, refused(port(through=through), rear_port()))


def test_the_tube_that_fills_a_gap_is_proposed() -> None:
    last = rear_port(on="left seat stay", from_="rear axle", along=100, facing="rear axle")
    assert "such as" in refused(port(through=["down tube", "left seat stay"]), last)


def test_a_port_on_another_tube_than_through_says() -> None:
    first = refused(port(through=["seat tube"]), rear_port(on="seat tube", from_="bottom bracket", along=200))
    assert 'station "port": it is on the down tube, but through starts with the seat tube' in first
    last = refused(port(), rear_port(**CHAINSTAY))
    assert 'station "rear port": it is on the left chainstay, but through ends with the down tube' in last


def test_a_port_off_its_tube() -> None:
    mount = {"on": "bottom bracket", "offset": [-120, 80, -60], "towards": [-1, 0, 0]}
    last = {"name": "rear port", "type": "port", "then": "loop", **mount}
    message = refused(port(through=TO_CHAINSTAY), last, tubes=WIDE_SHELL, opening=SHELL_OPENINGS)
    assert re.search(r'station "rear port": it lies \d+ mm off the left chainstay', message)
    beyond = refused(port(along=900), rear_port())
    assert re.search(r'station "port": along is 900 mm .*beyond the end of the down tube', beyond)


def test_a_port_that_leads_out_or_back() -> None:
    out = refused(port(lean=-25), rear_port())
    assert 'station "port": lean is -25°, so it leads out of the down tube instead of into it' in out
    back = refused(port(facing="bottom bracket"), rear_port())
    assert 'station "port": facing is bottom bracket, so the line would have to turn back inside the down tube' in back
    last = refused(port(), rear_port(lean=-10))
    assert 'station "rear port": lean is -10°' in last
    # along the tube's surface is still into it
    inside(port(lean=0), rear_port(lean=0))


def test_a_guide_tube_half_described_or_too_short() -> None:
    assert "turn is missing" in refused(port(arc=400), rear_port())
    assert "arc is missing" in refused(port(turn=30, radius=80), rear_port())
    assert "arc is 250 mm, but the guide tube's ends are 300 mm apart" in refused(port(arc=250, turn=30), rear_port())


def test_arc_and_turn_still_mean_nothing_elsewhere() -> None:
    assert "arc means nothing here" in refused(port(), rear_port(arc=50))


def test_tubes_that_move_against_the_port() -> None:
    message = refused(
        port(through=["down tube", "steerer"]), rear_port(on="steerer", from_="stem", along=20, facing="top")
    )
    assert "moves against" in message
