"""What cannot move as the frame file says is refused in one line: which figure, its value, and what to do."""

from __future__ import annotations

from typing import Any

import makers
import moving
import pytest

from ropewalk.bike.closure import check_chart
from ropewalk.bike.fit import check_tubes
from ropewalk.bike.framefile import Frame
from ropewalk.bike.model import build
from ropewalk.bike.moves import check_moves
from ropewalk.errors import ChartError

LOWER = {"diameter": 28, "height": 250}


def hinges(main: dict[str, Any] | None = None, post: dict[str, Any] | None = None, **changes: Any) -> Frame:
    """Return the folding bike with changes to its main hinge, or to that and the one of its post."""
    fold = [{**moving.MAIN_HINGE, **(main or {})}]
    return moving.folding(fold=fold if post is None else [*fold, {**moving.POST_HINGE, **post}], **changes)


def post_alone(**changes: Any) -> Frame:
    return moving.folding(fold=[{**moving.POST_HINGE, **changes}])


#: what is wrong, and how the message begins and ends
MOVES: dict[str, tuple[Frame, str, str]] = {
    "fork travel without lower legs": (
        makers.frame(travel={"fork": 120}),
        "travel.fork is 120 mm, but tubes.lower_leg is missing: ",
        "say what slides up, lower_leg = { diameter = …, height = … }",
    ),
    "lower legs without travel": (
        makers.frame(tubes={"lower_leg": LOWER}),
        "tubes.lower_leg belongs to a suspension fork: ",
        "give travel.fork too, or leave it out",
    ),
    # 398 mm of fork less 250 mm of lower leg less 10 mm of crown
    "more fork travel than room": (
        moving.suspended(travel={"fork": 139}),
        "travel.fork is 139 mm: the lower legs would meet the crown after 138 mm; ",
        "check it, tubes.lower_leg.height and chart.fork",
    ),
    "lower legs no wider than the upper ones": (
        moving.suspended(tubes={"lower_leg": {"diameter": 22}}),
        "tubes.lower_leg.diameter is 22 mm: it slides over the upper legs of 22 mm, ",
        "so it has to be more",
    ),
    "travel without a pivot": (
        makers.frame(travel={"rear": 110}),
        "travel.rear is 110 mm, but travel.pivot is missing: ",
        "write pivot = [forward, up] from the bottom bracket",
    ),
    "a pivot without travel": (
        makers.frame(travel={"pivot": [20, 56]}),
        "travel.pivot belongs to a swing arm: ",
        "give travel.rear too, or leave it out",
    ),
    # the axle lies √(450² − 76²) = 443.5 mm behind the bottom bracket
    "a pivot at the axle": (
        moving.suspended(travel={"pivot": [-394, 56]}),
        "travel.pivot lies 49.5 mm ahead of the rear axle: ",
        "measure it from the bottom bracket, forward and up",
    ),
    # an arm of 63.6 mm, the axle 20 mm over the pivot: 43.6 mm to the dead point, nine tenths of that
    "more travel than the arm reaches": (
        moving.suspended(travel={"pivot": [-383.2, 56]}),
        "travel.rear is 110 mm: an arm about that pivot lifts the axle by 39.",
        "check travel.rear and travel.pivot",
    ),
    "a hinge on what cannot fold": (
        hinges({"on": "seat stay"}),
        'fold 1: on is "seat stay", where the front half cannot fold: ',
        "write down tube",
    ),
    "a hinge on a name misspelt": (
        hinges({"on": "dwn tube"}),
        'fold 1: on is "dwn tube", where the front half cannot fold: ',
        'did you mean "down tube"?',
    ),
    "a hinge in the down tube under a top tube": (
        makers.frame(fold=[moving.MAIN_HINGE]),
        "fold 1: the front half folds at a hinge in the single main tube, but there is a top tube: ",
        "leave tubes.top_tube out",
    ),
    "the bar folded off the steerer": (
        post_alone(on="down tube"),
        'fold 1: on is "down tube", where the bar cannot fold: ',
        "write steerer",
    ),
    "a hinge off the tube": (
        hinges({"along": 700}),
        "fold 1: along is 700 mm from the bottom bracket: that is beyond the end of the down tube; ",
        " mm",
    ),
    "a hinge measured from nowhere": (
        hinges({"from": "moon"}),
        'fold 1: from is "moon": the down tube has no such join; ',
        "head tube, bottom bracket or seat tube",
    ),
    "an axis without direction": (
        hinges({"axis": [0, 0, 0]}),
        "fold 1: axis has no direction: ",
        "give at least one number that is not 0",
    ),
    "an axis along the steerer": (
        post_alone(axis=[-0.3173, 0.9483, 0]),
        "fold 1: axis points along the steerer itself, so turning about it folds nothing: ",
        "give the direction of the hinge pin",
    ),
    "a hinge that does not turn": (
        hinges({"turn": 0.5}),
        "fold 1: turn is 0.5°: a hinge that does not turn folds nothing; ",
        "give its angle",
    ),
    "bars folded beyond their lock": (
        hinges({"steer": 50}, chart={"lock": 40}),
        "fold 1: steer is 50°, but chart.lock is 40°: ",
        "the bars do not turn that far",
    ),
    "two hinges for one half": (
        moving.folding(fold=[moving.MAIN_HINGE, {**moving.MAIN_HINGE, "along": 200}]),
        "fold 2: it moves the front half as fold 1 does: ",
        "one hinge for each, so leave one out",
    ),
    "bars folded two ways": (
        hinges(post={"steer": -20}),
        "fold 2: steer is -20°, in fold 1 20°: the bars point one way while folded, ",
        "so write the same",
    ),
    # 35 mm up the head tube from its lower end, which stands 12 mm over the crown race: where the down tube ends
    "two hinges in one place": (
        hinges({"from": "head tube", "along": 0}, {"along": 47}),
        "fold 2: it lies in the same place as fold 1: ",
        "measure both again",
    ),
}

TANDEMS: dict[str, tuple[Frame, str, str]] = {
    "no boom tube": (
        moving.tandem(tubes={"boom_tube": None}),
        "chart.boom is 700 mm but tubes.boom_tube is missing: ",
        "a tandem has one, so write it down",
    ),
    "no rear seat tube": (
        moving.tandem(tubes={"rear_seat_tube": None}),
        "chart.boom is 700 mm but tubes.rear_seat_tube is missing: ",
        "a tandem has one, so write it down",
    ),
    "a boom tube on a single bike": (
        makers.frame(tubes={"boom_tube": {"diameter": 38}}),
        "tubes.boom_tube belongs to a tandem: ",
        "give chart.boom too, or leave it out",
    ),
    "a rear seat tube on a single bike": (
        makers.frame(tubes={"rear_seat_tube": {"diameter": 28.6, "length": 500}}),
        "tubes.rear_seat_tube belongs to a tandem: ",
        "give chart.boom too, or leave it out",
    ),
    "a rear top tube on a single bike": (
        makers.frame(tubes={"rear_top_tube": {"diameter": 28.6, "at_front": 500, "at_rear": 490}}),
        "tubes.rear_top_tube belongs to a tandem: ",
        "give chart.boom too, or leave it out",
    ),
    "seat stays above the rear seat tube": (
        moving.tandem(tubes={"seat_stay": {"at_seat": 521}}),
        "tubes.seat_stay meets the rear seat tube at 521 mm: that is above its upper end, tubes.rear_seat_tube.length "
        "520 mm; ",
        "measure both from the rear bottom bracket along the rear seat tube",
    ),
    "a rear top tube above the rear seat tube": (
        moving.tandem(tubes={"rear_top_tube": {"at_rear": 530}}),
        "tubes.rear_top_tube meets the rear seat tube at 530 mm: that is above its upper end, ",
        "measure both from the rear bottom bracket along the rear seat tube",
    ),
    "a rear top tube above the seat tube": (
        moving.tandem(tubes={"rear_top_tube": {"at_front": 545}}),
        "tubes.rear_top_tube meets the seat tube at 545 mm: that is above its upper end, chart.seat_tube 540 mm; ",
        "measure both from the bottom bracket along the seat tube",
    ),
}


def refusal(check: Any, frame: Frame) -> str:
    with pytest.raises(ChartError) as refused:
        check(frame)
    return str(refused.value)


@pytest.mark.parametrize("case", MOVES)
@pytest.mark.parametrize("check", [check_moves, check_chart])
def test_what_cannot_move_so_is_refused_in_one_line(check: Any, case: str) -> None:
    frame, begins, ends = MOVES[case]
    text = refusal(check, frame)
    assert text.startswith(begins)
    assert text.endswith(ends)
    assert "\n" not in text
    assert len(text) < 300


@pytest.mark.parametrize("case", TANDEMS)
@pytest.mark.parametrize("check", [check_tubes, check_chart])
def test_half_a_tandem_is_refused_in_one_line(check: Any, case: str) -> None:
    frame, begins, ends = TANDEMS[case]
    text = refusal(check, frame)
    assert text.startswith(begins)
    assert text.endswith(ends)
    assert "\n" not in text


@pytest.mark.parametrize(
    "frame",
    [
        moving.suspended(),
        moving.suspended(travel={"fork": 138}),
        moving.suspended(travel={"pivot": [-383, 56], "rear": 39}),
        moving.folding(),
        post_alone(),
        hinges(),
        # 12° off the tube
        post_alone(axis=[-0.114, 0.9935, 0]),
        hinges({"steer": 40}, chart={"lock": 40}),
        hinges({"from": "head tube", "along": 0}, {"along": 50}),
        moving.everything(),
        moving.tandem(),
        moving.tandem(tubes={"seat_stay": {"at_seat": 520}}),
    ],
)
def test_what_lies_just_inside_its_limits_passes_and_can_be_built(frame: Frame) -> None:
    assert abs(check_chart(frame).worst.difference) < 1.0
    assert build(frame).mounts
