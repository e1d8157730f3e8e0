"""The command that finds what is wrong with a line that drags."""

from __future__ import annotations

import json
import math
from typing import TYPE_CHECKING, Annotated

import typer

from ropewalk.bike.wording import shortened
from ropewalk.errors import ChoiceError

if TYPE_CHECKING:
    from rich.console import Console

    from ropewalk.workshop.fault import FaultPlan


def fault(
    frame: Annotated[str, typer.Argument(metavar="FRAME", help="A frame file, or the name of a bike of the fleet.")],
    line: Annotated[str, typer.Argument(metavar="LINE", help="The line's name, such as rear brake.")],
    *,
    lever: Annotated[str, typer.Option("--lever", metavar="N,N,...", help="Pull read at the lever's end.")],
    end: Annotated[str, typer.Option("--end", metavar="N,N,...", help="Pull read at the other end, for each.")],
    scale: Annotated[
        str | None, typer.Option("--scale", metavar="N", help="What the scale may be wrong by, 19 times in 20.")
    ] = None,
    part_moves: Annotated[
        str | None, typer.Option("--part-moves", metavar="N", help="What moves the caliper or derailleur, wire off.")
    ] = None,
    part_returns: Annotated[
        str | None, typer.Option("--part-returns", metavar="N", help="What it still pulls with as it returns.")
    ] = None,
    steer: Annotated[
        str, typer.Option("--steer", metavar="DEG", help="Where the bars pointed: positive to the right.")
    ] = "0",
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object instead of the text.")] = False,
    parts: Annotated[
        str | None,
        typer.Option("--parts", metavar="FILE", help="Parts of your own, beside the catalogue (see: ropewalk parts)."),
    ] = None,
) -> None:
    """Find out why a line drags: wire, an end of it, or what it moves.

    From a spring scale at both ends of the wire, pulled slowly from the lever's end.
    """
    from ropewalk.bike.fleet import find
    from ropewalk.bike.poses import poses
    from ropewalk.bike.reading import read
    from ropewalk.cli.console import emit, rendered, shown_progress
    from ropewalk.cli.options import asked_pose, shelf_of
    from ropewalk.units import degrees
    from ropewalk.workshop.fault import Readings, find_fault

    file = read(find(frame))
    readings = Readings(
        lever=_forces(lever, "--lever"),
        end=_forces(end, "--end"),
        scale=None if scale is None else _force(scale, "--scale"),
        part_moves=None if part_moves is None else _force(part_moves, "--part-moves"),
        part_returns=None if part_returns is None else _force(part_returns, "--part-returns"),
        steer_deg=degrees(asked_pose(poses(file), {"steer": steer})["steer"]),
    )
    with shown_progress() as progress:
        found = find_fault(file, line, readings, shelf=shelf_of(parts), progress=progress)
    if as_json:
        from ropewalk.workshop.faultreport import fault_as_json_object

        emit(json.dumps(fault_as_json_object(found), ensure_ascii=False, allow_nan=False, indent=2) + "\n")
        return
    emit(rendered(lambda console: print_fault(found, console)))


def _forces(given: str, option: str) -> tuple[float, ...]:
    return tuple(_force(part, option) for part in given.split(","))


def _force(given: str, option: str) -> float:
    try:
        value = float(given)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise ChoiceError(f'{option} holds "{shortened(given)}": write numbers in N, with commas between several')
    return value


def print_fault(found: FaultPlan, console: Console) -> None:
    """Print what is wrong with a line."""
    from rich.text import Text

    from ropewalk.cli.cutlist import print_entries
    from ropewalk.units import degrees

    readings = found.readings
    console.print(Text(f"Fault finder: {found.line}, {found.bike}", style="bold"))
    pulls = "; ".join(f"{lever:g} N in, {end:g} N out" for lever, end in zip(readings.lever, readings.end, strict=True))
    console.print(Text(f"Read {found.pose}, the wire turning {degrees(found.turn):.0f}° between the scales: {pulls}."))
    console.print(Text(f"The scale may be wrong by {readings.scale:g} N, 19 times in 20."))
    console.print()
    console.print(Text(found.verdict, style="bold"))
    print_entries("Why", [("-", [reason]) for reason in found.reasons], console)
    if found.following:
        print_entries("Next", [("-", [step]) for step in found.following], console)
    print_entries("How to read", [(f"{number}.", [step]) for number, step in enumerate(found.how, start=1)], console)
    print_entries("Limits", [("-", [limit]) for limit in found.limits], console)
    print_entries("Cautions", [("-", [caution]) for caution in found.cautions], console)
