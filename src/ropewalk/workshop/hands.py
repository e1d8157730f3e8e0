"""Changing hands: the front brake on the other lever, every line whose lever changes side routed and planned again."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from ropewalk.bike.framefile import Frame, Lever, Line
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.station import Station
from ropewalk.bike.wording import listed
from ropewalk.errors import FrameFileError
from ropewalk.routing.spans import PlacedLine
from ropewalk.workshop import plan as planning
from ropewalk.workshop.cautions import HANDS_CAUTION
from ropewalk.workshop.choices import Choices
from ropewalk.workshop.jobplan import HandsPlan, JobPlan, LengthChange, LinePlan
from ropewalk.workshop.plan import Progress

Hands = Literal["front-left", "front-right"]
#: what can be asked for: the hand that works the front brake
HANDS: tuple[Hands, ...] = ("front-left", "front-right")
#: bodies that a front brake sits on: the fork, or its sliding lower legs
FRONT_BODIES = ("fork", "lower")
#: work of a brake's line
BRAKING = ("brake", "hose")
#: a first cut, or a target to the millimetre, that changes by less is the same
_SAME = 0.5


@dataclass(frozen=True, slots=True)
class Brakes:
    """Which lever works which brake.

    Attributes
    ----------
    front, rear : Lever or None
        None where there is no rear brake.
    front_lines, rear_lines : tuple of str
        The lines they work.
    """

    front: Lever
    rear: Lever | None
    front_lines: tuple[str, ...]
    rear_lines: tuple[str, ...]


def plan_hands(
    frame: Frame,
    hands: Hands,
    choices: Choices | None = None,
    progress: Progress | None = None,
    *,
    shelf: Catalogue | None = None,
) -> JobPlan:
    """Plan a bike with its front brake on the asked hand.

    Parameters
    ----------
    frame : Frame
        The frame file, as read.
    hands : str
        front-left or front-right: the hand that works the front brake.
    choices, progress, shelf
        As for `ropewalk.workshop.plan.plan`.

    Returns
    -------
    JobPlan
        With `hands`: what changes against the bike as the file has it.

    Raises
    ------
    FrameFileError
        When the file does not tell which lever works which brake.
    """
    tell = progress or (lambda what, share: None)
    job = planning.plan(frame, choices=choices, progress=lambda what, share: tell(what, share / 2), shelf=shelf)
    brakes = brakes_of(frame, job.routing)
    if f"front-{brakes.front.side}" == hands:
        return replace(job, hands=HandsPlan(hands, True, (), (), HANDS_CAUTION))
    changed = swapped(frame, brakes)
    other = planning.plan(
        changed, choices=choices, progress=lambda what, share: tell(what, 0.5 + share / 2), shelf=shelf
    )
    moved = tuple(after.name for before, after in zip(job.lines, other.lines, strict=True) if before.hand != after.hand)
    levers = tuple(
        (str(after.side), after.part)
        for before, after in zip(frame.lever, changed.lever, strict=True)
        if (before.side, before.part) != (after.side, after.part)
    )
    return replace(other, hands=HandsPlan(hands, False, moved, tuple(_changes(job, other)), HANDS_CAUTION, levers))


def brakes_of(frame: Frame, lines: Sequence[PlacedLine]) -> Brakes:
    """Return which lever works which brake, as the frame file states it.

    Parameters
    ----------
    frame : Frame
    lines : sequence of PlacedLine
        Its lines in place: a brake's or hose's line that ends on the fork works the front brake.

    Raises
    ------
    FrameFileError
        When that cannot be told, or one lever works both brakes.
    """
    braking = [line for line in lines if line.route.line.work in BRAKING]
    if not braking:
        raise FrameFileError("no line of this bike works a brake (work brake or hose): there are no hands to change")
    front = [line.route.line for line in braking if line.stations[-1].body in FRONT_BODIES]
    rear = [line.route.line for line in braking if line.stations[-1].body not in FRONT_BODIES]
    if not front:
        named = listed((f'"{line.name}"' for line in rear), last="and")
        raise FrameFileError(
            f"no brake sits on the fork ({named} does not end there), so which hand works the front brake cannot be "
            "told: --hands needs one that does"
        )
    of_front = _only_lever(frame, front, "front")
    of_rear = _only_lever(frame, rear, "rear") if rear else None
    if of_rear is not None and of_front.name == of_rear.name:
        raise FrameFileError(f'lever "{of_front.name}" works both brakes: there are no hands to change')
    if of_rear is not None and of_front.side == of_rear.side:
        raise FrameFileError(
            f'levers "{of_front.name}" and "{of_rear.name}" both sit on the {of_front.side}: there are no hands to '
            "change; write the side of each as it is on the bike"
        )
    return Brakes(of_front, of_rear, tuple(line.name for line in front), tuple(line.name for line in rear))


def _only_lever(frame: Frame, lines: Sequence[Line], which: str) -> Lever:
    """Return the one lever of some brakes' lines."""
    names = list(dict.fromkeys(line.lever for line in lines))
    if len(names) > 1:
        brakes = listed((f'"{line.name}"' for line in lines), last="and")
        levers = listed((f'"{name}"' for name in names), last="and")
        raise FrameFileError(
            f"{brakes} are {which} brakes with levers of their own ({levers}): which hand works the {which} brake "
            "cannot be told"
        )
    return next(lever for lever in frame.lever if lever.name == names[0])


def swapped(frame: Frame, brakes: Brakes) -> Frame:
    """Return a frame file with its brakes' levers changed over; the only brake's lever moves to the other side.

    Notes
    -----
    The brakes' lines start at the other lever, and their first stations take each other's names. Levers of two kinds
    that work nothing else change places, so that each brake keeps the kind it is made for; one that shifts besides
    stays where it is. A lever that moves alone takes all of its lines along, and the other side's word in its name.
    """
    if brakes.rear is None:
        return _moved(frame, brakes.front)
    names = {line.name: line.station[0].name for line in frame.line}
    front_start, rear_start = names[brakes.front_lines[0]], names[brakes.rear_lines[0]]
    lines = []
    for line in frame.line:
        if line.name in brakes.front_lines:
            lines.append(_starting(line, brakes.rear.name, rear_start))
        elif line.name in brakes.rear_lines:
            lines.append(_starting(line, brakes.front.name, front_start))
        else:
            lines.append(line)
    return frame.model_copy(update={"lever": _levers_changed(frame, brakes.front, brakes.rear), "line": tuple(lines)})


def _levers_changed(frame: Frame, front: Lever, rear: Lever) -> tuple[Lever, ...]:
    """Return the levers, those of the brakes with each other's part and place where parts differ and nothing shifts."""
    names = {front.name, rear.name}
    shifts = any(line.lever in names and line.work not in BRAKING for line in frame.line)
    if front.part == rear.part or shifts:
        return frame.lever
    other = {front.name: rear, rear.name: front}
    return tuple(
        lever.model_copy(update={"part": other[lever.name].part, "along": other[lever.name].along})
        if lever.name in other
        else lever
        for lever in frame.lever
    )


def _starting(line: Line, lever: str, start: str) -> Line:
    """Return a line and its options starting at another lever, named so unless another station bears that name."""
    routings = [line.station, *(option.station for option in line.option if option.station is not None)]
    if any(station.name == start for stations in routings for station in stations[1:]):
        start = line.station[0].name
    options = tuple(
        option
        if option.station is None
        else option.model_copy(update={"station": _renamed_start(option.station, start)})
        for option in line.option
    )
    return line.model_copy(update={"lever": lever, "station": _renamed_start(line.station, start), "option": options})


def _renamed_start(stations: tuple[Station, ...], name: str) -> tuple[Station, ...]:
    first, *others = stations
    return (first.model_copy(update={"name": name}), *others)


def _moved(frame: Frame, lever: Lever) -> Frame:
    """Return a frame file with one lever on the other side of its bar."""
    name = _other_side(lever.name)
    if any(other.name == name for other in frame.lever):
        name = lever.name
    levers = tuple(
        other.model_copy(update={"name": name, "side": "left" if other.side == "right" else "right"})
        if other.name == lever.name
        else other
        for other in frame.lever
    )
    lines = tuple(
        _starting(line, name, _other_side(line.station[0].name)) if line.lever == lever.name else line
        for line in frame.line
    )
    return frame.model_copy(update={"lever": levers, "line": lines})


def _other_side(name: str) -> str:
    """Return a name with left for right and right for left.

    Examples
    --------
    >>> _other_side("right brake lever"), _other_side("brake lever")
    ('left brake lever', 'brake lever')
    """
    return re.sub(r"\b(left|right)\b", lambda found: "left" if found[0] == "right" else "right", name)


def _changes(before: JobPlan, after: JobPlan) -> Iterator[LengthChange]:
    """Return every length to cut or pick that is not the same any more."""
    for old, new in zip(before.lines, after.lines, strict=True):
        for was, becomes in zip(old.pieces, new.pieces, strict=True):
            if _differs(was.first_cut, becomes.first_cut) or _differs(was.target, becomes.target):
                targets = (was.target, becomes.target)
                yield LengthChange(new.name, becomes.tag, was.first_cut, becomes.first_cut, targets)
        yield from _other_changes(old, new)


def _other_changes(old: LinePlan, new: LinePlan) -> Iterator[LengthChange]:
    for name, was, becomes in zip(("inner", "lower inner"), old.inners, new.inners, strict=False):
        if _differs(was.stock, becomes.stock):
            yield LengthChange(new.name, name, was.stock, becomes.stock)
    for cut, cuts in zip(old.liners, new.liners, strict=True):
        if _differs(cut.cut, cuts.cut):
            yield LengthChange(
                new.name, f"{cuts.use} {cuts.kind}" if cuts.use != "liner" else cuts.kind, cut.cut, cuts.cut
            )


def _differs(before: float | None, after: float | None) -> bool:
    if before is None or after is None:
        return before is not after
    return abs(after - before) >= _SAME
