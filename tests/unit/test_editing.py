"""Editing a frame file in place: one field changes, all else stays, comments too; faults tell their field."""

from __future__ import annotations

import re
import tomllib
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ropewalk.bike.editing import with_value, with_values
from ropewalk.bike.entryediting import moved, with_copy, with_entry, without_entry
from ropewalk.bike.faultplaces import fault_from, fault_of, faults_of
from ropewalk.bike.fields import Field, fields_of
from ropewalk.bike.figures import Measure
from ropewalk.bike.fleet import FleetBike, fleet
from ropewalk.bike.reading import loads, schema
from ropewalk.bike.stationediting import with_new_copy, with_new_station
from ropewalk.errors import FrameFileError, RopewalkError
from ropewalk.workshop.plan import plan

BIKES = fleet()
TEXTS = {bike.name: bike.path.read_text(encoding="utf-8") for bike in BIKES}
TOURING = TEXTS["touring"]
COMMENT = re.compile(r"(?:^|\s)#[^\n]*$", re.M)


def at(held: Any, path: tuple[int | str, ...]) -> Any:
    for step in path:
        held = held[step]
    return held


def comments(text: str) -> list[str]:
    return [found.strip() for found in COMMENT.findall(text)]


def by_path(text: str) -> dict[tuple[int | str, ...], Field]:
    return {field.path: field for field in fields_of(text)}


# The fields of every bike of the fleet.


@pytest.mark.parametrize("bike", BIKES, ids=lambda bike: bike.name)
def test_the_fields_are_all_that_the_file_holds(bike: FleetBike) -> None:
    text = TEXTS[bike.name]
    held = tomllib.loads(text)
    given_ = {field.path: field.value for field in fields_of(text) if field.value is not None}

    def leaves(entry: Any, path: tuple[int | str, ...]) -> dict[tuple[int | str, ...], Any]:
        if isinstance(entry, dict) and "is" in entry:
            return {path: entry["is"]}
        if isinstance(entry, dict):
            return {key: value for name, part in entry.items() for key, value in leaves(part, (*path, name)).items()}
        if isinstance(entry, list) and entry and isinstance(entry[0], dict):
            return {key: value for n, part in enumerate(entry) for key, value in leaves(part, (*path, n)).items()}
        return {path: entry}

    assert given_ == {path: value for path, value in leaves(held, ()).items() if path != ("format",)}


@pytest.mark.parametrize("bike", BIKES, ids=lambda bike: bike.name)
def test_every_number_changed_and_changed_back_leaves_the_file_as_it_was(bike: FleetBike) -> None:
    text = TEXTS[bike.name]
    numbers = {
        field.path: float(field.value)
        for field in fields_of(text)
        if field.kind == "number" and field.value is not None
    }
    assert len(numbers) > 40
    changed = with_values(text, {path: value + 1.0 for path, value in numbers.items()})
    held = tomllib.loads(changed)
    assert {path: at(held, path) for path in numbers} == {path: value + 1.0 for path, value in numbers.items()}
    assert comments(changed) == comments(text)
    back = with_values(changed, numbers)
    assert loads(back, "a") == loads(text, "a")
    assert comments(back) == comments(text)
    # A number may be written otherwise, 23 for 23.0; nothing else is touched.
    assert re.sub(r"(?<=\d)\.0\b", "", back) == re.sub(r"(?<=\d)\.0\b", "", text)


@pytest.mark.parametrize("bike", BIKES, ids=lambda bike: bike.name)
def test_one_number_changed_changes_one_line(bike: FleetBike) -> None:
    text = TEXTS[bike.name]
    numbers = [field for field in fields_of(text) if field.kind == "number" and field.value is not None]
    for field in numbers[:: len(numbers) // 6]:
        changed = with_value(text, field.path, float(field.value) + 1.0)
        (line,) = (new for old, new in zip(text.splitlines(), changed.splitlines(), strict=True) if old != new)
        assert f"{field.path[-1]} = {field.value + 1:g}" in line


@pytest.mark.parametrize("bike", BIKES, ids=lambda bike: bike.name)
def test_a_field_left_out_takes_nothing_else_along(bike: FleetBike) -> None:
    text = TEXTS[bike.name]
    given_ = {path: field.value for path, field in by_path(text).items() if field.value is not None}
    for left in [path for path in given_ if path[-1] != "shape"][:: len(given_) // 8]:
        without = {path: field.value for path, field in by_path(with_value(text, left, None)).items()}
        assert {path: without.get(path) for path in given_} == given_ | {left: None}


def test_bounds_units_and_choices_are_those_of_the_schema() -> None:
    described = schema()["$defs"]
    fields = by_path(TOURING)
    for path, table in ((("chart", "stack"), "Chart"), (("line", 0, "station", 1, "along"), "Station")):
        number = described[table]["properties"][path[-1]]["anyOf"][0]
        assert fields[path].bounds == ((number["minimum"], number["maximum"]),)
        assert fields[path].unit == "mm"
    assert list(fields["line", 0, "work"].choices) == described["Line"]["properties"]["work"]["enum"]
    assert fields["line", 0, "lever"].choices == ("right lever", "left lever")
    assert "spiral brake 5.0" in fields["line", 0, "housing"].choices
    assert fields["cockpit", "bar", "shape"].choices == ("drop", "flat", "riser", "swept", "base")
    assert fields["cockpit", "bar", "diameter"].value is None and fields["cockpit", "bar", "diameter"].default == 23.8
    assert fields["chart", "stack"].needed and not fields["chart", "trail"].needed


# Layout.


def test_whole_numbers_are_written_without_a_point_and_others_as_they_are() -> None:
    assert "stack = 595\n" in with_value(TOURING, ("chart", "stack"), 595.0)
    assert "stack = 595.25\n" in with_value(TOURING, ("chart", "stack"), 595.25)


def test_a_half_width_stays() -> None:
    text = TOURING.replace("stack = 591", "stack = { is = 591, within = 2 }  # taped")
    changed = with_value(text, ("chart", "stack"), 595.0)
    assert "stack = { is = 595, within = 2 }  # taped" in changed
    assert float(loads(changed, "a").chart.stack.within or 0) == 2.0


def test_inline_tables_stay_even() -> None:
    station = ("line", 1, "station", 2)
    (old,) = (line for line in TOURING.splitlines() if '"front top tube stop"' in line)
    changed = with_value(TOURING, (*station, "hole"), 8.0)
    (line,) = (line for line in changed.splitlines() if '"front top tube stop"' in line)
    assert line == old.replace(" },", ", hole = 8 },")
    changed = with_value(TOURING, (*station, "clock"), None)
    (line,) = (line for line in changed.splitlines() if '"front top tube stop"' in line)
    assert line == old.replace(" clock = 8,", "")


def test_a_table_is_made_when_it_is_missing_and_goes_with_its_last_field() -> None:
    made = with_value(TOURING, ("tubes", "lower_leg", "height"), 250)
    assert "lower_leg = { height = 250 }\n" in made
    assert with_value(made, ("tubes", "lower_leg", "height"), None) == TOURING
    made = with_value(TOURING, ("travel", "post"), 120)
    assert loads(made, "a").travel.post == 120
    assert tomllib.loads(with_value(made, ("travel", "post"), None)) == tomllib.loads(TOURING)


def test_stations_are_added_moved_and_removed_in_their_list() -> None:
    stations = ("line", 1, "station")

    def names(text: str) -> list[str]:
        return [station["name"] for station in at(tomllib.loads(text), stations)]

    old = names(TOURING)
    added = with_entry(TOURING, stations, 2, {"name": "Łódź ≤ 5", "type": "clip", "clock": 2.5})
    assert names(added) == [*old[:2], "Łódź ≤ 5", *old[2:]]
    assert '    { name = "Łódź ≤ 5", type = "clip", clock = 2.5 },\n' in added
    assert without_entry(added, (*stations, 2)) == TOURING
    down = moved(TOURING, (*stations, 1), 1)
    assert names(down) == [old[0], old[2], old[1], *old[3:]]
    assert moved(down, (*stations, 2), -1) == TOURING
    assert moved(TOURING, (*stations, 0), -1) == TOURING
    assert comments(added) == comments(down) == comments(TOURING)


@pytest.mark.parametrize("key", ["line", "lever"])
def test_lines_and_levers_take_their_comments_along(key: str) -> None:
    held = tomllib.loads(TOURING)[key]
    down = moved(TOURING, (key, 0), 1)
    assert tomllib.loads(down)[key] == [held[1], held[0], *held[2:]]
    assert sorted(comments(down)) == sorted(comments(TOURING))
    assert moved(down, (key, 1), -1) == TOURING
    gone = without_entry(TOURING, (key, 0))
    assert tomllib.loads(gone)[key] == held[1:]
    assert 0 < len(set(comments(TOURING)) - set(comments(gone))) <= 2
    copied = with_new_copy(TOURING, (key, 0))
    assert tomllib.loads(copied)[key][1] == held[0] | {"name": f"{held[0]['name']} 2"}
    assert tomllib.loads(copied)[key][2:] == held[1:]
    assert comments(copied) == comments(TOURING)


def test_what_only_looks_like_a_heading_is_refused_and_not_cut_in_two() -> None:
    text = 'note = """\n[[line]]\n"""\n\n[[line]]\nname = "a"\n\n[[line]]\nname = "b"\n'
    for edit in (lambda: without_entry(text, ("line", 1)), lambda: with_copy(text, ("line", 0), "c")):
        with pytest.raises(FrameFileError, match="change it in the file itself"):
            edit()


def test_a_new_station_stands_after_the_one_before_and_before_the_last() -> None:
    for place in range(5):
        text = with_new_station(TOURING, ("line", 1, "station", place))
        stations = at(tomllib.loads(text), ("line", 1, "station"))
        (new,) = (n for n, station in enumerate(stations) if station["name"].startswith("new "))
        assert new == min(place + 1, 4)
        assert loads(text, "a").line[1].station[new].type == (
            "guide" if stations[new - 1].get("then") == "bare" else "clip"
        )


def test_windows_line_ends_and_a_byte_order_mark_are_no_hindrance() -> None:
    text = TOURING.replace("\n", "\r\n")
    changed = with_value(text, ("chart", "stack"), 592)
    assert changed == text.replace("stack = 591\r", "stack = 592\r")
    assert with_value("\ufeff" + TOURING, ("chart", "stack"), 592) == TOURING.replace("stack = 591\n", "stack = 592\n")


# Whatever is written comes back.

NUMBERS = [field for field in fields_of(TOURING) if field.kind == "number"]
WORDS = [field for field in fields_of(TOURING) if field.kind in ("text", "choice")]


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(NUMBERS), st.floats(allow_nan=False, allow_infinity=False))
def test_a_number_comes_back(field: Field, value: float) -> None:
    assert by_path(with_value(TOURING, field.path, value))[field.path].value == value


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(WORDS), st.text(st.characters(exclude_categories=["Cs"]), max_size=80))
def test_text_comes_back(field: Field, value: str) -> None:
    changed = with_value(TOURING, field.path, value)
    assert at(tomllib.loads(changed), field.path) == value
    assert comments(changed)[:1] == comments(TOURING)[:1]


# Faults tell the field they concern.

STOP = ("line", 1, "station", 2)
DAMAGES: list[tuple[tuple[int | str, ...], Any]] = [
    (("chart", "stack"), 9999),
    (("chart", "stack"), None),
    (("chart", "wheel"), "large"),
    (("chart", "lock"), "far"),
    (("cockpit", "bar", "width"), 5),
    (("cockpit", "bar", "shape"), "round"),
    (("cockpit", "stem"), None),
    (("tubes", "top_tube", "wall"), 7.9999e3),
    (("tubes", "seat_stay"), None),
    (("lever", 1, "side"), "top"),
    (("lever", 1, "name"), "right lever"),
    (("lever", 0, "along"), "a lot"),
    (("line", 2, "lever"), "third lever"),
    (("line", 2, "work"), "brakes"),
    ((*STOP, "along"), 5000),
    ((*STOP, "then"), "flies"),
    ((*STOP, "colour"), "red"),
    ((*STOP, "name"), "tape end"),
    (("line", 1, "option", 0, "station", 2, "clock"), 13),
]
LATER: list[tuple[tuple[int | str, ...], Any]] = [
    (("chart", "wheelbase"), 1200),
    (("tubes", "seat_stay", "wall"), 8),
    (("tubes", "top_tube", "at_head"), 200),
    (("tubes", "top_tube", "at_seat"), 700),
    (("lever", 0, "part"), "wet string"),
    (("lever", 0, "along"), 699),
    (("line", 1, "inner"), None),
    (("line", 1, "inner"), "wet string"),
    (("line", 1, "housing"), "wet string"),
    ((*STOP, "on"), "saddle"),
    ((*STOP, "from"), "saddle"),
    ((*STOP, "facing"), "saddle"),
    ((*STOP, "along"), 1400),
    ((*STOP, "along"), None),
    ((*STOP, "then"), None),
    ((*STOP, "hole"), 8),
    (("line", 1, "station", 4, "part"), "wet string"),
    (("line", 1, "option", 0, "station", 2, "facing"), "saddle"),
    (("line", 1, "option", 1, "housing"), "wet string"),
]


@pytest.mark.parametrize(("path", "value"), DAMAGES, ids=lambda given: str(given))
def test_a_fault_of_reading_carries_its_field(path: tuple[int | str, ...], value: Any) -> None:
    text = with_value(TOURING, path, value)
    with pytest.raises(FrameFileError) as caught:
        loads(text, "a.toml")
    assert caught.value.path == path
    fault = fault_of(text, "a.toml")
    assert fault is not None and fault.path == path
    assert str(caught.value) == f"a.toml: {fault.message}"


@pytest.mark.parametrize(("path", "value"), LATER, ids=lambda given: str(given))
def test_a_fault_of_planning_is_led_back_to_its_field(path: tuple[int | str, ...], value: Any) -> None:
    text = with_value(TOURING, path, value)
    with pytest.raises(RopewalkError) as caught:
        plan(loads(text, "a.toml"))
    assert fault_from(caught.value, text, "a.toml").path == path


def test_every_fault_of_the_fields_is_told_in_file_order() -> None:
    text = with_value(with_value(TOURING, (*STOP, "along"), 5000), ("chart", "stack"), 9999)
    assert [fault.path for fault in faults_of(text, "a")] == [("chart", "stack"), (*STOP, "along")]
    assert fault_of(TOURING, "a") is None


def test_text_that_is_no_toml_has_a_fault_without_a_field() -> None:
    fault = fault_of("the rear brake rubs", "a.toml")
    assert fault is not None and fault.path is None and fault.message.startswith("line 1")


def test_names_that_look_like_places_mislead_nobody() -> None:
    text = TOURING.replace('"rear brake"', '"a\\", station \\"b"')
    text = with_value(text, (*STOP, "facing"), "saddle")
    with pytest.raises(RopewalkError) as caught:
        plan(loads(text, "a"))
    assert fault_from(caught.value, text, "a").path == (*STOP, "facing")


def test_measures_are_not_written_twice() -> None:
    # The editor's bounds refuse exactly what the reader refuses.
    for path in (("chart", "fork"), ("cockpit", "stem"), (*STOP, "clock")):
        ((low, high),) = by_path(TOURING)[path].bounds
        measure = Measure("mm", low, high)
        for value in (measure.low - 0.1, measure.high + 0.1):
            with pytest.raises(FrameFileError) as caught:
                loads(with_value(TOURING, path, value), "a")
            assert caught.value.path == path
