"""The command that tells tension along a line, what arrives, what comes back, and what is lost on the way."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ropewalk.bike.sourced import SIGMAS_WITHIN
from ropewalk.bike.wording import shortened_path
from ropewalk.cli.arguments import FORMS, FrameArgument, HandOption, PartsOption

if TYPE_CHECKING:
    from rich.console import Console

    from ropewalk.analysis.friction import LineFriction
    from ropewalk.workshop.frictionplan import FrictionPlan


def friction(
    frame: FrameArgument,
    line: Annotated[
        str | None, typer.Argument(metavar="[LINE]", help="The line's name; all that have a wire when left out.")
    ] = None,
    *,
    condition: Annotated[
        str, typer.Option("--condition", metavar="STATE", help="Tension as new, worn or corroded.")
    ] = "worn",
    hand: HandOption = None,
    steer: Annotated[
        str, typer.Option("--steer", metavar="DEG", help="Turn the bars so far: positive to the right.")
    ] = "0",
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object instead of the tables.")] = False,
    chart: Annotated[
        Path | None, typer.Option("--chart", metavar="FILE", help="Draw tension along the line: .svg, .png or .pdf.")
    ] = None,
    parts: PartsOption = None,
) -> None:
    """Tell tension along a line, pulled and let back.

    Span by span from the lever; what arrives, whether it comes back, what of the lever's pull is lost on the way.
    """
    from ropewalk.analysis.wireline import CONDITIONS
    from ropewalk.bike.poses import poses
    from ropewalk.cli.console import emit, emit_json, rendered
    from ropewalk.cli.options import asked_force, asked_pose, form_of, shelf_of
    from ropewalk.cli.planning import frame_of, planned
    from ropewalk.cli.writing import check_output, write_whole
    from ropewalk.workshop.compare import check_choice
    from ropewalk.workshop.frictionplan import friction_as_json_object, plan_friction

    check_choice("--condition", condition, CONDITIONS)
    form = None if chart is None else form_of(chart, FORMS)
    choices = asked_force(hand)
    path, file = frame_of(frame)
    pose = asked_pose(poses(file), {"steer": steer})
    if chart is not None:
        check_output(chart, source=path)
        check_output(chart, source=None if parts is None else Path(parts), called="the parts file")
    job = planned(file, path, shelf_of(parts), choices=choices)
    found = plan_friction(job, line, pose)
    if chart is not None:
        from ropewalk.drawing.tensionchart import tension_chart

        write_whole(chart, tension_chart(found, f".{form}"))
    if as_json:
        shown = friction_as_json_object(job.bike, found)
        emit_json(shown)
        return
    emit(rendered(lambda console: print_friction(found, condition, console)))
    if chart is not None:
        emit(f"{shortened_path(str(chart))} is written\n")


def print_friction(lines: list[FrictionPlan], condition: str, console: Console) -> None:
    """Print lines one after the other, then limits and cautions once."""
    from ropewalk.cli.cutlist import print_entries
    from ropewalk.workshop.cautions import CAUTIONS
    from ropewalk.workshop.frictionplan import LIMITS

    for place, line in enumerate(lines):
        if place:
            console.print()
        _print_line(line, condition, console)
    print_entries("Limits", [("-", [limit]) for limit in LIMITS], console)
    print_entries("Cautions", [("-", [caution]) for caution in CAUTIONS], console)


def _print_line(line: FrictionPlan, condition: str, console: Console) -> None:
    from rich.table import Table
    from rich.text import Text

    from ropewalk.units import degrees

    profile = line.profiles[condition]
    console.print(Text(f"{line.bike}: {line.line}", style="bold"))
    pull = f"{profile.pulling[0]:.0f} N at the lever's end of the wire"
    hand = f", from a hand of {line.friction.hand_force:.0f} N" if line.work == "brake" else ""
    console.print(Text(f"Tension {line.at}, {condition}; {pull}{hand}."))
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), show_edge=False)
    table.add_column("stretch of the wire", overflow="fold")
    for name in ("turn", "to", "pulled", "let back"):
        table.add_column(name, justify="right", no_wrap=True)
    table.add_row("at the lever", "", "0 mm", f"{profile.pulling[0]:.0f} N", f"{profile.releasing[0]:.1f} N")
    for at, stretch in enumerate(line.stretches, start=1):
        table.add_row(
            stretch.label + (f" (drag {stretch.drag:g} N)" if stretch.drag else ""),
            f"{degrees(float(stretch.turn[profile.pose])):.0f}°",
            f"{profile.distance[at]:.0f} mm",
            f"{profile.pulling[at]:.0f} N",
            f"{profile.releasing[at]:.1f} N",
        )
    console.print(table)
    for sentence in _told(line, condition):
        console.print(Text(sentence))


def _at_grip(left: float, sigma: float) -> str:
    """Return what some travel left of a lever means, in words."""
    if left + SIGMAS_WITHIN * sigma < 0.0:
        return "the lever reaches the grip first."
    if left < 0.0:
        return "the lever may reach the grip first; these figures are too rough to be sure."
    return "the lever stays off the grip." if left > SIGMAS_WITHIN * sigma else "the lever should stay off the grip."


def _comes_back(friction: LineFriction) -> list[str]:
    """Return what of the return spring reaches the lever, and what the lever wants, in a sentence."""
    release = friction.release
    if release is None:
        return []
    arrives = ", ".join(
        f"{one.value:.1f} N (± {SIGMAS_WITHIN * one.sigma:.1f}) {name}" for name, one in release.arrives.items()
    )
    return [
        f"Of the return spring's {release.spring:.0f} N at its weakest {arrives} reach the lever at their worst; it "
        f"wants {release.needed:g} N (± {SIGMAS_WITHIN * release.needed_sigma:.1f})."
    ]


def _told(line: FrictionPlan, condition: str) -> list[str]:
    """Return what arrives, comes back and is lost, in sentences."""
    friction = line.friction
    told = [
        "Arrives straight ahead: "
        + ", ".join(
            f"{one.value:.0%} (± {SIGMAS_WITHIN * one.sigma:.0%}) {name}" for name, one in friction.efficiency.items()
        )
        + ".",
        f"At its worst while riding, {line.worst_at[condition]}, {friction.least_efficiency[condition].value:.0%} "
        f"{condition}; at the left lock "
        f"{friction.at_locks[condition][0]:.0%}, at the right lock {friction.at_locks[condition][1]:.0%}.",
        f"{line.release[0].upper()}{line.release[1:]}.",
        *_comes_back(friction),
    ]
    lost = line.lost.get(condition)
    if lost is not None:
        share = f", {lost.share:.0%} of the lever's pull" if lost.share is not None else ""
        parts = "; ".join(f"{one.label} {one.mm.value:.1f} mm" for one in lost.losses if one.mm.value > 0.05)
        told.append(
            f"Lost on the way, {condition}: {lost.total.value:.1f} mm (± {SIGMAS_WITHIN * lost.total.sigma:.1f}, "
            f"stiffness is an estimate){share}: {parts}. Joints settle by {lost.settling:.1f} mm once, which an "
            "adjuster takes up."
        )
        if lost.left is not None and line.work == "brake":
            told.append(
                f"Of the lever's {lost.pull:g} mm of wire {lost.take_up:g} mm go before the brake begins to work, and "
                f"{lost.left:.1f} mm (± {SIGMAS_WITHIN * lost.left_sigma:.1f}) are left: "
                + _at_grip(lost.left, lost.left_sigma)
            )
    if line.shifting is not None:
        one = line.shifting.hysteresis[condition]
        step = (
            f", {one.value / line.shifting.step:.0%} of a click of {line.shifting.step:g} mm"
            if line.shifting.step
            else ""
        )
        told.append(
            f"Between a pull and a release the wire stands {one.value:.2f} mm (± {SIGMAS_WITHIN * one.sigma:.2f}) "
            f"apart{step}, {condition}; the bars turned 30° move it by {line.shifting.steering:.2f} mm. To rank by, no "
            "forecast."
        )
    return told
