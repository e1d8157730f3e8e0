"""Eleven charts of a mixed hire fleet: stack, wheelbase and trail follow from the other figures.

The charts are invented; wheelbase and trail were computed apart from this package and rounded to whole millimetres,
so that with inputs rounded the same way they hold to ±1 mm. The tandem's wheelbase holds a boom tube besides, which a
chart of one bottom bracket does not tell: it is left out.
"""

import makers
import pytest

from ropewalk.bike.closure import check_chart, closing_figures, compare
from ropewalk.bike.fleet import find, fleet
from ropewalk.bike.reading import read
from ropewalk.bike.skeleton import skeleton

# stack, reach, head angle, seat angle, head tube, lower cup, fork, offset, drop, chainstay, wheel, its radius,
# wheelbase, trail
FLEET = {
    "road endurance": (571, 378, 72.0, 73.5, 155, 8, 375, 48, 74, 415, "29-622", 340, 998, 60),
    "gravel": (576, 387, 71.0, 74.0, 140, 8, 398, 50, 76, 428, "39-622", 350, 1033, 68),
    "hardtail 29": (620, 445, 67.5, 75.0, 105, 12, 510, 44, 58, 432, "57-622", 368, 1154, 105),
    "trail full suspension": (630, 460, 64.5, 77.0, 110, 12, 561, 44, 32, 438, "57-622", 368, 1231, 127),
    "step-through city": (602, 375, 69.0, 70.0, 190, 14, 395, 55, 62, 465, "41-622", 352, 1102, 76),
    "folding 20": (361, 380, 71.5, 71.0, 100, 14, 300, 38, -20, 400, "37-406", 240, 947, 40),
    "touring": (591, 380, 71.5, 73.0, 150, 12, 398, 50, 76, 450, "39-622", 350, 1049, 64),
    "longtail": (559, 400, 69.0, 71.5, 130, 14, 420, 48, 50, 860, "28-584", 320, 1505, 71),
    "tandem": (596, 388, 73.0, 73.0, 150, 14, 395, 55, 78, 445, "29-622", 340, None, 46),
    "track, one brake": (531, 385, 74.0, 74.0, 125, 12, 370, 40, 55, 395, "25-622", 336, 954, 55),
    "time trial": (514, 415, 72.5, 77.5, 95, 8, 370, 43, 76, 408, "25-622", 336, 999, 61),
}
KEYS = ("stack", "reach", "head_angle", "seat_angle", "head_tube", "lower_cup", "fork", "fork_offset", "bb_drop")


#: the bike of the table that each frame file is; tyres come in sizes, so a wheel's radius may differ by so much [mm]
FILES = {
    "road": "road endurance",
    "gravel-outside": "gravel",
    "gravel-ports": "gravel",
    "gravel-headset": "gravel",
    "hardtail": "hardtail 29",
    "trail": "trail full suspension",
    "city": "step-through city",
    "folding": "folding 20",
    "touring": "touring",
    "longtail": "longtail",
    "tandem": "tandem",
    "track": "track, one brake",
    "timetrial": "time trial",
}
TYRE = 2.0


def _frame(name, **more):
    *figures, chainstay, wheel, _, _, _ = FLEET[name]
    chart = dict(zip(KEYS, figures, strict=True)) | {"chainstay": chainstay, "wheel": wheel}
    return makers.frame(name=name, chart=chart | more)


@pytest.mark.parametrize("name", FLEET)
def test_wheelbase_and_trail_follow_from_the_chart(name):
    bones = skeleton(_frame(name))
    *_, radius, wheelbase, trail = FLEET[name]
    assert bones.wheel_radius == radius
    if wheelbase is not None:
        assert bones.wheelbase == pytest.approx(wheelbase, abs=1.0)
    assert bones.trail == pytest.approx(trail, abs=1.0)


@pytest.mark.parametrize("name", FLEET)
def test_the_chart_closes(name):
    (stack,) = compare(_frame(name)).comparisons
    assert stack.figure == "stack"
    assert abs(stack.difference) < 1.0


@pytest.mark.parametrize("name", [name for name in FLEET if name != "tandem"])
def test_wheelbase_and_trail_are_accepted_beside_the_chart(name):
    *_, wheelbase, trail = FLEET[name]
    closure = check_chart(_frame(name, wheelbase=wheelbase, trail=trail))
    assert [comparison.figure for comparison in closure.comparisons] == ["stack", "wheelbase", "trail"]


@pytest.mark.parametrize("name", [name for name in FLEET if name != "tandem"])
@pytest.mark.parametrize("figure", ["stack", "reach", "fork", "chainstay", "head_angle"])
def test_a_misprint_is_traced_where_wheelbase_and_trail_are_given(name, figure):
    *_, wheelbase, trail = FLEET[name]
    right = _frame(name).chart
    given = float(getattr(right, "head_angle_deg" if figure == "head_angle" else figure))
    wrong = given + (5.0 if figure == "head_angle" else 40.0)
    chart = _frame(name, wheelbase=wheelbase, trail=trail, **{figure: wrong}).chart
    closing = closing_figures(chart)
    assert figure in closing
    assert closing[figure] == pytest.approx(given, abs=0.5 if figure == "head_angle" else 3.0)


@pytest.mark.parametrize("file", FILES)
def test_a_frame_file_carries_the_chart_of_its_bike(file):
    """Wheelbase and trail are written into every file, so that reading it checks them."""
    frame = read(find(file))
    *figures, chainstay, _, radius, wheelbase, trail = FLEET[FILES[file]]
    chart = frame.chart
    written = (chart.stack, chart.reach, chart.head_angle_deg, chart.seat_angle_deg, chart.head_tube, chart.lower_cup)
    written += (chart.fork, chart.fork_offset, chart.bb_drop, chart.chainstay)
    assert [float(figure) for figure in written] == [*figures, chainstay]
    bones = skeleton(frame)
    assert bones.wheel_radius == pytest.approx(radius, abs=TYRE)
    assert float(chart.trail) == pytest.approx(trail, abs=2.0)
    if wheelbase is not None:
        assert float(chart.wheelbase) == pytest.approx(wheelbase, abs=2.0)
    closure = check_chart(frame)
    assert [comparison.figure for comparison in closure.comparisons] == ["stack", "wheelbase", "trail"]
    assert all(abs(comparison.difference) <= 2.0 for comparison in closure.comparisons)


def test_the_tandem_is_as_much_longer_as_its_boom():
    """A boom between two bottom brackets at one height adds its own length to the wheelbase of the same chart."""
    tandem = read(find("tandem"))
    assert float(tandem.chart.boom) == 710.0
    assert skeleton(tandem).wheelbase == pytest.approx(skeleton(_frame("tandem")).wheelbase + 710.0, abs=1e-9)


def test_every_frame_file_has_its_row():
    assert set(FILES) == {bike.name for bike in fleet()}
