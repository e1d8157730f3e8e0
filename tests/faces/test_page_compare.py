"""The page compares as the command does: same ranks, figures, files and charts; what cannot be is one line."""

from __future__ import annotations

import json
import random
from functools import cache
from pathlib import Path

import pytest
import streamlit
from openpage import HOSTILE, Saved, body, confirm, followed, opened, shown
from planned import FLEET, planned
from streamlit.testing.v1 import AppTest

from ropewalk.bike.fleet import find
from ropewalk.bike.reading import loads, read
from ropewalk.cli.main import main
from ropewalk.page import links
from ropewalk.workshop.compare import Comparison, compare
from ropewalk.workshop.comparewords import difference_words, figures, rank_words
from ropewalk.workshop.entrants import contest_of, contests_of_files, contests_of_options
from ropewalk.workshop.frictionplan import plan_friction
from ropewalk.workshop.frictionwords import stretch_words
from ropewalk.workshop.ranking import MEASURES

LINE = "rear brake"
SOUND = find("touring").read_text(encoding="utf-8")
GRAVEL = ("gravel-ports", "gravel-headset", "gravel-outside")


@cache
def touring(by: str = "efficiency", condition: str = "worn") -> Comparison:
    (contest,) = contests_of_options("touring", read(find("touring")), LINE)
    return compare(contest, by=by, condition=condition)


@cache
def gravel() -> Comparison:
    (contest,) = contests_of_files([(name, read(find(name))) for name in GRAVEL], LINE)
    return compare(contest)


@pytest.fixture
def saved(monkeypatch: pytest.MonkeyPatch) -> Saved:
    found = Saved()
    monkeypatch.setattr(streamlit, "download_button", found)
    return found


def names_and_ranks(page: AppTest) -> list[tuple[str, str]]:
    elements = shown(page)
    ranks = elements.of("rw-rank")
    return list(zip(ranks, elements.of("h3")[: len(ranks)], strict=True))


def ranked(comparison: Comparison) -> list[tuple[str, str]]:
    return [
        (rank_words(one, comparison.standings) if one.rank else "no rank", one.name) for one in comparison.standings
    ]


def complaints(page: AppTest) -> list[str]:
    return shown(page).of("rw-complaint")


# Ranks and figures.


@pytest.mark.parametrize(("by", "condition"), [(by, "worn") for by in MEASURES] + [("efficiency", "new")])
def test_options_stand_in_the_order_and_with_the_figures_of_the_workshop(by: str, condition: str) -> None:
    page, compared = opened("compare", bike="touring", line=LINE, by=by, condition=condition), touring(by, condition)
    assert names_and_ranks(page) == ranked(compared)
    elements = shown(page)
    for standing, why in zip(compared.standings, elements.of("rw-rival-why"), strict=True):
        assert standing.why.casefold() == why.removesuffix(".").casefold()
    cells = [cell(one) or "-" for one in compared.candidates for _, cell in told(compared)]
    assert elements.of("dd") == cells


def told(compared: Comparison) -> list[tuple[str, object]]:
    return [(label, cell) for label, cell in figures(compared) if any(cell(one) for one in compared.candidates)]


def test_the_three_gravel_files_are_compared_as_the_command_compares_them() -> None:
    page = opened("compare", bike=GRAVEL[0], line=LINE)
    assert names_and_ranks(page) == ranked(gravel())
    # files of the fleet are there for whoever opens the link
    assert "against" not in page.query_params


def test_every_difference_is_told_as_clear_or_as_a_tie() -> None:
    page, compared = opened("compare", bike="touring", line=LINE), touring()
    signs = ["tie" if apart.tie else "clear" for apart in compared.differences]
    assert shown(page).of("rw-apart") == signs and {"tie", "clear"} == set(signs)
    for apart in compared.differences:
        assert any(difference_words(compared, apart) in one for one in shown(page).of("li"))


def test_a_choice_changes_the_order_and_stands_in_the_link() -> None:
    page = opened("compare", bike="touring", line=LINE)
    page.segmented_control(key="compare by").set_value("lost-motion").run()
    page.segmented_control(key="compare condition").set_value("corroded").run()
    assert names_and_ranks(page) == ranked(touring("lost-motion", "corroded"))
    assert names_and_ranks(followed(page, "compare")) == ranked(touring("lost-motion", "corroded"))


def test_two_of_three_routings_are_compared_when_one_is_left_out() -> None:
    page = opened("compare", bike="touring", line=LINE)
    page.multiselect(key="compare routings").set_value(["as written", "compressionless"]).run()
    assert not page.exception
    contest = contest_of(("touring", read(find("touring"))), LINE, ["as written", "compressionless"], [])
    assert names_and_ranks(page) == ranked(compare(contest))
    assert names_and_ranks(followed(page, "compare")) == ranked(compare(contest))


def test_one_routing_alone_is_told_with_how_to_add_another() -> None:
    page = opened("compare", bike="touring", line=LINE)
    page.multiselect(key="compare routings").set_value(["as written"]).run()
    assert "[[line.option]]" in body(page) and not shown(page).of("rw-rival")
    assert shown(page).of("rw-tension")


@pytest.mark.parametrize("bike", FLEET)
def test_every_bike_has_a_page_worth_reading(bike: str) -> None:
    page = opened("compare", bike=bike)
    line = next(one for one in planned(bike).lines if one.name == page.selectbox(key="compare line").value)
    assert not complaints(page)
    assert bool(shown(page).of("rw-tension")) == (line.friction is not None)
    if not shown(page).of("rw-rival"):
        assert "[[line.option]]" in body(page)


# Tension.


def test_tension_is_told_stretch_by_stretch_in_the_condition_chosen() -> None:
    page = opened("compare", bike="touring", line="front brake", condition="corroded")
    (line,) = plan_friction(planned("touring"), "front brake", {})
    rows = [
        [one.label, *(value for value in (one.turn, one.to, one.pulled, one.let_back) if value)]
        for one in stretch_words(line, "corroded")
    ]
    cells = [text.split(" ", 1)[-1] for text in shown(page).of("td") if text]
    expected = [value for row in rows for value in row[1:]]
    assert [cell.removeprefix("back ") for cell in cells] == expected
    assert [row[0] for row in rows] == shown(page).of("th")[5:]


def test_tension_of_another_routing_is_that_routings() -> None:
    page = opened("compare", bike="gravel-ports", line=LINE)
    page.selectbox(key="compare tension of").select("headset").run()
    (line,) = plan_friction(planned("gravel-headset"), LINE, {})
    labels = [one.label for one in stretch_words(line, "worn")]
    assert shown(page).of("th")[5:] == labels
    assert shown(followed(page, "compare")).of("th")[5:] == labels


# Files.


def test_files_saved_hold_the_bytes_that_the_command_writes(
    saved: Saved, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["compare", "touring", LINE, "--csv", "c.csv", "--chart", "c.svg", "--json"]) == 0
    printed = capsys.readouterr().out
    opened("compare", bike="touring", line=LINE)
    assert saved.files["save Comparison, CSV"] == Path("c.csv").read_bytes()
    assert saved.files["save Friction chart, SVG"] == Path("c.svg").read_bytes()
    assert saved.files["save Comparison, JSON"].decode() == printed


def test_files_of_several_frame_files_are_those_of_the_command(
    saved: Saved, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["compare", *GRAVEL, LINE, "--json"]) == 0
    opened("compare", bike=GRAVEL[0], line=LINE)
    assert saved.files["save Comparison, JSON"].decode() == capsys.readouterr().out


@pytest.mark.parametrize(
    ("bike", "line", "link"),
    [("touring", LINE, {"tension": "as written"}), ("gravel-outside", LINE, {}), ("city", "hub gear", {})],
)
def test_the_tension_chart_is_the_one_the_command_draws(
    bike: str,
    line: str,
    link: dict[str, str],
    saved: Saved,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["friction", bike, line, "--chart", "t.svg", "--json"]) == 0
    opened("compare", bike=bike, line=line, **link)
    assert saved.files["save Tension chart, SVG"] == Path("t.svg").read_bytes()
    assert saved.files["save Tension, JSON"].decode() == capsys.readouterr().out


# What people write, and what cannot be.


def own(*changes: tuple[str, str], bike: str = "touring") -> str:
    text = find(bike).read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return text


def bring(page: AppTest, text: str, name: str = "mine.toml") -> AppTest:
    """Bring a further frame file to compare with."""
    page.file_uploader[0].set_value((name, text.encode(), "application/toml"))
    page.run()
    assert not page.exception
    return page


def test_names_with_markup_stay_text() -> None:
    text = own(('"full housing"', json.dumps(HOSTILE)), (f'"{LINE}"', json.dumps(f"{HOSTILE} line")))
    page = opened("compare", frame=links.pack(text.encode()), line=f"{HOSTILE} line")
    assert HOSTILE in [name for _, name in names_and_ranks(page)]
    assert HOSTILE not in body(page)
    assert all(f"{HOSTILE} " not in image.proto.imgs[0].markup for image in page.get("imgs"))


def test_a_frame_file_of_the_same_bike_joins_in() -> None:
    text = own(("Estuary gravel, outside", "Estuary gravel, longer stem"), ("stem = 80", "stem = 100"), bike=GRAVEL[2])
    frame = loads(text.encode(), "mine.toml")
    page = bring(opened("compare", bike=GRAVEL[0], line=LINE), text)
    files = [(name, read(find(name))) for name in GRAVEL]
    (contest,) = contests_of_files([*files, ("mine", frame)], LINE)
    assert names_and_ranks(page) == ranked(compare(contest))


STEM = (("Estuary gravel, outside", "Estuary gravel, longer stem"), ("stem = 80", "stem = 100"))


def test_a_link_brings_the_frame_files_that_were_brought() -> None:
    page = bring(opened("compare", bike=GRAVEL[0], line=LINE), own(*STEM, bike=GRAVEL[2]), "Łódź ≤ 5.toml")
    there = names_and_ranks(page)
    assert len(there) == 4
    again = followed(page, "compare")
    assert names_and_ranks(again) == there
    again.multiselect(key="compare routings").set_value(["file Łódź ≤ 5", "as written"]).run()
    assert len(names_and_ranks(again)) == 2
    assert names_and_ranks(followed(again, "compare")) == names_and_ranks(again)
    # a bike that they are not of leaves them out
    page.session_state["kept: bike"] = "fleet city"
    page.run()
    assert "against" not in confirm(page).query_params


def test_a_link_brings_the_visitors_own_bike_that_a_bike_of_the_fleet_is_compared_with() -> None:
    page = opened("compare", frame=links.pack(own(*STEM, bike=GRAVEL[2]).encode()), file="mine.toml", line=LINE)
    # what the picker keeps on the page of the bike
    page.session_state["kept: bike"] = f"fleet {GRAVEL[0]}"
    page.run()
    page = confirm(page)
    there = names_and_ranks(page)
    assert "against" in page.query_params and len(there) == 4
    assert names_and_ranks(followed(page, "compare")) == there


def test_files_too_large_for_a_link_are_compared_and_left_out_of_it() -> None:
    noise = "".join(f"# {random.Random(at).randbytes(50).hex()}\n" for at in range(1500))
    page = bring(opened("compare", bike=GRAVEL[0], line=LINE), own(*STEM, bike=GRAVEL[2]) + noise)
    assert len(names_and_ranks(page)) == 4
    assert set(page.query_params) == {"bike"}
    assert [text for text in shown(page).of("rw-quiet") if "more than a link can hold" in text]


@pytest.mark.parametrize(
    ("text", "hint"),
    [("rubbish", "line 1"), (own(bike="city"), "only routings of one bike can be compared")],
    ids=["rubbish", "another bike"],
)
def test_a_frame_file_that_cannot_be_compared_is_one_line_and_all_else_stays(text: str, hint: str) -> None:
    page = bring(opened("compare", bike="touring", line=LINE), text)
    (complaint,) = complaints(page)
    assert hint in complaint and "\n" not in complaint
    assert names_and_ranks(page) == ranked(touring())


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("line", HOSTILE),
        ("by", "colour"),
        ("condition", "[]"),
        ("routings", "[" * 5000),
        ("routings", '["as written", 7]'),
        ("routings", "[[]]"),
        ("tension", "\x00"),
        ("against", "rubbish"),
        ("against", links.pack(SOUND.encode())[:-40]),
        ("against", links.pack(b"[" * 5000)),
        ("against", links.pack(b"7")),
        ("against", links.pack(json.dumps([["", SOUND]]).encode())),
        ("against", links.pack(json.dumps([["a.toml", SOUND, SOUND]]).encode())),
        ("against", links.pack(json.dumps([["a.toml", "\ud800"]]).encode())),
        ("against", links.pack(json.dumps([[HOSTILE, "rubbish"]]).encode())),
        ("against", links.pack(json.dumps([["a.toml", SOUND]] * 6).encode())),
        ("against", links.pack(json.dumps([["city.toml", find("city").read_text("utf-8")]]).encode())),
    ],
)
def test_garbage_in_a_link_is_refused_in_one_line(name: str, value: str) -> None:
    page = opened("compare", **{"bike": "touring", "line": LINE, name: value})
    (complaint,) = complaints(page)
    assert f"the link gives {name} as" in complaint
    assert HOSTILE not in body(page)
    assert shown(page).of("rw-tension")
