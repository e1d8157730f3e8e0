"""The dry fit on the command line and on the page: the same figures, the same file, one line where it is refused."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest
from commands import printed, refused_with
from planned import planned
from streamlit.testing.v1 import AppTest

from ropewalk.bike.fitfile import fit_text, written_fit
from ropewalk.bike.fleet import find
from ropewalk.page import links
from ropewalk.workshop import dryfitwords
from ropewalk.workshop.cuttingorder import cutting_order
from ropewalk.workshop.dryfit import fit_dry

BIKE = "touring"
FOUND = (("A1", 560.0, "fine"), ("B1", 571.5, "long"), ("C1", 685.0, "tight at left lock"), ("D2", 290.0, "not tried"))
Run = Callable[..., str]


def fit_file(*rows: tuple[str, float, str], bike: str = "Quay tourer") -> str:
    return written_fit(bike, [(*row, "") for row in rows])  # type: ignore[list-item]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    monkeypatch.chdir(tmp_path)
    return partial(printed, capsys)


@pytest.fixture
def refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    monkeypatch.chdir(tmp_path)
    return partial(refused_with, capsys)


# The command line.


def test_list_json_and_spreadsheet_tell_the_same(run: Run, tmp_path: Path) -> None:
    (tmp_path / "fit.toml").write_text(fit_file(*FOUND), encoding="utf-8")
    expected = fit_dry(planned(BIKE), fit_text(fit_file(*FOUND), "fit.toml"))
    told = json.loads(run("cut", BIKE, "--fitted", "fit.toml", "--json", "--csv", "cut.csv"))
    pieces = told["fitted"]["pieces"]
    assert [(row["tag"], row["do"], row["target_mm"], row["trim_mm"], row["cut_mm"]) for row in pieces] == [
        (piece.tag, piece.do, piece.target, piece.trim, piece.cut) for piece in expected.pieces
    ]
    assert {row["tag"]: row["do"] for row in pieces} == {
        "A1": "done",
        "B1": "trim",
        "B2": "cut",
        "C1": "make again",
        "D1": "cut",
        "D2": "try",
    }
    rows = list(csv.DictReader(io.StringIO((tmp_path / "cut.csv").read_text(encoding="utf-8"))))
    housing = {row["tag"]: row for row in rows if row["item"] == "housing"}
    for row in pieces:
        cells = housing[row["tag"]]
        for cell, key in (
            ("as_cut_mm", "as_cut_mm"),
            ("new_target_mm", "target_mm"),
            ("trim_mm", "trim_mm"),
            ("new_cut_mm", "cut_mm"),
        ):
            assert (float(cells[cell]) if cells[cell] else None) == row[key]
        assert (cells["fit"] or None, cells["do"]) == (row["fit"], row["do"])
    listed = run("cut", BIKE, "--fitted", "fit.toml")
    after = listed.split("After the dry fit")[1].split("\n\n")[0]
    for row in pieces:
        assert re.search(rf"^{row['tag']} +{re.escape(row['result'])} \(", after, re.MULTILINE)
        assert all(reason in after for reason in row["reasons"])


def test_findings_of_the_dry_fit_stand_among_the_others_by_grade(run: Run, tmp_path: Path) -> None:
    (tmp_path / "fit.toml").write_text(fit_file(("C1", 730.0, "tight at left lock")), encoding="utf-8")
    told = json.loads(run("cut", BIKE, "--fitted", "fit.toml", "--json"))["findings"]
    without = json.loads(run("cut", BIKE, "--json"))
    more = [finding for finding in told if finding not in without["findings"]]
    assert any("by the figures planned with" in finding["text"] for finding in more)
    assert [finding for finding in told if finding not in more] == without["findings"]
    grades = [finding["grade"] for finding in told]
    assert grades == sorted(grades, key=["stop", "look", "note"].index)
    assert "fitted" not in without and "cutting_order" not in without


def test_the_cutting_order_is_told_with_order(run: Run) -> None:
    order = json.loads(run("cut", BIKE, "--json", "--order"))["cutting_order"]
    tags = [tag for kind in order for tag in kind["tags"]]
    assert tags == [piece.tag for piece in cutting_order(planned(BIKE))]
    kinds = {piece.tag: piece.housing for piece in cutting_order(planned(BIKE))}
    assert all(kinds[tag] == kind["housing"] for kind in order for tag in kind["tags"])
    listed = run("cut", BIKE, "--order").split("Cutting order")[1].split("\n\n")[0]
    assert re.findall(r"\b[A-Z]\d\b", listed) == tags


def test_a_blank_file_is_written_filled_in_and_read_back(run: Run, refused: Run, tmp_path: Path) -> None:
    run("cut", BIKE, "--fitted-blank", "fit.toml")
    path = tmp_path / "fit.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('"not tried"', '"long"', 1), encoding="utf-8")
    told = json.loads(run("cut", BIKE, "--fitted", "fit.toml", "--json"))["fitted"]["pieces"]
    assert [row["do"] for row in told] == ["trim", "try", "try", "try", "try", "try"]
    assert "is here already" in refused("cut", BIKE, "--fitted-blank", "fit.toml")
    assert '"long"' in path.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("rubbish", "fit.toml: line 1"),
        (fit_file(("Z1", 500.0, "fine")), 'fit.toml: piece 1, tag is "Z1": this bike has A1, B1'),
        (fit_file(("A1", 61.0, "fine")), "piece 1, A1, as_cut is 61 mm"),
        (fit_file(bike="Ferry"), 'bike is "Ferry", but this frame file is of "Quay tourer"'),
        (fit_file(("A1", 560.0, "fine")).replace("fit =", "fits ="), 'unknown key "fits"'),
    ],
)
def test_a_bad_file_is_refused_in_one_line(refused: Run, tmp_path: Path, text: str, hint: str) -> None:
    (tmp_path / "fit.toml").write_text(text, encoding="utf-8")
    assert hint in refused("cut", BIKE, "--fitted", "fit.toml", "--csv", "cut.csv")
    assert not (tmp_path / "cut.csv").exists()


def test_options_that_do_not_go_together(refused: Run) -> None:
    assert "--fitted and --why" in refused("cut", BIKE, "--fitted", "fit.toml", "--why", "A1")
    assert "--fitted and --fitted-blank" in refused("cut", BIKE, "--fitted", "a.toml", "--fitted-blank", "b.toml")
    assert "there is no such file" in refused("cut", BIKE, "--fitted", "fit.toml")
    assert "no such folder" in refused("cut", BIKE, "--fitted-blank", "nowhere/fit.toml")


# The page.


def opened(**link: str) -> AppTest:
    """Open the page as a link does, its levers confirmed."""
    page = AppTest.from_string("from ropewalk.page.router import run\nrun('dry-fit')", default_timeout=120)
    for name, value in ({"bike": BIKE} | link).items():
        page.query_params[name] = value
    page.run()
    page.button(key="levers are so").click().run()
    assert not page.exception
    return page


def body(page: AppTest) -> str:
    return "".join(part.value for part in page.get("html") if "<style>" not in part.value)


def results(page: AppTest) -> list[str]:
    """Return what is told big of each piece, in order."""
    told = re.findall(r'<p class="rw-fit-result">(.*?)</p>', body(page))
    return [re.sub(r"<[^>]+>", "", one.split('<span class="rw-quiet">')[0]).strip() for one in told]


def fill(page: AppTest, tag: str, as_cut: float, fit: str) -> None:
    next(one for one in page.number_input if one.label == f"{tag} as cut [mm]").set_value(as_cut).run()
    next(one for one in page.get("button_group") if one.label == f"{tag} fits").set_value(fit).run()
    assert not page.exception


def test_the_page_tells_what_the_command_line_tells(run: Run, tmp_path: Path) -> None:
    page = opened()
    for row in FOUND:
        fill(page, *row)
    (tmp_path / "fit.toml").write_text(fit_file(*FOUND), encoding="utf-8")
    told = json.loads(run("cut", BIKE, "--fitted", "fit.toml", "--json"))["fitted"]
    assert results(page) == [row["result"] for row in told["pieces"]]
    shown = body(page)
    assert all(reason in shown for row in told["pieces"] for reason in row["reasons"])
    assert all(f"{inner['need_mm']:.0f} mm needed on the bench" in shown for inner in told["inners"])


def test_at_first_every_piece_is_to_be_cut_as_planned() -> None:
    pieces = [piece for line in planned(BIKE).lines for piece in line.pieces]
    page = opened()
    assert results(page) == [f"cut {piece.first_cut:g} mm" for piece in pieces]
    assert [one.value for one in page.number_input] == [piece.first_cut for piece in pieces]
    assert "fitted" not in page.query_params


def test_the_link_brings_back_what_was_found() -> None:
    page = opened()
    for row in FOUND[1:3]:
        fill(page, *row)
    packed = page.query_params["fitted"]
    again = opened(fitted=packed if isinstance(packed, str) else packed[0])
    assert results(again) == results(page)
    assert dict(again.query_params) == dict(page.query_params)
    found = fit_text(links.unpack(packed if isinstance(packed, str) else packed[0]), "link")
    assert [(piece.tag, piece.as_cut, piece.fit) for piece in found.piece] == list(FOUND[1:3])


@pytest.mark.parametrize(
    ("packed", "hint"),
    [
        ("<script>", "damaged"),
        (links.pack(b"rubbish"), "line 1"),
        (links.pack(fit_file(("Z1", 500.0, "fine")).encode()), "this bike has A1"),
        (links.pack(fit_file(bike="<b>Ferry</b>").encode()), "&lt;b&gt;Ferry"),
    ],
)
def test_a_bad_link_is_refused_in_one_line(packed: str, hint: str) -> None:
    page = opened(fitted=packed)
    (complaint,) = re.findall(r'<p class="rw-complaint".*?</p>', body(page))
    assert hint in complaint and "<b>Ferry" not in complaint and "<script>" not in complaint
    assert results(page) == results(opened())


def test_a_length_that_cannot_be_is_told_and_nothing_written_is_lost() -> None:
    page = opened()
    fill(page, *FOUND[1])
    next(one for one in page.number_input if one.label == "A1 as cut [mm]").set_value(56.0).run()
    (complaint,) = re.findall(r'<p class="rw-complaint".*?</p>', body(page))
    assert "A1, as_cut is 56 mm: its first cut is 560 mm" in complaint
    assert results(page) == []
    fill(page, *FOUND[0])
    assert not re.findall("rw-complaint", body(page))
    assert results(page)[1].startswith("trim")


def test_a_file_is_loaded_and_a_bad_one_leaves_all_as_it_was() -> None:
    page = opened()
    page.file_uploader[0].set_value(("fit.toml", fit_file(*FOUND).encode(), "application/toml"))
    page.run()
    before = results(page)
    expected = fit_dry(planned(BIKE), fit_text(fit_file(*FOUND), "own"))
    assert before == [dryfitwords.result(piece) for piece in expected.pieces]
    page.file_uploader[0].set_value(("<i>.toml", fit_file(("Z1", 9e2, "fine")).encode(), "application/toml"))
    page.run()
    (complaint,) = re.findall(r'<p class="rw-complaint".*?</p>', body(page))
    assert "&lt;i&gt;.toml: piece 1" in complaint and "<i>" not in complaint
    assert results(page) == before


def test_what_was_found_is_forgotten_when_asked() -> None:
    page = opened()
    fill(page, *FOUND[2])
    assert "make again" in "".join(results(page))
    next(one for one in page.button if one.label == "Forget what was found").click().run()
    assert results(page) == results(opened())


HOSTILE = "<img src=x onerror=a(1)>"


def test_names_people_wrote_are_shown_letter_by_letter_and_kept_out_of_the_files_grammar(
    run: Run, tmp_path: Path
) -> None:
    text = find(BIKE).read_text(encoding="utf-8").replace("front caliper", HOSTILE)
    (tmp_path / "own.toml").write_text(text, encoding="utf-8")
    run("cut", "own.toml", "--fitted-blank", "fit.toml")
    blank = (tmp_path / "fit.toml").read_text(encoding="utf-8")
    assert HOSTILE in blank
    assert [piece.tag for piece in fit_text(blank, "blank").piece] == ["A1", "B1", "B2", "C1", "D1", "D2"]
    page = opened(frame=links.pack(text.encode()), file="<b>own</b>.toml")
    fill(page, *FOUND[2])
    assert "&lt;img src=x onerror=a(1)&gt;" in body(page)
    assert "<img" not in body(page) and "<b>own" not in body(page)
