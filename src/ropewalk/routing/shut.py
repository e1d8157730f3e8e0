"""Why no way leads through some tubes, and what to do about it, in words."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from ropewalk.bike.model import Bike
from ropewalk.bike.wording import listed
from ropewalk.mechanics import corridor
from ropewalk.routing import bores
from ropewalk.routing.course import Points

#: what to do, by what is wrong
_NAME_IT = "name the opening between them in the frame file (opening: which tubes, what size), if there is one"
_WIDER = "choose a thinner line or another way; have the opening widened only by the frame's maker"
_OTHER_WAY = "lead the line another way, or choose a thinner one"
_MEASURE = "measure the ports, openings and obstacles again"


def why_no_way(bike: Bike, room: bores.Room, ends: Sequence[Points], reach: float) -> tuple[str, str]:
    """Return why no way leads through a room, and what to do.

    Parameters
    ----------
    bike : Bike
    room : Room
        In which no way was found.
    ends : sequence of (3,) array
        Places of both ports [mm].
    reach : float
        How far they may stand off their tubes' walls [mm].
    """
    thick = f"a line {room.diameter:.1f} mm thick"
    for tube in room.tubes:
        width = tube.diameter - 2 * tube.wall
        if width <= room.diameter:
            return f"the {tube.name} is {width:.1f} mm wide inside: too narrow for {thick}", _OTHER_WAY
    for first, second in pairwise(room.tubes):
        opening = bores.opening_between(bike, first.name, second.name)
        if opening is None:
            joint = f"the joint of {first.name} and {second.name}"
            return f"{joint} is shut: the file names no opening there", _NAME_IT
        if float(opening.size) < room.diameter:
            between = f"the opening between {first.name} and {second.name}"
            return f"{between} is {opening.size:.1f} mm wide: too small for {thick}", _WIDER
    return _what_blocks(room, ends, reach, thick)


def _what_blocks(room: bores.Room, ends: Sequence[Points], reach: float, thick: str) -> tuple[str, str]:
    """Return which obstacle leaves no way, or that the ports do not lead into the tubes."""
    stand_off = max(room.tubes[0].wall, room.tubes[-1].wall) + room.diameter / 2 + reach

    def passes(free: corridor.Corridor) -> bool:
        return corridor.taut_path(free, ends[0][:2], ends[1][:2], reach=stand_off).reached

    if not passes(room.empty):
        return "its ports and openings do not lead into each other past the tubes' walls", _MEASURE
    names = [thing.name for thing in room.standing]
    alone = [name for name in names if not passes(room.with_only(name))]
    if alone:
        return f"the {alone[0]} leaves too little room for {thick}", _OTHER_WAY
    return f"{listed((f'the {name}' for name in names), last='and')} leave no room between them for {thick}", _OTHER_WAY
