"""The command that tells tension along a line, what arrives, what comes back, and what is lost on the way."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ropewalk.bike.wording import shortened_path
from ropewalk.cli.arguments import FORMS, FrameArgument, HandOption, PartsOption

if TYPE_CHECKING:
    from rich.console import Console

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

    from ropewalk.workshop.frictionwords import pull_words, stretch_words, told

    console.print(Text(f"{line.bike}: {line.line}", style="bold"))
    console.print(Text(pull_words(line, condition)))
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), show_edge=False)
    table.add_column("stretch of the wire", overflow="fold")
    for name in ("turn", "to", "pulled", "let back"):
        table.add_column(name, justify="right", no_wrap=True)
    for stretch in stretch_words(line, condition):
        table.add_row(Text(stretch.label), stretch.turn, stretch.to, stretch.pulled, stretch.let_back)
    console.print(table)
    for sentence in told(line, condition):
        console.print(Text(sentence))
