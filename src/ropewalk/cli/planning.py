"""Reading and planning the bike that a command names; what is wrong with it is told with its file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from ropewalk.bike.wording import one_line, shortened_path
from ropewalk.errors import FrameFileError, RopewalkError

if TYPE_CHECKING:
    from ropewalk.bike.framefile import Frame
    from ropewalk.bike.parts import Catalogue
    from ropewalk.workshop.choices import Choices
    from ropewalk.workshop.hands import Hands
    from ropewalk.workshop.jobplan import JobPlan


def frame_of(name_or_path: str) -> tuple[Path, Frame]:
    """Return where a frame file lies, by path or by a fleet bike's name, and what it says."""
    from ropewalk.bike.fleet import find
    from ropewalk.bike.reading import read

    path = find(name_or_path)
    return path, read(path)


def planned(
    frame: Frame, path: Path, shelf: Catalogue, *, hands: Hands | None = None, choices: Choices | None = None
) -> JobPlan:
    """Return the plan; its errors are told with the file they come from."""
    from ropewalk.cli.console import shown_progress
    from ropewalk.workshop.hands import plan_hands
    from ropewalk.workshop.plan import plan

    try:
        with shown_progress() as progress:
            if hands is not None:
                return plan_hands(frame, hands, choices, progress, shelf=shelf)
            return plan(frame, choices=choices, progress=progress, shelf=shelf)
    except RopewalkError as error:
        raise FrameFileError(one_line(f"{shortened_path(str(path))}: {error}")) from error
