"""Tubes and wheels that do not fit each other are refused, each in one line."""

import makers
import pytest

from ropewalk.bike.closure import check_chart
from ropewalk.bike.fit import check_tubes
from ropewalk.errors import ChartError

CONTRADICTIONS = {
    "top tube over the seat tube": (
        {"tubes": {"top_tube": {"at_seat": 560}}},
        "tubes.top_tube meets the seat tube at 560 mm: that is above its upper end, chart.seat_tube 540 mm; measure",
    ),
    "seat stay over the seat tube": (
        {"tubes": {"seat_stay": {"at_seat": 541}}},
        "tubes.seat_stay meets the seat tube at 541 mm: that is above its upper end, chart.seat_tube 540 mm; measure",
    ),
    "top tube off the head tube": (
        {"tubes": {"top_tube": {"at_head": 151}}},
        "tubes.top_tube.at_head is 151 mm: the head tube is only 150 mm long",
    ),
    "down tube off the head tube": (
        {"tubes": {"down_tube": {"at_head": 200}}},
        "tubes.down_tube.at_head is 200 mm: the head tube is only 150 mm long",
    ),
    "tubes crossing on the head tube": (
        {"tubes": {"down_tube": {"at_head": 80}, "top_tube": {"at_head": 80}}},
        "tubes.top_tube.at_head and tubes.down_tube.at_head are 160 mm together, more than the head tube's 150 mm",
    ),
    "no bore": (
        {"tubes": {"seat_stay": {"wall": 8}}},
        "tubes.seat_stay.wall is 8 mm: a tube of 16 mm would have no bore",
    ),
    "tyre in the crown": (
        {"chart": {"wheel": "100-622"}},
        "chart.wheel is 100-622: its tyre reaches 411 mm from the axle, but the crown is 401.1 mm from it",
    ),
    "tyre in the seat tube": (
        {"chart": {"chainstay": 370}},
        "chart.wheel is 39-622: its tyre reaches 350 mm from the axle, but the seat tube's axis is 324",
    ),
    "tyre in the down tube": (
        {"chart": {"reach": 240, "wheel": "70-622"}},
        "chart.wheel is 70-622: its tyre reaches 381 mm from the axle, but the down tube's axis is 36",
    ),
    "tyre beside the chainstays": (
        {"tubes": {"chainstay": {"spread_near": 2}}},
        "tubes.chainstay: its axis passes the tyre 18.5 mm from the middle plane, but the tyre reaches 19.5 mm",
    ),
    "tyre beside the fork legs": (
        {"tubes": {"fork_leg": {"spread_near": 10}}},
        "tubes.fork_leg: its axis passes the tyre 17.",
    ),
}


@pytest.mark.parametrize("case", CONTRADICTIONS)
@pytest.mark.parametrize("check", [check_tubes, check_chart])
def test_tubes_that_cannot_be_are_refused(case, check):
    changes, begins = CONTRADICTIONS[case]
    with pytest.raises(ChartError) as refused:
        check(makers.frame(**changes))
    assert str(refused.value).startswith(begins)
    assert "\n" not in str(refused.value)


def test_a_usual_frame_passes():
    assert check_chart(makers.frame()).worst.figure == "stack"


def test_the_crown_of_a_short_fork_is_named_with_its_room():
    """√(398² + 50²) = 401.1 mm from crown to axle leave no room for a tyre of 311 + 100 mm."""
    with pytest.raises(ChartError, match=r"but the crown is 401\.1 mm from it; check wheel and fork$"):
        check_tubes(makers.frame(chart={"wheel": "100-622"}))
