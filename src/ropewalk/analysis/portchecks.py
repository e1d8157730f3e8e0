"""What a good port keeps: every figure of a port beside its limit, with the reason, and findings where it is broken."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from ropewalk.analysis.findings import Finding, Grade
from ropewalk.analysis.loops import LoopWindow
from ropewalk.analysis.portbends import Bend
from ropewalk.analysis.ports import PortStudy, study_ports
from ropewalk.bike.model import Bike
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.rows import Housing, Liner
from ropewalk.bike.settingrows import PortSettings
from ropewalk.routing.spans import PlacedLine
from ropewalk.units import degrees

_NO_HOLE: dict[str, tuple[Grade, str, str]] = {
    "along": ("look", "it lies along the wall and never leaves it", "write its lean: 20 to 30° suits most"),
    "inward": ("stop", "it points into the tube", "turn facing round, or write lean above 0 and skew within 90°"),
    "beside": ("look", "it misses the bore beside the tube's middle and cuts a groove", "lessen skew or height"),
    "too thick": ("stop", "it is as thick as the tube's bore", "choose a thicker tube or a thinner line"),
}


def _degrees(angle: float) -> float:
    """Return an angle in degrees, a limit of 30° as 30 in spite of rounding."""
    return round(degrees(angle), 9)


@dataclass(frozen=True, slots=True)
class Check:
    """One figure of a port beside what it should keep.

    Attributes
    ----------
    figure : str
        What it is.
    value : float or None
        In the unit; None where nothing is known.
    low, high : float or None
        What it should keep; None where there is no such limit.
    unit : str
    reason : str
        Why there is a limit, or what the figure is for.
    grade : str or None
        As of a finding; None where it is kept.
    text, advice : str
        What was found and what to do; empty where it is kept.
    """

    figure: str
    value: float | None
    low: float | None
    high: float | None
    unit: str
    reason: str
    grade: Grade | None = None
    text: str = ""
    advice: str = ""

    def finding(self, where: str) -> Finding | None:
        """Return it as a finding at a place, or None where it is kept."""
        if self.grade is None:
            return None
        broken = self.low
        if self.low is None or (self.high is not None and self.value is not None and self.value > self.high):
            broken = self.high
        value = None if self.value is None or not math.isfinite(self.value) else self.value
        return Finding(self.grade, where, self.text, self.advice, value, broken, self.unit, alike=self.grade == "note")


def _where(broken: bool, check: Check) -> Check:  # noqa: FBT001 - reads as: the check, where it is broken
    """Return a check as it stands where its limit is broken, without grade, text and advice where it is kept."""
    return check if broken else replace(check, grade=None, text="", advice="")


def port_findings(
    bike: Bike, line: PlacedLine, loops: Mapping[int, LoopWindow], catalogue: Catalogue
) -> Iterator[Finding]:
    """Return findings on every port of a line, from lever to work.

    Parameters
    ----------
    bike : Bike
    line : PlacedLine
    loops : mapping of int to LoopWindow
        What was found of the line's loops, by the place of their span in the line.
    catalogue : Catalogue
    """
    for port in study_ports(bike, line, loops, catalogue):
        for check in port_checks(port, catalogue):
            finding = check.finding(f"{port.line}, {port.station}")
            if finding is not None:
                yield finding


def port_checks(port: PortStudy, catalogue: Catalogue) -> tuple[Check, ...]:
    """Return every figure of a port beside its limit.

    Parameters
    ----------
    port : PortStudy
    catalogue : Catalogue
        Its settings hold the limits.
    """
    return tuple(_checks(port, catalogue))


def _checks(port: PortStudy, catalogue: Catalogue) -> Iterator[Check]:
    settings, cut = catalogue.settings.ports, catalogue.settings.cut
    if port.passage != "open end":
        yield _lean(port, settings, _degrees(cut.smooth_lean), _degrees(cut.hard_lean))
    yield _hole(port)
    if port.sleeve is not None:
        yield _sleeve(port)
    if port.outline is not None:
        yield _share(port, float(settings.most_share))
    yield from _welds(port, settings)
    if port.from_head is not None and port.passage != "open end":
        yield _from_head(port.from_head, settings)
    if math.isfinite(port.water.from_top) and port.passage != "open end":
        yield _top(port, settings)
    yield _water(port, settings)
    yield from _bends(port, _degrees(cut.smooth_lean))


def _lean(port: PortStudy, settings: PortSettings, smooth: float, hard: float) -> Check:
    lean, least = round(_degrees(port.lean), 1), _degrees(settings.least_lean)
    reason = f"leads in gently; over {hard:.0f}° is a hard bend"
    grade: Grade | None = None
    text = advice = ""
    if port.passage in _NO_HOLE:
        grade, text, advice = _NO_HOLE[port.passage]
        text = f"no drill of {port.diameter:g} mm makes this port: {text}"
    elif lean > hard:
        grade, text = "look", f"the line enters at {lean:.0f}°, which is a hard bend"
        advice = f"lean it {least:.0f} to {smooth:.0f}° towards where the line comes from"
    elif lean > smooth:
        grade, text = "note", f"the line enters at {lean:.0f}°, steeper than it should"
        advice = f"{least:.0f} to {smooth:.0f}° is easier on the line"
    elif lean < least:
        grade, text = "note", f"at {lean:.0f}° the hole gets long for its width"
        advice = f"{least:.0f} to {smooth:.0f}° cuts less wall"
    return Check("lean", lean, least, smooth, "°", reason, grade, text, advice)


def _hole(port: PortStudy) -> Check:
    passing, wanted = port.passing, port.wanted
    reason = f"{passing.name}, {passing.outside:g} mm, and clearance"
    if port.hole is None:
        return Check("hole", None, wanted, None, "mm", f"{reason}; none is given")
    if port.hole < passing.outside - 1e-9:
        return Check(
            "hole",
            port.hole,
            float(passing.outside),
            None,
            "mm",
            reason,
            "stop",
            f"a hole of {port.hole:g} mm is too small for {passing.name} of {passing.outside:g} mm",
            "measure the hole again, or choose what fits; drilling a frame can destroy it",
        )
    tight = port.hole < wanted - 1e-9
    return _where(
        tight,
        Check(
            "hole",
            port.hole,
            wanted,
            None,
            "mm",
            reason,
            "note",
            f"a hole of {port.hole:g} mm leaves {passing.name} less clearance than it should have",
            "try it before you count on it, and leave room for a grommet",
        ),
    )


def _sleeve(port: PortStudy) -> Check:
    assert port.sleeve is not None
    sleeve, hole = float(port.sleeve.outside), port.diameter
    squeezed = hole < sleeve
    return _where(
        squeezed,
        Check(
            "sleeve",
            sleeve,
            None,
            hole,
            "mm",
            "it has to go in at one of the ports",
            "note",
            f"the {port.sleeve.name} of {sleeve:g} mm is thicker than the hole",
            "squeeze it in at the wider port; it ends short of both",
        ),
    )


def _share(port: PortStudy, most: float) -> Check:
    assert port.outline is not None
    share = round(port.outline.share, 3)
    broken = share > most
    return _where(
        broken,
        Check(
            "share of the tube",
            share,
            None,
            most,
            "1",
            "gone in one plane; default: ask the maker",
            "look",
            f"the hole takes {share:.0%} of the {port.tube.name}'s section in one plane",
            "ask the frame's maker before you drill; a smaller hole or another place takes less",
        ),
    )


def _welds(port: PortStudy, settings: PortSettings) -> Iterator[Check]:
    least, good = float(settings.least_from_weld), float(settings.good_from_weld)
    for weld in port.welds:
        to = f"end at the {weld.to}" if weld.is_end else f"weld to the {weld.to}"
        figure = f"end at {weld.to}" if weld.is_end else f"weld to {weld.to}"
        distance = round(weld.distance, 1)
        grade: Grade | None = None
        if weld.is_end:
            grade = "note" if distance < least else None
        elif distance < good:
            grade = "stop" if distance == 0.0 else "look" if distance < least else "note"
        text = f"its edge lies {distance:.0f} mm from the {to}" if distance else f"it reaches into the {to}"
        advice = f"keep {least:.0f} to {good:.0f} mm of whole wall: heat has softened it there and load is highest"
        yield _where(
            grade is not None,
            Check(
                figure,
                distance,
                least,
                None,
                "mm",
                f"better {good:.0f}: weak from heat, loaded most",
                grade,
                text,
                advice,
            ),
        )


def _from_head(distance: float, settings: PortSettings) -> Check:
    least, most = float(settings.least_from_head), float(settings.most_from_head)
    broken = not least - 1e-6 <= distance <= most + 1e-6
    side = "near" if distance < least else "far"
    return _where(
        broken,
        Check(
            "head tube's axis",
            round(distance, 1),
            least,
            most,
            "mm",
            "near, the loop pulls; far, it hangs and rubs",
            "note",
            f"{distance:.0f} mm is {side} from the head tube's axis",
            f"{least:.0f} to {most:.0f} mm suit most loops: look at this one's window",
        ),
    )


def _top(port: PortStudy, settings: PortSettings) -> Check:
    away, least = float(round(_degrees(port.water.from_top))), _degrees(settings.clear_of_top)
    broken = away < least
    return _where(
        broken,
        Check(
            "off the tube's top",
            away,
            least,
            None,
            "°",
            "never on top: rain runs in",
            "look",
            f"it sits on top of the {port.tube.name}, where rain and sweat run in",
            "2 to 3 or 9 to 10 o'clock keeps it dry; where it must stay, seal it with a grommet",
        ),
    )


def _water(port: PortStudy, settings: PortSettings) -> Check:
    """Return how a port stands to rain, where it is not on top of its tube already."""
    water, most = port.water, _degrees(settings.faces_up)
    face, mouth = (float(round(_degrees(angle))) + 0.0 for angle in (water.face, water.mouth))
    height = f"{max(water.above_lowest, 0.0):.0f} mm over the lowest point inside"
    if water.from_top >= settings.clear_of_top and face > most:
        return Check(
            "wall looks up by",
            face,
            None,
            most,
            "°",
            "looking up, it lets rain in",
            "look",
            f"the wall looks up by {face:.0f}° here, {height}: water that runs in stays there",
            "move it round the tube, or seal it with a grommet and see that the lowest point drains",
        )
    limit = _degrees(settings.mouth_up)
    broken = mouth > limit and water.from_top >= settings.clear_of_top
    return _where(
        broken,
        Check(
            "mouth looks up by",
            mouth,
            None,
            limit,
            "°",
            "looking up, it leads water in",
            "note",
            f"its mouth looks up by {mouth:.0f}°, {height}: water runs in along the line",
            "seal it with a grommet, and see that the lowest point drains",
        ),
    )


def _bends(port: PortStudy, smooth: float) -> Iterator[Check]:
    for side, bend in (("inside", port.inside), ("outside", port.outside)):
        if bend is None:
            continue
        if bend.radius is None:
            yield _edge(bend, side, smooth)
        elif math.isfinite(bend.radius) and bend.what is not None:
            yield _radius(bend, bend.radius, bend.what, side)


def _edge(bend: Bend, side: str, smooth: float) -> Check:
    angle = round(_degrees(bend.angle), 1)
    broken = angle > smooth
    return _where(
        broken,
        Check(
            f"bend {side}",
            angle,
            None,
            smooth,
            "°",
            "turning over the edge, which wears",
            "note",
            f"just {side} the line turns by {angle:.0f}° over the edge",
            "lead the port towards where the line comes from, and round its edge",
        ),
    )


def _radius(bend: Bend, radius: float, what: Housing | Liner, side: str) -> Check:
    kink, radius = float(what.kink_radius), round(radius, 1)
    broken = radius < kink
    when = f" at {bend.when}" if bend.when and not bend.when.startswith("straight") else ""
    which = "widest arc between the walls" if side == "inside" else f"tightest of {what.name}{when}"
    return _where(
        broken,
        Check(
            f"radius {side}",
            radius,
            kink,
            None,
            "mm",
            f"{which}, turning {_degrees(bend.angle):.0f}°",
            "look",
            f"just {side} it bends to {radius:.0f} mm{when}",
            "lessen its lean or let the loop be longer",
        ),
    )
