"""`ropewalk friction`: table, object and chart hold the same tension, which follows the capstan rule."""

from __future__ import annotations

import json
import math
from pathlib import Path
from xml.etree import ElementTree

import pytest

from ropewalk.bike.parts import catalogue
from ropewalk.cli.main import main


def shown(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    status = main(["friction", *arguments])
    said = capsys.readouterr()
    assert (status, said.err) == (0, "")
    return said.out


def test_tension_follows_the_capstan_rule_from_stretch_to_stretch(capsys: pytest.CaptureFixture[str]) -> None:
    """T exp(-mu theta) out of every stretch, pulled; the same the other way round, let back (Euler 1769)."""
    line = json.loads(shown(capsys, "touring", "rear brake", "--json"))["lines"][0]
    for condition, stretches in line["tension"].items():
        before = line["pull_N"]
        for stretch in stretches:
            friction = float(catalogue().friction(stretch["contact"], condition))
            left = math.exp(-friction * math.radians(stretch["turn_deg"]))
            assert stretch["pulling_N"][0] == pytest.approx(before, abs=0.011)
            assert stretch["pulling_N"][1] == pytest.approx(before * left, rel=2e-3, abs=0.02)
            assert stretch["releasing_N"][0] == pytest.approx(stretch["releasing_N"][1] * left, rel=2e-3, abs=0.02)
            before = stretch["pulling_N"][1]
        assert before / line["pull_N"] == pytest.approx(line["efficiency"][condition]["value"], abs=2e-3)


def test_the_table_holds_what_the_object_holds(capsys: pytest.CaptureFixture[str]) -> None:
    line = json.loads(shown(capsys, "touring", "rear brake", "--json"))["lines"][0]
    table = shown(capsys, "touring", "rear brake")
    for stretch in line["tension"]["worn"]:
        row = next(row for row in table.splitlines() if row.startswith(stretch["stretch"]))
        assert f"{stretch['pulling_N'][1]:.0f} N" in row and f"{stretch['to_mm']:.0f} mm" in row
    assert line["release"]["text"].removeprefix("r") in table
    assert "This is an estimate to plan a cut." in table and "capstan rule" in table


def test_a_harder_hand_pulls_in_proportion(capsys: pytest.CaptureFixture[str]) -> None:
    gentle, hard = (
        json.loads(shown(capsys, "touring", "front brake", "--hand", force, "--json"))["lines"][0]
        for force in ("60", "120")
    )
    assert hard["pull_N"] == pytest.approx(2.0 * gentle["pull_N"])
    assert hard["efficiency"] == gentle["efficiency"]


def test_all_lines_with_a_wire_are_told_and_hoses_left_out(capsys: pytest.CaptureFixture[str]) -> None:
    names = [line["name"] for line in json.loads(shown(capsys, "trail", "--json"))["lines"]]
    assert names == ["rear derailleur", "dropper", "fork lockout"]


def test_bars_turned_show_their_own_tension(capsys: pytest.CaptureFixture[str]) -> None:
    straight, turned = (
        json.loads(shown(capsys, "touring", "rear brake", "--steer", angle, "--json"))["lines"][0]
        for angle in ("0", "75")
    )
    assert (straight["at"], turned["at"]) == ({"steer_deg": 0.0}, {"steer_deg": pytest.approx(75.0)})
    assert turned["tension"]["worn"][-1]["pulling_N"][1] == pytest.approx(
        turned["pull_N"] * turned["at_locks"]["worn"][1], rel=2e-3
    )


def test_the_chart_names_every_stretch(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    line = json.loads(shown(capsys, "touring", "rear brake", "--json"))["lines"][0]
    chart = tmp_path / "chart.svg"
    assert "is written" in shown(capsys, "touring", "rear brake", "--chart", str(chart))
    words = "".join(ElementTree.parse(chart).getroot().itertext())
    assert all(stretch["stretch"] in words for stretch in line["tension"]["worn"])
    for condition in ("new", "worn", "corroded"):
        assert f"{condition}: {line['efficiency'][condition]['value']:.0%} of the pull arrives" in words


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["touring", "rear brak"], 'did you mean "rear brake"'),
        (["trail", "front brake"], "is a hose"),
        (["touring", "--hand", "451"], "between 1 and 450 N"),
        (["touring", "--hand", "0"], "between 1 and 450 N"),
        (["touring", "--condition", "wornn"], 'did you mean "worn"'),
        (["touring", "--steer", "200"], "--steer"),
        (["touring", "--chart", "x.bmp"], "x.bmp"),
    ],
)
def test_bad_input_is_met_by_one_line(
    arguments: list[str],
    words: str,
    capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["friction", *arguments]) == 2
    said = capsys.readouterr()
    assert said.out == "" and said.err.count("\n") == 1
    assert words in said.err
