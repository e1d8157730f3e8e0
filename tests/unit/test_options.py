"""Options of a line: how they are written, what is wrong with them, and that a plan takes the one that is asked for."""

from __future__ import annotations

from typing import Any

import pytest
from frametext import changed, line, stations, to_toml
from workbench import CALIPER, FRONT_STOP, LEVER, PARTS, REAR_STOP, bench_frame, station
from workbench import line as bench_line

from ropewalk.bike.fleet import find
from ropewalk.bike.framefile import Frame
from ropewalk.bike.options import named_line, option_names, option_taken, with_option, with_options
from ropewalk.bike.reading import loads, read
from ropewalk.errors import ChoiceError, FrameFileError, PartError
from ropewalk.workshop import words
from ropewalk.workshop.hands import plan_hands
from ropewalk.workshop.plan import plan
from ropewalk.workshop.report import as_json_object

STATIONS = [LEVER, FRONT_STOP, REAR_STOP, CALIPER]
CROSSED = [LEVER, station(FRONT_STOP, clock=3), station(REAR_STOP, clock=3), CALIPER]
UNLINED = {"name": "unlined", "housing": "unlined spiral brake 5.0"}
BENCH = bench_frame(bench_line(STATIONS, option=[UNLINED, {"name": "crossed", "station": CROSSED}]))


def refused(**changes: Any) -> str:
    with pytest.raises(FrameFileError) as caught:
        loads(to_toml(changed(line=[line(**changes)])), "bike.toml")
    return str(caught.value)


def ends(**changes: Any) -> list[dict[str, Any]]:
    return [{"name": "lever", "type": "lever", **changes}, {"name": "caliper", "type": "anchor"}]


@pytest.mark.parametrize(
    ("option", "said"),
    [
        ({"name": "x"}, 'line "front brake", option "x" changes nothing: write housing, inner, liner or station'),
        (
            {"name": "x", "housng": "y"},
            'line "front brake", option "x" has the unknown key "housng": did you mean "hou',
        ),
        ({"housing": "y"}, 'line "front brake", option 1, name is missing: the option\'s name'),
        (
            {"name": "x", "station": ends(clck=3)},
            'option "x", station "lever" has the unknown key "clck": did you mean',
        ),
        ({"name": "x", "station": ends(along="far")}, 'line "front brake", option "x", station "lever", along is text'),
        ({"name": "x", "station": ends()[:1]}, 'line "front brake", option "x" has 1 station: a line needs two'),
        ({"name": "x", "station": stations(41)}, 'line "front brake", option "x" holds 41 stations: a line may have'),
        (
            {"name": "x", "station": [{"name": "bar", "type": "lever"}, ends()[1]]},
            'has an option "x" that starts at "bar": start it at the line\'s own lever, "lever"',
        ),
        ({"name": "as written", "housing": "y"}, 'has the name "as written" for its own routing and for option 1'),
    ],
)
def test_an_option_that_is_written_wrong_is_told_by_line_and_option(option: dict[str, Any], said: str) -> None:
    text = refused(option=[option])
    assert said in text and text.startswith("bike.toml: line ") and "\n" not in text


def test_options_bear_names_apart_from_each_other_and_from_their_line() -> None:
    twice = [{"name": "x", "housing": "a"}, {"name": "x", "housing": "b"}]
    assert 'option 2 has the name "x" of option 1: give each its own' in refused(option=twice)
    assert 'has the name "left" for its own routing' in refused(routing="left", option=[{"name": "left", "inner": "a"}])


def test_stations_of_options_count_among_those_of_the_file() -> None:
    options = [{"name": f"option {number}", "station": stations(30)} for number in range(8)]
    assert "holds 242 stations: a frame file may have at most 240" in refused(option=options)


def test_an_option_changes_what_it_says_and_nothing_else() -> None:
    unlined = with_option(BENCH, "brake", "unlined").line[0]
    assert unlined.housing == "unlined spiral brake 5.0"
    assert unlined.station == BENCH.line[0].station
    crossed = with_option(BENCH, "brake", "crossed").line[0]
    assert (crossed.housing, crossed.inner) == (BENCH.line[0].housing, BENCH.line[0].inner)
    assert [one.clock for one in crossed.station[1:3]] == [3.0, 3.0]
    assert [one.clock for one in BENCH.line[0].station[1:3]] == [9.0, 9.0], "the frame itself stays as it was read"
    assert (option_taken(crossed), crossed.option) == ("crossed", ())


def test_the_line_as_written_is_an_option_by_its_own_name() -> None:
    assert option_names(BENCH.line[0]) == ("as written", "unlined", "crossed")
    assert option_taken(with_option(BENCH, "brake", "as written").line[0]) is None
    named = bench_frame(bench_line(STATIONS, routing="left of the head tube", option=[UNLINED]))
    taken = with_options(named, {"brake": "left of the head tube"}).line[0]
    assert (taken.housing, option_taken(taken)) == (named.line[0].housing, "left of the head tube")


@pytest.mark.parametrize(
    ("names", "said"),
    [
        (("brak", "crossed"), 'touring has no line "brak": did you mean "brake"?'),
        (("brake", "crosed"), 'line "brake" has no option "crosed": did you mean "crossed"?'),
        (("brake", "zzz"), 'line "brake" has no option "zzz": it has "as written", "unlined" and "crossed"'),
    ],
)
def test_an_unknown_line_or_option_is_told_with_the_nearest(names: tuple[str, str], said: str) -> None:
    with pytest.raises(ChoiceError) as caught:
        with_option(BENCH, *names)
    assert str(caught.value) == said


def test_a_line_without_options_says_so() -> None:
    with pytest.raises(ChoiceError, match=r"has no option .*: it holds none; add \[\[line.option\]\] to it"):
        with_option(bench_frame(bench_line(STATIONS)), "brake", "crossed")


def test_a_plan_is_that_of_the_same_line_written_out() -> None:
    taken = plan(with_option(BENCH, "brake", "crossed")).lines[0]
    written = plan(bench_frame(bench_line(CROSSED))).lines[0]
    assert [(one.target, one.first_cut, one.window) for one in taken.pieces] == [
        (one.target, one.first_cut, one.window) for one in written.pieces
    ]
    as_written, without = plan(BENCH).lines[0], plan(bench_frame(bench_line(STATIONS))).lines[0]
    assert [one.first_cut for one in as_written.pieces] == [one.first_cut for one in without.pieces]
    assert [one.sigma for one in as_written.pieces] == [one.sigma for one in without.pieces]
    assert taken.pieces[0].target != as_written.pieces[0].target


def test_the_cut_list_says_which_option_it_is_for() -> None:
    taken = plan(with_option(BENCH, "brake", "crossed"))
    assert words.line_heading(taken.lines[0]) == "brake (crossed, brake, left hand, spiral brake 5.0)"
    assert as_json_object(taken)["lines"][0]["routing"] == "crossed"
    assert "routing" not in as_json_object(plan(BENCH))["lines"][0]


def bench_with(option: dict[str, Any]) -> Frame:
    return bench_frame(bench_line(STATIONS, option=[{"name": "odd", **option}]))


@pytest.mark.parametrize(
    ("option", "said"),
    [
        (
            {"housing": "spiral brak 5.0"},
            'there is no housing "spiral brak 5.0" in the catalogue: did you mean "spiral',
        ),
        ({"station": [LEVER, station(FRONT_STOP, then=None), CALIPER]}, 'station "front stop": then is missing'),
        (
            {"station": [LEVER, station(FRONT_STOP, on="down tub"), REAR_STOP, CALIPER]},
            'on is "down tub": write one of top tube',
        ),
        ({"station": [LEVER, station(FRONT_STOP, hole=8), REAR_STOP, CALIPER]}, "hole means nothing here"),
    ],
)
def test_an_option_that_cannot_be_built_is_refused_though_nobody_takes_it(option: dict[str, Any], said: str) -> None:
    with pytest.raises((FrameFileError, PartError)) as caught:
        plan(bench_with(option))
    text = str(caught.value)
    assert said in text and text.count('line "brake", option "odd"') == 1, text


def test_the_same_fault_in_the_line_as_written_names_no_option() -> None:
    with pytest.raises(FrameFileError) as caught:
        plan(bench_frame(bench_line([LEVER, station(FRONT_STOP, then=None), CALIPER], option=[UNLINED])))
    assert 'line "brake", station "front stop": then is missing' in str(caught.value)


def test_brakes_change_hands_with_an_option_taken() -> None:
    frame = read(find("touring"))
    asked = "front-left" if named_line(frame, "front brake").lever == "right lever" else "front-right"
    job = plan_hands(with_option(frame, "rear brake", "full housing"), asked, shelf=PARTS)
    rear = next(one for one in job.lines if one.name == "rear brake")
    assert (rear.routing, len(rear.pieces)) == ("full housing", 1)
