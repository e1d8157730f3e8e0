"""The command line shows the plan: list, JSON and spreadsheet agree, at every width, in a pipe and on a terminal."""

from __future__ import annotations

import csv
import dataclasses
import functools
import json
import os
import pty
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from importlib.metadata import version
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import jsonschema
import pytest
from commands import printed
from promised import breaches
from rich.console import Console
from sample_job import sample_job

from ropewalk.bike.fleet import fleet, fleet_folder
from ropewalk.bike.framefile import Frame
from ropewalk.cli.cutlist import print_cut_list
from ropewalk.cli.main import main
from ropewalk.cli.why import print_why
from ropewalk.workshop import plan as plan_module
from ropewalk.workshop.jobplan import HandsPlan, JobPlan, LengthChange, Step
from ropewalk.workshop.plan import plan as real_plan

COMMAND = Path(sys.executable).with_name("ropewalk")
BIKES = [bike.name for bike in fleet()]
ANSI = re.compile(r"\x1b\[([0-9;]*)m")


@functools.cache
def _plan_once(written: str) -> JobPlan:
    return real_plan(Frame.model_validate_json(written))


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Callable[..., str]:
    """Return a function that runs a command line in process, in a folder of its own, and returns what it prints."""
    monkeypatch.chdir(tmp_path)
    # One plan of each bike serves all tests in this process; the installed command makes its own.
    monkeypatch.setattr(plan_module, "plan", lambda frame, **_: _plan_once(frame.model_dump_json()))
    return functools.partial(printed, capsys)


@pytest.fixture(scope="module", params=BIKES)
def planned(request: pytest.FixtureRequest) -> dict[str, Any]:
    """Return a bike's plan as the installed command prints it in JSON."""
    ended = subprocess.run([COMMAND, "cut", request.param, "--json"], capture_output=True, timeout=60, check=True)
    assert ended.stderr == b""
    return {"name": request.param, **json.loads(ended.stdout)}


def pieces(plan: dict[str, Any]) -> Iterator[dict[str, Any]]:
    for line in plan["lines"]:
        yield from line["pieces"]


# JSON.

NUMBER = {"type": "number"}
MAYBE = {"type": ["number", "null"]}
TEXT = {"type": "string", "minLength": 1}


def _object(**properties: Any) -> dict[str, Any]:
    return {"type": "object", "additionalProperties": False, "required": list(properties), "properties": properties}


def _with(table: dict[str, Any], **optional: Any) -> dict[str, Any]:
    """Return the schema of an object that may have some keys more."""
    return {**table, "properties": {**table["properties"], **optional}}


INNER = _object(path_mm=NUMBER, need_mm=NUMBER, stock_mm=MAYBE, tail_mm=NUMBER)


def _list(items: Any, **more: Any) -> dict[str, Any]:
    return {"type": "array", "items": items, **more}


#: the object that is promised to stay as it is between releases
PROMISED = _object(
    format={"const": 1},
    bike=TEXT,
    lines=_list(
        _with(
            _object(
                name=TEXT,
                hand={"enum": ["left", "right", None]},
                work={"enum": ["brake", "shift", "dropper", "lockout", "hose"]},
                pieces=_list(
                    _object(
                        tag={"type": "string", "pattern": "^[A-Z]+[0-9]+$"},
                        **{"from": TEXT},
                        to=TEXT,
                        housing=TEXT,
                        window_mm={"anyOf": [{"type": "null"}, _list(NUMBER, minItems=2, maxItems=2)]},
                        target_mm=NUMBER,
                        first_cut_mm=MAYBE,
                        sigma_mm=NUMBER,
                        least_radius_mm=MAYBE,
                        least_radius_at={
                            "type": "object",
                            "additionalProperties": False,
                            "properties": dict.fromkeys(
                                ("steer_deg", "fork_mm", "rear_mm", "fold_deg", "post_mm"), NUMBER
                            ),
                        },
                        turn_deg=NUMBER,
                        why_shortest=TEXT,
                        why_longest=TEXT,
                        ends=_list(TEXT, minItems=2, maxItems=2),
                    )
                ),
                inner={
                    "anyOf": [
                        {"type": "null"},
                        INNER,
                    ]
                },
                liners=_list(
                    _object(
                        **{"from": TEXT}, to=TEXT, cut_mm=NUMBER, kind=TEXT, use={"enum": ["liner", "guide", "sleeve"]}
                    )
                ),
                turn_deg=NUMBER,
                efficiency={"anyOf": [{"type": "null"}, _object(new=NUMBER, worn=NUMBER, corroded=NUMBER)]},
                release_reserve_mu=MAYBE,
            ),
            lower_inner=INNER,
            setting_mm=NUMBER,
        )
    ),
    parts=_list(_object(item=TEXT, count={"type": "integer", "minimum": 1})),
    findings=_list(
        _object(
            grade={"enum": ["stop", "look", "note"]},
            where=TEXT,
            text=TEXT,
            value=MAYBE,
            limit=MAYBE,
            unit={"type": "string"},
        )
    ),
    cautions=_list(TEXT, minItems=1),
)


def test_json_is_the_promised_object(planned: dict[str, Any]) -> None:
    assert breaches({key: value for key, value in planned.items() if key != "name"}, PROMISED) == []


def test_json_keeps_the_order_of_a_first_cut(planned: dict[str, Any]) -> None:
    for piece in pieces(planned):
        if piece["first_cut_mm"] is None:
            assert any(
                finding["grade"] == "stop" and piece["tag"] in finding["where"] for finding in planned["findings"]
            )
            continue
        assert piece["window_mm"][0] <= piece["window_mm"][1] + 0.05
        assert piece["first_cut_mm"] >= piece["target_mm"] >= piece["window_mm"][0] - 0.05
        assert piece["first_cut_mm"] % 5 == 0


# The list.


def test_the_list_shows_every_figure_of_the_json(planned: dict[str, Any], run: Callable[..., str]) -> None:
    rows = {
        row.split()[0]: row for row in run("cut", planned["name"]).splitlines() if row.startswith("  ") and row.split()
    }
    for piece in pieces(planned):
        row = rows[piece["tag"]]
        cut = "no cut" if piece["first_cut_mm"] is None else f" {piece['first_cut_mm']:.0f} mm"
        assert all(shown in row for shown in (f"{piece['from']} → {piece['to']}", cut, ", ".join(piece["ends"])))
        # The JSON's tenth may round to the other side of a half.
        # the pose of the least radius may end with an angle too
        target, turns = re.search(r"(?:mm|no cut) +(\d+) ", row), re.findall(r" (\d+)°(?=  )", row)
        assert target is not None
        assert abs(int(target[1]) - piece["target_mm"]) <= 0.55
        assert abs(int(turns[-1]) - piece["turn_deg"]) <= 0.55


def test_the_list_tells_inners_parts_findings_and_cautions(planned: dict[str, Any], run: Callable[..., str]) -> None:
    shown = run("cut", planned["name"])
    for line in planned["lines"]:
        assert line["name"] in shown
        if line["inner"] and line["inner"]["stock_mm"]:
            assert f"take {line['inner']['stock_mm']:.0f} mm" in shown
    assert all(f"{part['count']} ×  {part['item']}" in shown for part in planned["parts"])
    assert all(f"{finding['grade'].upper()}  {finding['where']}: " in shown for finding in planned["findings"])
    assert all(caution in shown for caution in planned["cautions"])


def test_a_pipe_gets_one_plain_row_a_piece(planned: dict[str, Any]) -> None:
    ended = subprocess.run(
        [COMMAND, "cut", planned["name"]], capture_output=True, text=True, timeout=60, check=True, env=_environment()
    )
    assert ended.stderr == ""
    assert "\x1b" not in ended.stdout
    assert not [row for row in ended.stdout.splitlines() if row != row.rstrip()]
    for piece in pieces(planned):
        assert len(re.findall(rf"^  {piece['tag']} .*→.*$", ended.stdout, re.MULTILINE)) == 1


WIDTHS = (34, 50, 71, 72, 80, 100, 120, 140, 200)


@pytest.mark.parametrize("width", WIDTHS)
def test_no_width_cuts_a_figure_off(width: int) -> None:
    job = sample_job()
    console = Console(width=width, highlight=False, markup=False, emoji=False, force_terminal=False)
    with console.capture() as capture:
        print_cut_list(job, console)
    shown = capture.get()
    assert "…" not in shown
    assert max(len(row.rstrip()) for row in shown.splitlines()) <= width
    for line in job.lines:
        for piece in line.pieces:
            own = _rows_of(shown, piece.tag)
            assert (
                f"{piece.first_cut:.0f} mm" if piece.first_cut else "no cut" if width >= 72 else "do not cut"
            ) in own
            assert f"{piece.target:.0f}" in own
            assert (f"{piece.window[0]:.0f}–{piece.window[1]:.0f}" if piece.window else "none") in own


@pytest.mark.parametrize("width", WIDTHS)
def test_hands_and_order_of_work_fit_every_width(width: int) -> None:
    job = sample_job()
    steps = tuple(
        Step(phase, text, text)
        for phase, text in (
            ("cut", "Cut A1 to 730 mm; square the ends and open the bore."),
            ("trim", "Last of all trim the inner and cap it."),
        )
    )
    change = LengthChange("front brake", "A1", 730.0, 745.0, (721.3, 740.2))
    hands = HandsPlan("front-left", False, ("front brake",), (change,), "Check your local law.")
    lines = tuple(dataclasses.replace(line, steps=steps) for line in job.lines)
    console = Console(width=width, highlight=False, markup=False, emoji=False, force_terminal=False)
    with console.capture() as capture:
        print_cut_list(dataclasses.replace(job, lines=lines, hands=hands), console, order=True)
    shown = capture.get()
    assert max(len(row.rstrip()) for row in shown.splitlines()) <= width
    told = " ".join(shown.split())
    assert told.count("Order of work: ") == len(lines)
    for figure in ("730 mm → 745 mm", "721 → 740", "Check your local law."):
        assert figure in told


def _rows_of(shown: str, tag: str) -> str:
    """Return the rows from a tag's to the next blank one."""
    rows = shown.splitlines()
    start = next(at for at, row in enumerate(rows) if row.split()[:1] == [tag])
    return "\n".join(rows[start : rows.index("", start) if "" in rows[start:] else None])


def test_grades_are_words_and_colour_only_comes_on_top() -> None:
    def shown(*, no_color: bool) -> str:
        console = Console(width=100, force_terminal=True, color_system="standard", no_color=no_color, highlight=False)
        with console.capture() as capture:
            print_cut_list(sample_job(), console)
        return capture.get()

    coloured, plain = shown(no_color=False), shown(no_color=True)
    codes = {code for found in ANSI.findall(coloured) for code in found.split(";")}
    assert codes & {"31", "33", "34"}
    assert not {code for found in ANSI.findall(plain) for code in found.split(";")} & {
        str(code) for code in range(30, 50)
    }
    assert ANSI.sub("", coloured) == ANSI.sub("", plain)
    assert all(f"{grade}  " in ANSI.sub("", plain) for grade in ("STOP", "LOOK", "NOTE"))


def _environment(**changes: str) -> dict[str, str]:
    kept = {
        key: value for key, value in os.environ.items() if key not in ("COLUMNS", "FORCE_COLOR", "NO_COLOR", "TERM")
    }
    return {**kept, **changes}


@pytest.mark.parametrize(
    ("environment", "coloured"),
    [
        ({"TERM": "xterm-256color"}, True),
        ({"TERM": "xterm-256color", "NO_COLOR": "1"}, False),
        ({"TERM": "dumb"}, False),
    ],
)
def test_on_a_terminal(environment: dict[str, str], coloured: bool) -> None:
    shown = on_a_terminal(["cut", "touring"], _environment(COLUMNS="80", **environment))
    codes = {code for found in ANSI.findall(shown) for code in found.split(";")}
    assert bool(codes & {"31", "33", "34"}) == coloured
    assert "first cut" in ANSI.sub("", shown)
    assert not re.sub(r"\x1b\[[0-9;?]*[a-zA-Z]", "", shown).count("\x1b")


def on_a_terminal(arguments: list[str], environment: dict[str, str]) -> str:
    """Return what a command writes to a terminal, on both streams."""
    ours, theirs = pty.openpty()
    with subprocess.Popen(
        [COMMAND, *arguments], stdin=theirs, stdout=theirs, stderr=theirs, env=environment
    ) as process:
        os.close(theirs)
        shown = b""
        while True:
            try:
                part = os.read(ours, 65536)
            except OSError:
                break
            if not part:
                break
            shown += part
        assert process.wait(timeout=60) == 0
    os.close(ours)
    return shown.decode()


def test_progress_shows_on_a_terminal_alone() -> None:
    assert "bending the loops" in on_a_terminal(["cut", "touring"], _environment(COLUMNS="80", TERM="xterm-256color"))
    assert "bending the loops" not in on_a_terminal(["cut", "touring"], _environment(COLUMNS="80", TERM="dumb"))


def test_characters_that_an_encoding_lacks_become_plain_ones() -> None:
    ended = subprocess.run(
        [COMMAND, "cut", "touring"],
        capture_output=True,
        timeout=60,
        check=True,
        env=_environment(PYTHONIOENCODING="ascii"),
    )
    shown = ended.stdout.decode("ascii")
    assert " -> " in shown
    assert " deg" in shown
    assert "?" not in shown


# Order of work, hands.


def test_the_order_of_work_is_told_when_asked_for(run: Callable[..., str]) -> None:
    short, long = run("cut", "road"), run("cut", "road", "--order")
    assert "Order of work" not in short
    lines = json.loads(run("cut", "road", "--order", "--json"))["lines"]
    for line in lines:
        section = long.split(f"\nOrder of work: {line['name']}\n")[1].split("\n\n")[0]
        told = [re.sub(r"^\d+\. +", "", row) for row in section.splitlines()]
        assert told == line["order"]
    # what must not be missed is in the short list too
    assert "over the old inner before that is pulled" in short


@pytest.mark.parametrize("asked", ["front-left", "front-right"])
def test_hands_are_told_on_top_with_what_changes_and_the_caution(asked: str, run: Callable[..., str]) -> None:
    job = json.loads(run("cut", "touring", "--hands", asked, "--json"))
    shown = run("cut", "touring", "--hands", asked)
    hands = job["hands"]
    assert hands["asked"] == asked
    assert shown.index(hands["caution"]) < shown.index("front brake (brake")
    side = {line["name"]: line["hand"] for line in job["lines"]}
    assert side["front brake"] == asked.removeprefix("front-")
    if asked == "front-right":
        assert (hands["already"], hands["moved"], hands["changes"]) == (True, [], [])
        assert "The right lever works the front brake already: nothing changes." in shown
        return
    assert (hands["already"], hands["moved"]) == (False, ["front brake", "rear brake"])
    was = {piece["tag"]: piece for piece in pieces(json.loads(run("cut", "touring", "--json")))}
    now = {piece["tag"]: piece for piece in pieces(job)}
    told = {change["what"]: change for change in hands["changes"] if change["target_mm"] is not None}
    assert told
    for tag, change in told.items():
        assert [change["before_mm"], change["after_mm"]] == [was[tag]["first_cut_mm"], now[tag]["first_cut_mm"]]
        assert change["target_mm"] == [was[tag]["target_mm"], now[tag]["target_mm"]]
        assert re.search(rf"^-  {tag}, .* → {change['after_mm']:.0f} mm first cut", shown, re.MULTILINE)
    for tag in now.keys() - told.keys():
        assert now[tag]["first_cut_mm"] == was[tag]["first_cut_mm"]
        assert now[tag]["target_mm"] == pytest.approx(was[tag]["target_mm"], abs=0.55)


def test_other_hands_are_drawn_otherwise(run: Callable[..., str], tmp_path: Path) -> None:
    run("draw", "touring", "-o", "as-it-is.svg")
    run("draw", "touring", "-o", "right.svg", "--hands", "front-right")
    run("draw", "touring", "-o", "left.svg", "--hands", "front-left")
    written = {path.stem: path.read_bytes() for path in tmp_path.iterdir()}
    assert written["as-it-is"] == written["right"] != written["left"]


def test_a_split_inner_an_adjuster_and_a_setting_are_in_the_list(run: Callable[..., str], tmp_path: Path) -> None:
    touring = (fleet_folder() / "touring.toml").read_text(encoding="utf-8")
    start = '{ name = "left lever", type = "lever", then = "strapped"'
    assert start in touring
    touring = touring.replace(start, start + ', inline = "cable splitter", inline_at = 250', 1)
    (tmp_path / "bike.toml").write_text(touring, encoding="utf-8")
    shown, job = run("cut", "bike.toml"), json.loads(run("cut", "bike.toml", "--json"))
    rear = next(line for line in job["lines"] if line["name"] == "rear brake")
    assert [piece["tag"] for piece in rear["pieces"]] == ["B1", "B2", "B3"]
    assert [rear["pieces"][0]["to"], rear["pieces"][1]["from"]] == ["cable splitter", "cable splitter"]
    assert (rear["pieces"][0]["first_cut_mm"], rear["pieces"][0]["window_mm"]) == (250.0, [250.0, 250.0])
    assert {"item": "cable splitter", "count": 1} in job["parts"]
    for name, inner in (("upper", rear["inner"]), ("lower", rear["lower_inner"])):
        assert f"{name} inner brake 1.5: take {inner['stock_mm']:.0f} mm; {inner['need_mm']:.0f} mm needed" in shown
    drawing = tmp_path / "bike.svg"
    run("draw", "bike.toml", "-o", "bike.svg")
    drawn = "".join(ElementTree.parse(drawing).getroot().itertext())
    assert all(piece["tag"] in drawn for piece in rear["pieces"])


# Why.


def test_why_adds_up(planned: dict[str, Any], run: Callable[..., str]) -> None:
    for piece in pieces(planned):
        shown = run("cut", planned["name"], "--why", piece["tag"].lower())
        *terms, target = _sum_down_to("target", shown)
        assert sum(terms) == pytest.approx(target, abs=0.051)
        assert target == pytest.approx(piece["target_mm"], abs=0.051)
        assert piece["why_shortest"] in shown
        if piece["first_cut_mm"] is None:
            assert re.search(r"^first cut +no cut", shown, re.MULTILINE)
            continue
        beyond = _sum_down_to("first cut", shown)
        assert sum(beyond[len(terms) + 1 : -1]) + target == pytest.approx(beyond[-1], abs=0.051)
        assert beyond[-1] == piece["first_cut_mm"]
        assert piece["why_longest"] in shown


def _sum_down_to(last: str, shown: str) -> list[float]:
    found = []
    for row in shown.splitlines()[1:]:
        figure = re.search(r"  (-?\d+\.\d) mm", row)
        if figure:
            found.append(float(figure[1]))
        if row.startswith(f"{last}  "):
            return found
    pytest.fail(f"no row {last!r} in {shown}")


@pytest.mark.parametrize("width", WIDTHS)
def test_why_fits_every_width(width: int) -> None:
    console = Console(width=width, highlight=False, markup=False, emoji=False, force_terminal=False)
    for line in sample_job().lines:
        for piece in line.pieces:
            with console.capture() as capture:
                print_why(sample_job(), piece.tag, console)
            shown = capture.get()
            assert "…" not in shown
            assert max(len(row.rstrip()) for row in shown.splitlines()) <= width
            assert f"{piece.target:.1f} mm" in shown


# Files.


def test_the_spreadsheet_agrees_with_the_json(planned: dict[str, Any], run: Callable[..., str], tmp_path: Path) -> None:
    run("cut", planned["name"], "--csv", "list.csv")
    with (tmp_path / "list.csv").open(newline="", encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["item"] == "housing"]
    assert [row["tag"] for row in rows] == [piece["tag"] for piece in pieces(planned)]
    for row, piece in zip(rows, pieces(planned), strict=True):
        assert float(row["target_mm"]) == piece["target_mm"]
        assert (float(row["first_cut_mm"]) if row["first_cut_mm"] else None) == piece["first_cut_mm"]


def test_writing_leaves_one_file_and_keeps_its_rights(run: Callable[..., str], tmp_path: Path) -> None:
    (tmp_path / "schema.json").write_text("old")
    (tmp_path / "schema.json").chmod(0o640)
    run("schema", "-o", "schema.json")
    assert [path.name for path in tmp_path.iterdir()] == ["schema.json"]
    assert (tmp_path / "schema.json").stat().st_mode & 0o777 == 0o640


def test_a_new_file_has_the_rights_that_are_usual(run: Callable[..., str], tmp_path: Path) -> None:
    run("schema", "-o", "schema.json")
    (tmp_path / "usual").touch()
    assert (tmp_path / "schema.json").stat().st_mode == (tmp_path / "usual").stat().st_mode


def test_the_schema_is_the_same_on_screen_and_in_a_file(run: Callable[..., str], tmp_path: Path) -> None:
    shown = run("schema")
    run("schema", "-o", "schema.json")
    assert (tmp_path / "schema.json").read_text(encoding="utf-8") == shown
    jsonschema.Draft202012Validator.check_schema(json.loads(shown))


def test_a_copy_of_a_fleet_bike_can_be_cut(run: Callable[..., str], tmp_path: Path) -> None:
    assert "touring.toml" in run("fleet", "--copy", "touring")
    assert (tmp_path / "touring.toml").read_bytes() == (fleet_folder() / "touring.toml").read_bytes()
    assert run("cut", "touring.toml") == run("cut", "touring")


# Drawings.


@pytest.mark.parametrize(("form", "begins"), [("svg", b"<"), ("png", b"\x89PNG\r\n\x1a\n"), ("pdf", b"%PDF-")])
def test_a_drawing_is_of_the_form_its_name_asks_for(
    form: str, begins: bytes, run: Callable[..., str], tmp_path: Path
) -> None:
    assert run("draw", "touring", "-o", f"bike.{form}") == f"bike.{form} is written\n"
    assert [path.name for path in tmp_path.iterdir()] == [f"bike.{form}"]
    assert (tmp_path / f"bike.{form}").read_bytes().lstrip().startswith(begins)


def test_a_drawing_shows_every_tag(planned: dict[str, Any], run: Callable[..., str], tmp_path: Path) -> None:
    run("draw", planned["name"], "-o", "bike.svg")
    picture = ElementTree.parse(tmp_path / "bike.svg").getroot()
    assert picture.tag == "{http://www.w3.org/2000/svg}svg"
    drawn = "".join(picture.itertext())
    assert all(piece["tag"] in drawn for piece in pieces(planned))


def test_turned_bars_are_drawn_turned(run: Callable[..., str], tmp_path: Path) -> None:
    for name, angle in (("left", "-30"), ("ahead", "0"), ("right", "30")):
        run("draw", "touring", "-o", f"{name}.svg", "--steer", angle)
    assert len({path.read_bytes() for path in tmp_path.iterdir()}) == 3


# Other commands.


def test_the_fleet_is_listed(run: Callable[..., str]) -> None:
    rows = run("fleet").splitlines()
    assert [row.split(maxsplit=1) for row in rows] == [[bike.name, bike.title] for bike in fleet()]


def test_check_tells_chart_and_findings(planned: dict[str, Any], run: Callable[..., str]) -> None:
    shown = run("check", planned["name"])
    assert shown.startswith(f"{planned['bike']}: the frame file can be used\n")
    assert re.search(r"^wheelbase \d{3,4} mm$", shown, re.MULTILINE)
    assert re.search(r"^stack: \d+\.\d mm given, \d+\.\d mm from the other figures$", shown, re.MULTILINE)
    assert all(f"{finding['grade'].upper()}  {finding['where']}: " in shown for finding in planned["findings"])


def test_a_stop_is_no_failure(run: Callable[..., str], tmp_path: Path) -> None:
    touring = (fleet_folder() / "touring.toml").read_text(encoding="utf-8")
    (tmp_path / "bike.toml").write_text(
        touring.replace("spiral brake 5.0", "lengthwise shift 4.0", 1), encoding="utf-8"
    )
    plan = json.loads(run("cut", "bike.toml", "--json"))
    assert "stop" in {finding["grade"] for finding in plan["findings"]}
    assert plan["lines"][0]["pieces"][0]["first_cut_mm"] is None
    assert "STOP: 1 finding below must be settled before you cut" in run("cut", "bike.toml")


def test_version(run: Callable[..., str]) -> None:
    assert run("--version") == f"ropewalk {version('ropewalk')}\n"


@pytest.mark.parametrize(
    "arguments", [(), ("--help",), ("-h",), ("cut", "--help"), ("draw", "--help"), ("page", "--help")]
)
def test_help_is_no_failure(arguments: tuple[str, ...], run: Callable[..., str]) -> None:
    assert run(*arguments).startswith("Usage: ropewalk")


# Endings.


def test_a_closed_pipe_is_quiet() -> None:
    for arguments in (["cut", "touring"], ["schema"], ["--help"]):
        with subprocess.Popen([COMMAND, *arguments], stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
            assert process.stdout is not None
            process.stdout.close()
            assert process.stderr is not None
            assert process.stderr.read() == b""
            assert process.wait(timeout=60) != 0


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no full device here")
def test_a_full_disk_under_standard_output_is_told_in_one_line() -> None:
    with open("/dev/full", "w") as full:
        ended = subprocess.run(
            [COMMAND, "cut", "touring"], stdout=full, stderr=subprocess.PIPE, text=True, timeout=60, check=False
        )
    assert (ended.returncode, ended.stderr) == (2, "standard output cannot be written: No space left on device\n")


def test_an_interruption_is_quiet(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(plan_module, "plan", interrupted)
    assert main(["cut", "touring"]) == 130
    assert capsys.readouterr() == ("", "")


def test_a_fault_of_its_own_is_told_in_one_line(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def faulty(*_: object, **__: object) -> None:
        raise KeyError("a\nb")

    monkeypatch.setattr(plan_module, "plan", faulty)
    assert main(["cut", "touring"]) == 1
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.count("\n") == 1
    assert "KeyError" in said.err


def test_nothing_is_left_when_writing_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def refuse(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.chdir(tmp_path)
    (tmp_path / "schema.json").write_text("old")
    monkeypatch.setattr(os, "replace", refuse)
    assert main(["schema", "-o", "schema.json"]) == 2
    assert capsys.readouterr().err == "schema.json: cannot be written: No space left on device\n"
    assert [path.read_text() for path in tmp_path.iterdir()] == ["old"]


# What is loaded.


def _loaded_by(*arguments: str) -> set[str]:
    script = (
        "import sys; from ropewalk.cli.main import main; main(sys.argv[1:]); "
        "print('\\n'.join(sys.modules), file=sys.stderr)"
    )
    ended = subprocess.run(
        [sys.executable, "-c", script, *arguments], capture_output=True, text=True, timeout=60, check=True
    )
    return set(ended.stderr.split())


def test_help_loads_nothing_heavy() -> None:
    heavy = {
        "numpy",
        "scipy",
        "shapely",
        "matplotlib",
        "streamlit",
        "pydantic",
        "ropewalk.workshop",
        "ropewalk.analysis",
    }
    assert not _loaded_by("--help") & heavy


def test_a_cut_list_needs_neither_drawing_nor_page() -> None:
    assert not _loaded_by("cut", "touring") & {"matplotlib", "streamlit", "ropewalk.drawing", "ropewalk.page"}


# The page.


def test_the_page_answers_this_computer_alone() -> None:
    port = 8791
    with subprocess.Popen(
        [COMMAND, "page", "--port", str(port)], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as process:
        try:
            assert _listening(port, process) == {"127.0.0.1"}
        finally:
            process.send_signal(signal.SIGINT)
            _, error = process.communicate(timeout=30)
    assert b"Traceback" not in error


def _listening(port: int, process: subprocess.Popen[bytes]) -> set[str]:
    """Return the addresses at which a port of this computer is listened at, from the kernel's own table."""
    for _ in range(200):
        assert process.poll() is None, "the page ended at once"
        found = set()
        for table in ("/proc/net/tcp", "/proc/net/tcp6"):
            for row in Path(table).read_text().splitlines()[1:]:
                address, state = row.split()[1], row.split()[3]
                host, _, number = address.partition(":")
                if int(number, 16) == port and state == "0A":
                    found.add("127.0.0.1" if host == "0100007F" else host)
        if found:
            return found
        time.sleep(0.1)
    pytest.fail("the page never listened")


def test_a_taken_port_is_told(run: Callable[..., str], capsys: pytest.CaptureFixture[str]) -> None:
    import socket

    with socket.socket() as holder:
        holder.bind(("127.0.0.1", 0))
        holder.listen()
        taken = holder.getsockname()[1]
        assert main(["page", "--port", str(taken)]) == 2
    assert capsys.readouterr().err == f"port {taken} is taken already: choose another with --port\n"
