"""The command that prints the cut list."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ropewalk.cli.arguments import FrameArgument, HandOption, HandsOption, PartsOption, RoutingOption
from ropewalk.cli.fitting import BlankOption, FittedOption, check_fitting, fitted_job, write_blank
from ropewalk.cli.options import shelf_of
from ropewalk.cli.phoning import PhoneOption, check_phone, write_phone
from ropewalk.cli.planning import frame_of, planned
from ropewalk.errors import ChoiceError

if TYPE_CHECKING:
    from ropewalk.workshop.fitted import FittedJob
    from ropewalk.workshop.jobplan import JobPlan


def cut(
    frame: FrameArgument,
    *,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object instead of the list.")] = False,
    csv: Annotated[
        Path | None, typer.Option("--csv", metavar="FILE", help="Write the list as a spreadsheet too.")
    ] = None,
    phone: PhoneOption = None,
    why: Annotated[
        str | None, typer.Option("--why", metavar="TAG", help="Print how the length of one piece is made up.")
    ] = None,
    order: Annotated[bool, typer.Option("--order", help="Print the cutting order and the order of work too.")] = False,
    fitted: FittedOption = None,
    fitted_blank: BlankOption = None,
    option: RoutingOption = None,
    hand: HandOption = None,
    hands: HandsOption = None,
    parts: PartsOption = None,
) -> None:
    """Print the cut list of a bike.

    First cuts, targets and windows of the housing, inners and liners, parts, findings and cautions.
    """
    from ropewalk.bike.options import with_options
    from ropewalk.cli.console import emit, json_text
    from ropewalk.cli.options import asked_force, asked_hands, asked_options
    from ropewalk.cli.writing import check_output, write_whole

    if as_json and why is not None:
        raise ChoiceError("--json and --why do not go together: choose one")
    if order and why is not None:
        raise ChoiceError("--order and --why do not go together: choose one")
    check_fitting(fitted, fitted_blank, why)
    asked, choices = asked_hands(hands), asked_force(hand)
    path, read = frame_of(frame)
    read = with_options(read, asked_options(read, option or ()))
    own = None if parts is None else Path(parts)
    if csv is not None:
        check_output(csv, source=path)
        check_output(csv, source=own, called="the parts file")
    check_phone(phone, path, own)
    job = planned(read, path, shelf_of(parts), hands=asked, choices=choices)
    found = fitted_job(job, fitted)
    if as_json:
        from ropewalk.workshop.report import as_json_object

        shown = json_text(as_json_object(job, order=order, fitted=found))
    else:
        shown = _cut_list(job, why, order=order, fitted=found)
    if csv is not None:
        from ropewalk.workshop.report import as_csv

        write_whole(csv, as_csv(job, found).encode())
    write_phone(job, found, phone, own)
    write_blank(job, fitted_blank)
    emit(shown)


def _cut_list(job: JobPlan, why: str | None, *, order: bool, fitted: FittedJob | None) -> str:
    from ropewalk.cli.console import rendered

    if why is not None:
        from ropewalk.cli.why import print_why

        return rendered(lambda console: print_why(job, why, console))
    from ropewalk.cli.cutlist import print_cut_list

    return rendered(lambda console: print_cut_list(job, console, order=order, fitted=fitted))
