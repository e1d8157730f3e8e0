"""A chart that contradicts itself is refused in one line: what disagrees, and what would mend it."""

import makers
import pytest

from ropewalk.bike.closure import check_chart, closing_figures, compare
from ropewalk.errors import ChartError, FrameFileError

# of the touring chart: 76 + 560·sin 71.5° − 50·cos 71.5°, by a pocket calculator
TOURING_STACK = 591.196


def _refusal(**changes):
    with pytest.raises(ChartError) as refused:
        check_chart(makers.frame(**changes))
    text = str(refused.value)
    assert "\n" not in text
    assert len(text) < 400
    return text


def test_the_stack_is_compared_with_what_the_other_figures_give():
    (stack,) = compare(makers.frame()).comparisons
    assert stack.found == pytest.approx(TOURING_STACK, abs=1e-3)
    assert stack.difference == pytest.approx(591 - TOURING_STACK, abs=1e-3)


@pytest.mark.parametrize("stack", [591 - 4.7, 591 + 5.1])
def test_up_to_five_millimetres_pass_as_rounding(stack):
    assert check_chart(makers.frame(chart={"stack": stack})).worst.figure == "stack"


@pytest.mark.parametrize("stack", [591 - 4.9, 591 + 5.3])
def test_more_than_five_millimetres_do_not(stack):
    assert "chart.stack is" in _refusal(chart={"stack": stack})


def test_the_refusal_names_the_figures_and_how_far_they_are_apart():
    text = _refusal(chart={"stack": 620})
    assert text.startswith(
        "chart.stack is 620 mm, but bb_drop, head_tube, lower_cup, fork, fork_offset and head_angle give 591.2 mm: "
        "28.8 mm apart; "
    )


def test_from_one_contradiction_alone_the_wrong_figure_cannot_be_told():
    text = _refusal(chart={"stack": 620})
    assert "any one of stack 591 mm, head_angle 80.5°, head_tube 180 mm, fork 428 mm or bb_drop 105 mm" in text
    assert "it cannot tell which" in text


def test_given_wheelbase_and_trail_single_out_the_stack():
    text = _refusal(chart={"stack": 620, "wheelbase": 1049, "trail": 64})
    assert "stack 591 mm alone would close the chart, and no other single figure" in text


def test_given_wheelbase_and_trail_single_out_the_head_angle():
    text = _refusal(chart={"head_angle": 75, "wheelbase": 1049, "trail": 64})
    assert "head_angle 71.5° alone would close the chart" in text


def test_the_worst_contradiction_leads_and_the_others_follow():
    text = _refusal(chart={"head_angle": 77, "wheelbase": 1049, "trail": 64})
    assert text.startswith("chart.wheelbase is 1049 mm, but ")
    assert "(also stack by 19.4 mm and trail by 34.5 mm)" in text


def test_two_wrong_figures_are_not_put_down_to_one():
    text = _refusal(chart={"stack": 640, "wheelbase": 1100, "trail": 95})
    assert "no single figure closes the chart, so more than one is wrong" in text


@pytest.mark.parametrize(
    ("given", "figure"),
    [({"wheelbase": 1080}, "wheelbase"), ({"trail": 80}, "trail"), ({"front_centre": 640}, "front_centre")],
)
def test_each_optional_figure_is_checked(given, figure):
    text = _refusal(chart=given)
    assert text.startswith(f"chart.{figure} is {given[figure]} mm, but ")


def test_the_front_centre_is_straight_from_bottom_bracket_to_axle():
    # √(605.1² + 76²), the axle's place from the closed chart
    (_, centre) = compare(makers.frame(chart={"front_centre": 610})).comparisons
    assert centre.found == pytest.approx(609.9, abs=0.1)


def test_values_that_would_close_the_chart_do_close_it():
    wrong = makers.frame(chart={"stack": 620}).chart
    for key, value in closing_figures(wrong).items():
        mended = makers.frame(chart={"stack": 620} | {key: value})
        assert abs(compare(mended).worst.difference) <= 2.5


def test_a_chart_that_closes_needs_no_change():
    assert all(
        abs(value - makers.frame_dict()["chart"][key]) < 1.0
        for key, value in closing_figures(makers.frame().chart).items()
        if key not in ("head_angle", "reach", "chainstay")
    )


def test_a_contradiction_is_a_fault_of_the_frame_file():
    with pytest.raises(FrameFileError):
        check_chart(makers.frame(chart={"stack": 700}))
