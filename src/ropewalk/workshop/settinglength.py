"""Exact setting lengths: bare inner from the last seat of housing to the anchor, as a hub gear asks for it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ropewalk.analysis.findings import Finding
from ropewalk.analysis.pieces import PieceStudy
from ropewalk.errors import FrameFileError
from ropewalk.routing.lines import Route, slack_at_setting
from ropewalk.routing.stations import where
from ropewalk.workshop import words
from ropewalk.workshop.jobplan import SettingPlan


def plan_setting(route: Route, studies: Sequence[PieceStudy]) -> SettingPlan | None:
    """Return the exact setting length of a line, or None.

    Parameters
    ----------
    route : Route
    studies : sequence of PieceStudy
        The line's runs of housing.

    Raises
    ------
    FrameFileError
        When it is longer than the housing that ends where it is measured from.
    """
    if route.setting is None:
        return None
    stations, last = route.line.station, studies[-1]
    seat = stations[last.piece.end].name
    if route.setting > last.target:
        raise FrameFileError(
            f"{where(route.line, stations[-1])}: the setting length of {route.setting:g} mm is longer than the "
            f'{last.target:.0f} mm of housing that ends at "{seat}": measure again from its seat to the anchor, and '
            "write that as setting"
        )
    return SettingPlan(route.setting, seat, stations[-1].name)


def judge_setting(route: Route, setting: SettingPlan | None, studies: Sequence[PieceStudy]) -> Iterator[Finding]:
    """Return what to say about an exact setting length.

    Parameters
    ----------
    route : Route
    setting : SettingPlan or None
    studies : sequence of PieceStudy
        The line's runs of housing.
    """
    if setting is None:
        return
    yield Finding(
        "note",
        route.line.name,
        words.setting(setting),
        "set it with the gear in the position its maker names, and measure again after the first hard pulls",
        round(setting.length, 1),
        None,
        "mm",
    )
    trim = studies[-1].loops[-1].case.trim if slack_at_setting(route) else 0.0
    if trim > 0:
        piece = studies[-1].piece
        yield Finding(
            "look",
            f"{route.line.name}, {piece.tag if piece.inline is None else piece.inline.tag}",
            f"the loop at {setting.start} keeps {trim:.0f} mm to trim, as its housing has no other loop to hold them; "
            "slack there changes the setting length",
            "trim this piece to its shortest safe length before the setting is measured, or hold it with a clip",
            round(trim, 1),
            0.0,
            "mm",
        )
