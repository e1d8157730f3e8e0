"""Joints against a reference library of rotations, composed motions against 4×4 matrices."""

import math

import makers
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from ropewalk.bike.mechanism import Joint, Mechanism
from ropewalk.bike.model import build
from ropewalk.bike.vectors import unit, vector
from ropewalk.errors import ChoiceError


@pytest.fixture(name="bike", scope="module")
def _bike():
    return build(makers.frame())


def _folding_mechanism():
    """A made-up chain: the bar folds on the fork, which slides along and turns about an axis; the rear swings."""
    axis = unit(vector(0.3, -0.95, 0.0))
    foot = vector(400.0, 500.0, 0.0)
    return Mechanism(
        (
            Joint("steered", "frame", "turn", foot, axis, "steer"),
            Joint("fork", "steered", "slide", foot, axis, "fork", -1.0),
            Joint("bar", "steered", "turn", vector(390.0, 620.0, 10.0), unit(vector(1.0, 0.2, 0.4)), "fold"),
            Joint("rear", "frame", "turn", vector(0.0, 40.0, 0.0), vector(0.0, 0.0, 1.0), "rear", -1.0),
        )
    )


def test_at_30_degrees_right_the_left_grip_is_further_forward_and_right(bike):
    grip = bike.skeleton.bar_clamp + bike.bars["left"].at(0.0)[0]
    (turned,) = bike.mechanism.placement("bar", {"steer": math.radians(30.0)}).points(grip)
    assert turned[0] > grip[0] + 50.0
    assert turned[2] > grip[2] + 20.0


def test_at_30_degrees_right_the_front_wheel_points_right(bike):
    (ahead,) = bike.mechanism.placement("fork", {"steer": math.radians(30.0)}).directions([1.0, 0.0, 0.0])
    assert ahead[2] > 0.3


def test_points_of_the_steering_axis_stay(bike):
    placed = bike.mechanism.placement("bar", {"steer": np.radians([-90.0, 20.0, 65.0])})
    for point in (bike.skeleton.crown, bike.skeleton.head_top, bike.skeleton.stem_point):
        assert placed.points(point) == pytest.approx(np.tile(point, (3, 1)), abs=1e-9)


@pytest.mark.parametrize("body", ["frame", "rear"])
def test_what_has_no_joint_stays_with_the_frame(bike, body):
    placed = bike.mechanism.placement(body, {"steer": np.radians([-40.0, 40.0])})
    assert placed.rotation.shape == (2, 3, 3)
    assert placed.points([1.0, 2.0, 3.0]) == pytest.approx(np.array([[1.0, 2.0, 3.0]] * 2))


def test_bar_and_fork_move_together_and_against_the_frame(bike):
    assert bike.mechanism.moves_between("bar", "frame")
    assert bike.mechanism.moves_between("rear", "fork")
    assert not bike.mechanism.moves_between("bar", "fork")
    assert not bike.mechanism.moves_between("frame", "rear")
    assert _folding_mechanism().moves_between("bar", "fork")


@given(
    angle=st.floats(-3.1, 3.1),
    axis=st.tuples(st.floats(-1, 1), st.floats(-1, 1), st.floats(0.1, 1)),
    sign=st.sampled_from([-1.0, 1.0]),
)
def test_a_turn_is_the_reference_library_s(angle, axis, sign):
    direction = unit(vector(*axis))
    centre = vector(100.0, -50.0, 20.0)
    placed = Joint("bar", "frame", "turn", centre, direction, "steer", sign).motion(np.array([angle]))
    reference = Rotation.from_rotvec(sign * angle * direction).as_matrix()
    assert placed.rotation[0] == pytest.approx(reference, abs=1e-12)
    assert placed.points(centre)[0] == pytest.approx(centre, abs=1e-12)


def test_a_slide_goes_along_its_axis_and_against_it_with_the_other_sign():
    axis = unit(vector(0.3, -0.9, 0.0))
    out = Joint("fork", "frame", "slide", vector(0, 0, 0), axis, "fork").motion(np.array([40.0]))
    back = Joint("fork", "frame", "slide", vector(0, 0, 0), axis, "fork", -1.0).motion(np.array([40.0]))
    assert out.points([1.0, 1.0, 1.0])[0] == pytest.approx(1.0 + 40.0 * axis)
    assert back.points([1.0, 1.0, 1.0])[0] == pytest.approx(1.0 - 40.0 * axis)


def _matrix(joint, value):
    """The joint's motion as a 4×4 matrix, from the reference library."""
    turn, back, forth = np.eye(4), np.eye(4), np.eye(4)
    if joint.kind == "slide":
        turn[:3, 3] = joint.sign * value * joint.axis
        return turn
    turn[:3, :3] = Rotation.from_rotvec(joint.sign * value * joint.axis).as_matrix()
    back[:3, 3], forth[:3, 3] = -joint.point, joint.point
    return forth @ turn @ back


@pytest.mark.parametrize(("body", "chain"), [("fork", (0, 1)), ("bar", (0, 2)), ("rear", (3,)), ("steered", (0,))])
def test_motions_of_parents_are_composed(body, chain):
    mechanism = _folding_mechanism()
    pose = {"steer": 0.7, "fork": 55.0, "fold": 1.2, "rear": 0.3}
    whole = np.eye(4)
    for index in chain:
        whole = whole @ _matrix(mechanism.joints[index], pose[mechanism.joints[index].coordinate])
    placed = mechanism.placement(body, pose)
    assert placed.rotation[0] == pytest.approx(whole[:3, :3], abs=1e-12)
    assert placed.translation[0] == pytest.approx(whole[:3, 3], abs=1e-9)


def test_folding_and_unfolding_brings_every_point_back():
    mechanism = _folding_mechanism()
    pose = {"steer": np.linspace(-1.5, 1.5, 31), "fork": np.linspace(0, 140, 31), "fold": np.linspace(0, 3, 31)}
    points = np.random.default_rng(5).uniform(-700.0, 700.0, (20, 3))
    for body in ("bar", "fork", "rear"):
        placed = mechanism.placement(body, pose)
        away = placed.points(points)
        assert np.ptp(away, axis=0).max() > 100.0 or body == "rear"
        back = placed.inverse()
        for pose_index in range(31):
            returned = away[pose_index] @ back.rotation[pose_index].T + back.translation[pose_index]
            assert np.abs(returned - points).max() < 1e-9


def test_a_batch_of_poses_is_its_poses(bike):
    steer = np.radians([-80.0, -10.0, 0.0, 33.0])
    batch = bike.mechanism.placement("fork", {"steer": steer}).points(bike.skeleton.front_axle)
    single = [bike.mechanism.placement("fork", {"steer": s}).points(bike.skeleton.front_axle)[0] for s in steer]
    assert batch == pytest.approx(np.array(single), abs=1e-12)


def test_coordinates_left_out_are_zero_and_single_values_are_spread(bike):
    assert bike.mechanism.placement("bar", {}).points([1.0, 2.0, 3.0]) == pytest.approx(np.array([[1.0, 2.0, 3.0]]))
    mixed = _folding_mechanism().placement("fork", {"steer": np.zeros(3), "fork": 10.0})
    assert mixed.translation == pytest.approx(np.tile(mixed.translation[0], (3, 1)))
    assert np.linalg.norm(mixed.translation[0]) == pytest.approx(10.0)


def test_shapes_of_points_and_directions(bike):
    placed = bike.mechanism.placement("bar", {"steer": np.zeros(4)})
    assert placed.points(np.zeros((5, 3))).shape == (4, 5, 3)
    assert placed.points(np.zeros(3)).shape == (4, 3)
    assert placed.directions(np.zeros((5, 3))).shape == (4, 5, 3)


def test_unknown_coordinates_and_bodies_are_refused(bike):
    with pytest.raises(ChoiceError, match=r'^pose has a value for "fork": nothing on this bike moves so; use steer$'):
        bike.mechanism.placement("bar", {"fork": 3.0})
    with pytest.raises(
        ChoiceError, match=r'^body is "wheel": .* use one of frame, front half, bar, fork, lower, rear, post$'
    ):
        bike.mechanism.placement("wheel", {})
