"""Views of planned bikes: everything is there, and where the plan says."""

from __future__ import annotations

import dataclasses
import itertools
import math
from collections.abc import Sequence

import numpy as np
import pytest
from planned import BIKES, planned
from scipy.spatial.transform import Rotation
from shapely import LineString, Point

from ropewalk.bike.poses import poses
from ropewalk.drawing import cockpitview
from ropewalk.drawing.cockpitview import cockpit_angles, cockpit_view
from ropewalk.drawing.legend import legend
from ropewalk.drawing.pagepictures import cockpit_picture, side_picture
from ropewalk.drawing.posing import shown_words
from ropewalk.drawing.scene import Area, Box, Circle, Label, Mark, Polyline, Scene, Shape, View, bounds
from ropewalk.drawing.sheet import sheet
from ropewalk.drawing.sideview import side_view
from ropewalk.errors import ChoiceError
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.posed import PosedLine, posed_lines

ANGLES = (0.0, math.radians(40.0), math.radians(-40.0))


@pytest.fixture(scope="module", params=BIKES)
def job(request: pytest.FixtureRequest) -> JobPlan:
    return planned(request.param)


def tags(job: JobPlan) -> set[str]:
    return {piece.tag for line in job.lines for piece in line.pieces}


# The side view.


@pytest.mark.parametrize("steer", ANGLES)
def test_spans_are_drawn_where_they_run(job: JobPlan, steer: float) -> None:
    drawn = list(side_view(job, {"steer": steer}).lines)
    for place, line in enumerate(posed_lines(job, {"steer": steer})):
        for span in line.spans:
            match = [
                shape
                for shape in drawn
                if shape.line == place
                and shape.points.shape == (len(span.points), 2)
                and np.allclose(shape.points, span.points[:, :2], atol=1e-9)
            ]
            assert len(match) == 1
            assert match[0].tag == span.tag
            inside, covered = "inside" in match[0].role, match[0].role.endswith("housing")
            assert (inside, covered) == (span.kind == "inside", span.covered)
    assert len(drawn) == sum(len(line.route.spans) for line in job.routing)


@pytest.mark.parametrize("steer", ANGLES)
def test_every_station_is_marked(job: JobPlan, steer: float) -> None:
    marks = [mark for mark in side_view(job, {"steer": steer}).marks if isinstance(mark, Mark)]
    found = {(mark.line, mark.name): mark.centre for mark in marks}
    for place, line in enumerate(posed_lines(job, {"steer": steer})):
        for name, point in zip(line.station_names, line.stations, strict=True):
            np.testing.assert_allclose(found[place, name], point[:2], atol=1e-9)
    assert len(found) == sum(len(line.stations) for line in job.routing)


def test_every_piece_wants_a_tag(job: JobPlan) -> None:
    assert {note.text[0] for note in side_view(job, {"steer": 0.3}).wanted} == tags(job)


@pytest.mark.parametrize("steer", ANGLES)
def test_the_front_wheel_turns_about_the_steering_axis(job: JobPlan, steer: float) -> None:
    """Its silhouette against a torus turned by another library: height r √(1 − a_y²) + w/2 about a turned axle."""
    bones = job.model.skeleton
    turn = Rotation.from_rotvec(steer * bones.steering_axis)
    centre = bones.head_top + turn.apply(bones.front_axle - bones.head_top)
    axis = turn.apply([0.0, 0.0, 1.0])
    width, bead = (float(part) for part in job.model.frame.chart.wheel.split("-"))
    middle = bead / 2.0 + width / 2.0
    tyres = [
        shape for shape in side_view(job, {"steer": steer}).backdrop if isinstance(shape, Area) and shape.role == "tyre"
    ]
    front = max((bounds((tyre,)) for tyre in tyres), key=lambda box: box.right)
    for axle, low, high in ((centre[0], front.left, front.right), (centre[1], front.bottom, front.top)):
        assert (low + high) / 2.0 == pytest.approx(axle, abs=0.6)
    assert front.width / 2.0 == pytest.approx(middle * math.sqrt(1.0 - axis[0] ** 2) + width / 2.0, abs=0.6)
    assert front.height / 2.0 == pytest.approx(middle * math.sqrt(1.0 - axis[1] ** 2) + width / 2.0, abs=0.6)


def test_both_tyres_stand_on_the_ground(job: JobPlan) -> None:
    shapes = side_view(job, {"steer": 0.0}).backdrop
    ground = next(shape for shape in shapes if isinstance(shape, Polyline) and shape.role == "ground")
    lows = [bounds((shape,)).bottom for shape in shapes if isinstance(shape, Area) and shape.role == "tyre"]
    assert len(lows) == 2
    # charts close to 5 mm
    assert lows == pytest.approx([float(ground.points[0, 1])] * 2, abs=6.0)


def test_the_side_view_keeps_its_scale_while_the_bars_turn(job: JobPlan) -> None:
    lock = poses(job.model.frame).lock
    boxes = [side_view(job, {"steer": share * lock}, steady=True).box for share in (-1.0, -0.6, -0.2, 0.0, 0.5, 1.0)]
    assert max(box.width for box in boxes) < 1.03 * min(box.width for box in boxes)
    assert max(box.height for box in boxes) < 1.03 * min(box.height for box in boxes)


def test_the_view_holds_all_it_draws(job: JobPlan) -> None:
    for view in (
        side_view(job, {"steer": 0.5}),
        *(cockpit_view(job, {"steer": angle}) for angle in cockpit_angles(job)),
    ):
        assert view.box.holds(bounds((*view.backdrop, *view.lines, *view.marks)))


def test_bars_that_do_not_turn_so_far_are_refused_in_one_line(job: JobPlan) -> None:
    beyond = poses(job.model.frame).lock + math.radians(2.0)
    for view in (side_view, cockpit_view, sheet, side_picture):
        with pytest.raises(ChoiceError, match=r"^steering angle is .*°: it moves \d+° to each side$"):
            view(job, {"steer": beyond})


# The cockpit.


def test_the_cockpit_shows_every_line_where_it_runs(job: JobPlan) -> None:
    lock = poses(job.model.frame).lock
    assert cockpit_angles(job) == (-lock, 0.0, lock)
    for angle in cockpit_angles(job):
        view = cockpit_view(job, {"steer": angle})
        for place, line in enumerate(posed_lines(job, {"steer": angle})):
            expected = line.spans[0].points[:, [2, 0]]
            drawn = [shape.points for shape in view.lines if shape.line == place]
            assert any(points.shape == expected.shape and np.allclose(points, expected, atol=1e-9) for points in drawn)


def test_the_cockpit_mirrors_between_the_locks(job: JobPlan) -> None:
    """The bar at left lock is the mirror image of the bar at right lock."""
    left, right = (_bar(cockpit_view(job, {"steer": angle})) for angle in cockpit_angles(job)[::2])
    assert (left.left, left.right) == pytest.approx((-right.right, -right.left), abs=1e-6)
    assert (left.bottom, left.top) == pytest.approx((right.bottom, right.top), abs=1e-6)


def _bar(view: View) -> Box:
    return bounds(tuple(shape for shape in view.backdrop if shape.role in ("bar", "tape")))


def _with_radii(kink: float, advised: float, lines: Sequence[PosedLine]) -> tuple[PosedLine, ...]:
    return tuple(
        dataclasses.replace(
            line,
            spans=tuple(
                dataclasses.replace(span, kink_radius=kink, advised_radius=advised) if span.covered else span
                for span in line.spans
            ),
        )
        for line in lines
    )


@pytest.mark.parametrize(
    ("kink", "advised", "role", "words"),
    [(1.0, 900.0, "look", "advised 900 mm"), (900.0, 950.0, "stop", "kinks under 900 mm"), (1.0, 1.0, "", "")],
)
def test_tight_bends_are_marked_where_they_are_tightest(
    job: JobPlan, kink: float, advised: float, role: str, words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    angle = cockpit_angles(job)[2]
    lines = _with_radii(kink, advised, posed_lines(job, {"steer": angle}))
    monkeypatch.setattr(cockpitview, "posed_lines", lambda *_: lines)
    view = cockpit_view(job, {"steer": angle})
    notes = [note for note in view.wanted if note.role != "tag"]
    spots = [mark for mark in view.marks if mark.role.endswith("spot")]
    if not role:
        assert not notes and not spots
        return
    assert len(notes) == len(spots) >= len(job.lines)
    for note, spot in zip(notes, spots, strict=True):
        assert (note.role, spot.role, note.text[1]) == (role, f"{role} spot", words)
        spans = [span for span in lines[note.line].spans if span.kind == "loop" and span.tag == note.text[0].split()[0]]
        span = min(spans, key=lambda one: LineString(one.points[:, [2, 0]]).distance(Point(spot.centre)))
        assert f"bends to {span.least_radius:.0f} mm" in note.text[0]
        # the circle through three neighbouring points is no wider than anywhere else on the loop
        radii = [_circumradius(*three) for three in zip(span.points, span.points[1:], span.points[2:], strict=False)]
        tightest = span.points[1 + int(np.argmin(radii))]
        assert math.dist(spot.centre, tightest[[2, 0]]) < 12.0


def _circumradius(a: np.ndarray, b: np.ndarray, c: np.ndarray) -> float:
    """Radius of the circle through three points: abc / 4 area (Heron)."""
    sides = math.dist(a, b), math.dist(b, c), math.dist(a, c)
    half = sum(sides) / 2.0
    area = math.sqrt(max(half * math.prod(half - side for side in sides), 1e-18))
    return math.prod(sides) / (4.0 * area)


# Whole pictures.


def pictures(job: JobPlan) -> list[Scene]:
    lock = poses(job.model.frame).lock
    return [
        sheet(job, {"steer": 0.0}),
        sheet(job, {"steer": -lock}),
        *(side_picture(job, {"steer": 0.4}, narrow=narrow) for narrow in (False, True)),
        *(cockpit_picture(job, narrow=narrow) for narrow in (False, True)),
    ]


def test_pictures_hold_every_tag_on_the_paper(job: JobPlan) -> None:
    for scene in pictures(job):
        paper = Box(0.0, 0.0, scene.width, scene.height)
        assert paper.holds(bounds(scene.shapes))
        assert not scene.left_out
    for scene in (sheet(job, {"steer": 0.2}), side_picture(job, {"steer": 0.2})):
        assert tags(job) <= {label.text for label in scene.labels() if label.role == "tag text"}


def test_the_paper_scene_is_the_view_drawn_to_scale(job: JobPlan) -> None:
    steer = 0.6
    scene = sheet(job, {"steer": steer})
    view, fit = side_view(job, {"steer": steer}), scene.fit("side")
    drawn = [shape.points for shape in scene.shapes if isinstance(shape, Polyline) and shape.line is not None]
    for line in view.lines:
        assert any(points.shape == line.points.shape and np.allclose(fit.back(points), line.points) for points in drawn)
    assert fit.scale > 1 / 13


def test_leaders_start_on_the_piece_they_name(job: JobPlan) -> None:
    scene = side_picture(job, {"steer": -0.5})
    lines = posed_lines(job, {"steer": -0.5})
    fit = scene.fit("side")
    ends = [shape for shape in scene.shapes if isinstance(shape, Mark) and shape.role == "leader end"]
    named = [shape for shape in scene.shapes if isinstance(shape, Label) and shape.role == "tag text"]
    assert {label.text for label in named} == tags(job)
    for end, label in zip(sorted(ends, key=lambda mark: mark.line or 0), _by_line(named), strict=True):
        own = [span for line in lines for span in line.spans if span.tag == label.text]
        point = Point(fit.back(end.centre))
        assert min(LineString(span.points[:, :2]).distance(point) for span in own) < 0.5


def _by_line(labels: list[Label]) -> list[Label]:
    return sorted(labels, key=lambda label: label.line or 0)


def test_badges_keep_apart(job: JobPlan) -> None:
    for scene in pictures(job):
        badges = [bounds((shape,)) for shape in scene.shapes if _is_badge(shape)]
        assert len(badges) >= len(tags(job)) - 1
        assert not any(one.overlaps(other) for one, other in itertools.combinations(badges, 2))


def _is_badge(shape: Shape) -> bool:
    return isinstance(shape, Area) and shape.role in ("tag", "look", "stop")


def test_the_scale_bar_is_as_long_as_it_says(job: JobPlan) -> None:
    scene = side_picture(job, {"steer": 0.0})
    said = next(label for label in scene.labels() if label.text.endswith(" mm"))
    halves = bounds(
        tuple(
            shape for shape in scene.shapes if isinstance(shape, Area) and shape.role in ("dimension fill", "station")
        )
    )
    assert halves.width / scene.fit("side").scale == pytest.approx(float(said.text.removesuffix(" mm")))


def test_the_legend_names_lines_levers_and_first_cuts(job: JobPlan) -> None:
    texts = {label.text for label in sheet(job, {"steer": 0.0}).labels()}
    for line in job.lines:
        assert {line.name, line.lever} <= texts
        for piece in line.pieces:
            assert f"{piece.start} → {piece.end}" in texts
            assert f"{piece.first_cut:.0f} mm" in texts


@pytest.mark.parametrize(
    ("times", "said"), [(1, None), (4, "their pieces: see the cut list"), (9, "more: see the cut list")]
)
def test_a_long_legend_says_what_it_leaves_out(times: int, said: str | None) -> None:
    job = planned("touring")
    box = Box(0.0, 0.0, 86.0, 100.0)
    shapes = tuple(legend(dataclasses.replace(job, lines=job.lines * times), box, 2.9, frozenset({"housing", "inner"})))
    assert box.holds(bounds(shapes))
    texts = [shape.text for shape in shapes if isinstance(shape, Label)]
    assert any("see the cut list" in text for text in texts) is (said is not None)
    assert said is None or any(text.endswith(said) for text in texts)


def test_a_piece_under_a_stop_has_no_cut() -> None:
    job = planned("touring")
    first = job.lines[0]
    stopped = dataclasses.replace(
        first, pieces=tuple(dataclasses.replace(piece, first_cut=None) for piece in first.pieces)
    )
    shapes = legend(dataclasses.replace(job, lines=(stopped,)), Box(0.0, 0.0, 86.0, 100.0), 2.9, frozenset({"housing"}))
    assert [shape.text for shape in shapes if isinstance(shape, Label) and shape.align == "right"][1:] == ["no cut"]


@pytest.mark.parametrize(
    ("steer_deg", "words"),
    [(0.0, "bars straight ahead"), (62.0, "bars turned 62° to the right"), (-7.5, "bars turned 7.5° to the left")],
)
def test_steering_in_words(steer_deg: float, words: str) -> None:
    assert shown_words({"steer": math.radians(steer_deg)}) == words


def test_circles_are_among_the_shapes_of_a_bike(job: JobPlan) -> None:
    assert any(isinstance(shape, Circle) for shape in side_view(job, {"steer": 0.0}).backdrop)
