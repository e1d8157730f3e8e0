"""The bench sheet as it is printed: the plan's lengths, whole, true to scale and the same every time."""

from __future__ import annotations

import dataclasses
import re
from datetime import date
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from planned import FLEET, planned

from ropewalk.analysis.findings import Finding
from ropewalk.cli.main import main
from ropewalk.drawing.benchsheet import _CUT, bench_sheet
from ropewalk.workshop import words

DAY = date(2026, 5, 31)
#: sizes of paper [mm]: ISO 216, and 8.5 by 11 inches
SIZES = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}


def told(contents: bytes) -> str:
    """Return the text of all pages, with every gap a single blank."""
    pages = pypdfium2.PdfDocument(contents)
    return re.sub(r"\s+", " ", " ".join(page.get_textpage().get_text_bounded() for page in pages))


def packed(text: str) -> str:
    """Return text without blanks and hyphens, which breaking lines moves about."""
    return re.sub(r"[\s\ufffe\x02-]+", "", text)


@pytest.mark.parametrize("name", FLEET)
def test_the_sheet_holds_the_plan(name: str) -> None:
    job = planned(name)
    text = packed(told(bench_sheet(job, DAY)))
    assert packed(job.bike) in text and "2026" in text
    for line in job.lines:
        for piece in line.pieces:
            assert packed(piece.tag) in text
            row = text.index(packed(f"{line.name}: {words.way(piece.start, piece.end)}"))
            if piece.first_cut is None:
                assert "STOP:donotcut" in text[row:]
                assert packed(f"target {words.millimetres(piece.target)}; window") not in text[row : row + 250]
            else:
                assert packed(words.first_cut(piece)) in text[row:]
                assert packed(f"target {words.millimetres(piece.target)}") in text[row:]
        assert all(packed(step) in text for step in line.order)
    assert all(packed(caution) in text for caution in job.cautions)
    assert all(packed(words.finding(found)) in text for found in job.findings if found.grade != "note")


def test_a_stopped_piece_has_no_length() -> None:
    job = planned("touring")
    line = job.lines[0]
    piece = dataclasses.replace(line.pieces[0], first_cut=None, window=None, target=1234.0)
    held = dataclasses.replace(line, pieces=(piece, *line.pieces[1:]), steps=())
    found = Finding("stop", "A1", "shut in", "open it")
    contents = bench_sheet(dataclasses.replace(job, lines=(held, *job.lines[1:]), findings=(found,)), DAY)
    text = told(contents)
    assert "STOP: do not cut" in text
    assert "STOP · A1: shut in. To do: open it." in text
    assert "1234" not in text and "1 234" not in text


def test_first_cuts_are_in_type_of_18_points_and_on_one_line() -> None:
    for name in ("touring", "tandem"):
        job = planned(name)
        lines = pypdfium2.PdfDocument(bench_sheet(job, DAY))[0].get_textpage().get_text_bounded().splitlines()
        cuts = {words.first_cut(piece) for line in job.lines for piece in line.pieces}
        assert all(any(cut in line for line in lines) for cut in cuts)
    assert _CUT.fontSize >= 18


@pytest.mark.parametrize("paper", SIZES)
def test_pages_have_the_size_of_the_paper(paper: str) -> None:
    document = pypdfium2.PdfDocument(bench_sheet(planned("touring"), DAY, paper, with_strips=True, with_end_tags=True))
    for page in document:
        assert tuple(side / 72 * 25.4 for side in page.get_size()) == pytest.approx(SIZES[paper], abs=0.01)


@pytest.mark.parametrize("paper", SIZES)
def test_the_check_bar_is_100_mm_long(paper: str) -> None:
    document = pypdfium2.PdfDocument(bench_sheet(planned("touring"), DAY, paper, with_strips=True))
    page = document[len(document) - 1]
    assert "This bar is 100 mm" in page.get_textpage().get_text_bounded()
    dark = page.render(scale=600 / 72, grayscale=True).to_numpy().squeeze() < 128
    # the bar is the only thing 3 mm wide that is black all over
    solid = [dark[:, at : at + 40].all(axis=1) for at in range(0, dark.shape[1] // 4, 10)]
    rows = np.flatnonzero(max(solid, key=lambda column: int(column.sum())))
    rows = max(np.split(rows, np.flatnonzero(np.diff(rows) > 1) + 1), key=len)
    assert len(rows) / 600 * 25.4 == pytest.approx(100.0, abs=0.1)


def test_the_same_job_and_day_give_the_same_bytes() -> None:
    job = planned("touring")
    assert bench_sheet(job, DAY, with_strips=True) == bench_sheet(job, DAY, with_strips=True)
    assert bench_sheet(job, DAY) != bench_sheet(job, date(2026, 6, 1))


def test_names_beyond_the_base_typefaces_print_as_themselves() -> None:
    job = dataclasses.replace(planned("touring"), bike="Łódź ≤ 5 <b>& co")
    assert "Łódź ≤ 5 <b>& co" in told(bench_sheet(job, DAY))


def test_every_end_gets_a_tag() -> None:
    job = planned("touring")
    text = told(bench_sheet(job, DAY, with_end_tags=True))
    pieces = [piece for line in job.lines for piece in line.pieces]
    assert text.count("end at ") >= 2 * len(pieces)


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (["-o", "sheet.txt"], "has to end in .pdf"),
        (["-o", "sheet.pdf", "--paper", "A5"], '--paper is "A5": write A4 or Letter'),
        (["-o", "nowhere/sheet.pdf"], "there is no such folder"),
        (["-o", "sheet.pdf", "--date", "31 May"], '--date is "31 May"'),
    ],
)
def test_bad_input_is_told_in_one_line(
    asked: list[str], said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["sheet", "touring", *asked]) == 2
    shown = capsys.readouterr().err
    assert said in shown
    assert shown.count("\n") == 1
    assert list(tmp_path.iterdir()) == []
