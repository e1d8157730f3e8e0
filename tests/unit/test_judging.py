"""Findings: each fault found, graded, with place, value, limit and what to do; and none where all is well."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest
from workbench import CALIPER, FRONT_STOP, LEVER, PARTS, REAR_STOP, bench_frame, line, placed, station

from ropewalk.analysis.findings import Finding, ordered
from ropewalk.analysis.nearlock import STRAIGHT_ROD
from ropewalk.analysis.pieces import PieceStudy, study_piece
from ropewalk.bike.framefile import Frame
from ropewalk.bike.model import build
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.poses import STEER, poses
from ropewalk.bike.sourced import Source, Sourced
from ropewalk.workshop.choices import Choices
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.judging import judge_bike, judge_piece
from ropewalk.workshop.plan import plan

STATIONS = [LEVER, FRONT_STOP, REAR_STOP, CALIPER]


def job(*stations: dict[str, Any], frame: dict[str, Any] | None = None, **changes: Any) -> JobPlan:
    return plan(bench_frame(line(stations or STATIONS, **changes), **(frame or {})))


def found(job_: JobPlan, text: str) -> list[Finding]:
    return [finding for finding in job_.findings if text in finding.text]


def test_every_finding_says_where_what_and_what_to_do() -> None:
    for finding in job().findings:
        assert finding.grade in ("stop", "look", "note")
        assert finding.where and finding.text and finding.advice
        assert "\n" not in finding.text + finding.advice
        assert finding.limit is None or finding.value is not None


def test_findings_come_gravest_first_and_else_as_found() -> None:
    note, look, stop = (Finding(grade, "here", grade, "do") for grade in ("note", "look", "stop"))  # type: ignore[arg-type]
    second = dataclasses.replace(look, text="second")
    assert ordered([note, look, stop, second]) == (stop, look, second, note)


def test_an_assumed_lock_is_a_look_and_a_given_one_is_not() -> None:
    def looks(frame: Frame) -> list[Finding]:
        return list(judge_bike(build(frame), poses(frame), []))

    (assumed,) = looks(bench_frame(line(STATIONS)))
    assert (assumed.grade, assumed.value, assumed.unit) == ("look", 90.0, "°")
    assert "lock assumed" in assumed.text
    assert looks(bench_frame(line(STATIONS), chart={"lock": 70})) == []


def test_shift_housing_on_a_brake_is_a_stop_and_that_piece_has_no_first_cut() -> None:
    wrong = job(LEVER, FRONT_STOP, station(REAR_STOP, housing="lengthwise shift 4.0"), CALIPER)
    (finding,) = found(wrong, "under a brake's pull it bursts")
    assert (finding.grade, finding.where) == ("stop", "brake, A2")
    right_piece, wrong_piece = wrong.lines[0].pieces
    assert (wrong_piece.first_cut, wrong_piece.window) == (None, None)
    assert right_piece.first_cut is not None
    assert wrong_piece.target > 0


def test_a_shift_wire_on_a_brake_is_a_stop() -> None:
    (finding,) = found(job(inner="shift 1.2"), "wire is for")
    assert finding.grade == "stop"
    assert "not for a brake line" in finding.text


def judged(job_: JobPlan, study: PieceStudy, first_cut: float | None) -> list[Finding]:
    """Return the findings on one piece of the plan's only line."""
    bike, line_ = job_.model, job_.routing[0]
    return list(judge_piece(line_, study, first_cut, bike=bike, sweep=poses(bike.frame), catalogue=PARTS))


def stiff_parts(radius: float) -> Catalogue:
    """Return the catalogue with brake housing that neither kinks nor wears above one large radius only."""
    housing = PARTS.housing("spiral brake 5.0")
    large = Sourced(radius, 0.0, "mm", Source("estimate", "default: ask the maker"))
    stiff = housing.model_copy(update={"kink_radius": large, "advised_radius": large})
    return dataclasses.replace(PARTS, housings={**PARTS.housings, housing.name: stiff})


def test_no_length_that_keeps_the_kink_radius_is_a_stop_with_no_window_and_no_first_cut(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Housing that kinks below 90 mm, between stops 20 mm apart that send it there and back."""
    monkeypatch.setattr("ropewalk.workshop.plan.catalogue", lambda: stiff_parts(90.0))
    there = station(FRONT_STOP, facing="head tube", then="loop")
    back = station(REAR_STOP, along=140, facing="head tube", then="bare")
    none = job(LEVER, there, back, station(REAR_STOP, name="third stop"), CALIPER)
    piece = none.piece("A2")
    assert piece is not None
    assert (piece.window, piece.first_cut, piece.quantile) == (None, None, None)
    assert piece.target > 0
    (finding,) = [one for one in found(none, "no length keeps the kink radius") if one.where == "brake, A2"]
    assert (finding.grade, finding.limit, finding.unit) == ("stop", 90.0, "mm")
    assert finding.value is not None and 0 < finding.value < 90.0
    assert finding.value == pytest.approx(piece.least_radius, abs=0.1)


def test_a_way_that_is_shut_is_a_stop() -> None:
    inner = {"then": "inside", "through": ["down tube", "seat tube"], "carries": "housing"}
    port = station(FRONT_STOP, name="port", type="port", **inner)
    out = station(REAR_STOP, name="out", type="port", on="seat tube", from_="bottom bracket", along=250, facing="top")
    shut = job(LEVER, port, out, CALIPER)
    (finding,) = found(shut, "no way leads inside")
    assert (finding.grade, finding.where) == ("stop", "brake, A1")
    assert "opening" in finding.advice
    assert shut.lines[0].pieces[0].first_cut is None


def test_a_hole_too_small_for_what_passes_is_a_stop() -> None:
    inner = {"then": "inside", "through": ["down tube"], "carries": "housing"}
    small = station(FRONT_STOP, name="port", type="port", hole=4.5, **inner)
    wide = station(REAR_STOP, name="out", type="port", hole=6)
    (finding,) = found(job(LEVER, small, wide, CALIPER), "too small")
    assert (finding.grade, finding.where) == ("stop", "brake, port")
    assert (finding.value, finding.limit) == (4.5, 5.0)


def test_the_strength_of_a_brake_s_inner_against_the_lever_test() -> None:
    """EN 12385: least breaking load K d^2 R / 1000 kN, K 0.525 for a 1x19 strand; 450 N at the lever of ISO 4210-4.

    A note when the wire outlasts the test, a look when it would not.
    """
    for name, diameter in (("brake 1.5", 1.5), ("heavy brake 2.0", 2.0)):
        (finding,) = found(job(inner=name), "breaking load")
        grade = float(PARTS.strand("1x19").grade)
        pull = 450.0 * float(PARTS.lever("drop-bar brake-and-shift lever").exit("brake").advantage or 0.0)
        factor = 0.525 * diameter**2 * grade / pull
        assert finding.value == pytest.approx(factor, abs=0.02)
        assert finding.grade == ("note" if factor >= 1 else "look")


def test_shift_lines_are_not_held_to_a_brake_s_strength() -> None:
    shift = {"work": "shift", "inner": "shift 1.2", "housing": "lengthwise shift 4.0"}
    derailleur = {"name": "rear derailleur", "type": "stop", "part": "rear derailleur"}
    assert found(job(LEVER, FRONT_STOP, REAR_STOP, derailleur, **shift), "breaking load") == []


def test_a_strapped_bend_below_the_kink_radius_is_a_look() -> None:
    """Housing taped along the hook of a drop bar bends with it."""
    tape = {"name": "tape end", "type": "clip", "on": "bar", "from": "stem", "along": 50, "clock": 9, "then": "loop"}
    bent = job(
        station(LEVER, then="strapped"), tape, FRONT_STOP, REAR_STOP, CALIPER, housing="compressionless brake 5.0"
    )
    (finding,) = found(bent, "strapped from lever to tape end")
    assert finding.grade == "look"
    assert finding.limit == 45.0
    assert finding.value is not None and finding.value < 45.0


def test_a_loop_that_keeps_only_its_kink_radius_is_a_look() -> None:
    planned, made = job(), placed(STATIONS)[1]
    assert found(planned, "advised radius") == []
    window = dataclasses.replace(planned.loops[0, 2], keeps_advised=False)
    study = study_piece(made, made.route.pieces[1], [window], [], poses(planned.model.frame))
    (finding,) = [one for one in judged(planned, study, 300.0) if "advised radius" in one.text]
    assert (finding.grade, finding.limit, finding.where) == ("look", 50.0, "brake, A2")
    assert finding.value == pytest.approx(float(window.radius[0]), abs=0.1)


def test_a_first_cut_beyond_the_longest_tidy_length_is_noted() -> None:
    """With 5° of turn to spare the window is narrow, and figures are known to more than its width."""
    narrow = plan(bench_frame(line(STATIONS)), Choices(turn_allowance_deg=5.0))
    piece = narrow.piece("A2")
    assert piece is not None and piece.window is not None and piece.first_cut is not None
    assert piece.first_cut > piece.window[1]
    (finding,) = [one for one in found(narrow, "longer than tidy") if one.where == "brake, A2"]
    assert (finding.grade, finding.value) == ("note", piece.first_cut)
    assert "trim" in finding.advice


def test_no_length_is_told_with_the_pose_and_whether_it_pulls_there() -> None:
    """The lever's loop at its target, said to have no window: where it bends most, its end force tells which it is."""
    planned, made = job(), placed(STATIONS)[1]
    window = dataclasses.replace(planned.loops[0, 0], shortest=None, longest=None)
    study = study_piece(made, made.route.pieces[0], [window], [], poses(planned.model.frame))
    (finding,) = [one for one in judged(planned, study, None) if "no length keeps" in one.text]
    worst = int(window.sweep.least_radius.argmin())
    side = "right" if window.case.poses[worst, STEER] > 0 else "left"
    chord = window.sweep.clamps.end[worst] - window.sweep.clamps.start[worst]
    pulled = float(window.sweep.end_force[worst] @ chord) > 0
    assert f" {'pulls' if pulled else 'kinks'} at " in finding.text
    assert side in finding.text
    assert (finding.grade, finding.limit) == ("stop", 30.0)


def test_a_straight_rod_clamped_at_both_ends_has_the_stability_that_shares_are_told_of() -> None:
    """Closed form: -w'' = λ w + c with w(0) = w(1) = 0 and no net w has least λ 4 π²; by finite differences here."""
    count = 400
    step = 1.0 / count
    stiff = (2.0 * np.eye(count - 1) - np.eye(count - 1, k=1) - np.eye(count - 1, k=-1)) / step**2
    free = np.eye(count - 1) - np.full((count - 1, count - 1), 1.0 / (count - 1))
    values = np.sort(np.linalg.eigvalsh(free @ stiff @ free))
    assert values[1] == pytest.approx(STRAIGHT_ROD, rel=1e-3)
