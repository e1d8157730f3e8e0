"""Every piece of the fleet against what such pieces usually measure, or a comment in the frame file that says why not.

The ranges are common practice of the trade for medium frames, without a source, and estimates; they are what a mechanic
expects to read, not a standard.
"""

from __future__ import annotations

import re

import pytest
from planned import FLEET, planned

from ropewalk.bike.fleet import find

#: usual lengths [mm], lowest and highest, by what the piece is (common practice, estimates)
USUAL = {
    "drop bar, front rim brake": (650, 850),
    "drop bar, rear lever to first top tube stop": (550, 720),
    "drop bar, seat cluster": (150, 260),
    "drop bar, rear cable disc, full housing": (1500, 1800),
    "drop bar, shift, under tape to down tube stop": (600, 750),
    "drop bar, derailleur loop": (230, 300),
    "flat bar, derailleur loop": (270, 340),
    "flat bar, front linear-pull": (480, 650),
    "flat bar, rear disc, full housing": (1350, 1600),
    "flat bar, derailleur, full housing": (1650, 1900),
    "flat bar, dropper": (1100, 1500),
    "step-through, hub gear or roller brake": (1400, 1750),
    "folding, rear brake": (1600, 1950),
    "folding, gear": (1750, 2150),
    "longtail, rear brake": (1850, 2250),
    "tandem, rear disc": (2300, 2550),
    "tandem, derailleur inner": (2740, 3000),
    "time trial, derailleur run": (1750, 2050),
}
#: pieces that no usual length is known of
UNKNOWN = "nothing usual is known"
#: what every piece is, by bike and tag: tags joined by + are what one housing would be without the part between them;
#: an inner goes by its line
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
    # a front disc brake on a drop bar, and full housing from a drop bar to the derailleur
    **{
        (f"gravel-{routing}", tag): kind
        for routing in ("outside", "ports", "headset")
        for tag, kind in {
            "A1": UNKNOWN,
            "B1": "drop bar, rear cable disc, full housing",
            "C1+C2": UNKNOWN,
        }.items()
    },
    ("track", "A1"): "drop bar, front rim brake",
    # a front disc brake on a riser, and its shift housing to the down tube with an adjuster in it
    ("longtail", "A1"): UNKNOWN,
    ("longtail", "B1"): "longtail, rear brake",
    ("longtail", "C1+C2"): UNKNOWN,
    ("longtail", "C3"): "flat bar, derailleur loop",
    ("city", "A1"): "flat bar, front linear-pull",
    ("city", "B1"): "step-through, hub gear or roller brake",
    ("city", "C1"): "step-through, hub gear or roller brake",
    # a front hose
    ("trail", "A1"): UNKNOWN,
    ("trail", "B1"): "flat bar, rear disc, full housing",
    ("trail", "C1"): "flat bar, derailleur, full housing",
    ("trail", "D1"): "flat bar, dropper",
    # bar to fork crown
    ("trail", "E1"): UNKNOWN,
    ("folding", "A1"): "flat bar, front linear-pull",
    ("folding", "B1"): "folding, rear brake",
    ("folding", "C1"): "folding, gear",
    # a front disc brake on a drop bar
    ("tandem", "A1"): UNKNOWN,
    ("tandem", "B1+B2"): "tandem, rear disc",
    ("tandem", "C1"): "drop bar, shift, under tape to down tube stop",
    ("tandem", "D1"): "drop bar, shift, under tape to down tube stop",
    ("tandem", "D2"): "drop bar, derailleur loop",
    ("tandem", "inner of rear derailleur"): "tandem, derailleur inner",
    # rim brakes from the grips of a base bar
    ("timetrial", "A1"): UNKNOWN,
    ("timetrial", "B1"): UNKNOWN,
    ("timetrial", "C1"): "time trial, derailleur run",
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


def lengths(bike: str) -> dict[str, tuple[float, str]]:
    """Return a bike's lengths [mm] and their lines, by tag; housing with a part in it counts as one, with the part."""
    found = {}
    for line in planned(bike).lines:
        parts = {part.after: part for part in line.inlines}
        tag, length = "", 0.0
        for piece in line.pieces:
            part = parts.get(piece.tag)
            tag, length = (
                (piece.tag, piece.target)
                if part is None
                else (f"{tag}+{piece.tag}", length + part.length + piece.target)
            )
            found.pop(tag.rpartition("+")[0], None)
            found[tag] = (length, line.name)
        if (bike, f"inner of {line.name}") in KIND:
            assert line.inner is not None
            found[f"inner of {line.name}"] = (line.inner.need, line.name)
    return found


def outside(bike: str) -> dict[str, tuple[float, int, int, str]]:
    """Return the pieces whose target lies outside the usual range: target, range and the comments of their line."""
    comments = blocks(find(bike).read_text(encoding="utf-8"))
    found = {}
    for tag, (length, line) in lengths(bike).items():
        kind = KIND[bike, tag]
        if kind == UNKNOWN:
            continue
        low, high = USUAL[kind]
        if not low <= length <= high:
            found[tag] = (length, low, high, comments[line])
    return found


@pytest.mark.parametrize("bike", FLEET)
def test_every_piece_is_known_here(bike: str) -> None:
    assert set(lengths(bike)) == {tag for own, tag in KIND if own == bike}


def test_every_usual_length_has_its_piece() -> None:
    assert set(USUAL) == set(KIND.values()) - {UNKNOWN}


@pytest.mark.parametrize("bike", FLEET)
def test_a_piece_is_as_long_as_usual_or_its_frame_file_says_why_not(bike: str) -> None:
    """The comment has to name the typical range, so that none outlives its reason unseen."""
    unexplained = {
        tag: f"{target:.0f} mm, usually {low} to {high} mm"
        for tag, (target, low, high, comment) in outside(bike).items()
        if f"typical {low} to {high} mm" not in comment
    }
    assert unexplained == {}


@pytest.mark.parametrize("bike", FLEET)
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


def test_housing_with_a_part_in_it_counts_as_one() -> None:
    """The tandem's splitter takes the place of housing: what the line measures is both sides and the part."""
    length, line = lengths("tandem")["B1+B2"]
    before, after = (planned("tandem").piece(tag) for tag in ("B1", "B2"))
    assert before is not None
    assert after is not None
    assert line == "rear brake"
    assert length > before.target + after.target + 20
