"""The benchmark bicycle: J. P. Meijaard, J. M. Papadopoulos, A. Ruina, A. L. Schwab, "Linearized dynamics equations for
the balance and steer of a bicycle: a benchmark and review", Proc. R. Soc. A 463 (2007) 1955–1982, table 1:
wheelbase w = 1.02 m, trail c = 0.08 m, steer axis tilt λ = π/10, wheel radii 0.3 m (rear) and 0.35 m (front).

The paper gives no offset; from r sin λ − c cos λ it is 0.0320714 m (exact, recomputed).
"""

import math

import makers
import numpy as np
import pytest

from ropewalk.bike.skeleton import skeleton, trail

WHEELBASE, TRAIL, TILT, FRONT_RADIUS = 1020.0, 80.0, math.pi / 10.0, 350.0
HEAD_ANGLE = math.pi / 2.0 - TILT
OFFSET = 32.0714

# what the paper leaves open, as on a usual bike
DROP, CHAINSTAY, HEAD_TUBE, LOWER_CUP, FORK = 70.0, 440.0, 140.0, 10.0, 385.0


def test_table_1_trail_follows_from_tilt_radius_and_offset():
    assert trail(HEAD_ANGLE, OFFSET, FRONT_RADIUS) == pytest.approx(TRAIL, abs=1e-3)


def test_table_1_wheelbase_and_trail_through_a_whole_chart():
    """Draw the paper's front end, read a chart off the drawing, and find the paper's figures in the skeleton."""
    rear = np.array([-math.sqrt(CHAINSTAY**2 - DROP**2), DROP])
    front = rear + np.array([WHEELBASE, 0.0])
    # the steer axis meets the ground a trail ahead of the front contact, and leans back by the tilt
    foot = front + np.array([TRAIL, -FRONT_RADIUS])
    up = np.array([-math.sin(TILT), math.cos(TILT)])
    square_to_axle = foot + (front - foot) @ up * up
    offset = math.dist(front, square_to_axle)
    head_top = square_to_axle + (HEAD_TUBE + LOWER_CUP + FORK) * up
    chart = {
        "stack": head_top[1],
        "reach": head_top[0],
        "head_angle": math.degrees(HEAD_ANGLE),
        "head_tube": HEAD_TUBE,
        "lower_cup": LOWER_CUP,
        "fork": FORK,
        "fork_offset": offset,
        "bb_drop": DROP,
        "chainstay": CHAINSTAY,
        "wheel": "39-622",
    }
    bones = skeleton(
        makers.frame(chart={key: value if key == "wheel" else float(value) for key, value in chart.items()})
    )
    assert offset == pytest.approx(OFFSET, abs=1e-4)
    assert bones.wheel_radius == FRONT_RADIUS
    assert bones.wheelbase == pytest.approx(WHEELBASE, abs=1e-6)
    assert bones.trail == pytest.approx(TRAIL, abs=1e-6)
    assert bones.front_axle[:2] == pytest.approx(front, abs=1e-6)
