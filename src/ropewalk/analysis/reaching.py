"""Lever travel: whether stretch and squeeze let a lever reach the grip before a hard pull is done."""

from __future__ import annotations

from collections.abc import Iterator

from ropewalk.analysis.findings import Finding
from ropewalk.analysis.lostmotion import LostMotion
from ropewalk.bike.sourced import SIGMAS_WITHIN
from ropewalk.routing.lines import Route


def judge_reach(route: Route, lost: LostMotion | None, hand_force: float) -> Iterator[Finding]:
    """Return a finding on a lever that surely reaches the grip under the hand's force.

    Parameters
    ----------
    route : Route
    lost : LostMotion or None
        Of the line when new: most of the pull arrives then, and stretches most.
    hand_force : float
        [N]

    Notes
    -----
    Wire the lever draws in, less what is taken up before the brake begins to work, less what stretch and squeeze take.
    Stiffnesses are estimates, so nothing is said where their spread can explain it, 19 times in 20.
    """
    if lost is None or lost.left is None or lost.pull is None or route.line.work != "brake":
        return
    if lost.left + SIGMAS_WITHIN * lost.left_sigma >= 0.0:
        return
    taken = lost.take_up + lost.total.value
    yield Finding(
        "look",
        route.line.name,
        f"the lever reaches the grip before {hand_force:.0f} N are on it: it draws in {lost.pull:.1f} mm of wire, "
        f"{lost.take_up:.1f} mm go before the brake begins to work, {lost.total.value:.1f} mm on stretch and squeeze",
        "set less free pull, choose stiffer housing, a thicker inner or a shorter way",
        round(taken, 1),
        round(lost.pull, 1),
        "mm",
    )
