"""The command that finds what is wrong with a line that drags."""

from __future__ import annotations

from typing import Annotated

import typer

from ropewalk.cli.arguments import FrameArgument, PartsOption


def fault(
    frame: FrameArgument,
    line: Annotated[str, typer.Argument(metavar="LINE", help="The line's name, such as: rear brake.")],
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
        str | None, typer.Option("--steer", metavar="DEG", help="Where the bars pointed: positive to the right.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object instead of the text.")] = False,
    parts: PartsOption = None,
) -> None:
    """Find out why a line drags: its wire, an end of its housing, or what it moves.

    From a spring scale at both ends of the wire, pulled slowly from the lever's end. Forces in newtons, one at each end
    for every pull, with commas between several: --lever 40,90 --end 18,42. It says so where they cannot tell.
    """
    from ropewalk.bike.options import named_line
    from ropewalk.bike.poses import poses
    from ropewalk.cli.console import emit, emit_json, rendered
    from ropewalk.cli.options import asked_pose, shelf_of
    from ropewalk.cli.planning import frame_of, planned
    from ropewalk.units import degrees
    from ropewalk.workshop.fault import checked_readings, find_fault
    from ropewalk.workshop.faultchecks import Readings, force_of, forces_of

    path, read = frame_of(frame)
    named_line(read, line)
    shelf = shelf_of(parts)
    readings = Readings(
        lever=forces_of(lever, "--lever"),
        end=forces_of(end, "--end"),
        scale=None if scale is None else force_of(scale, "--scale"),
        part_moves=None if part_moves is None else force_of(part_moves, "--part-moves"),
        part_returns=None if part_returns is None else force_of(part_returns, "--part-returns"),
        steer_deg=degrees(asked_pose(poses(read), {"steer": steer}).get("steer", 0.0)),
    )
    # what cannot be is refused at once, not after planning
    readings = checked_readings(readings, shelf)
    found = find_fault(planned(read, path, shelf), line, readings)
    if as_json:
        from ropewalk.workshop.faultreport import fault_as_json_object

        emit_json(fault_as_json_object(found))
        return
    from ropewalk.cli.faultlist import print_fault

    emit(rendered(lambda console: print_fault(found, console)))
