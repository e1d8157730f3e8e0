"""After the dry fit: what follows for every piece and inner, and what is refused or doubted."""

from __future__ import annotations

import dataclasses

import pytest
from planned import FLEET, planned
from scipy.stats import truncnorm

from ropewalk.bike.fitfile import DryFit, fit_text, written_fit
from ropewalk.errors import DryFitError
from ropewalk.workshop import dryfitwords
from ropewalk.workshop.dryfit import TIGHT, blank_fit, fit_dry, offered_fits
from ropewalk.workshop.fitted import FittedJob, FittedPiece
from ropewalk.workshop.jobplan import PiecePlan

#: a step of first cuts [mm]
STEP = 5.0


def found(*pieces: tuple[str, float, str], bike: str | None = None) -> DryFit:
    return DryFit.model_validate(
        {
            "format": 1,
            "bike": bike,
            "piece": [{"tag": tag, "as_cut": as_cut, "fit": fit} for tag, as_cut, fit in pieces],
        }
    )


def fitted(bike: str, *pieces: tuple[str, float, str]) -> FittedJob:
    return fit_dry(planned(bike), found(*pieces))


def result(bike: str, tag: str, as_cut: float, fit: str) -> FittedPiece:
    piece = fitted(bike, (tag, as_cut, fit)).piece(tag)
    assert piece is not None
    return piece


def plan_of(bike: str, tag: str) -> PiecePlan:
    piece = planned(bike).piece(tag)
    assert piece is not None and piece.window is not None and piece.first_cut is not None
    return piece


# Before anything was tried.


@pytest.mark.parametrize("bike", FLEET)
def test_before_anything_was_tried_all_is_as_planned(bike: str) -> None:
    job = planned(bike)
    after = fit_dry(job, found())
    pieces = [piece for line in job.lines for piece in line.pieces if piece.first_cut is not None]
    assert [(piece.tag, piece.do, piece.cut) for piece in after.pieces] == [
        (piece.tag, "cut", piece.first_cut) for piece in pieces
    ]
    assert all(piece.target == round(plan_of(bike, piece.tag).target) for piece in after.pieces)
    assert all(inner.reaches for inner in after.inners)
    needs = [inner.need for line in job.lines for inner in line.inners]
    assert [inner.need for inner in after.inners] == pytest.approx(needs)
    assert not after.findings


@pytest.mark.parametrize("bike", FLEET)
def test_a_blank_file_holds_every_piece_at_its_first_cut(bike: str) -> None:
    job = planned(bike)
    blank = fit_text(blank_fit(job), "blank")
    assert [(piece.tag, piece.as_cut, piece.fit) for piece in blank.piece] == [
        (piece.tag, piece.first_cut, "not tried") for line in job.lines for piece in line.pieces if piece.first_cut
    ]
    assert {piece.do for piece in fit_dry(job, blank).pieces} == {"try"}


@pytest.mark.parametrize("bike", ["touring", "longtail", "trail"])
def test_every_verdict_that_is_offered_is_taken(bike: str) -> None:
    job = planned(bike)
    for line in job.lines:
        for piece in line.pieces:
            for fit in offered_fits(job, piece.tag):
                after = fit_dry(job, found((piece.tag, piece.first_cut or 0.0, fit))).piece(piece.tag)
                assert after is not None
                expected = {"not tried": ("try",), "fine": ("done",), "long": ("trim", "done")}
                assert after.do in expected.get(fit, ("make again",))
                assert (after.cut is not None) == (after.do == "make again")


# Tight.


def test_a_still_piece_that_is_tight_is_cut_by_the_truncated_normal() -> None:
    """B2 of the tourer has one pose, so its shortest safe length is a plain normal."""
    piece = plan_of("touring", "B2")
    assert piece.window is not None
    mean, sigma = piece.window[0], piece.sigma
    for as_cut in (mean - 4.0, mean + 2.0, mean + 9.0):
        now = result("touring", "B2", as_cut, "tight")
        after = truncnorm((as_cut - mean) / sigma, float("inf"), loc=mean, scale=sigma)
        assert now.do == "make again" and now.cut is not None
        assert now.cut % STEP == 0.0
        # its 99 % point, or the target where that is more, rounded up; draws scatter a little
        assert max(after.ppf(0.99), now.target) - 0.6 <= now.cut < max(after.ppf(0.99), now.target) + STEP + 0.6
        offset = piece.target - mean
        assert now.target == pytest.approx(after.mean() + offset, abs=0.8)
        assert now.sigma == pytest.approx(after.std(), abs=0.2)


@pytest.mark.parametrize("fit", TIGHT)
def test_a_piece_made_again_is_longer_than_it_was_and_never_shorter_than_its_new_target(fit: str) -> None:
    for over in (-10.0, 0.0, 10.0, 60.0):
        piece = plan_of("touring", "C1")
        as_cut = (piece.first_cut or 0.0) + over
        now = result("touring", "C1", as_cut, fit)
        assert now.do == "make again" and now.cut is not None
        assert now.cut > as_cut and now.cut >= now.target > as_cut - 1.0
        assert dryfitwords.result(now) == f"make again: cut {now.cut:.0f} mm"


def test_a_longer_piece_that_was_still_tight_is_made_longer_still() -> None:
    cuts = [result("touring", "C1", as_cut, "tight at left lock").cut for as_cut in (640.0, 660.0, 680.0, 700.0, 730.0)]
    assert cuts == sorted(cuts)
    assert cuts[-1] - cuts[0] >= 40.0  # type: ignore[operator]


def test_a_piece_cut_far_too_short_and_tight_is_cut_as_planned() -> None:
    """That it was tight there tells next to nothing: it was sure before."""
    piece = plan_of("touring", "C1")
    now = result("touring", "C1", piece.target - 60.0, "tight")
    assert now.cut == pytest.approx(piece.first_cut, abs=STEP)
    assert now.target == pytest.approx(piece.target, abs=1.5)


# Fine and long.


def test_a_piece_that_is_fine_is_left_whatever_its_target() -> None:
    piece = plan_of("touring", "C1")
    for as_cut in (piece.target - 6.0, piece.target, piece.first_cut or 0.0):
        now = result("touring", "C1", as_cut, "fine")
        assert (now.do, now.trim, now.cut) == ("done", None, None)


def test_a_long_piece_is_trimmed_to_its_target_and_what_is_told_adds_up() -> None:
    for bike in FLEET:
        for line in planned(bike).lines:
            befores = {inline.before for inline in line.inlines}
            for piece in line.pieces:
                if piece.window is None or piece.tag in befores:
                    continue
                as_cut = (piece.first_cut or 0.0) + 7.5
                now = result(bike, piece.tag, as_cut, "long")
                assert now.do == "trim" and now.trim is not None
                assert now.trim + now.target == pytest.approx(as_cut)
                assert dryfitwords.result(now) == f"trim {now.trim:g} mm to {now.target:g} mm"
                assert now.target == pytest.approx(piece.target, abs=5.0)
                if now.at_once is not None:
                    assert now.target <= now.at_once < as_cut


def test_no_piece_is_trimmed_below_its_shortest_safe_length() -> None:
    """Called long at ever shorter lengths: it is trimmed no further than to where it is thought to be safe."""
    piece = plan_of("touring", "C1")
    assert piece.window is not None
    for over in range(40, -41, -4):
        now = result("touring", "C1", piece.window[0] + over, "long")
        if now.do == "trim" and now.as_cut is not None:
            # what the mechanic calls long is at least its offset longer than its shortest safe length
            assert now.target < now.as_cut
            assert now.target >= min(piece.window[0], now.as_cut - 15.0)
        else:
            assert now.do == "done"


def test_a_long_piece_at_its_target_is_trimmed_by_little_or_left() -> None:
    piece = plan_of("touring", "C1")
    now = result("touring", "C1", round(piece.target), "long")
    assert now.do in ("trim", "done")
    assert (now.trim or 0.0) < piece.sigma


# What one piece tells of others.


def test_a_tight_piece_lengthens_its_like_and_leaves_what_shares_nothing() -> None:
    after = fitted("touring", ("C1", plan_of("touring", "C1").first_cut or 0.0, "tight"))
    like, apart = after.piece("D1"), after.piece("B2")
    assert like is not None and apart is not None
    assert like.do == apart.do == "cut"
    assert like.cut is not None and like.cut > like.planned_cut and like.target > like.planned_target
    assert (apart.cut, apart.target) == (apart.planned_cut, apart.planned_target)


def test_a_piece_not_tried_yet_is_told_to_be_perhaps_short() -> None:
    target = plan_of("touring", "D1").target
    after = fitted("touring", ("C1", plan_of("touring", "C1").first_cut or 0.0, "tight"), ("D1", target, "not tried"))
    other = after.piece("D1")
    assert other is not None and other.do == "try"
    assert any("may prove too short" in reason for reason in other.reasons)


def test_the_order_in_the_file_does_not_matter() -> None:
    rows = (("C1", 685.0, "tight at left lock"), ("A1", 560.0, "fine"), ("B1", 575.0, "long"))
    assert fitted("touring", *rows) == fitted("touring", *reversed(rows))


def test_findings_that_cannot_be_of_one_bike_are_told_and_each_piece_is_taken_alone() -> None:
    """Two pieces that rest on the same figures alone ask for the same, so one cannot be tight and the other fine."""
    job = planned("touring")
    shared = job.demands["C1"]
    sigmas = shared.sigmas.copy()
    sigmas[len(shared.figures) :] = 0.0
    alike = dataclasses.replace(shared, sigmas=sigmas)
    same = dataclasses.replace(job, demands={**job.demands, "C1": alike, "D1": alike})
    after = fit_dry(same, found(("C1", 672.0, "tight"), ("D1", 655.0, "fine")))
    assert "can hardly be of one bike" in after.findings[0].text
    assert after.findings[0].where == "C1 and D1"
    alone = fit_dry(same, found(("C1", 672.0, "tight")))
    assert after.piece("C1") == alone.piece("C1")


# What is doubted.


def test_what_can_hardly_be_is_doubted_and_moves_no_other_piece() -> None:
    piece = plan_of("touring", "C1")
    as_cut = (piece.first_cut or 0.0) + 40.0
    after = fitted("touring", ("C1", as_cut, "tight at left lock"))
    told = [finding for finding in after.findings if "by the figures planned with" in finding.text]
    assert [(finding.grade, finding.where) for finding in told] == [("look", "front derailleur, C1")]
    assert "less than once in 10 000 bikes" in told[0].text and "within" in told[0].text
    again, other = after.piece("C1"), after.piece("D1")
    assert again is not None and again.cut is not None and again.chance == 0.0
    assert again.cut >= as_cut + (piece.quantile or 0.0) - piece.window[0] - 0.5  # type: ignore[index]
    assert other is not None and other.cut == other.planned_cut


def test_a_first_cut_that_proves_tight_is_rare_but_believed() -> None:
    """One in a hundred may be: that is how first cuts are planned."""
    piece = plan_of("touring", "C1")
    after = fitted("touring", ("C1", piece.first_cut or 0.0, "tight"))
    found_so = after.piece("C1")
    assert found_so is not None and found_so.chance is not None and 0.001 < found_so.chance <= 0.0101
    assert not [finding for finding in after.findings if "by the figures planned with" in finding.text]


def test_fine_where_it_should_be_far_too_short_is_left_and_looked_at() -> None:
    piece = plan_of("touring", "C1")
    after = fitted("touring", ("C1", piece.window[0] - 40.0, "fine"))  # type: ignore[index]
    assert [(now.do, now.trim) for now in after.pieces if now.tag == "C1"] == [("done", None)]
    assert after.findings and after.findings[0].grade == "look"


@pytest.mark.parametrize(("over", "told"), [(-2.0, 0), (2.0, 1)])
def test_a_piece_called_fine_that_is_longer_than_tidy_is_noted(over: float, told: int) -> None:
    piece = plan_of("touring", "B1")
    assert piece.window is not None and piece.first_cut is not None and piece.first_cut < piece.window[1] - 10.0
    after = fitted("touring", ("B1", piece.window[1] + over, "fine"))
    now = after.piece("B1")
    assert now is not None and now.do == "done"
    # what is learnt moves its window with its target
    longest = piece.window[1] + now.target - now.planned_target
    assert abs(longest - piece.window[1]) < 1.0
    noted = [finding for finding in after.findings if "longer than tidy" in finding.text]
    assert [(one.grade, one.where, one.limit) for one in noted] == told * [
        ("note", "rear brake, B1", float(round(longest)))
    ]


def test_tight_at_the_lock_that_asks_for_less_is_a_contradiction() -> None:
    """The tandem's left shift housing is pulled by turning left, as its reasons say."""
    piece = plan_of("tandem", "C1")
    assert "left" in piece.why_shortest and "right" not in piece.why_shortest
    as_cut = piece.window[0] - 6.0  # type: ignore[index]
    told = {
        side: [
            finding
            for finding in fitted("tandem", ("C1", as_cut, f"tight at {side} lock")).findings
            if f"tight at the {side} lock, but" in finding.text
        ]
        for side in ("left", "right")
    }
    assert not told["left"]
    assert len(told["right"]) == 1 and "measure the stations" in told["right"][0].advice


def test_tight_at_a_lock_where_nothing_moves_is_a_contradiction() -> None:
    piece = plan_of("touring", "B2")
    assert [fit for fit in offered_fits(planned("touring"), "B2") if "lock" in fit] == []
    after = fitted("touring", ("B2", piece.target, "tight at left lock"))
    assert any("nothing of it depends on that" in finding.text for finding in after.findings)
    again = after.piece("B2")
    assert again is not None and again.cut is not None and again.cut > piece.target


# Parts in the place of housing, hoses, inners.


def test_housing_before_an_adjuster_cut_otherwise_is_made_up_for_after_it() -> None:
    before, rest = plan_of("longtail", "C1"), plan_of("longtail", "C2")
    as_planned, shorter = result("longtail", "C2", 300.0, "long"), None
    after = fitted("longtail", ("C1", before.target - 12.0, "fine"), ("C2", 300.0 + 12.0, "long"))
    shorter = after.piece("C2")
    assert shorter is not None and shorter.do == as_planned.do == "trim"
    assert shorter.target == pytest.approx(as_planned.target + 12.0, abs=1.0)
    uncut = fitted("longtail", ("C1", before.target - 12.0, "fine")).piece("C2")
    assert uncut is not None and uncut.target == round(rest.target + 12.0)
    first = after.piece("C1")
    assert first is not None and (first.do, first.trim) == ("done", None)


def test_a_hose_has_no_inner_but_all_else() -> None:
    hose = plan_of("trail", "B1")
    after = fitted("trail", ("B1", (hose.first_cut or 0.0) + 20.0, "long"))
    assert [piece.do for piece in after.pieces if piece.tag == "B1"] == ["trim"]
    hoses = {line.name for line in planned("trail").lines if line.work == "hose"}
    assert hoses and not hoses & {inner.line for inner in after.inners}
    trimmed = after.piece("B1")
    assert trimmed is not None and any("with the fork pushed in" in reason for reason in trimmed.reasons)


def test_each_inner_counts_the_housing_it_runs_through() -> None:
    """Of the tandem's two rear brake inners the splitter's lower one alone runs through the housing after it."""
    before, rest = plan_of("tandem", "B1"), plan_of("tandem", "B2")
    line = next(line for line in planned("tandem").lines if line.name == "rear brake")
    upper, lower = (inner.need for inner in line.inners)
    after = fitted("tandem", ("B1", before.target, "fine"), ("B2", (rest.first_cut or 0.0) + 30.0, "fine"))
    needs = [inner.need for inner in after.inners if inner.line == "rear brake"]
    assert needs == pytest.approx([upper, lower + 30.0])


def test_an_inner_that_was_just_long_enough_is_told_when_housing_is_made_longer() -> None:
    job = planned("touring")
    line = next(line for line in job.lines if line.name == "front derailleur")
    assert line.inner is not None and line.inner.stock is not None
    surely = next(float(s - s.spread) for s in job.catalogue.inner(line.inner.kind).stock if s == line.inner.stock)
    room = surely - line.inner.need
    assert room > 0
    for more, reaches in ((room - 1.0, True), (room + 1.0, False)):
        after = fitted("touring", ("C1", (plan_of("touring", "C1").first_cut or 0.0) + more, "fine"))
        (inner,) = (inner for inner in after.inners if inner.line == "front derailleur")
        assert inner.reaches is reaches
        assert (inner.take == inner.stock) is reaches
        assert any("inner needs" in finding.text for finding in after.findings) is not reaches


# What a piece cut too short still serves for.


def test_a_short_piece_serves_as_the_longest_of_its_kind_that_it_can() -> None:
    after = fitted("touring", ("D1", 685.0, "tight"))
    short = after.piece("D1")
    assert short is not None and short.serves is not None
    uses = [piece for piece in after.pieces if piece.housing == short.housing and piece.cut and piece.cut <= 685.0]
    assert short.serves == max(uses, key=lambda piece: piece.cut or 0.0).tag
    assert any(finding.where == "rear derailleur, D1" and short.serves in finding.text for finding in after.findings)


def test_a_piece_that_is_cut_already_needs_no_other() -> None:
    after = fitted("touring", ("D1", 685.0, "tight"), ("C1", 685.0, "fine"), ("D2", 290.0, "not tried"))
    short = after.piece("D1")
    assert short is not None and short.serves is None


def test_one_piece_is_served_once() -> None:
    after = fitted("touring", ("C1", 685.0, "tight"), ("D1", 685.0, "tight"))
    uses = [piece.serves for piece in after.pieces if piece.serves]
    assert uses == ["D2"]


# What is refused.


@pytest.mark.parametrize(
    ("rows", "hint"),
    [
        ([("Z9", 500.0, "fine")], 'piece 1, tag is "Z9": this bike has A1, B1, B2, C1, D1 and D2'),
        ([("A1", 560.0, "fine"), ("B1", 56.5, "fine")], "piece 2, B1, as_cut is 56.5 mm: its first cut is 565 mm"),
        ([("A1", 5600.0, "fine")], "piece 1, A1, as_cut is 5600 mm"),
    ],
)
def test_what_does_not_go_with_the_bike_is_refused_in_one_line(rows: list[tuple[str, float, str]], hint: str) -> None:
    with pytest.raises(DryFitError) as raised:
        fit_dry(planned("touring"), found(*rows), "quay.toml")
    assert str(raised.value).startswith("quay.toml: ") and hint in str(raised.value)


def test_another_bikes_file_is_refused() -> None:
    with pytest.raises(DryFitError, match='bike is "Ferry", but this frame file is of "Quay tourer"'):
        fit_dry(planned("touring"), found(bike="Ferry"))
    assert fit_dry(planned("touring"), fit_text(written_fit("Quay tourer", []), "own")).pieces


def test_housing_of_given_length_is_told_of_through_the_rest_of_its_run() -> None:
    with pytest.raises(DryFitError, match="tell of C2 how the two fit"):
        fitted("longtail", ("C1", 250.0, "tight"))


def test_a_piece_that_must_not_be_cut_is_refused() -> None:
    job = planned("touring")
    lines = [
        dataclasses.replace(
            line, pieces=tuple(dataclasses.replace(p, first_cut=None, window=None) for p in line.pieces)
        )
        if line.name == "front brake"
        else line
        for line in job.lines
    ]
    stopped = dataclasses.replace(job, lines=tuple(lines))
    with pytest.raises(DryFitError, match="A1 must not be cut before its findings are settled"):
        fit_dry(stopped, found(("A1", 560.0, "fine")))
    assert [piece.tag for piece in fit_dry(stopped, found()).pieces] == ["B1", "B2", "C1", "D1", "D2"]
