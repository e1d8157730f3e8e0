"""Bad input ends with status 2 and one clear line on standard error; nothing is printed and nothing is written."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import makers
import pytest
from commands import one_line_of, refused_with
from frametext import frame_text, line

from ropewalk.bike.fleet import fleet_folder

Contents = str | bytes

TOURING = (fleet_folder() / "touring.toml").read_text(encoding="utf-8")


def touring(pattern: str, instead: str) -> str:
    """Return the touring bike's file with the first match of a pattern replaced; there has to be one."""
    changed, count = re.subn(pattern, instead, TOURING, count=1, flags=re.MULTILINE)
    assert count == 1, f"the touring bike's file has nothing like {pattern!r}"
    return changed


def _bare_from_the_lever() -> str:
    """Return the touring bike with its rear brake's inner bare from the lever, which turns, to the frame."""
    before, rear_brake = TOURING.split('name = "rear brake"')
    rows = rear_brake.splitlines(keepends=True)
    rows.remove(next(row for row in rows if '"tape end"' in row))
    return before + 'name = "rear brake"' + "".join(rows).replace('then = "strapped"', 'then = "bare"', 1)


def _ten_thousand_stations() -> str:
    return frame_text(line=[line(station=[{"name": "a", "type": "clip"}] * 10_000)])


#: what is wrong, the file, and what the line has to say
FAULTS: dict[str, tuple[Contents, Sequence[str]]] = {
    "empty": ("", ["is empty"]),
    "binary": (bytes(range(256)) * 40, ["binary"]),
    "TOML syntax": ("format = 1\nname = Quay tourer\n", ["line 2", "not TOML"]),
    "unknown key": (touring(r"^stack = 591", "stak = 591"), ["chart", '"stak"', 'did you mean "stack"?']),
    "missing key": (frame_text(chart={"reach": None}), ["chart.reach is missing"]),
    "wrong type": (frame_text(chart={"reach": "380"}), ["chart.reach", "text", "plain number (mm)"]),
    "NaN": (touring(r"^stack = .*", "stack = nan"), ["chart.stack", "not a finite number"]),
    "infinity": (touring(r"^stack = .*", "stack = inf"), ["chart.stack", "not a finite number"]),
    "negative": (touring(r"^stack = .*", "stack = -591"), ["chart.stack is -591 mm", "between 250 and 800 mm"]),
    "a chainstay of 20 m": (
        touring(r"^chainstay = \d+", "chainstay = 20000"),
        ["chart.chainstay is 20000 mm", "between 300 and 1000 mm"],
    ),
    "a chart that contradicts itself": (touring(r"^stack = .*", "stack = 571"), ["stack", "571", "mm"]),
    "a station beyond its tube's end": (
        touring(r'("front top tube stop".*) along = \d+', r"\1 along = 900"),
        ['line "rear brake"', 'station "front top tube stop"', "900 mm"],
    ),
    "a line with one station": (
        frame_text(line=[line(station=makers.frame_dict()["line"][0]["station"][:1])]),
        ['line "front brake"', "1 station", "two"],
    ),
    "two lines of one name": (
        touring(r'^name = "rear brake"', 'name = "front brake"'),
        ["line 2", '"front brake"', "line 1"],
    ),
    "bare inner through a loop between bodies that move": (
        _bare_from_the_lever(),
        ['line "rear brake"', "bare"],
    ),
    "an unknown housing": (
        touring(r'^housing = ".*"', 'housing = "spirel brake 5.0"'),
        ['"front brake"', "spirel brake 5.0", "did you mean", "spiral brake 5.0"],
    ),
    "an adjuster beyond its housing": (
        touring(
            r'("left lever", type = "lever", then = "strapped")', r'\1, inline = "inline adjuster", inline_at = 900'
        ),
        ['line "rear brake"', 'station "left lever"', "inline_at is 900 mm", "mm or less"],
    ),
    "an adjuster that the catalogue lacks": (
        touring(r'("left lever", type = "lever", then = "strapped")', r'\1, inline = "inline adjstr", inline_at = 90'),
        ['station "left lever"', 'did you mean "inline adjuster"?'],
    ),
    "an adjuster on bare inner": (
        touring(r'("front top tube stop".*then = "bare")', r'\1, inline = "inline adjuster", inline_at = 90'),
        ['station "front top tube stop"', "then is bare", "no housing starts here"],
    ),
    "a setting longer than its housing": (
        touring(r'(part = "rear derailleur")', r"\1, setting = 399"),
        ['station "rear derailleur"', "setting length of 399 mm", "of housing that ends at"],
    ),
    "a setting on the way": (
        touring(r'("front top tube stop".*then = "bare")', r"\1, setting = 90"),
        ['station "front top tube stop"', "setting means nothing here"],
    ),
    "two brakes at a lever for one inner": (
        touring(r'^lever = "left lever"', 'lever = "right lever"'),
        ['line "rear brake"', 'works the line "front brake" already', "takes one inner for brake"],
    ),
    "bars narrower than the stem": (
        frame_text(cockpit={"stem": 90, "bar": {"width": 80}}),
        ["cockpit.bar.width is 80 mm", "between 300 and 600 mm"],
    ),
    "10,000 stations": (_ten_thousand_stations(), ["10000 stations", "at most 240"]),
}


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def refused(bench: Path, capsys: pytest.CaptureFixture[str]) -> Callable[..., str]:
    """Return a function that runs a command line in process and returns the one line it is refused with."""

    def run(*arguments: str) -> str:
        before = _tree(bench)
        said = refused_with(capsys, *arguments)
        assert _tree(bench) == before
        return said

    return run


def _tree(folder: Path) -> dict[str, Any]:
    return {
        str(path): path.read_bytes() if path.is_file() and path.stat().st_size < 10**6 else path.stat().st_size
        for path in sorted(folder.rglob("*"))
    }


@pytest.mark.parametrize("fault", FAULTS)
def test_a_faulty_file_is_refused(fault: str, bench: Path, refused: Callable[..., str]) -> None:
    contents, expected = FAULTS[fault]
    (bench / "bike.toml").write_bytes(contents if isinstance(contents, bytes) else contents.encode())
    said = refused("cut", "bike.toml", "--csv", "out.csv")
    assert said.startswith("bike.toml: ")
    for part in expected:
        assert part in said


@pytest.mark.parametrize("command", [("cut", "--json"), ("check",), ("draw", "-o", "out.svg")])
def test_every_command_refuses_alike(command: Sequence[str], bench: Path, refused: Callable[..., str]) -> None:
    name, *options = command
    for fault in ("empty", "a chainstay of 20 m", "a station beyond its tube's end"):
        contents, expected = FAULTS[fault]
        (bench / "bike.toml").write_text(str(contents))
        said = refused(name, "bike.toml", *options)
        assert all(part in said for part in expected)


@pytest.mark.parametrize(
    ("pattern", "instead", "expected"),
    [
        (r'(?s)^side = "left"', 'side = "right"', ['"right lever" and "left lever" both sit on the right']),
        (r'(?s)\[\[line\]\]\nname = "front brake".*?\n\]\n', "", ["no brake sits on the fork"]),
    ],
)
def test_hands_that_cannot_be_told_are_refused(
    pattern: str, instead: str, expected: Sequence[str], bench: Path, refused: Callable[..., str]
) -> None:
    (bench / "bike.toml").write_text(touring(pattern, instead))
    said = refused("cut", "bike.toml", "--hands", "front-left")
    assert said.startswith("bike.toml: ")
    assert all(part in said for part in expected)


def test_missing_file(refused: Callable[..., str]) -> None:
    assert refused("cut", "nothing.toml").startswith("nothing.toml: there is no such file")


def test_missing_file_of_nearly_a_fleet_name(refused: Callable[..., str]) -> None:
    assert refused("cut", "turing.toml").endswith('did you mean "touring"?')


def test_folder(bench: Path, refused: Callable[..., str]) -> None:
    (bench / "bikes").mkdir()
    assert refused("cut", "bikes") == "bikes: is a folder: name one frame file in it"


def test_fifty_megabytes(bench: Path, refused: Callable[..., str]) -> None:
    with (bench / "big.toml").open("wb") as file:
        file.truncate(50_000_000)
    assert refused("cut", "big.toml") == "big.toml: is 50 MB: a frame file may have at most 1 MB"


@pytest.mark.parametrize(
    ("arguments", "expected"),
    [
        (["cutt", "touring"], ["ropewalk", "cutt"]),
        (["cut"], ["ropewalk cut", "FRAME", "see ropewalk cut --help"]),
        (["cut", "touring", "--phone"], ["ropewalk cut: ", "--phone", "argument", "see ropewalk cut --help"]),
        (["cut", "touring", "road"], ["road"]),
        (["cut", "touring", "--jsn"], ["--jsn", "--json"]),
        (["cut", "touring", "--json", "--why", "A1"], ["--json", "--why", "choose one"]),
        (["cut", "touring", "--why", "Z9"], ["Z9", "A1"]),
        (["cut", "touring", "--why"], ["--why"]),
        (["cut", "touring", "--order", "--why", "A1"], ["--order", "--why", "choose one"]),
        (["cut", "touring", "--hands", "front"], ['--hands is "front"', "front-left or front-right"]),
        (["draw", "touring", "-o", "out.svg", "--hands", "left"], ['--hands is "left"', "front-left or front-right"]),
        (["draw", "touring"], ["--output"]),
        (["draw", "touring", "-o", "out.svg", "--steer", "nan"], ["--steer", "nan", "°"]),
        (["draw", "touring", "-o", "out.svg", "--steer", "200"], ["--steer", "200", "°"]),
        (["draw", "touring", "-o", "out.svg", "--steer", "left"], ["--steer", "left"]),
        (["draw", "touring", "-o", "out.dwg"], ["out.dwg", "svg", "png", "pdf"]),
        (["draw", "touring", "-o", "out"], ["out", "svg", "png", "pdf"]),
        (["page", "--port", "0"], ["--port", '"0"', "65535"]),
        (["page", "--port", "many"], ["--port", "many"]),
        (["fleet", "--copy", "turing"], ["turing", "touring"]),
        (["\x1b[2J"], ["ropewalk"]),
    ],
)
def test_a_faulty_command_line_is_refused(
    arguments: Sequence[str], expected: Sequence[str], refused: Callable[..., str]
) -> None:
    said = refused(*arguments)
    for part in expected:
        assert part in said


@pytest.mark.parametrize(
    ("command", "suffix"),
    [(["cut", "touring", "--csv"], "csv"), (["draw", "touring", "-o"], "svg"), (["schema", "-o"], "json")],
)
def test_outputs_that_cannot_be_written(
    command: Sequence[str], suffix: str, bench: Path, refused: Callable[..., str]
) -> None:
    (bench / f"folder.{suffix}").mkdir()
    (bench / "file").write_text("in the way")
    assert f"folder.{suffix}: is a folder" in refused(*command, f"folder.{suffix}")
    assert "there is no such folder" in refused(*command, f"nowhere/out.{suffix}")
    assert f"file/out.{suffix}: " in refused(*command, f"file/out.{suffix}")
    assert "File name too long" in refused(*command, f"{'x' * 300}.{suffix}")


def test_a_device_is_not_replaced(refused: Callable[..., str]) -> None:
    assert refused("cut", "touring", "--csv", "/dev/null") == "/dev/null: is a pipe or a device: name a file"
    assert Path("/dev/null").is_char_device()


def test_the_frame_file_is_never_overwritten(bench: Path, refused: Callable[..., str]) -> None:
    (bench / "bike.toml").write_text(TOURING)
    (bench / "link.csv").symlink_to("bike.toml")
    for output in ("bike.toml", "link.csv", "./bike.toml"):
        assert "is the frame file itself" in refused("cut", "bike.toml", "--csv", output)


def test_a_copy_overwrites_nothing(bench: Path, refused: Callable[..., str]) -> None:
    (bench / "touring.toml").write_text("mine")
    assert refused("fleet", "--copy", "touring").startswith("touring.toml: ")


@pytest.mark.parametrize("fault", ["TOML syntax", "a chainstay of 20 m", "a station beyond its tube's end"])
def test_the_installed_command_refuses_alike(fault: str, bench: Path) -> None:
    contents, expected = FAULTS[fault]
    (bench / "bike.toml").write_text(str(contents))
    ended = run_command("cut", "bike.toml", "--csv", "out.csv")
    assert (ended.returncode, ended.stdout) == (2, "")
    said = one_line_of(ended.stderr)
    assert all(part in said for part in expected)
    assert [path.name for path in bench.iterdir()] == ["bike.toml"]


def test_the_installed_command_refuses_a_faulty_command_line(bench: Path) -> None:
    ended = run_command("cut", "touring", "--jsn")
    assert (ended.returncode, ended.stdout) == (2, "")
    assert "--jsn" in one_line_of(ended.stderr)


def run_command(*arguments: str) -> subprocess.CompletedProcess[str]:
    """Run the installed command as a shell does."""
    command = Path(sys.executable).with_name("ropewalk")
    return subprocess.run([command, *arguments], capture_output=True, text=True, timeout=60, check=False)
