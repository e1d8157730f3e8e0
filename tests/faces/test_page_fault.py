"""The page finds faults as the command does; a reading that cannot be costs one line beside it and nothing else."""

from __future__ import annotations

import json

import pytest
import streamlit
from frametext import changed, to_toml
from openpage import HOSTILE, Saved, body, followed, opened, shown
from planned import planned
from streamlit.testing.v1 import AppTest

from ropewalk.bike.fleet import find
from ropewalk.cli.main import main
from ropewalk.page import links
from ropewalk.workshop.fault import FaultPlan, find_fault
from ropewalk.workshop.faultchecks import Readings

LINE = "rear brake"
#: the wire is worn; an end holds it back; two pulls at one load alone
WORN = (("lever", "60,180"), ("end", "20,62"), ("moves", "14"), ("returns", "9"), ("steered", "30"), ("scale", "1"))
HELD = (("lever", "60,130"), ("end", "20,57"))
ONE_LOAD = (("lever", "60"), ("end", "20"))


def page_of(link: tuple[tuple[str, str], ...] = (), bike: str = "touring", line: str = LINE) -> AppTest:
    return opened("fault", bike=bike, line=line, **dict(link))


def found_by(link: tuple[tuple[str, str], ...]) -> FaultPlan:
    """Return what the workshop finds in the readings that a link gives."""
    given = dict(link)
    lever, end = (tuple(float(part) for part in given[name].split(",")) for name in ("lever", "end"))
    single = {name: float(given[name]) for name in ("scale", "moves", "returns", "steered") if name in given}
    readings = Readings(
        lever, end, single.get("scale"), single.get("moves"), single.get("returns"), single.get("steered", 0.0)
    )
    return find_fault(planned("touring"), LINE, readings)


def write(page: AppTest, **figures: float | None) -> AppTest:
    """Write figures into fields, one after the other as a visitor would."""
    for name, value in figures.items():
        page.number_input(key=key_of(name)).set_value(value).run()
        assert not page.exception
    return page


def key_of(name: str) -> str:
    """Return the key of a field: lever_0 and far_end_0 are those of the first pull."""
    return "fault " + (name if name.startswith("part") else name.replace("_", " "))


def fields(page: AppTest) -> dict[str, float | None]:
    return {str(field.key): field.value for field in page.number_input}


@pytest.mark.parametrize("link", [WORN, HELD, ONE_LOAD], ids=["worn", "held", "one load"])
def test_verdict_reasons_and_what_is_next_are_the_workshops(link: tuple[tuple[str, str], ...]) -> None:
    found, elements = found_by(link), shown(page_of(link))
    assert elements.of("rw-verdict-words") == [found.verdict]
    told = elements.of("li")
    for sentence in (*found.reasons, *found.following, *found.untold, *found.limits, *found.cautions):
        assert any(sentence in one for one in told), sentence


def test_readings_that_say_different_things_are_told_differently() -> None:
    verdicts = {tuple(shown(page_of(link)).of("rw-verdict-words")) for link in (WORN, HELD, ONE_LOAD)}
    assert len(verdicts) == 3


def test_the_file_saved_is_what_the_command_prints(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    saved = Saved()
    monkeypatch.setattr(streamlit, "download_button", saved)
    page_of(WORN)
    given = dict(WORN)
    options = ("--part-moves", given["moves"], "--part-returns", given["returns"], "--steer", given["steered"])
    forces = ("--lever", given["lever"], "--end", given["end"], "--scale", given["scale"])
    assert main(["fault", "touring", LINE, *forces, *options, "--json"]) == 0
    printed = capsys.readouterr().out
    assert saved.files["save Verdict, JSON"].decode() == printed
    assert json.loads(printed)["readings"]["lever_N"] == [60.0, 180.0]


def test_typed_readings_give_the_same_verdict_as_those_of_a_link() -> None:
    page = write(page_of(), lever_0=60.0, far_end_0=20.0, lever_1=130.0, far_end_1=57.0)
    assert shown(page).of("rw-verdict-words") == [found_by(HELD).verdict]
    assert shown(followed(page, "fault")).of("rw-verdict-words") == [found_by(HELD).verdict]


def test_nothing_is_judged_before_anything_is_read() -> None:
    page = page_of()
    assert not shown(page).of("rw-verdict") and not shown(page).of("rw-complaint")


@pytest.mark.parametrize(
    ("figures", "told"),
    [
        ({"lever_0": 60.0}, "pull 1: one figure is missing"),
        ({"lever_0": 20.0, "far_end_0": 60.0}, "60 N come out where 20 N go in"),
        ({"lever_0": -4.0, "far_end_0": 2.5}, "a reading at the lever is -4 N: it has to be more than 0"),
        ({"lever_0": 9000.0, "far_end_0": 20.0}, "a reading at the lever is 9000 N"),
        ({"lever_0": 60.0, "far_end_0": 1.5}, "the scale may be wrong by 2 N: pull more"),
        ({"lever_0": 60.0, "far_end_0": 20.0, "scale": 0.0}, "the scale's error is 0 N"),
        ({"lever_0": 60.0, "far_end_0": 20.0, "part_returns": -1.0}, "what the part returns with is -1 N"),
        ({"lever_0": 60.0, "far_end_0": 20.0, "steer": 120.0}, "steering angle is 120°"),
    ],
    ids=lambda case: "-".join(case) if isinstance(case, dict) else "",
)
def test_a_reading_that_cannot_be_gives_one_line_and_loses_nothing(figures: dict[str, float], told: str) -> None:
    page = write(page_of(), **figures)
    (complaint,) = shown(page).of("rw-complaint")
    assert told in complaint and "\n" not in complaint
    assert not shown(page).of("rw-verdict")
    assert {key_of(name): value for name, value in figures.items()}.items() <= fields(page).items()
    # settled, it gives a verdict after all
    write(page, lever_0=60.0, far_end_0=20.0, **{name: None for name in figures if not name.endswith("_0")})
    assert shown(page).of("rw-verdict-words") and not shown(page).of("rw-complaint")


def test_two_bad_readings_are_told_each_beside_its_own_pull() -> None:
    page = page_of((("lever", "20,60,30"), ("end", "60,20,90")))
    told = shown(page).of("rw-complaint")
    assert [text.split(" N come")[0].split()[-1] for text in told] == ["60", "90"]


def test_pulls_are_added_and_taken_out_with_the_others_kept() -> None:
    page = page_of((("lever", "60,70,180"), ("end", "20,25,62")))
    page.button(key="fault add").click().run()
    assert fields(page)["fault lever 3"] is None
    page.button(key="fault out 1").click().run()
    held = fields(page)
    assert [held[f"fault lever {place}"] for place in range(3)] == [60.0, 180.0, None]
    assert [held[f"fault far end {place}"] for place in range(3)] == [20.0, 62.0, None]


def test_each_line_keeps_its_own_readings() -> None:
    page = page_of(WORN)
    page.selectbox(key="fault line").select("front brake").run()
    assert fields(page)["fault lever 0"] is None
    page.selectbox(key="fault line").select(LINE).run()
    assert fields(page)["fault lever 0"] == 60.0


@pytest.mark.parametrize(
    ("name", "value"),
    [("lever", "x,1"), ("end", "nan"), ("scale", "1e999"), ("moves", "1,2"), ("steered", HOSTILE), ("line", HOSTILE)],
)
def test_garbage_in_a_link_is_refused_in_one_line(name: str, value: str) -> None:
    page = opened("fault", **{"bike": "touring", "line": LINE, name: value})
    (complaint,) = shown(page).of("rw-complaint")
    assert f"the link gives {name} as" in complaint
    assert HOSTILE not in body(page)


def test_names_with_markup_stay_text() -> None:
    text = find("touring").read_text(encoding="utf-8").replace(f'"{LINE}"', json.dumps(HOSTILE))
    page = opened("fault", frame=links.pack(text.encode()), line=HOSTILE, lever="60", end="20")
    assert page.selectbox(key="fault line").value == HOSTILE
    assert shown(page).of("rw-verdict-words")
    assert HOSTILE not in body(page)


def test_a_bike_of_hoses_says_so() -> None:
    hose = {
        "name": "front brake",
        "work": "hose",
        "lever": "lever",
        "housing": "hydraulic hose",
        "station": [
            {"name": "lever", "type": "lever", "then": "loop"},
            {"name": "caliper", "type": "stop", "part": "hydraulic disc caliper, front"},
        ],
    }
    lever = {"name": "lever", "part": "drop-bar hydraulic lever", "side": "left", "along": 215}
    text = to_toml(changed(lever=[lever], line=[hose]))
    page = opened("fault", frame=links.pack(text.encode()))
    assert "This bike has hoses only" in body(page) and not page.number_input
