"""Frame files are read as they are meant, or refused in one line that says what, where and what to do."""

from __future__ import annotations

import os
import threading
import unicodedata
from pathlib import Path
from typing import Any

import jsonschema
import makers
import pytest
from frametext import changed, frame_text, line, stations, to_toml
from hypothesis import given, settings
from hypothesis import strategies as st
from promised import breaches

from ropewalk.bike.framefile import MOST_STATIONS, MOST_STATIONS_A_LINE, Frame
from ropewalk.bike.reading import loads, read, schema
from ropewalk.bike.tomltext import MOST_BYTES
from ropewalk.errors import FrameFileError


def refusal(text: str | bytes, where: str = "bike.toml") -> str:
    """Return what is said against a text, which has to be one line that begins with the file and steers no terminal."""
    with pytest.raises(FrameFileError) as caught:
        loads(text, where)
    message = str(caught.value)
    assert message.startswith(f"{where}: ")
    assert_one_safe_line(message)
    return message.removeprefix(f"{where}: ")


def assert_one_safe_line(message: str) -> None:
    assert message.strip()
    assert not {unicodedata.category(character) for character in message} & {"Cc", "Cf", "Cs", "Zl", "Zp"}
    assert len(message) < 600


# What is read.


def test_text_and_makers_data_give_the_same_frame() -> None:
    assert loads(frame_text(), "bike.toml") == Frame.model_validate(makers.frame_dict())


def test_a_figure_keeps_how_surely_it_is_known() -> None:
    frame = loads(frame_text(chart={"stack": {"is": 591, "within": 2}}), "bike.toml")
    assert (frame.chart.stack, frame.chart.stack.within) == (591.0, 2.0)
    assert frame.chart.reach.within is None


@pytest.mark.parametrize("mark", ["", "\ufeff"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_byte_order_marks_and_line_ends_of_other_systems_are_read(tmp_path: Path, mark: str, end: str) -> None:
    path = tmp_path / "bike.toml"
    path.write_bytes((mark + frame_text().replace("\n", end)).encode())
    assert read(path).name == makers.frame_dict()["name"]


def test_blanks_round_a_name_do_not_count() -> None:
    frame = loads(frame_text(line=[line(lever=" left lever ")]), "bike.toml")
    assert frame.line[0].lever == "left lever"


# Files that cannot be read at all.


def test_missing_file(tmp_path: Path) -> None:
    with pytest.raises(FrameFileError, match=r"nothing\.toml: there is no such file"):
        read(tmp_path / "nothing.toml")


def test_folder(tmp_path: Path) -> None:
    with pytest.raises(FrameFileError, match=r": is a folder: name one frame file in it$"):
        read(tmp_path)


def test_a_pipe_is_refused_without_waiting_for_a_writer(tmp_path: Path) -> None:
    path = tmp_path / "pipe.toml"
    os.mkfifo(path)
    said: list[str] = []

    def attempt() -> None:
        with pytest.raises(FrameFileError) as caught:
            read(path)
        said.append(str(caught.value))

    reader = threading.Thread(target=attempt, daemon=True)
    reader.start()
    reader.join(timeout=5)
    assert len(said) == 1
    assert said[0].endswith("pipe.toml: is a pipe or a device: save the frame file to disk and name that")


def test_a_device_is_refused() -> None:
    with pytest.raises(FrameFileError, match=r"^/dev/zero: is a pipe or a device"):
        read("/dev/zero")


@pytest.mark.skipif(os.geteuid() == 0, reason="nothing is unreadable to the administrator")
def test_a_protected_file(tmp_path: Path) -> None:
    path = tmp_path / "bike.toml"
    path.write_text(frame_text())
    path.chmod(0)
    with pytest.raises(FrameFileError, match=r"bike\.toml: cannot be read: Permission denied"):
        read(path)


@pytest.mark.parametrize("path", ["a\0b", "x" * 5000, "/dev/null/bike.toml", "\udcff.toml", "\x1b[2J.toml", ""])
def test_impossible_paths(path: str) -> None:
    with pytest.raises(FrameFileError) as caught:
        read(path)
    assert_one_safe_line(str(caught.value))


def test_fifty_megabytes_are_refused_unread(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "big.toml"
    with path.open("wb") as file:
        file.truncate(50_000_000)
    monkeypatch.setattr(os, "open", lambda *_: pytest.fail("it was opened"))
    with pytest.raises(FrameFileError, match=r": is 50 MB: a frame file may have at most 1 MB$"):
        read(path)


def test_the_limit_of_size_is_the_stated_one() -> None:
    padded = frame_text() + "#" + "\n#" * 1000
    fits = padded + "\n#" * ((MOST_BYTES - len(padded)) // 2)
    assert loads(fits, "bike.toml").name == makers.frame_dict()["name"]
    assert refusal(fits + "\n#\n#\n#") == "is 1.1 MB: a frame file may have at most 1 MB"


# Text that is no TOML.


@pytest.mark.parametrize(
    ("contents", "expected"),
    [
        (b"", "is empty"),
        (b" \n\n", "is empty"),
        (b"\x89PNG\r\n\x1a\n\0\0", "is no text but binary"),
        ("format = 1".encode("utf-16"), "is UTF-16 text: save it as UTF-8"),
        ("format = 1\nname = 'Łódź'".encode("iso-8859-2"), "line 2 is not UTF-8 text: save the file as UTF-8"),
        (b"format = 1\nname 'x'\n", "line 2, column 6 is not TOML"),
        (b"format = 1\nformat = 1\n", "line 2, column 11 is not TOML: this key has been written before"),
        (b"[chart]\n[tubes]\n[chart]\n", "line 3, column 7 is not TOML: [chart] has been written before"),
        (b"format = 1\nname = 'x\n", "line 2"),
        (b'format = 1\nname = "\x1b"', "line 2, column 9 is not TOML: illegal character"),
        (b"x = " + b"[" * 1500, "nested too deeply"),
        (b"x = " + b"{a = " * 400, "nested too deeply"),
        (b"x = " + b"1" * 5000, "line 1 has 5004 characters: a line may have at most 2500"),
        (b"x." + b"a." * 400_000 + b"a = 1", "a line may have at most 2500"),
    ],
)
def test_contents_that_are_no_toml(contents: bytes, expected: str) -> None:
    assert expected in refusal(contents)


# Keys and values.


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"colour": "red"}, 'has the unknown key "colour": it takes format, name, note, chart, tubes, '),
        ({"chart": {"chain_stay": 450}}, 'chart has the unknown key "chain_stay": did you mean "chainstay"?'),
        ({"chart": {"head_angle_deg": 71}}, 'chart has the unknown key "head_angle_deg": did you mean "head_angle"?'),
        ({"cockpit": {"bar": {"widht": 420}}}, 'cockpit.bar has the unknown key "widht": did you mean "width"?'),
        ({"chart": {"stack": {"is": 591, "withn": 2}}}, 'chart.stack has the unknown key "withn": write { is = '),
        ({"chart": {"stack": {"within": 2}}}, 'chart.stack lacks "is"'),
        ({"chart": {"stack": None}}, "chart.stack is missing: height of the head tube's upper end over the bottom "),
        ({"cockpit": {"bar": {"drop": None}}}, "cockpit.bar.drop is missing: tops to drops"),
        ({"cockpit": None}, "cockpit is missing: spacers, stem and bar"),
        ({"chart": 5}, "chart is 5: it has to be a table, which starts with [chart]"),
        ({"line": {"name": "a"}}, "line is one table: write [[line]], with double brackets, for each"),
        ({"line": 5}, "line is 5: it has to be a list"),
        ({"name": 5}, "name is 5: it has to be text in quotation marks"),
        ({"name": "  "}, "name is empty"),
        ({"name": "x" * 61}, "name is 61 characters long: it may have at most 60"),
        ({"format": 2}, "format has to be 1"),
        ({"format": True}, "format has to be 1"),
        ({"format": 1.0}, "format has to be 1"),
        (
            {"cockpit": {"bar": {"shape": "dorp"}}},
            'cockpit.bar.shape is "dorp": it has to be drop, flat, riser, swept or base',
        ),
        (
            {"cockpit": {"bar": {"shape": None}}},
            "cockpit.bar.shape is missing: it has to be drop, flat, riser, swept or base",
        ),
        (
            {"lever": [{**makers.frame_dict()["lever"][0], "side": "Left"}]},
            '"left lever", side is "Left": it has to be',
        ),
        ({"lever": []}, "lever has 0 entries: at least 1 are needed"),
    ],
)
def test_keys_and_words(changes: dict[str, Any], expected: str) -> None:
    assert expected in refusal(frame_text(**changes))


@pytest.mark.parametrize(
    ("stack", "expected"),
    [
        ("nan", "chart.stack is not a finite number"),
        ("inf", "chart.stack is not a finite number"),
        ("-inf", "chart.stack is not a finite number"),
        ("-591", "chart.stack is -591 mm: it has to be between 250 and 800 mm"),
        ("0", "chart.stack is 0 mm: it has to be between 250 and 800 mm"),
        ("249.99999", "chart.stack is 249.99999 mm: it has to be between 250 and 800 mm"),
        ("1e308", "chart.stack is 1e+308 mm: it has to be between 250 and 800 mm"),
        ("0x" + "f" * 2000, "chart.stack is not a finite number"),
        ('"591"', "chart.stack is text in quotation marks: it has to be a plain number (mm)"),
        ("true", "chart.stack is true: it has to be a plain number (mm)"),
        ("[591]", "chart.stack is a list: it has to be a plain number (mm)"),
        ("2024-02-29", "chart.stack is no number: it has to be a plain number (mm)"),
        ("{ is = true }", "chart.stack is true"),
        ("{ is = { is = 591 } }", "chart.stack is a table"),
        ("{ is = 591, within = -1 }", "chart.stack within is -1 mm: it has to be between 0 and 275 mm"),
        ("{ is = 591, within = nan }", "chart.stack within is not a finite number"),
    ],
)
def test_figures(stack: str, expected: str) -> None:
    text = frame_text().replace("stack = 591", f"stack = {stack}")
    assert expected in refusal(text)


def test_a_chainstay_of_twenty_metres_is_told_with_its_bounds_and_unit() -> None:
    said = refusal(frame_text(chart={"chainstay": 20_000}), "chart.toml")
    assert said == "chart.chainstay is 20000 mm: it has to be between 300 and 1000 mm"


def test_a_station_is_told_by_its_line_and_name() -> None:
    first, last = makers.frame_dict()["line"][0]["station"]
    stop = {"name": "top tube stop", "type": "stop", "on": "top tube", "along": 2000}
    said = refusal(frame_text(line=[line(name="rear brake", station=[first, stop, last])]), "touring.toml")
    assert said == (
        'line "rear brake", station "top tube stop", along is 2000 mm: it has to be between -400 and 1500 mm'
    )


def test_a_station_without_a_name_of_its_own_is_told_by_its_number() -> None:
    first, last = makers.frame_dict()["line"][0]["station"]
    said = refusal(frame_text(line=[line(name=7, station=[first, last | {"name": ["x"], "clock": 13}])]))
    assert said == "line 1, name is 7: it has to be text in quotation marks (and 2 more)"


@pytest.mark.parametrize(
    ("offset", "expected"),
    [
        ([1, 2], "offset has 2 entries: it needs more (seat from the mount it is on: forward, up, right [mm])"),
        ([1, 2, 3, 4], "offset has 4 entries: at most 3 can be read"),
        ([1, 2, 3000], "offset, entry 3 is 3000 mm: it has to be between -300 and 300 mm"),
        (5, "offset is 5: it has to be a list"),
    ],
)
def test_offsets(offset: object, expected: str) -> None:
    first, last = makers.frame_dict()["line"][0]["station"]
    said = refusal(frame_text(line=[line(station=[first, last | {"offset": offset}])]))
    assert said == f'line "front brake", station "caliper", {expected}'


def test_bars_narrower_than_the_stem() -> None:
    said = refusal(frame_text(cockpit={"stem": 90, "bar": {"width": 80}}))
    assert said == "cockpit.bar.width is 80 mm: it has to be between 300 and 600 mm"


# Names and numbers of lines, levers and stations.


def test_two_lines_of_one_name() -> None:
    said = refusal(frame_text(line=[line(), line(name="rear brake"), line()]))
    assert said == 'line 3 has the name "front brake" of line 1: give each its own'


def test_two_levers_of_one_name() -> None:
    lever = makers.frame_dict()["lever"][0]
    said = refusal(frame_text(lever=[lever, lever]))
    assert said == 'lever 2 has the name "left lever" of lever 1: give each its own'


def test_two_stations_of_one_name_in_a_line() -> None:
    first, last = makers.frame_dict()["line"][0]["station"]
    said = refusal(frame_text(line=[line(station=[first, last | {"name": "lever"}])]))
    assert said == 'line "front brake": station 2 has the name "lever" of station 1: give each its own'


def test_stations_of_one_name_in_two_lines_are_told_apart_by_their_lines() -> None:
    assert len(loads(frame_text(line=[line(), line(name="rear brake")]), "bike.toml").line) == 2


@pytest.mark.parametrize(("count", "told"), [(0, "no station"), (1, "1 station")])
def test_a_line_needs_two_stations(count: int, told: str) -> None:
    said = refusal(frame_text(line=[line(station=makers.frame_dict()["line"][0]["station"][:count])]))
    assert said == f'line "front brake" has {told}: a line needs two at least, its lever and its anchor'


def test_a_lever_that_is_not_there() -> None:
    said = refusal(frame_text(line=[line(lever="lef lever")]))
    assert said == 'line "front brake", lever is "lef lever": did you mean "left lever"?'


def test_the_limits_of_stations_are_the_stated_ones() -> None:
    loads(frame_text(line=[line(station=stations(MOST_STATIONS_A_LINE))]), "bike.toml")
    said = refusal(frame_text(line=[line(station=stations(MOST_STATIONS_A_LINE + 1))]))
    assert said == 'line "front brake" holds 41 stations: a line may have at most 40'
    full = [line(name=f"line {number}", station=stations(40)) for number in range(MOST_STATIONS // 40)]
    loads(frame_text(line=full), "bike.toml")
    said = refusal(frame_text(line=[*full, line()]))
    assert said == "holds 242 stations: a frame file may have at most 240"


def test_ten_thousand_stations() -> None:
    many = [line(station=[{"name": "a", "type": "clip"}] * 10_000)]
    assert refusal(frame_text(line=many)) == "holds 10000 stations: a frame file may have at most 240"


# Several faults, and what is shown of them.


def test_the_first_fault_in_the_order_of_the_file_is_told_and_the_others_are_counted() -> None:
    text = to_toml(dict(reversed(changed(chart={"reach": 5, "stack": 5, "fork": "x"}, line=[line(work=5)]).items())))
    assert refusal(text).startswith('line "front brake", work is 5: it has to be brake, shift,')
    assert refusal(text).endswith(" (and 3 more)")
    assert refusal(frame_text(chart={"reach": 5, "stack": 5})) == (
        "chart.stack is 5 mm: it has to be between 250 and 800 mm (and 1 more)"
    )


def test_long_values_are_shortened() -> None:
    said = refusal(frame_text(cockpit={"bar": {"shape": "x" * 2000}}))
    assert said.startswith('cockpit.bar.shape is "' + "x" * 39 + '…": it has to be drop')


@pytest.mark.parametrize("trick", ["\x1b[2J", "\x07", "\x9b2J", "a\nb", "\u202egnp", "\u2028", "\x7f"])
def test_characters_that_steer_a_terminal_are_refused_in_names_and_never_repeated(trick: str) -> None:
    first, last = makers.frame_dict()["line"][0]["station"]
    assert "without control characters" in refusal(frame_text(name=f"bike {trick}."))
    refusal(frame_text(chart={f"stack{trick}": 591}))
    refusal(frame_text(cockpit={"bar": {"shape": trick}}))
    refusal(frame_text(line=[line(name=f"a{trick}b", station=[first, last | {"clock": 99}])]))
    with pytest.raises(FrameFileError) as caught:
        loads("", f"bike{trick}.toml")
    assert_one_safe_line(str(caught.value))


@settings(max_examples=150, deadline=None)
@given(st.one_of(st.text(max_size=60), st.binary(max_size=60)))
def test_whatever_is_no_frame_file_is_refused_in_one_line(anything: str | bytes) -> None:
    assert refusal(anything).strip()


_TEXT = frame_text()


@settings(max_examples=200, deadline=None)
@given(st.integers(0, len(_TEXT) - 1), st.integers(0, 12), st.text(max_size=6))
def test_a_damaged_file_is_read_or_refused_in_one_line(start: int, length: int, instead: str) -> None:
    damaged = _TEXT[:start] + instead + _TEXT[start + length :]
    try:
        frame, said = loads(damaged, "bike.toml"), ""
    except FrameFileError as error:
        frame, said = None, str(error)
    if frame is None:
        assert said.startswith("bike.toml: ")
        assert_one_safe_line(said)


# The schema, judged by a library of its own.


def test_the_schema_is_valid_and_takes_what_is_read() -> None:
    jsonschema.Draft202012Validator.check_schema(schema())
    assert breaches(makers.frame_dict(), schema()) == []


def test_every_figure_of_the_schema_has_unit_bounds_and_description() -> None:
    figures = 0
    for model in schema()["$defs"].values():
        for key, field in model["properties"].items():
            assert field.get("description"), f"{model['title']}.{key} is not described"
            if "x-unit" in field:
                figures += 1
                number, table = field["anyOf"]
                assert number["minimum"] < number["maximum"]
                assert table["properties"]["is"] == number
    assert figures > 60


def test_the_schema_offers_no_null_which_toml_lacks() -> None:
    assert "null" not in str(schema())


@pytest.mark.parametrize(
    "changes",
    [
        {"colour": 1},
        {"chart": {"stack": 20_000}},
        {"chart": {"stack": 250}},
        {"chart": {"stack": 249.9}},
        {"chart": {"stack": "591"}},
        {"chart": {"stack": None}},
        {"chart": {"stack": {"is": 591, "within": 3}}},
        {"chart": {"stack": {"is": 591, "within": 300}}},
        {"chart": {"stack": {"is": 591, "with": 3}}},
        {"chart": {"head_angle_deg": 71}},
        {"chart": {"lock": 60}},
        {"cockpit": {"bar": {"shape": "drpo"}}},
        {"cockpit": {"bar": {"flare": 12}}},
        {"cockpit": {"bar": {"flare": 41}}},
        {"format": 2},
        {"name": ""},
        {"name": "a\x1bb"},
        {"name": "Łódź № 7"},
        {"lever": []},
        {"line": []},
        {"line": [line(station=stations(1)[:1])]},
        {"line": [line(station=stations(40))]},
        {"line": [line(station=stations(41))]},
        {"line": [line(work="tow")]},
    ],
)
def test_schema_and_reader_agree(changes: dict[str, Any]) -> None:
    tables = changed(**changes)
    allowed = jsonschema.Draft202012Validator(schema()).is_valid(tables)
    if allowed:
        assert loads(to_toml(tables), "bike.toml").format == 1
    else:
        refusal(to_toml(tables))
