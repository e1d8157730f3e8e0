"""Every piece of the fleet against what such pieces usually measure, or a comment in the frame file that says why not.

The ranges are common practice of the trade for medium frames, without a source, and estimates; they are what a mechanic
expects to read, not a standard.
"""

from __future__ import annotations

import re

import pytest
from planned import BIKES, planned

from ropewalk.bike.fleet import find

#: usual lengths [mm], lowest and highest, by what the piece is (common practice, estimates)
USUAL = {
    "drop bar, front rim brake": (650, 850),
    "drop bar, rear lever to first top tube stop": (550, 720),
    "drop bar, seat cluster": (150, 260),
    "drop bar, shift, under tape to down tube stop": (600, 750),
    "drop bar, derailleur loop": (230, 300),
    "flat bar, rear disc, full housing": (1350, 1600),
    "flat bar, derailleur, full housing": (1650, 1900),
}
#: pieces that no usual length is known of
UNKNOWN = "nothing usual is known"
KIND = {
    ("touring", "A1"): "drop bar, front rim brake",
    ("touring", "B1"): "drop bar, rear lever to first top tube stop",
    ("touring", "B2"): "drop bar, seat cluster",
    ("touring", "C1"): "drop bar, shift, under tape to down tube stop",
    ("touring", "D1"): "drop bar, shift, under tape to down tube stop",
    ("touring", "D2"): "drop bar, derailleur loop",
    # a front disc brake on a flat bar
    ("hardtail", "A1"): UNKNOWN,
    ("hardtail", "B1"): "flat bar, rear disc, full housing",
    ("hardtail", "C1"): "flat bar, derailleur, full housing",
    ("road", "A1"): "drop bar, front rim brake",
    # one piece from lever to rim brake through the top tube
    ("road", "B1"): UNKNOWN,
    ("road", "C1"): "drop bar, shift, under tape to down tube stop",
    ("road", "D1"): "drop bar, shift, under tape to down tube stop",
    ("road", "D2"): "drop bar, derailleur loop",
}


def blocks(text: str) -> dict[str, str]:
    """Return the comments of every line's block in a frame file, by the line's name.

    A block goes from the comment that stands on its ``[[line]]`` to the next block.
    """
    rows = text.splitlines()
    starts = []
    for number, row in enumerate(rows):
        if row.strip() == "[[line]]":
            first = number
            while first and rows[first - 1].lstrip().startswith("#"):
                first -= 1
            starts.append(first)
    found = {}
    for first, last in zip(starts, [*starts[1:], len(rows)], strict=True):
        block = rows[first:last]
        name = next(re.fullmatch(r'name = "(.*)"', row) for row in block if row.startswith("name"))
        assert name is not None
        found[name.group(1)] = " ".join(row.lstrip("# ") for row in block if row.lstrip().startswith("#"))
    return found


def outside(bike: str) -> dict[str, tuple[float, int, int, str]]:
    """Return the pieces whose target lies outside the usual range: target, range and the comments of their line."""
    comments = blocks(find(bike).read_text(encoding="utf-8"))
    found = {}
    for line in planned(bike).lines:
        for piece in line.pieces:
            kind = KIND[bike, piece.tag]
            if kind == UNKNOWN:
                continue
            low, high = USUAL[kind]
            if not low <= piece.target <= high:
                found[piece.tag] = (piece.target, low, high, comments[line.name])
    return found


@pytest.mark.parametrize("bike", BIKES)
def test_every_piece_is_known_here(bike: str) -> None:
    tags = {piece.tag for line in planned(bike).lines for piece in line.pieces}
    assert tags == {tag for own, tag in KIND if own == bike}


@pytest.mark.parametrize("bike", BIKES)
def test_a_piece_is_as_long_as_usual_or_its_frame_file_says_why_not(bike: str) -> None:
    """The comment has to name the typical range, so that none outlives its reason unseen."""
    unexplained = {
        tag: f"{target:.0f} mm, usually {low} to {high} mm"
        for tag, (target, low, high, comment) in outside(bike).items()
        if f"typical {low} to {high} mm" not in comment
    }
    assert unexplained == {}


@pytest.mark.parametrize("bike", BIKES)
def test_no_comment_excuses_a_piece_that_is_as_long_as_usual(bike: str) -> None:
    excused = {f"{low} to {high}" for _, low, high, _ in outside(bike).values()}
    told = re.findall(r"typical (\d+ to \d+) mm", " ".join(blocks(find(bike).read_text(encoding="utf-8")).values()))
    assert set(told) <= excused


def test_a_block_starts_with_the_comment_that_stands_on_it() -> None:
    first, second = '# about the first\n[[line]]\nname = "one"\n', '# about the second\n[[line]]\nname = "two"\n'
    text = f"{first}\n{second}# in it\nstation = []\n"
    assert blocks(text) == {"one": "about the first", "two": "about the second in it"}


def test_a_piece_outside_without_a_comment_would_be_told() -> None:
    """The road bike's front brake is far shorter than usual: without its comment the test above fails."""
    target, low, high, comment = outside("road")["A1"]
    assert not low <= target <= high
    assert f"typical {low} to {high} mm" in comment
