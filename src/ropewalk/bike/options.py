"""Options of a line: its named routings, and a bike with one of them in place of the line as written."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from ropewalk.bike.framefile import AS_WRITTEN, CHANGES, Frame, Line, Option
from ropewalk.bike.wording import listed, nearest, shortened
from ropewalk.errors import ChoiceError, RopewalkError


def option_names(line: Line) -> tuple[str, ...]:
    """Return the names of a line's routings, that of the line as written first."""
    return (line.routing, *(option.name for option in line.option))


def named_line(frame: Frame, name: str) -> Line:
    """Return the line of that name, or raise a `ChoiceError` that names the nearest."""
    found = next((line for line in frame.line if line.name == name), None)
    if found is None:
        raise ChoiceError(f'{frame.name} has no line "{shortened(name)}": {_hint(name, _names(frame))}')
    return found


def with_option(frame: Frame, line_name: str, option_name: str) -> Frame:
    """Return a frame file with one of a line's options in place of the line.

    Parameters
    ----------
    frame : Frame
        As read.
    line_name, option_name : str
        The option may be the line's own routing.

    Returns
    -------
    Frame
        With a line that bears the option's name as its `routing` and holds no options.

    Raises
    ------
    ChoiceError
        When there is no such line or option; the text names the nearest.
    """
    line = named_line(frame, line_name)
    chosen = next((option for option in line.option if option.name == option_name), None)
    if chosen is None and option_name != line.routing:
        known = option_names(line)
        raise ChoiceError(
            f'line "{line.name}" has no option "{shortened(option_name)}": '
            + (_hint(option_name, known) if line.option else "it holds none; add [[line.option]] to it")
        )
    taken = line.model_copy(update={"option": ()}) if chosen is None else line_with(line, chosen)
    lines = tuple(taken if other.name == line.name else other for other in frame.line)
    return frame.model_copy(update={"line": lines})


def with_options(frame: Frame, chosen: Mapping[str, str]) -> Frame:
    """Return a frame file with an option in place of each named line; raises as `with_option`."""
    for line, option in chosen.items():
        frame = with_option(frame, line, option)
    return frame


def line_with(line: Line, option: Option) -> Line:
    """Return a line as one of its options has it, by that name and without options of its own."""
    changed: dict[str, Any] = {name: value for name in CHANGES if (value := getattr(option, name)) is not None}
    return line.model_copy(update={**changed, "routing": option.name, "option": ()})


def option_taken(line: Line) -> str | None:
    """Return what a line's routing is called, or None where nothing gives it a name."""
    return None if line.routing == AS_WRITTEN else line.routing


def without_options(frame: Frame) -> Frame:
    """Return a frame file with every line as written and no other."""
    return frame.model_copy(update={"line": tuple(line.model_copy(update={"option": ()}) for line in frame.line)})


@contextmanager
def telling_options(lines: Iterable[Line]) -> Iterator[None]:
    """Say the option besides the line in what is found wrong with lines that stand for one."""
    try:
        yield
    except RopewalkError as error:
        text = str(error)
        for line in lines:
            told = f'line "{line.name}", option "{line.routing}"'
            if option_taken(line) is not None and told not in text:
                text = text.replace(f'line "{line.name}"', told, 1)
        raise type(error)(text) from None


def _names(frame: Frame) -> list[str]:
    return [line.name for line in frame.line]


def _hint(word: str, known: Iterable[str]) -> str:
    names = list(known)
    near = nearest(word, names)
    if near is not None:
        return f'did you mean "{near}"?'
    return "it has " + listed((f'"{name}"' for name in names), last="and")
