"""The whole job: what holds on every piece of the fleet, counts of parts, hoses, choices, progress."""

from __future__ import annotations

import math
from collections import Counter

import pytest
from planned import BIKES, planned
from workbench import CALIPER, FRONT_STOP, LEVER, REAR_STOP, bench_frame, line, station

from ropewalk.errors import ChartError, FrameFileError, PartError
from ropewalk.workshop.choices import Choices
from ropewalk.workshop.jobplan import JobPlan, PiecePlan
from ropewalk.workshop.plan import plan

STATIONS = [LEVER, FRONT_STOP, REAR_STOP, CALIPER]


def pieces(job: JobPlan) -> list[PiecePlan]:
    return [piece for made in job.lines for piece in made.pieces]


@pytest.mark.parametrize("bike", BIKES)
def test_a_first_cut_is_the_next_five_above_target_and_99_per_cent_point(bike: str) -> None:
    for piece in pieces(planned(bike)):
        assert piece.first_cut is not None
        assert piece.quantile is not None
        safe = max(piece.target, piece.quantile)
        assert piece.first_cut == pytest.approx(5.0 * math.ceil(safe / 5.0 - 1e-9))
        assert safe <= piece.first_cut + 1e-9


@pytest.mark.parametrize("bike", BIKES)
def test_the_target_lies_in_the_window_and_its_terms_add_up(bike: str) -> None:
    for piece in pieces(planned(bike)):
        assert piece.window is not None
        assert piece.window[0] <= piece.target <= piece.window[1] + 1e-9
        assert sum(term.mm for term in piece.terms) == pytest.approx(piece.target)


@pytest.mark.parametrize("bike", BIKES)
def test_the_99_per_cent_point_lies_above_the_shortest_safe_length(bike: str) -> None:
    for piece in pieces(planned(bike)):
        assert piece.window is not None and piece.quantile is not None
        if piece.sigma > 0:
            # 2.33 standard deviations for one pose; the most of several poses is less spread and lies higher
            assert 1.5 * piece.sigma < piece.quantile - piece.window[0] < 3.5 * piece.sigma


@pytest.mark.parametrize("bike", BIKES)
def test_parts_are_counted_from_the_lines(bike: str) -> None:
    job = planned(bike)
    counts = {part.item: part.count for part in job.parts}
    ends = Counter(end for piece in pieces(job) for end in piece.ends)
    assert {name: counts[name] for name in ends} == dict(ends)
    inners = [made.inner for made in job.lines if made.inner is not None]
    assert counts["end cap for inner"] == len(inners)
    for housing in {piece.housing for piece in pieces(job)}:
        length = sum(piece.first_cut or piece.target for piece in pieces(job) if piece.housing == housing)
        assert counts[f"{housing}, metres begun"] == math.ceil(length / 1000.0)
    for inner in inners:
        assert counts[f"inner {inner.kind} × {inner.stock:.0f} mm"] >= 1


@pytest.mark.parametrize("bike", BIKES)
def test_every_loop_is_planned_in_every_pose_and_none_goes_unshaped(bike: str) -> None:
    for window in planned(bike).loops.values():
        assert window.sweep.converged.all()
        assert window.sweep.stable.all()
        assert (window.sweep.length == window.target).all()


def test_left_and_right_are_mirror_images() -> None:
    """The touring bike's two shift lines run alike on either side to their down tube stops."""
    left, right = planned("touring").piece("C1"), planned("touring").piece("D1")
    assert left is not None and right is not None
    assert left.window == pytest.approx(right.window, abs=0.05)
    assert left.first_cut == right.first_cut


def test_a_piece_is_found_by_its_tag_whatever_its_case() -> None:
    job = planned("touring")
    assert job.piece(" b2 ") is job.piece("B2")
    assert job.piece("Z9") is None


def test_a_hose_has_no_inner_and_no_friction() -> None:
    frame = bench_frame(
        line(
            [LEVER, {"name": "caliper", "type": "stop", "part": "hydraulic disc caliper, rear"}],
            work="hose",
            inner=None,
            housing="hydraulic hose",
        )
    )
    lever = frame.lever[0].model_copy(update={"part": "drop-bar hydraulic lever"})
    job = plan(frame.model_copy(update={"lever": (lever,)}))
    (made,) = job.lines
    assert (made.inner, made.efficiency, made.release_reserve, made.liners) == (None, None, None, ())
    assert made.turn > 0
    assert made.pieces[0].first_cut is not None
    assert not any("inner" in part.item for part in job.parts)


def test_a_larger_trim_makes_a_longer_target_and_leaves_the_window() -> None:
    frame = bench_frame(line(STATIONS), chart={"lock": 60})
    small, large = (plan(frame, Choices(trim_moving=trim)).piece("A1") for trim in (5.0, 15.0))
    assert small is not None and large is not None
    assert small.window == pytest.approx(large.window)
    assert large.target - small.target == pytest.approx(10.0)


def test_a_first_cut_is_never_below_the_target() -> None:
    """With 60 mm to trim the target lies beyond all that is not known exactly."""
    piece = plan(bench_frame(line(STATIONS)), Choices(trim_moving=60.0, turn_allowance_deg=180.0)).piece("A1")
    assert piece is not None and piece.quantile is not None and piece.first_cut is not None
    assert piece.target > piece.quantile + 5.0
    assert piece.target <= piece.first_cut < piece.target + 5.0


def test_a_wider_allowance_of_turn_makes_a_longer_longest() -> None:
    frame = bench_frame(line(STATIONS), chart={"lock": 60})
    narrow, wide = (plan(frame, Choices(turn_allowance_deg=angle)).piece("A1") for angle in (15.0, 30.0))
    assert narrow is not None and wide is not None and narrow.window is not None and wide.window is not None
    assert narrow.window[1] < wide.window[1]


def test_progress_is_told_from_little_to_nearly_all() -> None:
    told: list[tuple[str, float]] = []
    plan(bench_frame(line(STATIONS)), progress=lambda what, share: told.append((what, share)))
    shares = [share for _, share in told]
    assert shares == sorted(shares)
    assert 0 <= shares[0] < shares[-1] <= 1
    assert all(what for what, _ in told)


def test_planning_twice_gives_the_same() -> None:
    frame = bench_frame(line(STATIONS))
    first, second = plan(frame), plan(frame)
    assert [piece.first_cut for piece in pieces(first)] == [piece.first_cut for piece in pieces(second)]
    assert [piece.quantile for piece in pieces(first)] == [piece.quantile for piece in pieces(second)]


def test_a_chart_that_contradicts_itself_is_refused() -> None:
    with pytest.raises(ChartError) as refusal:
        plan(bench_frame(line(STATIONS), chart={"stack": 630}))
    assert "\n" not in str(refusal.value)


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"housing": "spirel brake 5.0"}, "spiral brake 5.0"),
        ({"inner": "brake 1.55"}, "brake 1.5"),
    ],
)
def test_parts_that_are_not_there_are_told_with_the_line(changes: dict[str, str], expected: str) -> None:
    with pytest.raises((PartError, FrameFileError)) as refusal:
        plan(bench_frame(line(STATIONS, **changes)))
    said = str(refusal.value)
    assert "\n" not in said
    assert expected in said
    assert "brake" in said


def test_a_strapped_piece_between_two_stops_is_planned_without_a_loop() -> None:
    """300 mm between the seats less two floors of 2 mm."""
    first = station(FRONT_STOP, facing="bottom bracket", then="strapped")
    job = plan(bench_frame(line([LEVER, first, station(REAR_STOP, facing="head tube"), CALIPER])))
    piece = job.piece("A2")
    assert piece is not None
    assert piece.window == pytest.approx((296.0, 296.0))
    assert piece.least_radius is None
    assert piece.first_cut is not None and piece.first_cut >= 300.0
