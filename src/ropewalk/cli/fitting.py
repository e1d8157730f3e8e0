"""The dry fit on the command line: a blank file to fill in, what was found read back, and what follows from it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ropewalk.bike.wording import one_line, shortened_path
from ropewalk.errors import ChoiceError, OutputError

if TYPE_CHECKING:
    from ropewalk.workshop.fitted import FittedJob
    from ropewalk.workshop.jobplan import JobPlan

FittedOption = Annotated[
    Path | None,
    typer.Option("--fitted", metavar="FILE", help="What was found at the dry fit: tell what to trim or make again."),
]
BlankOption = Annotated[
    Path | None,
    typer.Option("--fitted-blank", metavar="FILE", help="Write a dry-fit file to fill in, from the first cuts."),
]


def check_fitting(fitted: Path | None, blank: Path | None, why: str | None) -> None:
    """Refuse options that do not go together, and a blank file that would take the place of another."""
    from ropewalk.cli.writing import check_output

    if fitted is not None and why is not None:
        raise ChoiceError("--fitted and --why do not go together: choose one")
    if fitted is not None and blank is not None:
        raise ChoiceError("--fitted and --fitted-blank do not go together: choose one")
    if blank is not None:
        check_output(blank)
        if blank.exists():
            what = "is here already: move it away or name another file"
            raise OutputError(one_line(f"{shortened_path(str(blank))}: {what}"))


def fitted_job(job: JobPlan, path: Path | None) -> FittedJob | None:
    """Return what follows from a dry-fit file, or None where none is named."""
    if path is None:
        return None
    from ropewalk.bike.fitfile import read_fit
    from ropewalk.workshop.dryfit import fit_dry

    return fit_dry(job, read_fit(path), str(path))


def write_blank(job: JobPlan, path: Path | None) -> None:
    """Write a dry-fit file to fill in, where one is asked for."""
    if path is None:
        return
    from ropewalk.cli.writing import write_whole
    from ropewalk.workshop.dryfit import blank_fit

    write_whole(path, blank_fit(job).encode())


def fitted_entries(fitted: FittedJob | None) -> list[tuple[str, list[tuple[str, list[str]]]]]:
    """Return headings and labelled sentences that tell what follows from a dry fit; nothing without one."""
    if fitted is None:
        return []
    from ropewalk.workshop import dryfitwords as words
    from ropewalk.workshop.fittedinners import CHOSEN_BEFORE

    pieces = [
        (piece.tag, [f"{words.result(piece)} ({words.found(piece)}, target {piece.target:g} mm)", *piece.reasons])
        for piece in fitted.pieces
    ]
    inners = [(inner.line, [words.inner(inner)]) for inner in fitted.inners]
    if not inners:
        return [("After the dry fit", pieces)]
    return [("After the dry fit", pieces), ("Inners after the dry fit", [*inners, ("-", [CHOSEN_BEFORE])])]
