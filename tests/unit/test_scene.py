"""Scenes: shapes on paper, silhouettes against closed forms, colours against what eyes can tell apart."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from fontTools.ttLib import TTFont
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.font_manager import FontProperties, findfont
from shapely import Polygon
from sight import SIGHT, lab, linear, luminance

from ropewalk.drawing.badges import Placed
from ropewalk.drawing.covering import field_of
from ropewalk.drawing.lettering import FAMILY, shortened, text_width
from ropewalk.drawing.notes import GAP, note_size, place_notes
from ropewalk.drawing.outlines import rounded, sign_outline
from ropewalk.drawing.scene import Area, Box, Circle, Fit, Label, Mark, Polyline, Wanted, bounds
from ropewalk.drawing.silhouettes import from_the_right
from ropewalk.drawing.solids import STILL, Barrel, ring_about, seen
from ropewalk.drawing.style import CHALK, SIGNALS, SIGNS, STYLES, sign, signal

# Paper.


def test_a_fit_carries_every_shape_and_back() -> None:
    fit = Fit("side", 0.1, 20.0, -5.0)
    square = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 50.0]])
    stroke, area, circle = (
        fit.shape(Polyline(square, "housing", 8.0)),
        fit.shape(Area((square,), "tube")),
        fit.shape(Circle(square[1], 30.0, "tyre")),
    )
    mark, label = fit.shape(Mark(square[2], "disc", 1.5, "station")), fit.shape(Label(square[2], "A1", 3.0))
    assert isinstance(stroke, Polyline) and isinstance(area, Area) and isinstance(circle, Circle)
    assert isinstance(mark, Mark) and isinstance(label, Label)
    for found in (stroke.points, area.rings[0]):
        np.testing.assert_allclose(found, [[20.0, -5.0], [30.0, -5.0], [30.0, 0.0]], atol=1e-12)
    assert stroke.width == pytest.approx(0.8)
    assert (circle.centre.tolist(), circle.radius) == (pytest.approx([30.0, -5.0]), pytest.approx(3.0))
    # signs and letters keep their size on paper
    assert (mark.size, label.size) == (1.5, 3.0)
    assert mark.centre.tolist() == label.at.tolist() == pytest.approx([30.0, 0.0])
    np.testing.assert_allclose(fit.back(stroke.points), square, atol=1e-9)


def test_bounds_hold_all_shapes() -> None:
    shapes = (
        Polyline(np.array([[0.0, 1.0], [2.0, 3.0]]), "rule"),
        Circle(np.array([10.0, 0.0]), 4.0, "hint"),
        Label(np.array([-3.0, 8.0]), "words", 2.0),
    )
    found = bounds(shapes)
    assert (found.left, found.bottom, found.right, found.top) == (-3.0, -4.0, 14.0, 8.0)


@pytest.mark.parametrize(
    ("other", "gap", "meets"),
    [(Box(9, 0, 12, 5), 0.0, True), (Box(10, 0, 12, 5), 0.0, False), (Box(11, 0, 12, 5), 1.5, True)],
)
def test_boxes_overlap(other: Box, gap: float, meets: bool) -> None:
    box = Box(0, 0, 10, 5)
    assert box.overlaps(other, gap) is other.overlaps(box, gap) is meets


# Silhouettes.


@pytest.mark.parametrize("tilt_deg", [0.0, 25.0, 60.0, 90.0])
def test_a_cylinders_shadow_has_the_area_of_its_closed_form(tilt_deg: float) -> None:
    """The shadow of a cylinder seen at an angle φ to its axis: 2rL sin φ + πr² |cos φ| (elementary)."""
    radius, length = 14.0, 320.0
    tilt = math.radians(tilt_deg)
    end = length * np.array([math.cos(tilt), 0.0, math.sin(tilt)])
    (shadow,) = seen(Barrel(np.zeros(3), end, radius, "tube"), STILL, from_the_right)
    assert isinstance(shadow, Area)
    area = Polygon(shadow.rings[0]).area
    exact = 2.0 * radius * length * math.cos(tilt) + math.pi * radius**2 * math.sin(tilt)
    # circles of 24 corners fall short by up to 1.2 %
    assert exact * 0.985 < area < exact * 1.000001


@pytest.mark.parametrize("turned_deg", [0.0, 40.0, 75.0, 90.0])
def test_a_turned_wheel_is_as_wide_as_its_closed_form(turned_deg: float) -> None:
    """A ring of round section turned about the plumb line: its middle circle's half width r cos ψ, and w/2 beyond."""
    middle, width = 330.0, 40.0
    turned = math.radians(turned_deg)
    axis = np.array([math.sin(turned), 0.0, math.cos(turned)])
    ring = ring_about(np.zeros(3), axis, middle, width, "tyre")
    box = bounds(tuple(seen(ring, STILL, from_the_right)))
    assert box.right == pytest.approx(middle * math.cos(turned) + width / 2.0, abs=0.6)
    assert box.top == pytest.approx(middle + width / 2.0, abs=0.6)


# Colours.


@pytest.mark.parametrize("sight", SIGHT)
def test_the_lines_colours_are_told_apart(sight: str) -> None:
    seen = [lab(np.array(SIGHT[sight]) @ linear(colour)) for colour in SIGNALS]
    assert min(float(np.linalg.norm(a - b)) for a, b in itertools.combinations(seen, 2)) > 20.0


@pytest.mark.parametrize("colour", SIGNALS)
def test_the_lines_colours_stand_out_from_the_ground(colour: str) -> None:
    """At least 3 : 1 for what is drawn (WCAG 2.2, success criterion 1.4.11)."""
    assert (luminance(CHALK) + 0.05) / (luminance(colour) + 0.05) >= 3.0


@pytest.mark.parametrize(
    ("role", "ground"), [("text", CHALK), ("quiet text", CHALK), ("stop text", "stop"), ("text", "look")]
)
def test_text_can_be_read(role: str, ground: str) -> None:
    """At least 4.5 : 1 for text (WCAG 2.2, success criterion 1.4.3)."""
    shades = sorted(
        luminance(str(colour)) for colour in (STYLES[role].fill, ground if ground == CHALK else STYLES[ground].fill)
    )
    assert (shades[1] + 0.05) / (shades[0] + 0.05) >= 4.5


def test_no_two_of_thirty_lines_look_alike() -> None:
    assert len({(signal(place), sign(place)) for place in range(30)}) == 30


def test_signs_look_equally_large() -> None:
    outlines = [sign_outline(Mark(np.zeros(2), shape, 1.0, "sign")) for shape in SIGNS]
    areas = [math.pi / 4 if outline is None else Polygon(outline).area for outline in outlines]
    assert max(areas) < 2.0 * min(areas)


def test_a_rounded_box_is_its_box_less_the_corners() -> None:
    found = Polygon(rounded(Box(1.0, 2.0, 11.0, 6.0), 1.5))
    assert found.bounds == pytest.approx((1.0, 2.0, 11.0, 6.0))
    assert found.area == pytest.approx(40.0 - (4.0 - math.pi) * 1.5**2, rel=5e-3)


# Letters.


@pytest.mark.parametrize("bold", [False, True])
def test_text_is_as_wide_as_the_typefaces_own_table_says(bold: bool) -> None:
    """Advance widths read from the table hmtx of the typeface (OpenType specification) by another library."""
    font = TTFont(findfont(FontProperties(family=FAMILY, weight="bold" if bold else "normal")))
    names, advances, units = font.getBestCmap(), font["hmtx"], font["head"].unitsPerEm
    for text in ("rear derailleur", "B2", "Łódź → 545 mm", "<&>"):
        expected = sum(advances[names[ord(character)]][0] for character in text) / units * 2.75
        assert text_width(text, 2.75, bold=bold) == pytest.approx(expected, rel=1e-3)


@given(text=st.text(max_size=40), room=st.floats(5.0, 60.0))
def test_shortened_text_fits(text: str, room: float) -> None:
    found = shortened(text, 2.5, room)
    assert found == text or (found.endswith("…") and text_width(found, 2.5) <= room)


# Notes.


def random_notes(seed: int, count: int) -> tuple[list[Wanted], list[Polyline]]:
    generator = np.random.default_rng(seed)
    wanted, strokes = [], []
    for place in range(count):
        start, middle, end = generator.uniform(5.0, 95.0, (3, 2))
        share = np.linspace(0.0, 1.0, 30)[:, None]
        path = (1 - share) ** 2 * start + 2 * share * (1 - share) * middle + share**2 * end
        strokes.append(Polyline(path, "housing", 0.8, place))
        words = ("tag", (f"A{place}",)) if place % 3 else ("look", (f"A{place} bends to 47 mm", "advised 50 mm"))
        wanted.append(Wanted(words[1], words[0], place, path))
    return wanted, strokes


def settled(seed: int, count: int) -> tuple[Box, list[Placed], list[Wanted]]:
    box = Box(0.0, 0.0, 100.0, 100.0)
    wanted, strokes = random_notes(seed, count)
    placed, left_out = place_notes(wanted, field_of(box, strokes, [], []), strokes, 2.7, [Box(0.0, 90.0, 30.0, 100.0)])
    return box, placed, left_out


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10**6), count=st.integers(1, 9))
def test_notes_keep_apart_and_stay_on_the_paper(seed: int, count: int) -> None:
    box, placed, left_out = settled(seed, count)
    assert not left_out
    assert len(placed) == count
    for note in placed:
        assert box.holds(note.box)
        assert not note.box.overlaps(Box(0.0, 90.0, 30.0, 100.0))
        assert (note.box.width, note.box.height) == pytest.approx(note_size(note.wanted, 2.7))
        # the leader starts on the line and ends on the edge of the box
        assert np.linalg.norm(note.wanted.path - note.leader[0], axis=1).min() < 1e-9
        x, y = note.leader[1].tolist()
        assert note.box.left - 1e-6 <= x <= note.box.right + 1e-6 and note.box.bottom - 1e-6 <= y <= note.box.top + 1e-6
    for one, other in itertools.combinations(placed, 2):
        assert not one.box.overlaps(other.box, GAP - 1e-6)


def test_notes_without_room_are_left_out_not_piled_up() -> None:
    box, placed, left_out = settled(1, 90)
    assert placed and left_out
    assert len(placed) + len(left_out) == 90
    assert not any(one.box.overlaps(other.box) for one, other in itertools.combinations(placed, 2))
    assert all(box.holds(note.box) for note in placed)


def test_a_note_points_to_where_its_line_is_alone() -> None:
    """Of two lines that run together for half their way, each tag picks the half where they are apart."""
    share = np.linspace(0.0, 1.0, 40)
    together = np.stack([10.0 + 40.0 * share, np.full(40, 50.0)], axis=1)
    paths = [
        np.concatenate([together, np.stack([50.0 + 40.0 * share, 50.0 + way * 30.0 * share], axis=1)])
        for way in (1, -1)
    ]
    strokes = [Polyline(path, "housing", 0.8, place) for place, path in enumerate(paths)]
    wanted = [Wanted((f"{'AB'[place]}1",), "tag", place, path) for place, path in enumerate(paths)]
    box = Box(0.0, 0.0, 100.0, 100.0)
    placed, _ = place_notes(wanted, field_of(box, strokes, [], []), strokes, 2.7)
    assert all(float(note.leader[0, 0]) > 51.0 for note in placed)
