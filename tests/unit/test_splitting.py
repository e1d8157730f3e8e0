"""Adjusters and splitters in the place of housing: what is cut and the part make the length the route needs."""

from __future__ import annotations

import dataclasses
import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from sample_job import sample_piece
from workbench import CALIPER, FRONT_STOP, LEVER, PARTS, REAR_STOP, bench_frame, line, placed, station

from ropewalk.analysis.pieces import PieceStudy
from ropewalk.errors import FrameFileError
from ropewalk.routing.spans import PlacedLine
from ropewalk.workshop.jobplan import JobPlan, PiecePlan
from ropewalk.workshop.plan import plan
from ropewalk.workshop.splitting import (
    inlines_of,
    judge_parted,
    parted,
    rest_of,
    run_first_cut,
    settling,
    span_of_part,
    turn_before,
)

ADJUSTER = {"inline": "inline adjuster", "inline_at": 200}
PORT = station(FRONT_STOP, name="port", type="port", then="inside", through=["down tube"], carries="housing", lean=25)
REAR_PORT = station(REAR_STOP, name="rear port", type="port", lean=25)


def _line(**changes: Any) -> PlacedLine:
    """Return a line whose one piece is a loop, 300 mm inside, and a loop."""
    return placed([station(LEVER, **{**ADJUSTER, **changes}), PORT, REAR_PORT, CALIPER])[1]


def study(
    made: PlacedLine, *, target: float = 600.0, window: tuple[float, float] | None = (590.0, 640.0)
) -> PieceStudy:
    """Return a hand-made study: 10 mm of ferrule, a loop of 180 mm and 2 rad, the course inside, a loop of 1 rad."""
    inside = made.spans[1]
    last = target - 20.0 - 180.0 - 300.0
    return PieceStudy(
        route=made.route, piece=made.route.pieces[0], loops=(_loop(180.0, 2.0), _loop(last, 1.0)), groups=(),
        courses=(dataclasses.replace(inside, length=300.0, turn=0.5),), fixed=320.0, window=window, target=target,
        why_shortest="", why_longest="", least_radius=60.0, least_radius_pose=np.zeros(5), turn=3.5, terms=(),
    )  # fmt: skip


def _loop(target: float, turn: float) -> Any:
    case = SimpleNamespace(home=0, slides=False)
    return SimpleNamespace(target=target, case=case, sweep=SimpleNamespace(turn=np.array([turn])))


def whole(**changes: Any) -> PiecePlan:
    figures = {
        "window": (590.0, 640.0),
        "target": 600.0,
        "first_cut": 605.0,
        "sigma": 5.0,
        "quantile": 602.0,
        "turn": 3.5,
    }
    return sample_piece("A1", "lever", "caliper", **{**figures, **changes})


def two(made: PlacedLine, piece: PiecePlan, found: PieceStudy) -> tuple[PiecePlan, PiecePlan]:
    before, rest = parted(made.route, piece, found, PARTS)
    return before, rest


def test_the_first_is_what_the_file_gives_and_the_second_holds_the_rest() -> None:
    """200 mm, then an adjuster that replaces 35 mm: 600 - 235 = 365 mm are left."""
    made = _line()
    before, rest = two(made, whole(), study(made))
    assert (before.tag, before.start, before.end) == ("A1", "lever", "inline adjuster")
    assert (rest.tag, rest.start, rest.end) == ("A2", "inline adjuster", "caliper")
    assert (before.window, before.target, before.first_cut) == ((200.0, 200.0), 200.0, 200.0)
    assert (before.sigma, before.quantile) == (0.0, 200.0)
    assert rest.window == (355.0, 405.0)
    assert rest.target == 365.0
    assert before.ends == ("long ferrule 5", "seat of the inline adjuster")
    assert rest.ends == ("seat of the inline adjuster", "ferrule 5")


def test_the_terms_of_both_add_up_and_name_what_is_taken() -> None:
    made = _line()
    before, rest = two(made, whole(), study(made))
    assert sum(term.mm for term in before.terms) == pytest.approx(200.0)
    assert sum(term.mm for term in rest.terms) == pytest.approx(365.0)
    assert [(term.label, term.mm) for term in rest.terms[-2:]] == [
        ("less housing A1", -200.0),
        ("less the inline adjuster", -35.0),
    ]


def test_how_surely_the_part_s_length_is_known_counts_in_the_rest() -> None:
    """Its half-width of 10 mm is a sigma of 10/1.96 = 5.10 mm, and the 99 % point of a normal lies 2.326 of it out.

    12 mm from the shortest safe length to the whole's 99 % point, so hypot(12, 11.87) = 16.88 mm for the rest; 355 mm
    and that are 371.9 mm, cut at the next whole 5 mm.
    """
    made = _line()
    _, rest = two(made, whole(), study(made))
    assert rest.sigma == pytest.approx(math.hypot(5.0, 10.0 / 1.96), abs=0.01)
    assert rest.quantile == pytest.approx(355.0 + math.hypot(12.0, 2.3263 * 10.0 / 1.96), abs=0.02)
    assert rest.first_cut == 375.0
    assert run_first_cut(study(made), (rest,)) == pytest.approx(375.0 + 235.0)


def test_a_run_without_a_part_stays_as_it_is() -> None:
    made = placed([LEVER, PORT, REAR_PORT, CALIPER])[1]
    piece, found = whole(), study(made)
    assert parted(made.route, piece, found, PARTS) == (piece,)
    assert rest_of(found) is found
    assert run_first_cut(found, (piece,)) == 605.0
    assert inlines_of([found]) == ()
    assert span_of_part(found) is None


def test_turn_is_parted_span_by_span_in_proportion_to_length() -> None:
    """Of 200 mm 10 lie in the ferrule, 180 in the first loop of 2 rad, 10 in the 300 mm of 0.5 rad inside."""
    made = _line()
    found = study(made)
    assert turn_before(found) == pytest.approx(2.0 + 0.5 * 10.0 / 300.0)
    before, rest = two(made, whole(), found)
    assert before.turn + rest.turn == pytest.approx(3.5)
    short = _line(inline_at=100)
    assert turn_before(study(short)) == pytest.approx(2.0 * 90.0 / 180.0)


@pytest.mark.parametrize(("at", "span"), [(100, 0), (189, 0), (191, 1), (489, 1), (491, 2)])
def test_the_span_that_a_part_begins_in(at: float, span: int) -> None:
    """The first loop ends at 10 + 180 mm of housing, the way inside at 490 mm."""
    assert span_of_part(study(_line(inline_at=at), target=900.0)) == span


def test_a_part_inside_the_frame_is_a_look_and_one_outside_is_not() -> None:
    inside, outside = study(_line(inline_at=250)), study(_line(inline_at=100))
    pieces = (whole(), dataclasses.replace(whole(), tag="A2"))
    (finding,) = judge_parted(inside, pieces)
    assert (finding.grade, finding.where, finding.value) == ("look", "brake, A1", 250.0)
    assert "out of reach" in finding.text
    assert list(judge_parted(outside, pieces)) == []


def test_under_a_stop_neither_is_cut_and_each_says_so() -> None:
    made = _line()
    stopped = whole(window=None, first_cut=None, quantile=None)
    run = two(made, stopped, study(made, window=None))
    assert [(piece.window, piece.first_cut, piece.quantile) for piece in run] == [(None, None, None)] * 2
    (finding,) = [finding for finding in judge_parted(study(made, window=None), run) if finding.grade == "stop"]
    assert finding.where == "brake, A1"
    assert "A2" in finding.text


def test_findings_are_told_of_the_rest() -> None:
    found = study(_line())
    rest = rest_of(found)
    assert rest.piece.tag == "A2"
    assert (rest.window, rest.target) == ((355.0, 405.0), 365.0)
    assert rest.wanted == pytest.approx(found.wanted - 235.0)


@pytest.mark.parametrize(("at", "fits"), [(545, True), (546, False)])
def test_a_part_beyond_its_housing_is_refused(at: float, fits: bool) -> None:
    """Of 600 mm the adjuster takes 35 and two seats of 10 mm want their own: 545 mm are left for what is before it."""
    made = _line(inline_at=at)
    if fits:
        assert parted(made.route, whole(), study(made), PARTS)[1].target == pytest.approx(20.0)
        return
    with pytest.raises(FrameFileError) as refusal:
        parted(made.route, whole(), study(made), PARTS)
    said = str(refusal.value)
    assert "\n" not in said
    for part in ('station "lever"', "inline_at is 546 mm", "600 mm", "write 545 mm or less"):
        assert part in said


def test_every_end_of_housing_settles() -> None:
    """0.4 mm an end: two in ferrules, and two more in the adjuster's own seats."""
    assert settling(placed([LEVER, PORT, REAR_PORT, CALIPER])[1].route) == pytest.approx(0.8)
    assert settling(_line().route) == pytest.approx(1.6)


def test_adjusters_and_splitters_are_told_with_their_travel() -> None:
    (adjuster,) = inlines_of([study(_line())])
    assert (adjuster.part, adjuster.before, adjuster.after) == ("inline adjuster", "A1", "A2")
    assert (adjuster.at, adjuster.length, adjuster.travel, adjuster.splits) == (200.0, 35.0, 10.0, False)
    (splitter,) = inlines_of([study(_line(inline="cable splitter"))])
    assert (splitter.length, splitter.travel, splitter.splits) == (45.0, None, True)


# On a whole bike.


def _job(**changes: Any) -> JobPlan:
    return plan(bench_frame(line([station(LEVER, **changes), FRONT_STOP, REAR_STOP, CALIPER])))


@pytest.fixture(scope="module", name="plain")
def _plain() -> JobPlan:
    return _job()


@pytest.mark.parametrize(("part", "length"), [("inline adjuster", 35.0), ("cable splitter", 45.0)])
def test_both_pieces_and_the_part_make_the_unsplit_length(plain: JobPlan, part: str, length: float) -> None:
    unsplit, job = plain.lines[0], _job(inline=part, inline_at=180)
    first, second, third = job.lines[0].pieces
    assert first.target + length + second.target == pytest.approx(unsplit.pieces[0].target)
    for end in (0, 1):
        assert first.window is not None and second.window is not None and unsplit.pieces[0].window is not None
        assert first.window[end] + length + second.window[end] == pytest.approx(unsplit.pieces[0].window[end])
    assert first.turn + second.turn == pytest.approx(unsplit.pieces[0].turn)
    assert (third.tag, third.target) == ("A3", pytest.approx(unsplit.pieces[1].target))
    assert job.lines[0].turn == pytest.approx(unsplit.turn)


def test_an_adjuster_leaves_the_inner_s_path_as_it_is(plain: JobPlan) -> None:
    adjusted = _job(**{**ADJUSTER, "inline_at": 180}).lines[0].inner
    unsplit = plain.lines[0].inner
    assert adjusted is not None and unsplit is not None
    assert adjusted.path == pytest.approx(unsplit.path)


def test_parts_are_counted_and_seats_in_the_part_need_no_ferrule(plain: JobPlan) -> None:
    def counts(job: JobPlan) -> dict[str, int]:
        return {part.item: part.count for part in job.parts}

    adjusted = counts(_job(**{**ADJUSTER, "inline_at": 180}))
    assert adjusted["inline adjuster"] == 1
    assert adjusted["ferrule 5"] == counts(plain)["ferrule 5"] == 4
    assert not any("seat of" in item for item in adjusted)
    split = counts(_job(inline="cable splitter", inline_at=180))
    assert sum(count for item, count in split.items() if item.startswith("inner brake 1.5")) == 2
    assert split["end cap for inner"] == 1
