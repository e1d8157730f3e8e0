"""What to pick from the shelf, counted by hand from a plan made by hand."""

from __future__ import annotations

import dataclasses

from sample_job import sample_job, sample_piece

from ropewalk.workshop.jobplan import InlinePlan, LinePlan, LinerPlan
from ropewalk.workshop.shelf import count_parts


def counted(*lines: LinePlan) -> dict[str, int]:
    return {part.item: part.count for part in count_parts(lines)}


def line(**changes: object) -> LinePlan:
    return dataclasses.replace(sample_job().lines[0], **{"pieces": (), "liners": (), **changes})  # type: ignore[arg-type]


def test_metres_are_begun_by_first_cuts_and_targets_where_there_is_none() -> None:
    """600 mm and, under a stop, the target of 500 mm: two metres begun of one housing; 1000 mm are one metre."""
    first = sample_piece("A1", "lever", "stop", first_cut=600.0)
    stopped = sample_piece("A2", "stop", "caliper", first_cut=None, window=None, quantile=None, target=500.0)
    other = sample_piece("A3", "stop", "caliper", housing="link", first_cut=1000.0)
    found = counted(line(pieces=(first, stopped, other)))
    assert found["spiral brake 5.0, metres begun"] == 2
    assert found["link, metres begun"] == 1
    assert (found["long ferrule 5"], found["ferrule 5"]) == (3, 3)


def test_ends_in_an_adjuster_s_seats_need_no_ferrule() -> None:
    seat = "seat of the inline adjuster"
    pieces = (
        sample_piece("A1", "lever", "inline adjuster", ends=("ferrule 5", seat)),
        sample_piece("A2", "inline adjuster", "stop", ends=(seat, "ferrule 5")),
    )
    adjuster = InlinePlan("inline adjuster", "A1", "A2", 200.0, 35.0, 10.0, False, 0)
    found = counted(line(pieces=pieces, inlines=(adjuster,)))
    assert (found["ferrule 5"], found["inline adjuster"]) == (2, 1)
    assert not any("seat" in item for item in found)


def test_a_guide_serves_line_after_line_and_liners_and_sleeves_stay() -> None:
    """Two liners of 800 mm are two metres begun; of two guides the longer, 1.2 m, is two metres begun."""
    guides = [LinerPlan("shift liner", "in", "out", cut, "guide", (150.0, 150.0)) for cut in (900.0, 1200.0)]
    liners = [LinerPlan("shift liner", "in", "out", 800.0), LinerPlan("soft sleeve", "in", "out", 300.0, "sleeve")]
    found = counted(line(liners=(guides[0], liners[0], liners[1])), line(liners=(guides[1], liners[0])))
    assert found["shift liner as guide liner, metres begun"] == 2
    assert found["shift liner, metres begun"] == 2
    assert found["soft sleeve, metres begun"] == 1


def test_both_inners_of_a_split_line_are_picked_and_one_end_is_capped() -> None:
    """The upper one ends in the splitter; a hose has neither inner nor cap."""
    whole = sample_job().lines[0]
    assert whole.inner is not None
    found = counted(
        line(lower_inner=dataclasses.replace(whole.inner, stock=None, need=4000.4)), line(inner=None), line()
    )
    assert found["inner brake 1.5 × 2000 mm"] == 2
    assert found["inner brake 1.5, over 4000 mm"] == 1
    assert found["end cap for inner"] == 2
