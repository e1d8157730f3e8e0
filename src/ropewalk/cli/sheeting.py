"""The command that writes the bench sheet."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import Annotated

import typer

from ropewalk.bike.wording import shortened, shortened_path
from ropewalk.cli.arguments import FrameArgument, HandsOption, PartsOption, RoutingOption
from ropewalk.errors import ChoiceError, OutputError


def sheet(
    frame: FrameArgument,
    output: Annotated[Path, typer.Option("--output", "-o", metavar="FILE", help="The sheet: a name in .pdf.")],
    *,
    paper: Annotated[str, typer.Option("--paper", metavar="A4|Letter", help="The paper to print on.")] = "A4",
    day: Annotated[
        str | None, typer.Option("--date", metavar="YYYY-MM-DD", help="The date on it; today when left out.")
    ] = None,
    strips: Annotated[bool, typer.Option("--strips", help="Add true-length strips of pieces up to 250 mm.")] = False,
    end_tags: Annotated[bool, typer.Option("--end-tags", help="Add a tag for each end of each piece.")] = False,
    plots: Annotated[bool, typer.Option("--plots", help="Add plots of radius and spare length, lock to lock.")] = False,
    option: RoutingOption = None,
    hands: HandsOption = None,
    parts: PartsOption = None,
) -> None:
    """Write the bench sheet of a bike, to print and tick off.

    Cut list in large type, drawing, order of work, parts, findings and cautions.
    """
    from ropewalk.bike.options import with_options
    from ropewalk.cli.console import emit
    from ropewalk.cli.options import asked_hands, asked_options, shelf_of
    from ropewalk.cli.planning import frame_of, planned
    from ropewalk.cli.writing import check_output, write_whole
    from ropewalk.drawing.benchextras import LONGEST, short_pieces
    from ropewalk.drawing.benchsheet import Extras, bench_sheet, paper_of

    if output.suffix.lower() != ".pdf":
        raise OutputError(f"{shortened_path(str(output))}: the name of a bench sheet has to end in .pdf")
    named, asked, printed = paper_of(paper), asked_hands(hands), _day(day)
    path, read = frame_of(frame)
    read = with_options(read, asked_options(read, option or ()))
    own = None if parts is None else Path(parts)
    check_output(output, source=path)
    check_output(output, source=own, called="the parts file")
    job = planned(read, path, shelf_of(parts), hands=asked)
    made = bench_sheet(
        job,
        printed,
        named,
        own_parts=b"" if own is None else own.read_bytes(),
        extras=Extras(strips=strips, end_tags=end_tags, plots=plots),
    )
    write_whole(output, made)
    emit(f"{shortened_path(str(output))} is written\n")
    if strips and not short_pieces(job):
        emit(f"no piece is {LONGEST:g} mm or shorter: it has no strips\n")


def _day(given: str | None) -> date:
    """Return the date asked for, or today by this computer's clock."""
    if given is None:
        return datetime.now().date()
    try:
        return date.fromisoformat(given)
    except ValueError:
        raise ChoiceError(f'--date is "{shortened(given)}": write it as 2026-05-31') from None
