"""Drawings as they are handed out: legible, complete, the same every time, and safe with whatever names people give."""

from __future__ import annotations

import dataclasses
import io
import itertools
import math
import os
import subprocess
import sys
import xml.etree.ElementTree as ElementTree
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pypdfium2
import pytest
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from PIL import Image
from planned import BIKES, planned

from ropewalk.bike.poses import poses
from ropewalk.drawing.pagepictures import cockpit_picture, side_picture
from ropewalk.drawing.render import cockpit_svg, draw_scene, drawn, figure, scene_figure, svg
from ropewalk.errors import ChoiceError, OutputError
from ropewalk.workshop.jobplan import JobPlan

SPACE = "{http://www.w3.org/2000/svg}"
AWKWARD = 'Łódź <quay> & "tourer" $x^2$ \\alpha 漢字'


@pytest.fixture(scope="module", params=BIKES)
def job(request: pytest.FixtureRequest) -> JobPlan:
    return planned(request.param)


@pytest.fixture(scope="module")
def touring() -> JobPlan:
    return planned("touring")


def tags(job: JobPlan) -> set[str]:
    return {piece.tag for line in job.lines for piece in line.pieces}


def texts(document: str | bytes) -> list[str]:
    return [element.text or "" for element in ElementTree.fromstring(document).iter(f"{SPACE}text")]


# Legible.


def figures(job: JobPlan) -> list[Figure]:
    lock = poses(job.model.frame).lock
    sheets = [figure(job, {"steer": steer}) for steer in (0.0, math.radians(40), math.radians(-40), lock, -lock)]
    scenes = [(side_picture(job, {"steer": 0.5}, narrow=it), cockpit_picture(job, narrow=it)) for it in (False, True)]
    return [*sheets, *(scene_figure(scene) for pair in scenes for scene in pair)]


def test_no_text_overlaps_another_or_leaves_the_paper(job: JobPlan) -> None:
    for made in figures(job):
        assert isinstance(made.canvas, FigureCanvasAgg)
        renderer = made.canvas.get_renderer()
        boxes = [(text.get_text(), text.get_window_extent(renderer)) for text in made.axes[0].texts]
        assert len(boxes) >= len(tags(job))
        for _, box in boxes:
            assert made.bbox.x0 <= box.x0 and box.x1 <= made.bbox.x1
            assert made.bbox.y0 <= box.y0 and box.y1 <= made.bbox.y1
        overlapping = [
            (one, other)
            for (one, a), (other, b) in itertools.combinations(boxes, 2)
            if a.x0 < b.x1 and b.x0 < a.x1 and a.y0 < b.y1 and b.y0 < a.y1
        ]
        assert overlapping == []


def test_no_type_is_tiny_on_paper(job: JobPlan) -> None:
    """Nothing under 6 points, the least that print guides commonly advise (common practice)."""
    assert min(text.get_size() for text in figure(job).axes[0].texts) >= 6.0


# Complete.


def test_the_page_gets_svg_with_all_tags_as_text(job: JobPlan) -> None:
    document = svg(job, {"steer": math.radians(25.0)})
    root = ElementTree.fromstring(document)
    assert root.tag == f"{SPACE}svg"
    assert root.get("role") == "img"
    title = root.find(f"{SPACE}title")
    assert title is not None
    assert root.get("aria-label") == title.text == f"{job.bike}, bars turned 25° to the right: lines in place"
    assert tags(job) <= set(texts(document))
    told = " ".join(texts(document))
    assert all(line.name in told and line.lever in told for line in job.lines)


@pytest.mark.parametrize("narrow", [False, True], ids=["wide", "narrow"])
def test_the_cockpit_is_shown_in_three_poses(job: JobPlan, narrow: bool) -> None:
    lock = f"{math.degrees(poses(job.model.frame).lock):.0f}°"
    found = texts(cockpit_svg(job, narrow=narrow))
    assert {f"left lock, {lock}", "straight ahead, from above", f"right lock, {lock}"} <= set(found)
    first = {line.pieces[0].tag for line in job.lines}
    assert all(found.count(tag) == 3 for tag in first)


def test_the_sheet_carries_name_angle_caution_and_tags(job: JobPlan) -> None:
    found = texts(drawn(job, ".svg", {"steer": math.radians(-33.0)}))
    assert {job.bike, "bars turned 33° to the left", job.cautions[0]} | tags(job) <= set(found)


def test_the_pdf_is_one_page_of_a4_across_with_its_text(job: JobPlan) -> None:
    document = pypdfium2.PdfDocument(drawn(job, ".pdf"))
    assert len(document) == 1
    assert document[0].get_size() == pytest.approx((297 / 25.4 * 72, 210 / 25.4 * 72), abs=0.01)
    text = document[0].get_textpage().get_text_bounded()
    assert all(word in text for word in (*tags(job), job.bike, job.cautions[0]))
    known = document.get_metadata_dict()
    assert known["Title"].startswith(job.bike)
    assert (known["CreationDate"], known["ModDate"]) == ("", "")


def test_the_png_is_a4_across_at_its_own_resolution(job: JobPlan) -> None:
    with Image.open(io.BytesIO(drawn(job, ".png"))) as image:
        across, up = image.info["dpi"]
        assert image.width / across * 25.4 == pytest.approx(297.0, abs=0.2)
        assert image.height / up * 25.4 == pytest.approx(210.0, abs=0.2)
        # ink in every ninth of the picture's upper two rows: nothing is missing, nothing is all black
        grey = image.convert("L")
    for row, column in itertools.product(range(2), range(3)):
        part = grey.crop(
            (
                column * grey.width // 3,
                row * grey.height // 3,
                (column + 1) * grey.width // 3,
                (row + 1) * grey.height // 3,
            )
        )
        low, high = part.getextrema()
        assert low < 120 and high == 255


def test_a_scene_is_drawn_on_the_axes_given(touring: JobPlan) -> None:
    made = Figure(figsize=(8.0, 6.0))
    axes: Axes = made.add_axes((0.1, 0.1, 0.5, 0.5))
    scene = side_picture(touring)
    draw_scene(scene, axes)
    assert (axes.get_xlim(), axes.get_ylim()) == ((0.0, scene.width), (0.0, scene.height))
    assert tags(touring) <= {text.get_text() for text in axes.texts}


# Awkward names.


def test_names_are_escaped_and_printed(touring: JobPlan) -> None:
    line = dataclasses.replace(touring.lines[0], name="Łukasz & <b>front</b>")
    job = dataclasses.replace(touring, bike=AWKWARD, lines=(line, *touring.lines[1:]))
    found = texts(drawn(job, ".svg"))
    assert AWKWARD in found
    assert line.name in found
    root = ElementTree.fromstring(svg(job))
    assert str(root.get("aria-label")).startswith(AWKWARD)
    assert {element.tag for element in root.iter()} <= {
        f"{SPACE}{name}" for name in ("svg", "title", "desc", "path", "circle", "text")
    }
    # the typeface has no such signs, so a picture shows that something is left out
    printed = pypdfium2.PdfDocument(drawn(job, ".pdf"))[0].get_textpage().get_text_bounded()
    assert AWKWARD.removesuffix("漢字") in printed
    assert line.name in printed
    assert drawn(job, ".png").startswith(b"\x89PNG")


def test_characters_that_xml_cannot_carry_are_replaced(touring: JobPlan) -> None:
    job = dataclasses.replace(touring, bike="Quay\x08 \ud800tourer")
    assert "Quay\ufffd \ufffdtourer" in texts(drawn(job, ".svg"))


# The same every time.


@pytest.mark.parametrize("suffix", [".svg", ".png", ".pdf"])
def test_the_same_job_gives_the_same_bytes(touring: JobPlan, suffix: str) -> None:
    assert drawn(touring, suffix, {"steer": 0.3}) == drawn(touring, suffix, {"steer": 0.3})
    assert drawn(touring, suffix, {"steer": 0.3}) != drawn(touring, suffix, {"steer": 0.31})


def test_another_process_gives_the_same_bytes(tmp_path: Path) -> None:
    command = Path(sys.executable).with_name("ropewalk")
    for seed in ("1", "2"):
        subprocess.run(
            [command, "draw", "hardtail", "-o", tmp_path / f"{seed}.svg", "--steer", "20"],
            env={**os.environ, "PYTHONHASHSEED": seed},
            check=True,
            timeout=120,
            capture_output=True,
        )
    assert (tmp_path / "1.svg").read_bytes() == (tmp_path / "2.svg").read_bytes()


def test_threads_draw_what_one_draws(touring: JobPlan) -> None:
    alone = [drawn(touring, suffix) for suffix in (".svg", ".png")]
    with ThreadPoolExecutor(4) as pool:
        together = list(pool.map(lambda suffix: drawn(touring, suffix), [".svg", ".png"] * 3))
    assert together == alone * 3


def test_drawing_needs_no_global_plotting_state() -> None:
    script = "import sys, ropewalk.drawing.render; print('matplotlib.pyplot' in sys.modules)"
    ended = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, timeout=60)
    assert ended.stdout == "False\n"


# Refused.


def test_bars_that_do_not_turn_so_far_are_refused(touring: JobPlan) -> None:
    for draw in (svg, figure):
        with pytest.raises(ChoiceError) as refused:
            draw(touring, {"steer": math.radians(89.0)})
        assert str(refused.value) == "steering angle is 89°: it moves 75° to each side"


def test_other_kinds_of_file_are_refused(touring: JobPlan) -> None:
    with pytest.raises(OutputError, match=r'^"\.dwg" is no kind of drawing: .*\.svg, \.png, \.pdf$'):
        drawn(touring, ".dwg")
