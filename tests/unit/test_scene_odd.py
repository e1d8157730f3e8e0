"""Drawings of bikes unlike the usual one: all of it is there, in every pose, and where plain geometry puts it."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from oddbikes import ODD_BIKES, planned_odd
from printedtexts import check_texts
from scipy.spatial.transform import Rotation

from ropewalk.bike.poses import COORDINATES, SHOWN, poses
from ropewalk.cli.options import asked_pose
from ropewalk.drawing.cockpitview import cockpit_angles, cockpit_view
from ropewalk.drawing.pagepictures import cockpit_picture, side_picture
from ropewalk.drawing.posing import shown_words
from ropewalk.drawing.scene import Area, Box, Circle, Mark, Shape, View, bounds
from ropewalk.drawing.sheet import sheet
from ropewalk.drawing.sideview import side_view
from ropewalk.errors import ChoiceError
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.posed import posed_lines


@pytest.fixture(name="job", params=ODD_BIKES)
def _job(request: pytest.FixtureRequest) -> JobPlan:
    return planned_odd(request.param)


def extremes(job: JobPlan) -> list[dict[str, float]]:
    """Return the pose of rest, each coordinate alone at its end, and all of them together but the fold."""
    high = poses(job.model.frame).high
    alone = [{name: float(most)} for name, most in zip(COORDINATES, high, strict=True) if most > 0.0]
    together = {name: value for one in alone for name, value in one.items() if name != "fold"}
    return [{}, *alone, together]


def tyres(view: View) -> tuple[Box, Box]:
    """Return the boxes about both tyres, the one drawn first first."""
    first, second = (bounds((shape,)) for shape in view.backdrop if isinstance(shape, Area) and shape.role == "tyre")
    return first, second


def middle(box: Box) -> np.ndarray:
    return np.array([(box.left + box.right) / 2.0, (box.bottom + box.top) / 2.0])


# All of it is there.


def test_everything_is_drawn_in_every_pose(job: JobPlan) -> None:
    for pose in extremes(job):
        view = side_view(job, pose)
        assert view.box.holds(bounds((*view.backdrop, *view.lines, *view.marks)))
        posed = posed_lines(job, pose)
        assert len(view.lines) == sum(len(line.spans) for line in posed)
        marks = {(mark.line, mark.name): mark.centre for mark in view.marks if isinstance(mark, Mark)}
        for place, line in enumerate(posed):
            for name, point in zip(line.station_names, line.stations, strict=True):
                np.testing.assert_allclose(marks[place, name], point[:2], atol=1e-9)
        for stroke in view.lines:
            assert np.isfinite(stroke.points).all()


def test_pictures_keep_all_notes_apart_and_on_the_paper(job: JobPlan) -> None:
    lock = poses(job.model.frame).lock
    scenes = [sheet(job, pose) for pose in extremes(job)]
    for narrow in (False, True):
        scenes += [side_picture(job, {"steer": -lock}, narrow=narrow), cockpit_picture(job, narrow=narrow)]
    for scene in scenes:
        assert Box(0.0, 0.0, scene.width, scene.height).holds(bounds(scene.shapes))
        assert not scene.left_out
        badges = [bounds((shape,)) for shape in scene.shapes if _is_badge(shape)]
        assert not any(one.overlaps(other) for one, other in itertools.combinations(badges, 2))
        check_texts(scene)


def _is_badge(shape: Shape) -> bool:
    return isinstance(shape, Area) and shape.role in ("tag", "look", "stop")


def test_every_tag_stands_in_the_side_view(job: JobPlan) -> None:
    tags = {piece.tag for line in job.lines for piece in line.pieces}
    for pose in extremes(job):
        assert {label.text for label in sheet(job, pose).labels() if label.role == "tag text"} >= tags


def test_the_cockpit_is_seen_from_above_with_and_without_a_top_tube(job: JobPlan) -> None:
    tubes = 1 if job.model.frame.tubes.top_tube is None else 2
    for angle in cockpit_angles(job):
        view = cockpit_view(job, {"steer": angle})
        assert view.box.holds(bounds((*view.backdrop, *view.lines, *view.marks)))
        shown = [shape for shape in view.backdrop if isinstance(shape, Area) and shape.role in ("tube", "far tube")]
        # the head tube besides
        assert len(shown) == tubes + 1


# Where plain geometry puts it.


def test_fork_travel_lifts_the_wheel_along_the_steering_axis() -> None:
    job = planned_odd("trail")
    angle = math.radians(64.5)
    rest, pushed = (max(tyres(side_view(job, pose)), key=lambda box: box.right) for pose in ({}, {"fork": 140.0}))
    moved = middle(pushed) - middle(rest)
    assert moved == pytest.approx([-140.0 * math.cos(angle), 140.0 * math.sin(angle)], abs=0.3)


def test_rear_travel_swings_the_wheel_about_its_pivot() -> None:
    """The pivot is 15 mm ahead of and 45 mm over the bottom bracket; the axle starts 32 mm over it."""
    job = planned_odd("trail")
    rest, raised = (min(tyres(side_view(job, pose)), key=lambda box: box.left) for pose in ({}, {"rear": 130.0}))
    back = math.sqrt(438.0**2 - 32.0**2)
    arm = math.hypot(15.0 + back, 45.0 - 32.0)
    ahead = 15.0 - math.sqrt(arm**2 - (32.0 + 130.0 - 45.0) ** 2)
    assert middle(rest) == pytest.approx([-back, 32.0], abs=0.3)
    assert middle(raised) == pytest.approx([ahead, 32.0 + 130.0], abs=0.3)


def test_a_dropper_post_sinks_along_the_seat_tube() -> None:
    job = planned_odd("trail")
    up, down = (bounds((_saddle(side_view(job, pose)),)) for pose in ({}, {"post": 150.0}))
    angle = math.radians(77.0)
    assert middle(down) - middle(up) == pytest.approx([150.0 * math.cos(angle), -150.0 * math.sin(angle)], abs=1e-6)


def _saddle(view: View) -> Area:
    """Return the saddle: the longest shape that is drawn as tape."""
    taped = [shape for shape in view.backdrop if isinstance(shape, Area) and shape.role == "tape"]
    return max(taped, key=lambda shape: bounds((shape,)).width)


@pytest.mark.parametrize("turn_deg", [60.0, 170.0])
def test_a_folding_bike_s_front_wheel_swings_about_its_hinge(turn_deg: float) -> None:
    """About a plumb pin 30 mm to the right, 170 mm up the main tube; another library turns the axle."""
    job = planned_odd("folding")
    tube, bones = job.model.tubes["down tube"], job.model.skeleton
    pin = tube.end - 170.0 * tube.axis + np.array([0.0, 0.0, 30.0])
    axle = pin + Rotation.from_rotvec([0.0, math.radians(turn_deg), 0.0]).apply(bones.front_axle - pin)
    view = side_view(job, {"fold": math.radians(turn_deg)})
    centres = [middle(box) for box in tyres(view)]
    assert min(math.dist(centre, axle[:2]) for centre in centres) < 0.5
    assert min(math.dist(centre, bones.rear_axle[:2]) for centre in centres) < 0.5


def test_the_half_that_folds_to_the_left_is_drawn_behind_the_other() -> None:
    job = planned_odd("folding")
    first, second = tyres(side_view(job, {"fold": math.radians(170.0)}))
    rear = job.model.skeleton.rear_axle[:2]
    assert math.dist(middle(second), rear) < 0.5 < math.dist(middle(first), rear)


def test_springs_that_give_way_keep_both_wheels_on_the_ground() -> None:
    job = planned_odd("trail")
    view = side_view(job, {"fork": 140.0, "rear": 130.0})
    ground = next(shape for shape in view.backdrop if shape.role == "ground")
    start, end = ground.points  # type: ignore[union-attr]
    along = (end - start) / np.linalg.norm(end - start)
    for box in tyres(view):
        off = middle(box) - start
        assert abs(along[0] * off[1] - along[1] * off[0]) == pytest.approx(job.model.skeleton.wheel_radius, abs=0.5)


def test_a_tandem_has_two_saddles_two_brackets_and_every_tube() -> None:
    view = side_view(planned_odd("tandem"), {})
    shells = {
        tuple(shape.centre.round(6).tolist())
        for shape in view.backdrop
        if isinstance(shape, Circle) and shape.role == "tube"
    }
    assert shells == {(0.0, 0.0), (-710.0, 0.0)}
    wide = [bounds((shape,)) for shape in view.backdrop if isinstance(shape, Area) and shape.role == "tape"]
    assert len([box for box in wide if box.width > 280.0]) == 2
    # the boom tube, 44 mm thick between the brackets
    boom = Box(-710.0, -22.0, 0.0, 22.0)
    tubes = [bounds((shape,)) for shape in view.backdrop if isinstance(shape, Area) and shape.role == "tube"]
    assert any(
        (box.left, box.bottom, box.right, box.top)
        == pytest.approx((boom.left, boom.bottom, boom.right, boom.top), abs=0.1)
        for box in tubes
    )


def test_extensions_reach_as_far_as_their_figures_say() -> None:
    """300 mm ahead of the bar's clamp, 50 + 60 mm over it, half of 110 mm aside; the tube is 22.2 mm thick."""
    job = planned_odd("time trial")
    clamp = job.model.skeleton.bar_clamp
    from_above = cockpit_view(job, {"steer": 0.0})
    bars = [bounds((shape,)) for shape in from_above.backdrop if isinstance(shape, Area) and shape.role == "bar"]
    ahead = sorted(box.top - clamp[0] for box in bars)[-2:]
    # round ends stand out by half the tube
    assert ahead == pytest.approx([300.0 + 11.1] * 2, abs=0.2)
    aside = sorted((box.left + box.right) / 2.0 for box in bars if box.top - clamp[0] > 250.0)
    assert aside == pytest.approx([-55.0, 55.0], abs=0.1)


def test_a_tall_post_is_as_tall_as_it_is_and_its_bar_sits_on_top() -> None:
    job = planned_odd("folding")
    bones, tube = job.model.skeleton, job.model.tubes["bar post"]
    # upper cup of 12 and post of 300, then the clamp of 40 mm
    assert math.dist(bones.head_top, bones.steerer_top) == pytest.approx(12.0 + 300.0 + 40.0)
    assert tube.length == pytest.approx(340.0)
    assert bones.bar_clamp == pytest.approx(bones.stem_point)
    assert (tube.body_at(tube.start), tube.body_at(tube.end)) == ("fork", "bar")


# What may be asked.


def test_options_become_a_pose() -> None:
    sweep = poses(planned_odd("trail").model.frame)
    given = {"steer": "-40", "fork": "100", "rear": None, "fold": None, "post": "150"}
    assert asked_pose(sweep, given) == pytest.approx({"steer": math.radians(-40.0), "fork": 100.0, "post": 150.0})


def test_a_folded_bike_s_bars_point_as_its_file_says() -> None:
    frame = ODD_BIKES["folding"]()
    folds = tuple(fold.model_copy(update={"steer_deg": type(fold.steer_deg)(35.0)}) for fold in frame.fold)
    sweep = poses(frame.model_copy(update={"fold": folds}))
    assert asked_pose(sweep, {"steer": None, "fold": "170"}) == pytest.approx(
        {"fold": math.radians(170.0), "steer": math.radians(35.0)}
    )
    assert asked_pose(sweep, {"steer": "10", "fold": "170"})["steer"] == pytest.approx(math.radians(10.0))


@pytest.mark.parametrize(
    ("bike", "name", "text", "said"),
    [
        ("trail", "fork", "141", '--fork is "141": it has to be a number between 0 and 140 mm'),
        ("trail", "post", "deep", '--post is "deep": it has to be a number between 0 and 150 mm'),
        ("trail", "fold", "10", '--fold is "10": this bike has nothing that moves so; leave it out'),
        ("folding", "fold", "-5", '--fold is "-5": it has to be a number between 0 and 170°'),
    ],
)
def test_poses_that_a_bike_cannot_take_are_refused(bike: str, name: str, text: str, said: str) -> None:
    sweep = poses(ODD_BIKES[bike]())
    with pytest.raises(ChoiceError) as refused:
        asked_pose(sweep, {name: text})
    assert str(refused.value) == said


@pytest.mark.parametrize(
    ("pose", "words"),
    [
        ({"fork": 100.0}, "bars straight ahead, fork 100 mm in"),
        ({"steer": 0.5, "rear": 60.0}, "bars turned 28.6° to the right, rear wheel 60 mm up"),
        ({"fold": math.radians(170.0)}, "bars straight ahead, folded by 170°"),
    ],
)
def test_poses_in_words(pose: dict[str, float], words: str) -> None:
    assert shown_words(pose) == words
    assert set(pose) <= set(SHOWN)
