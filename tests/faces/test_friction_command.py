"""`ropewalk friction`: table, object and chart hold the same tension, which follows the capstan rule."""

from __future__ import annotations

import json
import math
from pathlib import Path
from xml.etree import ElementTree

import pytest
from commands import printed
from printedtexts import check_texts

from ropewalk.bike.fleet import find
from ropewalk.bike.parts import catalogue
from ropewalk.bike.reading import read
from ropewalk.cli.main import main
from ropewalk.drawing.paper import NARROW, WIDE
from ropewalk.drawing.tensionchart import chart_scene
from ropewalk.workshop.frictionplan import plan_friction
from ropewalk.workshop.plan import plan


def shown(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    return printed(capsys, "friction", *arguments)


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


def test_between_swept_angles_the_turn_is_in_between(capsys: pytest.CaptureFixture[str]) -> None:
    """12° lies between the swept 10° and 15°, at two fifths of the way."""
    ten, twelve, fifteen = (
        json.loads(shown(capsys, "touring", "rear brake", "--steer", angle, "--json"))["lines"][0]
        for angle in ("10", "12", "15")
    )
    assert twelve["at"] == {"steer_deg": pytest.approx(12.0)}
    turns = [[stretch["turn_deg"] for stretch in line["tension"]["new"]] for line in (ten, twelve, fifteen)]
    for low, middle, high in zip(*turns, strict=True):
        assert middle == pytest.approx(low + 0.4 * (high - low), abs=0.11)


def test_a_shifter_pulls_more_the_worse_the_line_wherever_the_bars_point(capsys: pytest.CaptureFixture[str]) -> None:
    """What is needed at the other end is the same in every condition: the derailleur's spring at its strongest."""
    for angle in ("0", "20"):
        line = json.loads(shown(capsys, "gravel-outside", "rear derailleur", "--steer", angle, "--json"))["lines"][0]
        pulls = [line["tension"][name][0]["pulling_N"][0] for name in ("new", "worn", "corroded")]
        assert pulls == sorted(pulls) and pulls[2] > 2.0 * pulls[0]
        assert {line["tension"][name][-1]["pulling_N"][1] for name in ("new", "worn", "corroded")} == {50.0}
        drags = [stretch["stretch"] for stretch in line["tension"]["worn"] if stretch["drag_N"] > 0.0]
        assert drags == ["loop, tape end to inline adjuster"]


def test_losses_release_and_travel_add_up(capsys: pytest.CaptureFixture[str]) -> None:
    line = json.loads(shown(capsys, "touring", "rear brake", "--json"))["lines"][0]
    for lost in line["lost_motion"].values():
        assert sum(part["mm"] for part in lost["parts"]) == pytest.approx(lost["total_mm"], abs=0.002)
        left = lost["pull_mm"] - lost["take_up_mm"] - lost["total_mm"]
        assert lost["left_mm"] == pytest.approx(left, abs=0.01)
        assert lost["share"] == pytest.approx(lost["total_mm"] / lost["pull_mm"], abs=1e-3)
    release = line["release"]
    assert sum(release["shares"]) == pytest.approx(1.0, abs=1e-3)
    assert len(release["shares"]) == len(line["tension"]["new"])
    turn = math.log(release["spring_N"] / release["needed_N"]) / release["reserve_mu"]
    assert math.degrees(turn) > line["turn_deg"]


def test_a_shift_line_is_told_against_its_click(capsys: pytest.CaptureFixture[str]) -> None:
    """A click of 3.5 mm, as the gravel bike's file names it."""
    line = json.loads(shown(capsys, "gravel-outside", "rear derailleur", "--json"))["lines"][0]
    told = line["shifting"]
    assert (told["step"], told["step_mm"]) == ("11 speed, wide range", 3.5)
    for name, hysteresis in told["hysteresis_mm"].items():
        assert told["share_of_step"][name] == pytest.approx(hysteresis["value"] / 3.5, abs=3e-4)
    share = told["share_of_step"]["corroded"]
    table = shown(capsys, "gravel-outside", "rear derailleur", "--condition", "corroded")
    assert f"{share:.0%} of a click of 3.5 mm" in table and "no forecast" in table


def test_a_terminal_of_eighty_columns_holds_the_table(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from ropewalk.cli import console

    monkeypatch.setattr(console, "UNBROKEN", 80)
    for row in shown(capsys, "longtail", "rear brake").splitlines():
        assert len(row) <= 80
    assert " N" in shown(capsys, "longtail", "rear brake")


def test_the_chart_names_every_stretch(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    line = json.loads(shown(capsys, "touring", "rear brake", "--json"))["lines"][0]
    chart = tmp_path / "chart.svg"
    assert "is written" in shown(capsys, "touring", "rear brake", "--chart", str(chart))
    words = "".join(ElementTree.parse(chart).getroot().itertext())
    assert all(stretch["stretch"] in words for stretch in line["tension"]["worn"])
    for condition in ("new", "worn", "corroded"):
        assert f"{condition}: {line['efficiency'][condition]['value']:.0%} of the pull arrives" in words


@pytest.mark.parametrize("width", [WIDE, NARROW])
@pytest.mark.parametrize("bike", ["touring", "longtail", "trail", "timetrial"])
def test_texts_of_the_chart_stay_on_its_paper(bike: str, width: float) -> None:
    job = plan(read(find(bike)))
    for line in job.lines:
        if line.work != "hose":
            scene = chart_scene(plan_friction(job, line.name, {}), width)
            assert scene.width == width
            check_texts(scene)
            assert "…" not in "".join(label.text for label in scene.labels())


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
