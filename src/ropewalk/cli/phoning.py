"""The page for a phone on the command line: where it goes, and writing it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ropewalk.bike.wording import one_line, shortened_path
from ropewalk.errors import OutputError

if TYPE_CHECKING:
    from ropewalk.workshop.fitted import FittedJob
    from ropewalk.workshop.jobplan import JobPlan

PhoneOption = Annotated[
    Path | None,
    typer.Option("--phone", metavar="FILE", help="Write a page for a phone too, one piece a screen: a name in .html."),
]


def check_phone(path: Path | None, frame: Path, parts: Path | None) -> None:
    """Refuse a page that is no .html, or that would take the place of what is read."""
    from ropewalk.cli.writing import check_output

    if path is None:
        return
    if path.suffix.lower() not in (".html", ".htm"):
        what = "the name of a page for a phone has to end in .html"
        raise OutputError(one_line(f"{shortened_path(str(path))}: {what}"))
    check_output(path, source=frame)
    check_output(path, source=parts, called="the parts file")


def write_phone(job: JobPlan, fitted: FittedJob | None, path: Path | None, parts: Path | None) -> None:
    """Write the page, where one is asked for."""
    if path is None:
        return
    from ropewalk.cli.writing import write_whole
    from ropewalk.drawing.phonepage import phone_page

    own = b"" if parts is None else parts.read_bytes()
    write_whole(path, phone_page(job, fitted, own_parts=own))
