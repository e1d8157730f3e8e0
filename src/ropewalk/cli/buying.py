"""The command that tells what to buy for one bike or several."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from ropewalk.bike.wording import one_line, shortened_path
from ropewalk.cli.arguments import HandsOption, PartsOption, RoutingOption
from ropewalk.errors import ChoiceError, OutputError


def buy(
    frames: Annotated[
        list[str],
        typer.Argument(
            metavar="FRAME...", help="Frame files, or names of bikes of the fleet; one named twice is counted twice."
        ),
    ],
    output: Annotated[
        Path | None, typer.Option("--output", "-o", metavar="FILE", help="Write it to a file: a name in .csv.")
    ] = None,
    *,
    option: RoutingOption = None,
    hands: HandsOption = None,
    parts: PartsOption = None,
) -> None:
    """List what to buy for bikes, as rows for a spreadsheet.

    Housing with what each cut takes, inners by stock length, liners, ends and small parts, counted over all bikes.
    """
    from ropewalk.bike.options import with_options
    from ropewalk.cli.console import emit
    from ropewalk.cli.options import asked_hands, asked_options, shelf_of
    from ropewalk.cli.planning import frame_of, planned
    from ropewalk.cli.writing import check_output, write_whole
    from ropewalk.workshop.ordering import as_order_csv

    if output is not None and output.suffix.lower() != ".csv":
        raise OutputError(one_line(f"{shortened_path(str(output))}: the name of a list to buy by has to end in .csv"))
    for name, given in (("--option", option), ("--hands", hands)):
        if given and len(frames) > 1:
            raise ChoiceError(f"{name} goes with one bike: leave it out, or list the bikes one by one")
    asked, shelf = asked_hands(hands), shelf_of(parts)
    read = [frame_of(frame) for frame in frames]
    if output is not None:
        for path, _ in read:
            check_output(output, source=path)
        check_output(output, source=None if parts is None else Path(parts), called="the parts file")
    jobs = [
        planned(with_options(frame, asked_options(frame, option or ())), path, shelf, hands=asked)
        for path, frame in read
    ]  # fmt: skip
    told = as_order_csv(jobs)
    if output is None:
        emit(told)
    else:
        write_whole(output, told.encode())
        emit(f"{shortened_path(str(output))} is written\n")
