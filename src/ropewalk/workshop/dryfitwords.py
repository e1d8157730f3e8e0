"""What the dry fit says: the result of each piece in a few words, and the reasons; plain text, not yet safe in HTML."""

from __future__ import annotations

from collections.abc import Sequence

from ropewalk.analysis.findings import Finding
from ropewalk.bike.deviations import KnownFigure
from ropewalk.bike.poses import poses
from ropewalk.bike.wording import listed
from ropewalk.workshop.fitted import FittedInner, FittedPiece
from ropewalk.workshop.jobplan import JobPlan

#: it is worth telling that a piece may be too short when that is as likely as this
_WORTH_TELLING = 0.05
_MOVED = {
    "fork": "with the fork pushed in",
    "rear": "with the rear wheel up",
    "fold": "folded",
    "post": "with the post down",
}
#: a target that moved by less is not told so [mm]
_WORTH_MOVING = 2.0


def result(piece: FittedPiece) -> str:
    """Return what to do with a piece, such as ``trim 6 mm to 598 mm``."""
    match piece.do:
        case "cut":
            return f"cut {_mm(piece.cut)}"
        case "try":
            return "try it on the bike"
        case "trim":
            return f"trim {_mm(piece.trim)} to {_mm(piece.target)}"
        case "make again":
            return f"make again: cut {_mm(piece.cut)}"
    return "done"


def found(piece: FittedPiece) -> str:
    """Return what was found of a piece, with the length it was cut to."""
    return "not cut yet" if piece.as_cut is None else f"{piece.as_cut:g} mm: {piece.fit}"


def inner(one: FittedInner) -> str:
    """Return whether an inner still reaches."""
    if one.reaches:
        return f"{one.name} {one.kind}: the one of {_mm(one.stock)} reaches; {one.need:.0f} mm needed on the bench"
    take = "no stock length is long enough" if one.take is None else f"take the one of {_mm(one.take)}"
    chosen = "" if one.stock is None else f"the one of {_mm(one.stock)} is {one.short:.0f} mm short; "
    return f"{one.name} {one.kind}: {chosen}{take}; {one.need:.0f} mm needed on the bench"


def _mm(length: float | None) -> str:
    return f"{length:g} mm" if length is not None else "-"


# Reasons.


def above(piece: FittedPiece) -> str:
    """Return what follows from a piece that is tight."""
    return f"it is {piece.fit} at {_mm(piece.as_cut)}, so its shortest safe length is more than that"


def moved(piece: FittedPiece) -> tuple[str, ...]:
    """Return that the target has moved, where it has."""
    if abs(piece.target - piece.planned_target) < _WORTH_MOVING:
        return ()
    told = f"by what was found its target is {_mm(piece.target)}; it was {_mm(piece.planned_target)} as planned"
    return (told,)


def perhaps_short(chance: float) -> tuple[str, ...]:
    """Return that a piece not yet tried may prove too short, where that is likely enough."""
    if chance < _WORTH_TELLING:
        return ()
    return (f"it may prove too short: in {chance:.0%} of the cases, by the figures and by what other pieces told",)


def left_as_it_is(piece: FittedPiece) -> tuple[str, ...]:
    """Return why a piece that is fine is left."""
    assert piece.as_cut is not None
    spare = piece.as_cut - piece.target
    if spare >= 1.0:
        return (f"leave it as it is; down to {_mm(piece.target)}, its target, it could be shorter",)
    if spare <= -1.0:
        return (f"leave it as it is, although its target is {_mm(piece.target)}",)
    return ("leave it as it is",)


def no_longer(piece: FittedPiece) -> tuple[str, ...]:
    """Return why a piece that was called long is not trimmed."""
    return (f"do not trim it: its target is {_mm(piece.target)}, and shorter it may pull",)


def in_steps(piece: FittedPiece, job: JobPlan) -> tuple[str, ...]:
    """Return how to trim a piece."""
    checks = _checks(job)
    if piece.at_once is not None and piece.at_once <= piece.target:
        return (f"it may come off at once; then check {checks}",)
    once = "" if piece.at_once is None else f", down to {_mm(piece.at_once)} at once"
    return (f"trim in steps to the new target{once}; check {checks} before the next",)


def _checks(job: JobPlan) -> str:
    moving = poses(job.model.frame).moving
    return listed(["at both locks", *(said for name, said in _MOVED.items() if name in moving)], last="and")


def leave_doubted(piece: FittedPiece) -> tuple[str, ...]:
    """Return why nothing is done to a piece that should be too short by the figures."""
    return (f"leave it at {_mm(piece.as_cut)}; by the figures it should be too short",)


def longer_by(length: float) -> str:
    """Return how a piece is cut when the figures are in doubt."""
    return (
        f"by the figures that can hardly be, so they count no more: it is cut {length:.0f} mm longer than it was, or "
        "as first planned where that is more"
    )


# Findings.


def contradiction(tags: Sequence[str]) -> Finding:
    """Return the finding that what was found of several pieces does not go together."""
    return Finding(
        "look",
        listed(tags, last="and"),
        "what was found of these pieces can hardly be of one bike by the figures they share: each is taken by itself",
        "measure these pieces again, and the chart and cockpit figures",
    )


def doubted(piece: FittedPiece, chance: float, figure: str | None) -> Finding:
    """Return the finding that something was found which can hardly be by the figures."""
    rests = "the frame file's figures" if figure is None else figure
    odds = "less than once in 10 000 bikes" if chance < 1e-4 else f"once in {round(1.0 / chance, -2):.0f} bikes"
    return Finding(
        "look",
        piece.where,
        f"{piece.fit} at {_mm(piece.as_cut)} is found {odds} by the figures planned with; its length rests most on "
        f"{rests}",
        "look at the figures: measure this one again, and the piece",
    )


def other_side(piece: FittedPiece, side: str, governing: str, less: float | None) -> Finding:
    """Return the finding that a piece is tight where the plan does not expect it; less: by how much less there [mm]."""
    expected = (
        "nothing of it depends on that as planned"
        if less is None
        else f"as planned the poses there ask for {less:.0f} mm less than those {governing}"
    )
    return Finding(
        "look",
        piece.where,
        f"it is tight at the {side} lock, but {expected}",
        "measure the stations at both of its ends again, and look for what holds the housing on the way",
    )


def serves(piece: FittedPiece, other: FittedPiece) -> Finding:
    """Return the finding that a piece cut too short can still be used."""
    return Finding(
        "note",
        piece.where,
        f"the piece of {_mm(piece.as_cut)} is too short here, but long enough for {other.tag}",
        f"keep it and cut {other.tag} of {_mm(other.cut)} from it",
    )


def untidy(piece: FittedPiece, longest: float) -> Finding:
    """Return the finding that a piece called fine is longer than tidy."""
    return Finding(
        "note",
        piece.where,
        "it was called fine, but is longer than tidy as planned",
        "look whether it rubs or swings out anywhere; call it long to have it trimmed",
        piece.as_cut,
        float(round(longest)),
        "mm",
    )


def figure(job: JobPlan, known: KnownFigure) -> str:
    """Return a figure of the frame file in words, with the value planned with."""
    frame, path = job.model.frame, known.path
    steps = [str(step) for step in path if isinstance(step, str)]
    name = steps[-1].removesuffix("_deg").replace("_", " ")
    if isinstance(path[-1], int):
        name = f"{name}, entry {path[-1] + 1}"
    if path[0] == "line":
        line = frame.line[int(path[1])]
        place = f'"{name}" of {line.station[int(path[3])].name}, {line.name}'
    elif path[0] == "lever":
        place = f'"{name}" of {frame.lever[int(path[1])].name}'
    else:
        place = ".".join([*steps[:-1], name])
    gap = "" if known.unit == "°" else " "
    return f"{place}: {known.value:g}{gap}{known.unit} within {known.within:g}"
