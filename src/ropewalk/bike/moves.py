"""Whether what moves on a bike can move as the frame file says."""

from __future__ import annotations

import math
from collections.abc import Mapping

from ropewalk.bike.fit import shown_mm
from ropewalk.bike.framefile import Frame
from ropewalk.bike.movement import Fold
from ropewalk.bike.skeleton import skeleton
from ropewalk.bike.tube import Tube
from ropewalk.bike.tubes import tubes
from ropewalk.bike.wording import listed, nearest, shortened
from ropewalk.errors import ChartError, FrameFileError

#: hinge pins nearer than this to the line of their tube turn it about itself instead of folding it [rad]
ALONG_TUBE = math.radians(10.0)
#: fork crown's own height over the lower legs that is left at bottom-out [mm]
CROWN_ROOM = 10.0
#: hinges nearer to each other than this are one [mm]
SAME_PLACE = 1.0


def check_moves(frame: Frame) -> None:
    """Refuse travel and folds that cannot be.

    Raises
    ------
    ChartError
        In one line: which figure is at fault, its value, its limit, and what to do.
    """
    _check_fork(frame)
    _check_rear(frame)
    laid = tubes(frame.model_copy(update={"fold": ()}), skeleton(frame)) if frame.fold else {}
    for number, fold in enumerate(frame.fold, start=1):
        _check_fold(frame, number, fold, laid)
    if len(frame.fold) == 2:
        _check_apart(frame.fold[0], frame.fold[1], laid)


def _check_fork(frame: Frame) -> None:
    travel, low = frame.travel.fork, frame.tubes.lower_leg
    if travel is not None and low is None:
        raise ChartError(
            f"travel.fork is {shown_mm(travel)}, but tubes.lower_leg is missing: say what slides up, "
            "lower_leg = { diameter = …, height = … }"
        )
    if low is None:
        return
    if travel is None:
        raise ChartError("tubes.lower_leg belongs to a suspension fork: give travel.fork too, or leave it out")
    room = frame.chart.fork - low.height - CROWN_ROOM
    if travel > room:
        raise ChartError(
            f"travel.fork is {shown_mm(travel)}: the lower legs would meet the crown after {shown_mm(room)}; "
            "check it, tubes.lower_leg.height and chart.fork"
        )
    if low.diameter <= frame.tubes.fork_leg.diameter:
        raise ChartError(
            f"tubes.lower_leg.diameter is {shown_mm(low.diameter)}: it slides over the upper legs of "
            f"{shown_mm(frame.tubes.fork_leg.diameter)}, so it has to be more"
        )


def _check_rear(frame: Frame) -> None:
    travel, pivot = frame.travel.rear, frame.travel.pivot
    if travel is not None and pivot is None:
        raise ChartError(
            f"travel.rear is {shown_mm(travel)}, but travel.pivot is missing: the rear axle swings about a pivot, so "
            "write pivot = [forward, up] from the bottom bracket"
        )
    if pivot is None:
        return
    if travel is None:
        raise ChartError("travel.pivot belongs to a swing arm: give travel.rear too, or leave it out")
    axle = skeleton(frame).rear_axle
    back, rise = float(pivot[0]) - float(axle[0]), float(axle[1]) - float(pivot[1])
    if back <= 50.0:
        raise ChartError(
            f"travel.pivot lies {shown_mm(back)} ahead of the rear axle: a swing arm's pivot is 50 mm ahead at least; "
            "measure it from the bottom bracket, forward and up"
        )
    room = math.hypot(back, rise) - rise
    # near the dead point the least rise turns it a lot
    if travel > 0.9 * room:
        raise ChartError(
            f"travel.rear is {shown_mm(travel)}: an arm about that pivot lifts the axle by {shown_mm(0.9 * room)} at "
            "most; check travel.rear and travel.pivot"
        )


def _check_fold(frame: Frame, number: int, fold: Fold, laid: Mapping[str, Tube]) -> None:
    here = f"fold {number}"
    wanted = ["down tube"] if fold.moves == "front half" else ["steerer"]
    if fold.on not in wanted:
        near = nearest(fold.on, wanted)
        hint = f'did you mean "{near}"?' if near else f"write {listed(wanted)}"
        raise ChartError(f'{here}: on is "{shortened(fold.on)}", where the {fold.moves} cannot fold: {hint}')
    if fold.moves == "front half" and frame.tubes.top_tube is not None:
        raise ChartError(
            f"{here}: the front half folds at a hinge in the single main tube, but there is a top tube: leave "
            "tubes.top_tube out"
        )
    try:
        laid[fold.on].place(float(fold.along), fold.from_)
    except FrameFileError as error:
        raise ChartError(f"{here}: {error}") from None
    length = math.hypot(*fold.axis)
    if length < 1e-6:
        raise ChartError(f"{here}: axis has no direction: give at least one number that is not 0")
    tube = laid[fold.on].axis
    along = abs(sum(float(a) * float(b) for a, b in zip(fold.axis, tube, strict=True))) / length
    if math.acos(min(along, 1.0)) < ALONG_TUBE:
        raise ChartError(
            f"{here}: axis points along the {fold.on} itself, so turning about it folds nothing: give the direction of "
            "the hinge pin"
        )
    if abs(fold.turn_deg) < 1.0:
        raise ChartError(
            f"{here}: turn is {fold.turn_deg:g}°: a hinge that does not turn folds nothing; give its angle"
        )
    lock = frame.chart.lock_deg
    if lock is not None and abs(fold.steer_deg) > lock:
        raise ChartError(
            f"{here}: steer is {fold.steer_deg:g}°, but chart.lock is {lock:g}°: the bars do not turn that far"
        )


def _check_apart(first: Fold, second: Fold, laid: Mapping[str, Tube]) -> None:
    if first.moves == second.moves:
        raise ChartError(f"fold 2: it moves the {second.moves} as fold 1 does: one hinge for each, so leave one out")
    if first.steer_deg != second.steer_deg:
        raise ChartError(
            f"fold 2: steer is {second.steer_deg:g}°, in fold 1 {first.steer_deg:g}°: the bars point one way while "
            "folded, so write the same"
        )
    places = [laid[fold.on].place(float(fold.along), fold.from_) for fold in (first, second)]
    if math.dist(*(place.tolist() for place in places)) < SAME_PLACE:
        raise ChartError("fold 2: it lies in the same place as fold 1: measure both again")
