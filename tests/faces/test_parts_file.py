"""A shop's own parts on the command line, and the list of parts that frame files may name."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest
from commands import printed, refused_with
from ownparts import OWN_PARTS
from rich.console import Console

from ropewalk.bike.fleet import fleet_folder
from ropewalk.bike.ownparts import with_own_parts
from ropewalk.bike.parts import KINDS_OF_PART, catalogue
from ropewalk.bike.reading import read
from ropewalk.cli.partslist import print_parts
from ropewalk.workshop.partslist import kinds_asked
from ropewalk.workshop.plan import plan


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a folder with the touring bike on the shop's own parts, and the file that holds these."""
    text = (fleet_folder() / "touring.toml").read_text(encoding="utf-8")
    front = text.index('name = "front brake"')
    for built_in, own in (
        ('inner = "brake 1.5"', 'inner = "quay inner 1.5"'),
        ('housing = "spiral brake 5.0"', 'housing = "quay brake 5.0"'),
        ('part = "dual-pivot rim caliper, front"', 'part = "quay caliper"'),
    ):
        assert built_in in text[front:]
        text = text[:front] + text[front:].replace(built_in, own, 1)
    (tmp_path / "bike.toml").write_text(text, encoding="utf-8")
    (tmp_path / "quay.toml").write_text(OWN_PARTS, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def run(bench: Path, capsys: pytest.CaptureFixture[str]) -> Callable[..., str]:
    return partial(printed, capsys)


@pytest.fixture
def refused(bench: Path, capsys: pytest.CaptureFixture[str]) -> Callable[..., str]:
    def command(*arguments: str) -> str:
        before = sorted(bench.iterdir())
        said = refused_with(capsys, *arguments)
        assert sorted(bench.iterdir()) == before
        return said

    return command


def test_a_frame_file_may_name_own_parts_at_once(run: Callable[..., str]) -> None:
    front = json.loads(run("cut", "bike.toml", "--parts", "quay.toml", "--json"))["lines"][0]
    assert front["name"] == "front brake"
    assert front["pieces"][0]["housing"] == "quay brake 5.0"
    assert front["pieces"][0]["ends"] == ["quay ferrule", "quay ferrule"]
    # The shop's inners are 1700 and 2100 long within 20: the shorter one does, whatever the built-in ones are.
    assert front["inner"]["stock_mm"] in (1700, 2100)


def test_check_and_draw_take_own_parts(run: Callable[..., str], bench: Path) -> None:
    assert "can be used" in run("check", "bike.toml", "--parts", "quay.toml")
    assert "is written" in run("draw", "bike.toml", "-o", "bike.svg", "--parts", "quay.toml")
    assert (bench / "bike.svg").read_text(encoding="utf-8").count("<path") > 10


SHIFTS = """
[lever."quay lever".exit.shift]
end = "nipple"
nipple = "small barrel"
seat         = [[10, 8, -14], 4, "mm", "E"]
leaves       = [[1, 0, 0],  12, "deg", "E"]
head_path    = [70,  15, "mm",  "E"]
head_turn    = [90,  30, "deg", "E"]
pull         = [25,   4, "mm",  "E"]
needed_force = [6.0, 3.0, "N",  "E"]
"""


def test_own_levers_are_drawn(run: Callable[..., str], bench: Path) -> None:
    path = bench / "bike.toml"
    text = path.read_text(encoding="utf-8")
    built_in = 'part = "drop-bar brake-and-shift lever"'
    assert text.count(built_in) == 2
    path.write_text(text.replace(built_in, 'part = "quay lever"'), encoding="utf-8")
    (bench / "quay.toml").write_text(OWN_PARTS + SHIFTS, encoding="utf-8")
    run("draw", "bike.toml", "-o", "own.svg", "--parts", "quay.toml")
    # Their figures are those of the built-in lever, so the picture is the same.
    path.write_text(text, encoding="utf-8")
    run("draw", "bike.toml", "-o", "built in.svg", "--parts", "quay.toml")
    own, built = ((bench / name).read_text(encoding="utf-8") for name in ("own.svg", "built in.svg"))
    assert own.count("<path") == built.count("<path") > 10


def test_a_plan_carries_the_parts_it_was_made_with(bench: Path) -> None:
    shelf = with_own_parts(bench / "quay.toml", catalogue())
    assert plan(read(bench / "bike.toml"), shelf=shelf).catalogue is shelf


def test_without_the_file_its_parts_are_unknown(refused: Callable[..., str]) -> None:
    said = refused("cut", "bike.toml")
    assert said.startswith("bike.toml: ")
    assert '"quay brake 5.0"' in said or '"quay inner 1.5"' in said or '"quay caliper"' in said


def test_parts_the_frame_does_not_name_change_nothing(run: Callable[..., str]) -> None:
    assert run("cut", "touring", "--json") == run("cut", "touring", "--json", "--parts", "quay.toml")


WRONG = {
    "no such file": (None, "there is no such file"),
    "not UTF-8": (b"# \xff", "line 1 is not UTF-8 text"),
    "too large": (b"#" * 1_100_000, "a parts file may have at most 1 MB"),
    "empty": (b"", "is empty"),
    "no TOML": (b"[housing", "is not TOML"),
    "a row without source": (
        OWN_PARTS.replace('[5.05,  0.05, "mm",    "caliper"]', '[5.05, 0.05, "mm"]').encode(),
        '[housing."quay brake 5.0"] outside: ',
    ),
    "a wrong unit": (
        OWN_PARTS.replace('[5.05,  0.05, "mm",    "caliper"]', '[0.2, 0.01, "in", "caliper"]').encode(),
        "wanted 'mm'",
    ),
    "a name that is taken": (
        OWN_PARTS.replace('[sleeve."quay sleeve"]', '[sleeve."anti-rattle sleeve"]').encode(),
        "built in already",
    ),
}


@pytest.mark.parametrize(
    "command", ["cut bike.toml", "check bike.toml", "draw bike.toml -o b.svg", "ports bike.toml", "parts"]
)
@pytest.mark.parametrize(("contents", "says"), WRONG.values(), ids=WRONG)
def test_a_wrong_parts_file_is_refused_by_every_command(
    refused: Callable[..., str], bench: Path, command: str, contents: bytes | None, says: str
) -> None:
    (bench / "quay.toml").unlink()
    if contents is not None:
        (bench / "quay.toml").write_bytes(contents)
    said = refused(*command.split(), "--parts", "quay.toml")
    assert said.startswith("quay.toml: ")
    assert says in said


def test_the_parts_file_is_not_overwritten(refused: Callable[..., str], bench: Path) -> None:
    said = refused("cut", "bike.toml", "--parts", "quay.toml", "--csv", "quay.toml")
    assert said == "quay.toml: is the parts file itself: name another file"
    assert (bench / "quay.toml").read_text(encoding="utf-8") == OWN_PARTS


# The list.


def test_every_part_is_listed_under_its_kind(run: Callable[..., str]) -> None:
    blocks = dict(block.split("\n", 1) for block in run("parts").rstrip("\n").split("\n\n"))
    assert list(blocks) == [kind.word.replace("_", " ") for kind in KINDS_OF_PART]
    for kind in KINDS_OF_PART:
        names = [row.strip().split("  ")[0] for row in blocks[kind.word.replace("_", " ")].splitlines()]
        assert names == list(catalogue().rows(kind))


def test_a_listed_part_shows_its_figures_and_where_they_come_from(run: Callable[..., str]) -> None:
    rows = run("parts", "housing", "--parts", "quay.toml").splitlines()
    own = next(row for row in rows if "quay brake 5.0" in row)
    assert "for brake; outside 5.05 ± 0.05 mm; bore 2.1 ± 0.1 mm" in own
    assert own.endswith("own; estimate, measured")
    noodle = next(row for row in run("parts", "formed").splitlines() if "noodle 135" in row)
    assert "turn 135 ± 3°" in noodle


def test_the_list_in_json_holds_every_figure_with_its_source(run: Callable[..., str]) -> None:
    listed = json.loads(run("parts", "--json", "--parts", "quay.toml"))
    assert listed["format"] == 1
    assert list(listed["parts"]) == [kind.word for kind in KINDS_OF_PART]
    for kind in KINDS_OF_PART:
        rows = listed["parts"][kind.word]
        assert [row["name"] for row in rows if not row["own"]] == list(catalogue().rows(kind))
    own = listed["parts"]["mover"][-1]
    assert own["own"]
    assert own["seat"] == {
        "value": [40, 38, 32],
        "spread": 6,
        "unit": "mm",
        "kind": "measured",
        "source": "our sliding caliper, five pieces",
    }
    assert (own["anchor_turn"]["value"], own["anchor_turn"]["unit"]) == (5, "deg")
    lever = listed["parts"]["lever"][-1]
    assert lever["exit"]["brake"]["pull"]["value"] == 7.5


@pytest.mark.parametrize("kind", ["guide tube", "guide_tubes", "Guide-Tube"])
def test_a_kind_is_found_however_it_is_written(run: Callable[..., str], kind: str) -> None:
    assert run("parts", kind).startswith("guide tube\n  guide tube ")


def test_an_unknown_kind_names_the_nearest(refused: Callable[..., str]) -> None:
    assert refused("parts", "hosing") == 'there is no kind of part "hosing": did you mean "housing"?'
    assert "the catalogue holds housing, inner" in refused("parts", "xyz")


def test_on_a_terminal_every_part_keeps_its_name_in_one_piece() -> None:
    text = io.StringIO()
    console = Console(file=text, width=60, force_terminal=True, color_system=None, highlight=False, markup=False)
    print_parts(kinds_asked("lever"), catalogue(), console)
    rows = text.getvalue().splitlines()
    assert max(len(row) for row in rows) <= 60
    assert [row.strip() for row in rows[1:] if not row.startswith("      ")] == list(catalogue().levers)
