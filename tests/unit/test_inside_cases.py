"""Inside spans with a known answer: a string pulled tight round corners, an obstacle or the spindle, by tangents."""

from __future__ import annotations

import math

import numpy as np
import pytest
from insides import CHAINSTAY, SHELL_OPENINGS, TO_CHAINSTAY, WIDE_SHELL, boss, inside, port, rear_port
from shapely.geometry import LineString, Polygon, box
from taut_string import taut_string

from ropewalk.bike.model import Bike
from ropewalk.mechanics.corridor import corridor, less, shrunk, taut_path
from ropewalk.routing.course import Course

LENGTH_TOLERANCE = 0.1
TURN_TOLERANCE = math.radians(0.1)
#: outside diameter of the small bike's housing, and of the sleeve round a spindle (common practice, from memory) [mm]
HOUSING, SPINDLE = 5.0, 28.0


def assert_taut(path, start, circles, end):
    length, turn = taut_string(start, circles, end)
    assert path.reached
    assert path.length == pytest.approx(length, abs=LENGTH_TOLERANCE)
    assert path.turn == pytest.approx(turn, abs=TURN_TOLERANCE)


HALF = 2.5


def test_a_line_in_an_elbow_rounds_its_corner_on_half_its_diameter():
    elbow = box(0, 0, 300, 30).union(box(270, 0, 300, 200))
    path = taut_path(elbow, (20, 12), (286, 180), half_diameter=HALF)
    assert_taut(path, (20, 12), [((270, 30), HALF, 1)], (286, 180))


def test_a_line_in_a_dog_leg_rounds_both():
    leg = box(0, 0, 100, 20).union(box(80, 0, 100, 120)).union(box(80, 100, 240, 120))
    path = taut_path(leg, (5, 10), (230, 110), half_diameter=HALF)
    assert_taut(path, (5, 10), [((80, 20), HALF, 1), ((100, 100), HALF, -1)], (230, 110))


def test_a_line_passes_a_rectangular_obstacle_in_mid_tube_over_both_corners():
    boss = box(190, 0, 210, 18)
    room = less(shrunk(box(0, 0, 400, 30), HALF), boss.buffer(HALF, quad_segs=16))
    path = taut_path(room, (10, 8), (390, 14))
    assert_taut(path, (10, 8), [((190, 18), HALF, -1), ((210, 18), HALF, -1)], (390, 14))


def test_three_channels_meet_on_a_hub_with_a_spindle():
    """In from the right, over the spindle of a round hub, out to the left: two lips and the spindle's circle."""
    hub, spindle = Polygon([(23 * math.cos(a), 23 * math.sin(a)) for a in np.radians(np.arange(0, 360, 0.25))]), 12.0
    right, left = box(0, -14, 300, 14), box(-300, -8, 0, 8)
    room = corridor([hub, right, left], [box(10, -10, 40, 10), box(-40, -6, -10, 6)])
    free = less(
        shrunk(room, HALF),
        Polygon([((spindle + HALF) * math.cos(a), (spindle + HALF) * math.sin(a)) for a in np.radians(np.arange(360))]),
    )
    path = taut_path(free, (250, 3), (-250, 1))
    lips = (math.sqrt(23**2 - 10**2), 10.0), (-math.sqrt(23**2 - 6**2), 6.0)
    # under the lip of the right opening, over the spindle, and under the lip of the left one
    circles = [(lips[0], HALF, -1), ((0, 0), spindle + HALF, 1), (lips[1], HALF, -1)]
    assert_taut(path, (250, 3), circles, (-250, 1))


def flat_length(course: Course) -> float:
    return float(LineString(course.points[:, :2]).length)


def tube_axes(bike: Bike, name: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return a tube's start, direction and the direction towards 12 o'clock in side view."""
    tube = bike.tubes[name]
    along = (tube.end - tube.start)[:2] / math.dist(tube.end[:2], tube.start[:2])
    up = np.array([-along[1], along[0]])
    return tube.start[:2], along, up if up[1] > 0 else -up


def test_housing_passes_under_a_boss_in_mid_tube():
    """The boss stands 18 mm in from the upper wall of a bore of 29.8: its lower corners are 3.1 mm under the axis."""
    bike, line, found = inside(port(), rear_port(), obstacle=[boss()])
    start, along, up = tube_axes(bike, "down tube")
    corners = [tuple(start + at * along - 3.1 * up) for at in (294.0, 306.0)]
    first, last = (tuple(line.stations[place].place[:2]) for place in (1, 2))
    # the down tube runs from the head tube down and back: what is above it is on the right
    length, _ = taut_string(first, [(corner, HOUSING / 2, -1) for corner in corners], last)
    assert flat_length(found) == pytest.approx(length, abs=LENGTH_TOLERANCE)
    assert [corner.at for corner in found.corners] == ["the bottle boss"] * len(found.corners)
    assert found.corners


def test_a_boss_on_the_far_wall_or_low_enough_changes_nothing():
    _, _, free = inside(port(clock=12), rear_port(clock=12, along=420))
    _, _, passed = inside(port(clock=12), rear_port(clock=12, along=420), obstacle=[boss(wall="lower", depth=5)])
    assert flat_length(passed) == pytest.approx(flat_length(free), abs=LENGTH_TOLERANCE)


def test_a_boss_that_leaves_less_than_the_housing_is_named():
    _, _, found = inside(port(), rear_port(), obstacle=[boss(depth=25.5)])
    assert not found.reached
    assert "bottle boss" in found.reason
    _, _, passes = inside(port(), rear_port(), obstacle=[boss(depth=24.0)])
    assert passes.reached
    assert passes.reason == passes.advice == ""


def test_two_that_only_together_leave_no_way_are_named_both():
    """Each leaves 11.8 mm; abreast on both walls they leave none; in mid-tube one of 21 leaves 4.4 on either side."""
    both = [boss(name="upper boss"), boss(name="lower boss", wall="lower")]
    _, _, found = inside(port(), rear_port(), obstacle=both)
    assert not found.reached
    assert "the upper boss and the lower boss" in found.reason
    _, _, middle = inside(port(), rear_port(), obstacle=[boss(wall="middle", depth=21)])
    assert not middle.reached
    _, _, thinner = inside(port(), rear_port(), obstacle=[boss(wall="middle", depth=19)])
    assert thinner.reached


def test_three_tubes_round_the_bottom_bracket():
    """Through the shell it turns on the lip of either opening and on the spindle's sleeve between."""
    bike, line, found = inside(
        port(through=TO_CHAINSTAY), rear_port(**CHAINSTAY), tubes=WIDE_SHELL, opening=SHELL_OPENINGS
    )
    assert found.reached
    bore = 50 / 2 - 2

    def lip(name: str, half: float) -> tuple[float, float]:
        _, along, up = tube_axes(bike, name)
        away = along if along @ bike.tubes[name].end[:2] > 0 and name == "left chainstay" else -along
        return tuple(math.sqrt(bore**2 - half**2) * away + half * up)

    first, last = (tuple(line.stations[place].place[:2]) for place in (1, 2))
    circles = [
        (lip("down tube", 10.0), HOUSING / 2, -1),
        ((0.0, 0.0), (SPINDLE + HOUSING) / 2, 1),
        (lip("left chainstay", 6.0), HOUSING / 2, -1),
    ]
    length, _ = taut_string(first, circles, last)
    assert flat_length(found) == pytest.approx(length, abs=LENGTH_TOLERANCE)
    assert [corner.at for corner in found.corners] == [
        "the joint of down tube and shell",
        "the bottom bracket's spindle",
        "the joint of shell and left chainstay",
    ]


def test_the_shell_needs_not_be_named_when_both_tubes_meet_on_it():
    opening = [{"between": ["down tube", "left chainstay"], "size": 15}]
    through = ["down tube", "left chainstay"]
    _, _, found = inside(port(through=through), rear_port(**CHAINSTAY), tubes=WIDE_SHELL, opening=opening)
    assert found.reached
    assert np.hypot(*found.points[:, :2].T).min() >= (SPINDLE + HOUSING) / 2 - 0.03
    _, _, narrow = inside(port(through=through), rear_port(**CHAINSTAY), opening=opening)
    assert not narrow.reached
    assert "spindle" in narrow.reason


def test_between_steerer_and_bore_there_has_to_be_room():
    through = ["down tube", "head tube", "top tube"]
    openings = [{"between": ["down tube", "head tube"], "size": 15}, {"between": ["head tube", "top tube"], "size": 15}]
    first = port(through=through, facing="bottom bracket")
    last = rear_port(on="top tube", from_="seat tube", along=100, facing="seat tube")
    _, _, shut = inside(first, last, opening=openings)
    assert not shut.reached
    assert "steerer" in shut.reason
    bike, _, found = inside(first, last, opening=openings, tubes={"head_tube": {"diameter": 52}})
    assert found.reached
    start, _, up = tube_axes(bike, "steerer")
    beside = np.abs((found.points[:, :2] - start) @ up)
    assert beside.min() >= (28.6 + HOUSING) / 2 - 0.03


def test_each_shut_joint_and_small_opening_is_named():
    shell_only = SHELL_OPENINGS[:1]
    _, _, shut = inside(port(through=TO_CHAINSTAY), rear_port(**CHAINSTAY), tubes=WIDE_SHELL, opening=shell_only)
    assert not shut.reached
    assert "joint of shell and left chainstay is shut" in shut.reason
    assert "name the opening" in shut.advice
    small = [*shell_only, {"between": ["shell", "left chainstay"], "size": 4.5}]
    _, _, narrow = inside(port(through=TO_CHAINSTAY), rear_port(**CHAINSTAY), tubes=WIDE_SHELL, opening=small)
    assert "between shell and left chainstay is 4.5 mm wide" in narrow.reason
    tubes = WIDE_SHELL | {"chainstay": {"diameter": 10, "wall": 3, "spread_near": 30, "spread_axle": 64}}
    thin = [*shell_only, {"between": ["shell", "left chainstay"], "size": 12}]
    _, _, tight = inside(port(through=TO_CHAINSTAY), rear_port(**CHAINSTAY), tubes=tubes, opening=thin)
    assert "left chainstay is 4.0 mm wide inside" in tight.reason


ROUTES = [
    (port(), rear_port(), {"obstacle": [boss()]}),
    (port(through=TO_CHAINSTAY), rear_port(**CHAINSTAY), {"tubes": WIDE_SHELL, "opening": SHELL_OPENINGS}),
    (
        port(
            on="seat tube",
            from_="bottom bracket",
            along=200,
            facing="bottom bracket",
            through=["seat tube", "left seat stay"],
        ),
        rear_port(on="left seat stay", from_="rear axle", along=100, facing="rear axle"),
        {"opening": [{"between": ["seat tube", "left seat stay"], "size": 10}]},
    ),
]


@pytest.mark.parametrize("place", range(len(ROUTES)))
def test_it_is_never_shorter_than_straight_and_never_outside_the_tubes(place):
    first, last, frame = ROUTES[place]
    bike, line, found = inside(first, last, **frame)
    ends = [line.stations[at].place for at in (1, 2)]
    assert found.reached
    assert found.length >= math.dist(*ends)
    assert found.length == pytest.approx(np.linalg.norm(np.diff(found.points, axis=0), axis=1).sum())
    share = np.linspace(0, 1, 30)[:, None]
    dense = np.concatenate([a + share * (b - a) for a, b in zip(found.points, found.points[1:], strict=False)])
    # past the ports' own way through the wall
    away = np.minimum(*(np.linalg.norm(dense - end, axis=1) for end in ends)) > 25
    for x, y, z in dense[away]:
        holds = []
        for name in line.route.line.station[1].through:
            tube = bike.tubes[name]
            off = LineString([tube.start[:2], tube.end[:2]]).distance(LineString([(x, y), (x, y + 1e-9)]))
            bore = tube.diameter / 2 - tube.wall - HOUSING / 2 + 0.05
            share_along = np.clip((np.array([x, y, z]) - tube.start) @ tube.axis / tube.length, 0, 1)
            middle = tube.start[2] + share_along * (tube.end[2] - tube.start[2])
            wide = tube.length / 2 if name == "shell" else bore
            holds.append((off <= bore, abs(z - middle) <= wide, off <= bore + 15))
        assert any(flat for flat, _, _ in holds) or sum(near for _, _, near in holds) > 1
        # about a joint, whose width nobody knows, it is on its way from one tube to the other
        assert any(flat and aside for flat, aside, _ in holds) or sum(near for _, _, near in holds) > 1


def test_a_formed_guide_tube_has_its_own_length_turn_and_radius():
    first = port(through=TO_CHAINSTAY, arc=880, turn=75, radius=60)
    _, _, found = inside(first, rear_port(**CHAINSTAY))
    assert (found.length, found.slack, found.least_radius, found.reached) == (880, 0.0, 60, True)
    assert found.turn == pytest.approx(math.radians(75))
    _, _, unsaid = inside(port(through=TO_CHAINSTAY, arc=880, turn=75), rear_port(**CHAINSTAY))
    # bent alike all the way
    assert unsaid.least_radius == pytest.approx(880 / math.radians(75))
