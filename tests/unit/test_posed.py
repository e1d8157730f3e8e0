"""A planned bike in a pose: lines joined end to end, loops of their target length, bars turned as asked."""

from __future__ import annotations

import math

import numpy as np
import pytest
from planned import BIKES, planned
from workbench import FRONT_CALIPER, LEVER, bench_frame
from workbench import line as bench_line

from ropewalk.errors import ChoiceError
from ropewalk.mechanics.curves import arc_length
from ropewalk.workshop.plan import plan
from ropewalk.workshop.posed import PosedLine, posed_lines

ANGLES = (-45.0, 0.0, 17.0, 70.0)


def posed(bike: str, angle_deg: float) -> tuple[PosedLine, ...]:
    return posed_lines(planned(bike), {"steer": math.radians(angle_deg)})


@pytest.mark.parametrize("angle", ANGLES)
@pytest.mark.parametrize("bike", BIKES)
def test_loops_have_their_target_length(bike: str, angle: float) -> None:
    job = planned(bike)
    for place, line in enumerate(posed(bike, angle)):
        for at, span in enumerate(line.spans):
            if span.kind == "loop":
                assert float(arc_length(span.points)) == pytest.approx(job.loops[place, at].target, rel=3e-3)


@pytest.mark.parametrize("angle", ANGLES)
@pytest.mark.parametrize("bike", BIKES)
def test_housing_runs_on_from_span_to_span(bike: str, angle: float) -> None:
    """Where housing passes from a covered span to the next without a stop, one begins where the other ends."""
    for line in posed(bike, angle):
        for before, after in zip(line.spans, line.spans[1:], strict=False):
            if before.tag is not None and before.tag == after.tag:
                assert before.points[-1] == pytest.approx(after.points[0], abs=0.1)


def test_what_is_on_the_bar_turns_and_what_is_on_the_frame_stays() -> None:
    straight, turned = (posed("touring", angle)[1] for angle in (0.0, 40.0))
    names = straight.station_names
    lever, stop = names.index("left lever"), names.index("rear top tube stop")
    assert np.linalg.norm(turned.stations[lever] - straight.stations[lever]) > 50.0
    assert turned.stations[stop] == pytest.approx(straight.stations[stop])
    # to the right, the left lever goes forward and to the right
    assert turned.stations[lever][0] > straight.stations[lever][0]
    assert turned.stations[lever][2] > straight.stations[lever][2]


def test_a_loop_that_does_not_move_is_carried_as_it_is() -> None:
    """The front brake's loop turns with bar and fork alike: its shape keeps."""
    (straight, turned) = (posed("touring", angle)[0].spans[1] for angle in (0.0, 50.0))
    apart = [np.linalg.norm(np.diff(span.points, axis=0), axis=1) for span in (straight, turned)]
    assert apart[0] == pytest.approx(apart[1])
    assert math.dist(straight.points[0], straight.points[-1]) == pytest.approx(
        math.dist(turned.points[0], turned.points[-1])
    )
    assert straight.least_radius == turned.least_radius


@pytest.mark.parametrize("bike", BIKES)
def test_covered_spans_carry_their_tag_and_radii(bike: str) -> None:
    for line in posed(bike, 0.0):
        for span in line.spans:
            assert (span.tag is not None) == span.covered
            assert (span.kink_radius is not None) == span.covered
            if span.kind == "loop" and span.kink_radius is not None:
                assert span.least_radius >= span.kink_radius - 0.5


def test_bars_turn_no_further_than_their_lock() -> None:
    with pytest.raises(ChoiceError, match="steering angle is 76°: it moves 75° to each side"):
        posed("touring", 76.0)
    assert posed("touring", 75.0)


def test_bars_keep_to_their_lock_where_no_loop_moves_with_them() -> None:
    """One front brake, all of it on bar and fork: nothing is swept, and the bars turn by 60° all the same."""
    job = plan(bench_frame(bench_line([LEVER, FRONT_CALIPER]), chart={"lock": 60}))
    assert posed_lines(job, {"steer": math.radians(60.0)})
    with pytest.raises(ChoiceError, match="steering angle is 61°: it moves 60° to each side"):
        posed_lines(job, {"steer": math.radians(61.0)})


def test_an_angle_that_is_no_number_is_refused() -> None:
    with pytest.raises(ChoiceError):
        posed_lines(planned("touring"), {"steer": math.nan})
