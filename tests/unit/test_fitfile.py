"""The dry-fit file: what it may hold, and one line that says what is wrong with it."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from ropewalk.bike.fitfile import FITS, MOST_PIECES, DryFit, fit_text, read_fit, written_fit
from ropewalk.errors import DryFitError

SOUND = """
format = 1
bike = "Quay tourer"

[[piece]]
tag = "A1"
as_cut = 612
fit = "tight at left lock"

[[piece]]
tag = "b1"
as_cut = 540.5
fit = "fine"
"""


def complaint(text: str | bytes) -> str:
    with pytest.raises(DryFitError) as raised:
        fit_text(text, "quay.toml")
    said = str(raised.value)
    assert said.startswith("quay.toml: ")
    assert said.isprintable() and len(said) < 400
    return said.removeprefix("quay.toml: ")


def test_a_sound_file_is_read_whole() -> None:
    found = fit_text(SOUND, "quay.toml")
    assert found.bike == "Quay tourer"
    assert [(piece.tag, piece.as_cut, piece.fit) for piece in found.piece] == [
        ("A1", 612.0, "tight at left lock"),
        ("B1", 540.5, "fine"),
    ]


def test_a_file_is_read_from_its_path(tmp_path: Path) -> None:
    path = tmp_path / "fit.toml"
    path.write_text(SOUND, encoding="utf-8")
    assert read_fit(path) == fit_text(SOUND, "elsewhere")
    with pytest.raises(DryFitError, match="there is no such file"):
        read_fit(tmp_path / "other.toml")


@pytest.mark.parametrize("fit", FITS)
def test_every_verdict_is_written_and_read_back(fit: str) -> None:
    text = written_fit("Łódź ≤ 5", [("A1", 612.0, fit, "lever\n→ stop"), ("B2", 99.5, "fine", "")])  # type: ignore[list-item]
    plain = tomllib.loads(text)
    assert plain["bike"] == "Łódź ≤ 5"
    assert plain["piece"] == [
        {"tag": "A1", "as_cut": 612, "fit": fit},
        {"tag": "B2", "as_cut": 99.5, "fit": "fine"},
    ]
    assert [piece.fit for piece in fit_text(text, "own").piece] == [fit, "fine"]


def test_a_file_without_pieces_says_nothing_of_any() -> None:
    assert fit_text(written_fit("tug", []), "own") == DryFit(format=1, bike="tug")


def respelt(old: str, new: str) -> str:
    assert old in SOUND
    return SOUND.replace(old, new, 1)


BAD = {
    "": "is empty: write format = 1",
    "the rear brake rubs": "is not TOML",
    "format = 1\npiece = 3": "piece is 3: it has to be a list",
    'format = 1\n[piece]\ntag = "A1"': "write [[piece]], with double brackets",
    respelt("format = 1", "format = 2"): "format has to be 1",
    respelt("format = 1", "format = true"): "format has to be 1",
    respelt("format = 1", ""): "format is missing",
    respelt("format = 1", 'format = 1\nbik = "x"'): 'unknown key "bik": did you mean "bike"?',
    respelt("as_cut", "cut"): 'piece 1 has the unknown key "cut": did you mean "as_cut"?',
    respelt("as_cut = 612\n", ""): "piece 1, as_cut is missing",
    respelt("612", '"612"'): "piece 1, as_cut is text in quotation marks",
    respelt("612", "nan"): "piece 1, as_cut is not a finite number",
    respelt("612", "-5"): "piece 1, as_cut is -5 mm: it has to be between 10 and 6000 mm",
    respelt("612", "1e9"): "piece 1, as_cut is 1000000000 mm",
    respelt("612", "{ is = 612, within = 2 }"): "piece 1, as_cut takes a plain number",
    respelt("tight at left lock", "tight at lef lock"): 'did you mean "tight at left lock"?',
    respelt("tight at left lock", "<script>"): 'fit is "<script>": it has to be not tried',
    respelt('"b1"', '"a1"'): 'piece 2 is "A1" once more, after piece 1',
    respelt('"b1"', '""'): "piece 2, tag is empty",
    respelt('"A1"', '"A1 but a longer one"'): "piece 1, tag is 19 characters long",
    respelt('"Quay tourer"', '"\\u001b[2J"'): "bike is",
}


@pytest.mark.parametrize("text", BAD)
def test_what_is_wrong_is_said_in_one_line(text: str) -> None:
    assert BAD[text] in complaint(text)


def test_no_more_pieces_than_any_bike_has() -> None:
    many = [(f"A{number}", 500.0, "fine", "") for number in range(MOST_PIECES + 1)]
    assert f"at most {MOST_PIECES}" in complaint(written_fit("tug", many))  # type: ignore[arg-type]


def test_bytes_that_are_no_text_are_refused() -> None:
    assert "binary" in complaint(b"\x89PNG\r\n\x1a\n\x00\x00")
    assert "UTF-8" in complaint("bike = 'Łódź'".encode("cp1250"))
