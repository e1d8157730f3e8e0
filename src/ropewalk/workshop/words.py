"""Figures of a job plan in the words that every list uses; plain text, not yet safe inside HTML."""

import math
from collections.abc import Mapping

from ropewalk.analysis.findings import Finding
from ropewalk.bike.poses import SHOWN, pose_of, pose_words
from ropewalk.bike.wording import listed
from ropewalk.units import degrees
from ropewalk.workshop.jobplan import HandsPlan, InnerPlan, LengthChange, LinePlan, LinerPlan, PiecePlan, SettingPlan


def millimetres(length: float) -> str:
    """Return a length to the millimetre, with its unit.

    Examples
    --------
    >>> millimetres(664.6)
    '665 mm'
    """
    return f"{length:.0f} mm"


def way(start: str, end: str) -> str:
    """Return where something runs."""
    return f"{start} → {end}"


def window(piece: PiecePlan) -> str:
    """Return a piece's length window, or that it has none."""
    return f"{piece.window[0]:.0f}–{piece.window[1]:.0f}" if piece.window else "none"


def first_cut(piece: PiecePlan) -> str:
    """Return a piece's first cut, or that it must not be cut."""
    return millimetres(piece.first_cut) if piece.first_cut is not None else "no cut"


def steering(angle_deg: float) -> str:
    """Return a steering angle [°] in words.

    Examples
    --------
    >>> steering(-62.0), steering(0.0)
    ('62° left', 'straight ahead')
    """
    side = "right" if angle_deg > 0 else "left"
    return f"{abs(angle_deg):.0f}° {side}" if round(angle_deg) else "straight ahead"


def pose(values: Mapping[str, float]) -> str:
    """Return a pose as faces show it, in words; what has not moved is left out.

    Examples
    --------
    >>> pose({"steer_deg": -62.0}), pose({"steer_deg": 0.0, "fork_mm": 40.0})
    ('62° left', 'fork 40 mm in')
    """
    return pose_words(pose_of({name: values.get(key, 0.0) / scale for name, (key, scale) in SHOWN.items()}))


def radius(piece: PiecePlan) -> tuple[str, str]:
    """Return a piece's least radius and the pose it is found at, in two parts; one is empty when it is straight."""
    if piece.least_radius is None:
        return "straight", ""
    found = pose(piece.least_radius_pose)
    return millimetres(piece.least_radius), found if found.startswith("straight") else f"at {found}"


def radius_there(piece: PiecePlan) -> str:
    """Return a piece's least radius and the pose it is found at, in one."""
    found, there = radius(piece)
    return f"{found}{' ' if there[0].isdigit() else ', '}{there}" if there else found


def turn(angle: float) -> str:
    """Return a turn [rad] in degrees."""
    return f"{degrees(angle):.0f}°"


def ends(piece: PiecePlan) -> str:
    """Return what goes on a piece's two ends."""
    start, end = piece.ends
    return f"{start} at both ends" if start == end else f"{start}, then {end}"


def line_heading(line: LinePlan) -> str:
    """Return what stands over a line's pieces."""
    hand = [f"{line.hand} hand"] if line.hand else []
    routing = [line.routing] if line.routing else []
    kinds = list(dict.fromkeys(piece.housing for piece in line.pieces))
    return f"{line.name} ({', '.join([*routing, line.work, *hand, *kinds])})"


def take(inner: InnerPlan) -> str:
    """Return which inner to take."""
    return "no stock length is long enough" if inner.stock is None else f"take {millimetres(inner.stock)}"


def inner_figures(inner: InnerPlan) -> str:
    """Return the lengths that the choice of an inner rests on."""
    tail = f"tail {millimetres(inner.tail)} when done" if inner.tail else "it ends in the splitter, without a tail"
    return f"{millimetres(inner.need)} needed on the bench, path {millimetres(inner.path)}, {tail}"


def setting(exact: SettingPlan) -> str:
    """Return an exact setting length with where it is measured.

    Examples
    --------
    >>> setting(SettingPlan(101.0, "hub stop", "hub gear"))
    'setting length 101 mm: measure from the seat at hub stop to the anchor of hub gear'
    """
    anchor = "its anchor" if exact.start == exact.end else f"the anchor of {exact.end}"
    return f"setting length {exact.length:g} mm: measure from the seat at {exact.start} to {anchor}"


def liner_name(one: LinerPlan) -> str:
    """Return what a liner, guide liner or sleeve is."""
    return f"guide liner ({one.kind})" if one.use == "guide" else one.kind


def liner_place(one: LinerPlan) -> str:
    """Return where a liner, guide liner or sleeve lies, and what stands out of it or what it is for."""
    told = way(one.start, one.end)
    if one.use == "guide":
        return f"{told}, {millimetres(one.out[0])} out at both ends; over the old inner before that is pulled"
    if one.use == "sleeve":
        return f"{told}, over the housing"
    ends = [f"{millimetres(out)} out at {name}" for name, out in zip((one.start, one.end), one.out, strict=True) if out]
    return ", ".join([told, *ends])


def named_inners(line: LinePlan) -> list[tuple[str, InnerPlan]]:
    """Return a line's inners, each with what it is called."""
    names = ("upper inner", "lower inner") if len(line.inners) > 1 else ("inner",)
    return list(zip(names, line.inners, strict=False))


def hands(found: HandsPlan) -> list[str]:
    """Return what changing hands changes, a sentence each, and the caution that goes with it."""
    hand = found.asked.removeprefix("front-")
    if found.already:
        told = [f"The {hand} lever works the front brake already: nothing changes."]
    else:
        lines = listed((f'"{name}"' for name in found.moved), last="and")
        told = [f"The {hand} lever works the front brake now; planned again: {lines}."]
        told += [f"Move the {part} to the {side}." for side, part in found.levers]
        told += [_change(change) for change in found.changes] or ["No length changes."]
    return [*told, found.caution]


def _change(change: LengthChange) -> str:
    def shown(length: float | None, none: str) -> str:
        return none if length is None else millimetres(length)

    none = "no cut" if change.target is not None else "no stock length"
    told = f"{change.what}, {change.line}: {shown(change.before, none)} → {shown(change.after, none)}"
    if change.target is not None:
        told += f" first cut, target {change.target[0]:.0f} → {change.target[1]:.0f}"
    return told


def friction(line: LinePlan) -> str:
    """Return what bends cost a line."""
    told = f"turn {turn(line.turn)}"
    if line.efficiency:
        first, *others = (f"{share:.0%}{{}} {condition}" for condition, share in line.efficiency.items())
        told += "; " + ", ".join([first.format(" of the pull arrives"), *(other.format("") for other in others)])
    if line.release_reserve is not None and math.isfinite(line.release_reserve):
        told += f"; stops releasing at a friction of {line.release_reserve:.2f}"
    return told


def against_limit(found: Finding) -> str:
    """Return a finding's figure and its limit, or nothing when it has none.

    Examples
    --------
    >>> against_limit(Finding("look", "front brake", "tight", "widen it", 45.4, 75.0, "mm"))
    '45.4 mm, limit 75 mm'
    """
    if found.value is None or found.limit is None:
        return ""
    unit = "" if found.unit == "1" else found.unit
    gap = "" if unit in ("", "°", "%") else " "
    return f"{found.value:g}{gap}{unit}, limit {found.limit:g}{gap}{unit}"


def finding(found: Finding) -> str:
    """Return a finding: where, what, its figures and what to do."""
    figures = against_limit(found)
    return f"{found.where}: {found.text}{f' ({figures})' if figures else ''}. To do: {found.advice}."


def how_many(count: int, word: str) -> str:
    """Return a count with its word.

    Examples
    --------
    >>> how_many(1, "stop"), how_many(2, "stop")
    ('1 stop', '2 stops')
    """
    return f"{count} {word}" if count == 1 else f"{count} {word}s"
