"""Every finding: a frame file that triggers it, and one just inside its limit that does not.

Limits are choices of the shop, the trade's or estimates and stand in the catalogue's settings; values are worked out
here by hand from the frame file. The small bike has a wheel of 39-622 (ISO 5775: 39 mm wide, 700 mm across), a down
tube of 31.8 and a head tube of 36 mm.
"""

from __future__ import annotations

import math
from functools import cache

import findingcases as made
import pytest
from workbench import CALIPER, FRONT_STOP, LEVER, REAR_STOP, station

from ropewalk.analysis.findings import Finding, ordered
from ropewalk.bike.reading import loads
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.plan import plan

#: half of the tyre, of brake housing 5.0, of a 1.5 mm inner
TYRE, HOUSING, INNER = 19.5, 2.5, 0.75


@cache
def job(text: str) -> JobPlan:
    return plan(loads(text, "bike.toml"))


def found(text: str, words: str) -> list[Finding]:
    return [finding for finding in job(text).findings if words in finding.text]


def case(
    words: str,
    grade: str,
    over: str,
    within: str,
    value: float | None = None,
    limit: float | None = None,
    unit: str = "",
    near: float = 0.06,
) -> object:
    return pytest.param(words, grade, over, within, value, limit, unit, near, id=words)


def tail_gap(aside: float) -> float:
    """Return how far the tail of a dual-pivot caliper's inner ends from the tyre, its seat so far from the middle.

    Told from the brake hole, forward and up: the anchor lies 48 mm down and 2 mm inwards of the seat at (40, 38), the
    tail runs on 30 mm the same way; the axle is 50 mm ahead and 398 - 15 mm down; the tyre's middle is 330.5 from it.
    """
    size = math.hypot(48.0, 2.0)
    tip = (40.0, -10.0 - 30.0 * 48.0 / size, aside - 2.0 - 30.0 * 2.0 / size)
    from_middle = math.hypot(tip[0] - 50.0, tip[1] + 383.0) - 330.5
    return math.hypot(from_middle, tip[2]) - TYRE - INNER


def crossing_gap(clock: float) -> float:
    """Return how far two ways in a tube of 31.8 mm pass, one at half past ten to half past seven, one up to a clock."""
    first, second = (31.8 / 2 * math.sin(math.radians(30 * hours)) for hours in (10.5, clock))
    return abs(second - first)


#: K d² R over 450 N and an advantage of 4.8: EN 12385 with K 0.525 of a 1x19 strand and wires of 1770 N/mm²
STRENGTH = 0.525 * 1.5**2 * 1770.0 / (450.0 * 4.8)
#: water stands in held housing from its mouth 12 mm down the slope from the seat
SLOPE = math.hypot(100.0, 11.5)

CASES = [
    case(
        "under a brake's pull it bursts",
        "stop",
        made.text(made.brake(LEVER, FRONT_STOP, station(REAR_STOP, housing="lengthwise shift 4.0"), CALIPER)),
        made.text(made.brake()),
    ),
    case("wire is for", "stop", made.text(made.brake(inner="shift 1.2")), made.text(made.brake())),
    case("holds a pear nipple", "stop", made.text(made.brake(inner="heavy brake 1.8")), made.text(made.brake())),
    case(
        "both hold the inner by its nipple",
        "stop",
        made.dropper("dropper lever, nipple at the lever"),
        made.dropper("dropper lever"),
    ),
    case(
        "the lever meets the grip",
        "stop",
        made.pulls("flat", "flat-bar brake lever, short pull", "linear-pull with noodle, rear"),
        made.pulls("flat", "flat-bar brake lever, long pull", "linear-pull with noodle, rear"),
        7.5,
        12.5,
        "mm",
    ),
    case(
        "of the force it is made for",
        "look",
        made.pulls("flat", "flat-bar brake lever, long pull", "dual-pivot rim caliper, rear"),
        made.pulls("flat", "flat-bar brake lever, short pull", "dual-pivot rim caliper, rear"),
        15.0,
        9.0,
        "mm",
    ),
    case(
        "the lever may reach the grip first",
        "look",
        made.text(made.brake(inner="brake 1.5")),
        made.text(made.brake(inner="brake 1.6")),
        STRENGTH,
        1.0,
        "1",
    ),
    case("long enough for certain", "stop", made.long_way(622), made.long_way(618), 3450.0, 3450.0, "mm", 4.0),
    case("no way leads inside", "stop", made.shut(opening=False), made.shut(opening=True)),
    case(
        "too small for",
        "stop",
        made.inside_run(200, hole=4.9),
        made.inside_run(200, hole=5.1),
        4.9,
        5.0,
        "mm",
    ),
    case("it will rattle", "look", made.inside_run(301), made.inside_run(299), 301.0, 300.0, "mm"),
    case(
        "cross inside the down tube",
        "look",
        made.crossing(11.8),
        made.crossing(11.87),
        crossing_gap(11.8),
        10.0,
        "mm",
    ),
    case("sits on top of", "look", made.on_top(10.6), made.on_top(10.4), 42.0, 45.0, "°", 1.0),
    case(
        "water can stand",
        "note",
        made.standing_water(11.5),
        made.standing_water(11.0),
        11.5 * (1.0 - 12.0 / SLOPE),
        10.0,
        "mm",
    ),
    case(
        "bare inner leads it in from above",
        "look",
        made.led_water(1.0),
        made.led_water(-1.0),
        60.0 * (1.0 - 12.0 / math.hypot(100.0, 60.0)),
        10.0,
        "mm",
    ),
    case("the inner's tail", "look", made.tail(25.0), made.tail(25.5), tail_gap(25.0), 5.0, "mm"),
    case("off its axis", "look", made.off_axis(11.0), made.off_axis(9.0), 11.0, 10.0, "°"),
    # two floors of 2 mm less than from seat to seat; two insertions of 10 mm and 5 mm between them
    case("too short for its own ferrules", "stop", made.short_piece(28), made.short_piece(30), 24.0, 25.0, "mm"),
    # 0.4 mm a joint, two joints a piece, against a barrel adjuster of 8 mm
    case("its joints may settle", "look", made.many_pieces(11), made.many_pieces(10), 8.8, 8.0, "mm"),
    case("come back by itself", "note", made.noodles(120, 1), made.noodles(105, 1), 1.9, 2.0, "N", 0.09),
    case("no length keeps the kink radius", "stop", made.u_turn(4), made.u_turn(6), 44.6, 45.0, "mm", 0.3),
    case("near to buckling", "look", made.to_lock(54), made.to_lock(52), 18.5, 20.0, "%", 1.5),
    case("snaps over", "look", made.to_lock(60), made.to_lock(58), 60.0, 60.0, "°"),
    case(
        "rubs the rear tyre",
        "look",
        made.beside(-443.5, 406.5, TYRE + HOUSING - 0.5),
        made.beside(-443.5, 406.5, TYRE + HOUSING + 0.5),
        -0.5,
        0.0,
        "mm",
    ),
    # 22 mm of crown, 18 mm of head tube
    case(
        "rubs the fork crown",
        "look",
        made.beside(437, 421, 22.0 + HOUSING - 0.5),
        made.beside(437, 421, 22.0 + HOUSING + 0.5),
        -0.5,
        0.0,
        "mm",
    ),
    case(
        "rubs the head tube",
        "note",
        made.beside(404, 520, 18.0 + HOUSING - 0.5),
        made.beside(404, 520, 18.0 + HOUSING + 0.5),
        -0.5,
        0.0,
        "mm",
    ),
    # cranks, a chainring and knees from 55, 42 and 60 mm outwards
    case("rubs the crank", "look", made.beside(0, 140, 53.0), made.beside(0, 140, 52.0), -0.5, 0.0, "mm"),
    case("rubs the chainring", "look", made.beside(0, 70, 40.0), made.beside(0, 70, 39.0), -0.5, 0.0, "mm"),
    case("rubs a rider's knee", "look", made.beside(150, 500, 58.0), made.beside(150, 500, 57.0), -0.5, 0.0, "mm"),
    # turning left winds it up: the helix on 28.6 mm of steerer bends to 45 mm at 42.5°
    case("beside the steerer", "look", made.headset(43), made.headset(42), 42.5, 43.0, "°", 0.6),
    case("lock assumed", "look", made.text(made.brake()), made.text(made.brake(), chart={"lock": 75}), 90.0, None, "°"),
]


@pytest.mark.parametrize(("words", "grade", "over", "within", "value", "limit", "unit", "near"), CASES)
def test_a_finding_is_triggered_over_its_limit_and_not_within(
    words: str, grade: str, over: str, within: str, value: float | None, limit: float | None, unit: str, near: float
) -> None:
    (finding,) = found(over, words)
    assert finding.grade == grade
    assert finding.value == (None if value is None else pytest.approx(value, abs=near))
    assert finding.limit == (None if limit is None else pytest.approx(limit))
    assert finding.unit == unit
    assert finding.where
    assert finding.advice and "\n" not in finding.text + finding.advice
    assert found(within, words) == []


def test_what_moves_is_told_with_its_pose_and_side() -> None:
    (near,) = found(made.to_lock(54), "near to buckling")
    (snaps,) = found(made.to_lock(60), "snaps over")
    assert "at 54° left" in near.text
    assert "at 60° left" in snaps.text


def test_a_loop_that_stays_is_held_against_what_turns() -> None:
    """The tyre's rear swings out by 297 mm times the sine of the steering angle: to the right when turned left.

    A loop on the frame 100 mm to the right there is out of its way at 10° (51 mm and half the tyre) and not at 30°.
    """
    (finding,) = found(made.beside(300, 120, 100, chart={"lock": 30}), "rubs the front tyre")
    assert "° left:" in finding.text
    assert finding.value is not None and -TYRE - HOUSING <= finding.value < 0.0
    assert found(made.beside(300, 120, 100, chart={"lock": 10}), "rubs the front tyre") == []
    assert found(made.beside(300, 120, -100, chart={"lock": 30}), "° right: unhindered") != []


def test_a_release_is_surely_lost_only_where_the_spreads_do_not_explain_it() -> None:
    """Three rigid parts of 180° take 10 N · exp(-0.18 · 3 π) and more: less than a quarter of what the lever wants."""
    (doubtful,) = found(made.noodles(180, 2), "come back by itself")
    (sure,) = found(made.noodles(180, 3), "come back by itself")
    assert doubtful.grade == "note" and "too rough" in doubtful.text
    assert sure.grade == "look" and "too rough" not in sure.text
    assert sure.value is not None and sure.value < 10.0 * math.exp(-0.18 * 3.0 * math.pi)


def test_lines_that_go_round_the_tube_together_do_not_cross() -> None:
    """One from half past ten to half past seven; one from 9 to 9 is crossed, one from 11 to 7 stays outside it."""
    assert found(made.crossing(9.0), "cross inside") != []
    assert found(made.crossing(7.0), "cross inside") == []


def test_an_adjuster_in_the_housing_counts_with_its_own_travel() -> None:
    """Eleven pieces settle by 8.8 mm and the adjuster's two joints by 0.8 more: its 10 mm take that up."""
    assert found(made.many_pieces(11, inline="inline adjuster", inline_at=100), "may settle") == []
    (finding,) = found(made.many_pieces(13, inline="inline adjuster", inline_at=100), "may settle")
    assert (finding.value, finding.limit) == (pytest.approx(11.2), 10.0)


def test_no_length_names_whether_it_pulls_or_kinks_and_where() -> None:
    (finding,) = found(made.u_turn(4), "no length keeps the kink radius")
    assert "the best one kinks at straight ahead" in finding.text
    piece = job(made.u_turn(4)).piece("A2")
    assert piece is not None and (piece.window, piece.first_cut) == (None, None)


def test_what_ends_a_window_by_rubbing_is_named() -> None:
    """It rubs at its shortest safe length already, so nothing longer is tidy."""
    piece = job(made.beside(-443.5, 406.5, TYRE + HOUSING - 0.5)).piece("A2")
    assert piece is not None and piece.window is not None
    assert piece.why_longest == "rubs the rear tyre"
    assert piece.window[0] == pytest.approx(piece.window[1])


def test_like_findings_are_told_once_with_all_their_places() -> None:
    told = [
        Finding("look", "front brake", "too weak", "ask", 0.9, 1.0, "1"),
        Finding("note", "front brake, A1", "rubs at 3°", "tape", -3.0, 0.0, "mm", alike=True),
        Finding("look", "rear brake", "too weak", "ask", 0.9, 1.0, "1"),
        Finding("note", "rear brake, B1", "rubs at 20°", "tape", -20.0, 0.0, "mm", alike=True),
        Finding("look", "gear", "too weak", "ask", 0.8, 1.0, "1"),
    ]
    weak, gear, rubs = ordered(told)
    assert weak.where == "front brake and rear brake"
    assert gear.where == "gear"
    assert (rubs.where, rubs.text, rubs.value) == ("front brake, A1 and rear brake, B1", "rubs at 20°", -20.0)
    assert rubs.concerns("rear brake, B1") and not rubs.concerns("rear brake")
