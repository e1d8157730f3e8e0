"""The bench sheet as it is printed: the plan's lengths, whole, true to scale and the same every time."""

from __future__ import annotations

import ctypes
import dataclasses
import math
import re
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import pypdfium2.raw as raw
import pytest
from planned import FLEET, planned

from ropewalk.analysis.findings import Finding
from ropewalk.bike.fleet import find
from ropewalk.bike.reading import read
from ropewalk.cli.main import main
from ropewalk.drawing.benchparts import bolts
from ropewalk.drawing.benchsheet import Extras, bench_sheet
from ropewalk.workshop import words
from ropewalk.workshop.hands import plan_hands
from ropewalk.workshop.order import order_of_bike

DAY = date(2026, 5, 31)
EVERYTHING = Extras(strips=True, end_tags=True, plots=True)
#: sizes of paper [mm]: ISO 216, and 8.5 by 11 inches
SIZES = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}


def told(contents: bytes) -> str:
    """Return the text of all pages, with every gap a single blank."""
    pages = pypdfium2.PdfDocument(contents)
    return re.sub(r"\s+", " ", " ".join(page.get_textpage().get_text_bounded() for page in pages))


def packed(text: str) -> str:
    """Return text without blanks and hyphens, which breaking lines moves about."""
    return re.sub(r"[\s\ufffe\x02-]+", "", text)


@pytest.mark.parametrize("paper", SIZES)
@pytest.mark.parametrize("name", FLEET)
def test_the_sheet_holds_the_plan(name: str, paper: str) -> None:
    job = planned(name)
    text = packed(told(bench_sheet(job, DAY, paper)))
    assert packed(job.bike) in text and "2026" in text
    for line in job.lines:
        for piece in line.pieces:
            row = text.index(packed(f"{line.name}: {words.way(piece.start, piece.end)}"))
            length, target = packed(words.first_cut(piece)), packed(f"target {words.millimetres(piece.target)}")
            # Its row goes on with its first cut and then its target.
            assert 0 < text.index(length, row) - row < 160
            assert text.index(target, row) - text.index(length, row) < len(length) + 10
            assert text[row - len(piece.tag) : row] == piece.tag
        for inner in line.inners:
            assert (
                packed(words.millimetres(inner.need)) in text and packed(words.millimetres(inner.stock or 0.0)) in text
            )
        for liner in line.liners:
            assert packed(f"cut {words.liner_name(liner)}, {liner.start}") in text
            assert packed(words.millimetres(liner.cut)) in text
    steps = [order_of_bike(job, named_only=named_only) for named_only in (False, True)]
    assert any(all(packed(step) in text for step in told_so) for told_so in steps)
    assert all(packed(caution) in text for caution in job.cautions)
    assert all(packed(words.finding(found)) in text for found in job.findings if found.grade != "note")
    assert all(packed(found.where) in text for found in job.findings)


#: the bike whose lines and findings take a second page of Letter, which is 18 mm shorter than A4
TWO_PAGES = {("road", "Letter")}


@pytest.mark.parametrize("paper", SIZES)
@pytest.mark.parametrize("name", FLEET)
def test_every_page_is_legible_black_and_white_and_within_its_margins(name: str, paper: str) -> None:
    document = pypdfium2.PdfDocument(bench_sheet(planned(name), DAY, paper))
    assert len(document) == (2 if (name, paper) in TWO_PAGES else 1)
    for page in document:
        sizes = printed_sizes(page)
        assert min(sizes) >= 7.49
        shown = page.render(scale=2.0).to_numpy()
        assert (shown[..., 0] == shown[..., 1]).all() and (shown[..., 1] == shown[..., 2]).all()
        inked = np.argwhere(shown[..., 0] < 200)
        height, width = shown.shape[:2]
        # 5 mm at every edge: what most printers cannot reach.
        edge = 5.0 / 25.4 * 72.0 * 2.0
        assert inked.min() >= edge - 1.0
        assert inked[:, 0].max() <= height - edge + 4.0 and inked[:, 1].max() <= width - edge


def printed_sizes(page: Any) -> list[float]:
    """Return the size of type of every character as it is printed [pt], scaled drawings included."""
    held, found = page.get_textpage(), []
    for at in range(held.count_chars()):
        if chr(raw.FPDFText_GetUnicode(held, at)).isspace():
            continue
        matrix = raw.FS_MATRIX()
        assert raw.FPDFText_GetMatrix(held, at, matrix)
        scale = math.sqrt(abs(matrix.a * matrix.d - matrix.b * matrix.c))
        found.append(raw.FPDFText_GetFontSize(held, at) * scale)
    return found


@pytest.mark.parametrize("paper", SIZES)
@pytest.mark.parametrize("times", [3, 12])
def test_more_lines_than_fit_a_side_go_on_and_nothing_is_cut_off(times: int, paper: str) -> None:
    job = planned("road")
    lines = [
        dataclasses.replace(line, name=f"{line.name} {number}") for number in range(times) for line in job.lines
    ]  # fmt: skip
    found = [
        dataclasses.replace(one, where=f"{one.where}, {number}") for number in range(times) for one in job.findings
    ]
    loops = {
        (place + number * len(job.routing), at): loop
        for number in range(times)
        for (place, at), loop in job.loops.items()
    }
    many = dataclasses.replace(job, lines=tuple(lines), routing=job.routing * times, loops=loops, findings=tuple(found))
    document = pypdfium2.PdfDocument(contents := bench_sheet(many, DAY, paper))
    assert 2 <= len(document) <= 2 * times
    # A finding may go over the end of a page, where the foot stands between.
    text = re.sub(r"Ropewalk\d.*?page\d+", "", packed(told(contents)))
    assert text.count("target") >= sum(len(line.pieces) for line in lines)
    assert all(packed(words.finding(one)) in text for one in found)
    assert all(packed(step) in text for step in order_of_bike(many))
    assert all(packed(caution) in text for caution in job.cautions)


def test_a_heading_stays_with_what_it_heads() -> None:
    pages = pypdfium2.PdfDocument(bench_sheet(planned("road"), DAY, "Letter"))
    texts = [page.get_textpage().get_text_bounded() for page in pages]
    (place,) = [at for at, text in enumerate(texts) if "Order of work" in text]
    assert "1. If an old inner" in texts[place]


@pytest.mark.parametrize("paper", SIZES)
@pytest.mark.parametrize("name", FLEET)
def test_every_piece_has_its_tag_in_the_drawing_and_no_note_lacks_room(name: str, paper: str) -> None:
    job = planned(name)
    page = pypdfium2.PdfDocument(bench_sheet(job, DAY, paper))[0]
    held, sizes = page.get_textpage(), iter(printed_sizes(page))
    text = [chr(raw.FPDFText_GetUnicode(held, at)) for at in range(held.count_chars())]
    # Nothing else on the sheet has the size of type of the drawing's tags.
    tags = "".join(sign for sign in text if not sign.isspace() and 8.7 < next(sizes) < 8.95)
    wanted = [piece.tag for line in job.lines for piece in line.pieces]
    assert sorted(re.findall(r"[A-Z]+[0-9]+", tags)) == sorted(wanted)
    assert "no room" not in held.get_text_bounded()


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


@pytest.mark.parametrize("name", FLEET)
def test_lengths_to_cut_are_bold_and_in_type_of_18_points(name: str) -> None:
    job = planned(name)
    page = pypdfium2.PdfDocument(bench_sheet(job, DAY))[0]
    held, sizes = page.get_textpage(), printed_sizes(page)
    text = "".join(chr(raw.FPDFText_GetUnicode(held, at)) for at in range(held.count_chars()))
    large = "".join(
        sign for sign, size in zip((sign for sign in text if not sign.isspace()), sizes, strict=True) if size >= 17.99
    )
    cuts = [piece.first_cut for line in job.lines for piece in line.pieces]
    inners = [inner.stock for line in job.lines for inner in line.inners]
    liners = [liner.cut for line in job.lines for liner in line.liners]
    settings = [line.setting.length for line in job.lines if line.setting is not None]
    for length in (*cuts, *inners, *liners):
        assert f"{length:.0f}" in large
    assert len(large) == sum(len(f"{length:.0f}") for length in (*cuts, *inners, *liners)) + sum(
        len(f"{length:g}") for length in settings
    )
    for at, sign in enumerate(text):
        if sign.isdigit() and raw.FPDFText_GetFontSize(held, at) >= 17.99:
            assert raw.FPDFText_GetFontWeight(held, at) >= 600 or "Bold" in font_name(held, at)


def font_name(held: Any, at: int) -> str:
    room = ctypes.create_string_buffer(200)
    raw.FPDFText_GetFontInfo(held, at, room, 200, None)
    return room.value.decode()


def test_bolts_of_anchors_are_told_where_the_bike_has_them() -> None:
    for name in FLEET:
        job = planned(name)
        text = told(bench_sheet(job, DAY))
        works = {line.work for line in job.lines}
        assert "Torque check from front to back, every bolt you undid: the figure printed on the part" in text
        assert ("brake anchor" in text) == ("brake" in works)
        ends = {one.route.line.station[-1].part for one in job.routing}
        assert ("derailleur anchor" in text) == any("derailleur" in (part or "") for part in ends)
    assert "derailleur anchor" not in bolts(planned("city"))
    # A hose has no anchor, and a bike with hoses alone no usual band.
    trail = planned("trail")
    assert "usual band" not in bolts(dataclasses.replace(trail, lines=trail.lines[:2], routing=trail.routing[:2]))


def test_changed_hands_are_printed_with_their_caution() -> None:
    job = plan_hands(read(find("touring")), "front-left")
    text = packed(told(bench_sheet(job, DAY)))
    assert job.hands is not None and not job.hands.already
    assert all(packed(said) in text for said in words.hands(job.hands))


@pytest.mark.parametrize("paper", SIZES)
def test_pages_have_the_size_of_the_paper(paper: str) -> None:
    document = pypdfium2.PdfDocument(bench_sheet(planned("touring"), DAY, paper, extras=EVERYTHING))
    for page in document:
        assert tuple(side / 72 * 25.4 for side in page.get_size()) == pytest.approx(SIZES[paper], abs=0.01)


@pytest.mark.parametrize("paper", SIZES)
def test_the_check_bar_is_100_mm_long(paper: str) -> None:
    document = pypdfium2.PdfDocument(bench_sheet(planned("touring"), DAY, paper, extras=Extras(strips=True)))
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
    assert bench_sheet(job, DAY, extras=Extras(strips=True)) == bench_sheet(job, DAY, extras=Extras(strips=True))
    assert bench_sheet(job, DAY) != bench_sheet(job, date(2026, 6, 1))


def test_names_beyond_the_base_typefaces_print_as_themselves() -> None:
    job = dataclasses.replace(planned("touring"), bike="Łódź ≤ 5 <b>& co")
    assert "Łódź ≤ 5 <b>& co" in told(bench_sheet(job, DAY))


def test_every_end_gets_a_tag() -> None:
    job = planned("touring")
    text = told(bench_sheet(job, DAY, extras=Extras(end_tags=True)))
    pieces = [piece for line in job.lines for piece in line.pieces]
    assert text.count("end at ") >= 2 * len(pieces)


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (["-o", "sheet.txt"], "has to end in .pdf"),
        (["-o", ""], "has to end in .pdf"),
        (["-o", "sheet.pdf", "--paper", "A5"], '--paper is "A5": write A4 or Letter'),
        (["-o", "nowhere/sheet.pdf"], "there is no such folder"),
        (["-o", "sheet.pdf", "--date", "31 May"], '--date is "31 May"'),
        (["-o", "sheet.pdf", "--date", "2026-02-30"], '--date is "2026-02-30"'),
        (["-o", "sheet.pdf", "--paper", ""], '--paper is ""'),
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


def test_a_sheet_is_not_written_over_what_it_is_made_of(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The frame file's own name, were it one in .pdf, and a folder in the way."""
    monkeypatch.chdir(tmp_path)
    frame = Path("frame.pdf")
    frame.write_bytes(find("track").read_bytes())
    Path("folder.pdf").mkdir()
    before = frame.read_bytes()
    for output in ("frame.pdf", "folder.pdf"):
        assert main(["sheet", "./frame.pdf", "-o", output]) == 2
        shown = capsys.readouterr().err
        assert output in shown and shown.count("\n") == 1
    assert frame.read_bytes() == before and not any(Path("folder.pdf").iterdir())


def test_strips_that_no_piece_gets_are_told_of(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    output = tmp_path / "sheet.pdf"
    assert main(["sheet", "track", "-o", str(output), "--strips"]) == 0
    assert "no piece is 250 mm or shorter" in capsys.readouterr().out
    assert main(["sheet", "touring", "-o", str(output), "--strips"]) == 0
    assert "no piece" not in capsys.readouterr().out


def test_the_command_writes_the_sheet_of_its_day_and_paper(tmp_path: Path) -> None:
    output = tmp_path / "sheet.pdf"
    asked = ["--paper", "letter", "--date", DAY.isoformat(), "--strips", "--end-tags", "--plots"]
    assert main(["sheet", "touring", "-o", str(output), *asked]) == 0
    assert output.read_bytes() == bench_sheet(planned("touring"), DAY, "Letter", extras=EVERYTHING)
