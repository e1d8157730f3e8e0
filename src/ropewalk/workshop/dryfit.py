"""After the dry fit: from what was found of each piece to its new target, what to trim, and what to make again.

Before anything is tried the shortest safe length of every piece is known with a spread. That a piece is tight says that
it lies above the length as cut, that it is fine or long that it does not. All pieces are drawn together, and what is
left of the draws gives new targets and first cuts by the rule of the first ones.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import NormalDist

import numpy as np

from ropewalk.analysis.findings import Finding, ordered
from ropewalk.analysis.fitted import Kept, Side, Together, Told, drawn, kept, less, together, turned
from ropewalk.analysis.loops import Array
from ropewalk.analysis.tolerance import rounded_up
from ropewalk.analysis.uncertainty import PieceDemand
from ropewalk.bike.fitfile import FITS, DryFit, Fit, PieceFit, written_fit
from ropewalk.workshop import dryfitwords, words
from ropewalk.workshop.fitcheck import check_fit
from ropewalk.workshop.fitjudging import DOUBTED, judge_fit
from ropewalk.workshop.fitted import Do, FittedJob, FittedPiece
from ropewalk.workshop.fittedinners import fitted_inners, judge_inners
from ropewalk.workshop.jobplan import JobPlan, LinePlan, PiecePlan

#: lengths that differ by less are the same to a hacksaw [mm]
SAME = 0.5
#: what other pieces tell of one counts from here on [mm]; less is within what draws can tell
MOVES = 1.0
#: where a verdict says that a piece is tight
TIGHT: Mapping[Fit, tuple[Side, ...]] = {
    "tight at left lock": ("left",),
    "tight at right lock": ("right",),
    "tight at both locks": ("left", "right"),
    "tight": ("any",),
}


def fit_dry(job: JobPlan, found: DryFit, where: str = "dry fit") -> FittedJob:
    """Return what follows from a dry fit.

    Parameters
    ----------
    job : JobPlan
        The plan of the bike.
    found : DryFit
        What was found.
    where : str
        What messages call it, such as the file's name.

    Raises
    ------
    DryFitError
        When it does not go with the bike; the text is one line.

    Notes
    -----
    Fine: the shortest safe length is at most the length as cut. Long: the target would be shorter than that. Tight at a
    lock: what the poses with the bars turned there ask for is more. What was less likely than `DOUBTED` by the figures
    of the frame file moves no other piece: a figure may be wrong. Such a piece, where tight, is cut longer than it was
    by as much as a first cut is longer than the shortest safe length.
    """
    check_fit(job, found, where)
    entries = {entry.tag: entry for entry in found.piece}
    tried = [_tried(line, piece, entries) for line in job.lines for piece in line.pieces if piece.first_cut is not None]
    tried = [replace(one, demand=_demand(job, one)) for one in tried]
    pieces = together({one.piece.tag: one.demand for one in tried if one.demand is not None})
    before = drawn(pieces)
    chances = {one.piece.tag: _chance(pieces, one, before) for one in tried if one.told is not None}
    believed = [one for one in tried if one.told is not None and chances[one.piece.tag] >= DOUBTED]
    left = kept(pieces, [one.told for one in believed if one.told is not None], before)
    results = []
    for one in tried:
        own = [one.told] if one in believed and one.told is not None else []
        # where what was found does not go together, every piece is taken by itself
        draws = left or kept(pieces, own, before) or Kept(before, 1.0)
        results.append(_result(job, one, pieces, before, draws, chances.get(one.piece.tag)))
    fitted = _with_uses(tuple(results))
    inners = tuple(fitted_inners(job, fitted))
    findings: list[Finding] = []
    if left is None:
        findings.append(dryfitwords.contradiction([one.piece.tag for one in believed]))
    findings += judge_fit(job, fitted, {one.piece.tag: (one.demand, one.told) for one in tried}, pieces, before)
    return FittedJob(fitted, inners, ordered([*findings, *judge_inners(inners)]))


def blank_fit(job: JobPlan) -> str:
    """Return a dry-fit file to fill in: every piece at its first cut, and not tried."""
    pieces = [piece for line in job.lines for piece in line.pieces if piece.first_cut is not None]
    return written_fit(
        job.bike,
        [(piece.tag, piece.first_cut or 0.0, FITS[0], words.way(piece.start, piece.end)) for piece in pieces],
    )


def offered_fits(job: JobPlan, tag: str) -> tuple[Fit, ...]:
    """Return what may be found of a piece: at a lock only where its ends move against each other as the bars turn."""
    if any(inline.before == tag for line in job.lines for inline in line.inlines):
        return ("not tried", "fine")
    run = next((inline.before for line in job.lines for inline in line.inlines if inline.after == tag), tag)
    poses = job.demands[run].poses
    if any(turned(own, side).any() for own in poses for side in ("left", "right")):
        return FITS
    return tuple(fit for fit in FITS if "lock" not in fit)


@dataclass(frozen=True, slots=True, eq=False)
class _Tried:
    """A piece with what was found of it; more: what the housing before its adjuster has over what was planned [mm]."""

    line: LinePlan
    piece: PiecePlan
    entry: PieceFit | None
    told: Told | None
    more: float = 0.0
    demand: PieceDemand | None = None

    @property
    def fit(self) -> Fit | None:
        return None if self.entry is None else self.entry.fit

    @property
    def offset(self) -> float:
        """What its target has over its shortest safe length [mm]."""
        return self.piece.target - self.piece.window[0] if self.piece.window is not None else 0.0


def _tried(line: LinePlan, piece: PiecePlan, entries: Mapping[str, PieceFit]) -> _Tried:
    entry = entries.get(piece.tag)
    inline = next((inline for inline in line.inlines if inline.after == piece.tag), None)
    first = None if inline is None else entries.get(inline.before)
    more = 0.0 if inline is None or first is None else float(first.as_cut) - inline.at
    one = _Tried(line, piece, entry, None, more)
    if entry is None or entry.fit == "not tried" or any(inline.before == piece.tag for inline in line.inlines):
        return one
    if entry.fit == "long":
        return replace(one, told=Told(piece.tag, float(entry.as_cut) - one.offset))
    return replace(one, told=Told(piece.tag, float(entry.as_cut), TIGHT.get(entry.fit, ())))


def _demand(job: JobPlan, one: _Tried) -> PieceDemand | None:
    """Return what is asked of a piece; None of the housing before an adjuster, whose length is given."""
    tag = one.piece.tag
    if any(inline.before == tag for inline in one.line.inlines):
        return None
    for line in job.routing:
        for run in line.route.pieces:
            if run.inline is not None and run.inline.tag == tag:
                return less(job.demands[run.tag], run.inline.taken + one.more, run.inline.part.replaces.sigma)
    return job.demands[tag]


def _chance(pieces: Together, one: _Tried, before: Array) -> float:
    assert one.told is not None
    return float((pieces.amiss(one.told, before) <= 0.0).mean())


def _result(
    job: JobPlan, one: _Tried, pieces: Together, before: Array, left: Kept, chance: float | None
) -> FittedPiece:
    piece = one.piece
    assert piece.first_cut is not None and piece.quantile is not None
    base = FittedPiece(
        line=one.line.name,
        tag=piece.tag,
        start=piece.start,
        end=piece.end,
        housing=piece.housing,
        as_cut=None if one.entry is None else float(one.entry.as_cut),
        fit=one.fit,
        do="cut",
        planned_target=float(round(piece.target)),
        planned_cut=piece.first_cut,
        target=float(round(piece.target)),
        sigma=piece.sigma,
        chance=chance,
    )
    if one.demand is None:
        do: Do = "cut" if one.entry is None else "done" if one.fit == "fine" else "try"
        given = "the frame file gives its length"
        return replace(base, do=do, cut=piece.first_cut if do == "cut" else None, reasons=(given,))
    if chance is not None and chance < DOUBTED:
        return _doubted(job, one, base)
    risk = float(job.catalogue.settings.cut.short_risk)
    need, was = pieces.needed(piece.tag, left.draws), pieces.needed(piece.tag, before)
    shift = float(need.mean() - was.mean())
    shift = shift if one.told is not None or abs(shift) >= MOVES else 0.0
    target = max(round(piece.target - one.more + shift), math.ceil(float(need.mean()) - SAME))
    if one.told is not None:
        sure = float(np.quantile(need, 1.0 - risk))
    else:
        wider = float(need.std() - was.std()) * NormalDist().inv_cdf(1.0 - risk)
        sure = piece.quantile - one.more + (shift + wider if shift else 0.0)
    base = replace(base, target=float(target), sigma=float(need.std()))
    return _decided(job, base, one, sure, need)


def _decided(job: JobPlan, base: FittedPiece, one: _Tried, sure: float, need: Array) -> FittedPiece:
    """Return what to do with a piece; sure: the length that is rarely too short [mm]."""
    cut = rounded_up(max(base.target, sure), float(job.catalogue.settings.cut.round_up))
    moved = dryfitwords.moved(base)
    if base.as_cut is None:
        return replace(base, cut=cut, reasons=moved)
    if base.fit == "not tried":
        short = float((need > base.as_cut).mean())
        return replace(base, do="try", reasons=(*moved, *dryfitwords.perhaps_short(short)))
    if base.fit in TIGHT:
        return replace(base, do="make again", cut=cut, reasons=(dryfitwords.above(base), *moved))
    if base.fit == "fine":
        return replace(base, do="done", reasons=dryfitwords.left_as_it_is(base))
    if base.target > base.as_cut - SAME:
        return replace(base, do="done", reasons=dryfitwords.no_longer(base))
    trim, at_once = base.as_cut - base.target, max(base.target, float(math.ceil(sure)))
    trimmed = replace(base, do="trim", trim=trim, at_once=at_once if at_once < base.as_cut - SAME else None)
    return replace(trimmed, reasons=(*dryfitwords.in_steps(trimmed, job), *moved))


def _doubted(job: JobPlan, one: _Tried, base: FittedPiece) -> FittedPiece:
    """Return what to do with a piece of which something was found that can hardly be by the figures."""
    piece = one.piece
    assert base.as_cut is not None and piece.window is not None and piece.quantile is not None
    if base.fit not in TIGHT:
        target = min(base.target - round(one.more), math.floor(base.as_cut))
        return replace(base, do="done", target=float(target), reasons=dryfitwords.leave_doubted(base))
    longer = max(piece.quantile - piece.window[0], one.offset)
    target = max(base.target - round(one.more), math.ceil(base.as_cut + one.offset))
    planned = max(piece.first_cut or 0.0, piece.quantile) - one.more
    cut = rounded_up(max(target, base.as_cut + longer, planned), float(job.catalogue.settings.cut.round_up))
    reasons = (dryfitwords.above(base), dryfitwords.longer_by(longer))
    return replace(base, do="make again", target=float(target), cut=cut, reasons=reasons)


def _with_uses(pieces: Sequence[FittedPiece]) -> tuple[FittedPiece, ...]:
    """Return the pieces, each one cut too short with the longest piece that it can still be cut to."""
    taken: set[str] = set()
    found = []
    for piece in pieces:
        uses = [other for other in _shorter(piece, pieces) if other.tag not in taken]
        use = max(uses, key=lambda other: other.cut or 0.0, default=None)
        if use is not None:
            taken.add(use.tag)
        found.append(replace(piece, serves=None if use is None else use.tag))
    return tuple(found)


def _shorter(piece: FittedPiece, pieces: Sequence[FittedPiece]) -> Iterator[FittedPiece]:
    """Return the pieces to be cut that one cut too short is long enough for."""
    if piece.do != "make again" or piece.as_cut is None:
        return
    for other in pieces:
        alike = other.housing == piece.housing and other.tag != piece.tag
        if alike and other.cut is not None and other.cut <= piece.as_cut:
            yield other
