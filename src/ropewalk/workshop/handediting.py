"""Changed hands written into the frame file: the levers of the brakes change over, all else stays as it is written."""

from __future__ import annotations

from collections.abc import Iterator

from ropewalk.bike.editing import with_values
from ropewalk.bike.framefile import Frame
from ropewalk.bike.reading import loads
from ropewalk.workshop.hands import brakes_of, swapped
from ropewalk.workshop.jobplan import JobPlan

_FIELDS = ("name", "part", "side", "along")


def hands_changed(text: str, job: JobPlan) -> str:
    """Return a frame file's text with the front brake on the other hand, comments and layout kept.

    Parameters
    ----------
    text : str
        The frame file's text.
    job : JobPlan
        Its plan.

    Raises
    ------
    FrameFileError
        When the file does not tell which lever works which brake.
    """
    frame = loads(text, "frame file")
    changed = swapped(frame, brakes_of(job.model.frame, job.routing))
    return with_values(text, dict(_differences(frame, changed)))


def _differences(before: Frame, after: Frame) -> Iterator[tuple[tuple[int | str, ...], object]]:
    """Yield the paths of the fields that change with the hands, each with its new value."""
    for place, (lever, other) in enumerate(zip(before.lever, after.lever, strict=True)):
        for name in _FIELDS:
            if getattr(lever, name) != getattr(other, name):
                yield ("lever", place, name), getattr(other, name)
    for place, (line, now) in enumerate(zip(before.line, after.line, strict=True)):
        if line.lever != now.lever:
            yield ("line", place, "lever"), now.lever
        if line.station[0].name != now.station[0].name:
            yield ("line", place, "station", 0, "name"), now.station[0].name
        for number, (option, of_now) in enumerate(zip(line.option, now.option, strict=True)):
            if option.station and of_now.station and option.station[0].name != of_now.station[0].name:
                yield ("line", place, "option", number, "station", 0, "name"), of_now.station[0].name
