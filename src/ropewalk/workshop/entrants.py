"""Who takes part in a comparison: options of one line, or the same line in several frame files of one bike."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ropewalk.bike.framefile import Frame, Line
from ropewalk.bike.options import named_line, option_names, with_option
from ropewalk.bike.wording import listed, nearest, shortened, shortened_path
from ropewalk.errors import ChoiceError


@dataclass(frozen=True, slots=True)
class Entrant:
    """One routing to compare.

    Attributes
    ----------
    name : str
        What it is called beside the others.
    file : str
        Name or path of its frame file, as it was asked for.
    frame : Frame
        With this routing in its line.
    """

    name: str
    file: str
    frame: Frame


@dataclass(frozen=True, slots=True)
class Contest:
    """A line and the routings of it that are compared."""

    line: str
    entrants: tuple[Entrant, ...]


def contests_of_options(
    file: str, frame: Frame, line: str | None = None, options: Sequence[str] | None = None
) -> tuple[Contest, ...]:
    """Return the comparison of a line's options, or those of every line that has some.

    Parameters
    ----------
    file : str
        The frame file's name.
    frame : Frame
    line : str, optional
        The line; left out, every line with options.
    options : sequence of str, optional
        Names of the options to compare; left out, all, the line as written first.

    Raises
    ------
    ChoiceError
        When line or options are not there, or fewer than two are left to compare.
    """
    with_some = [one for one in frame.line if one.option]
    if line is None:
        if not with_some:
            raise ChoiceError(
                f"{frame.name}: no line holds options to compare: add [[line.option]] to one, or name two frame files "
                "of one bike"
            )
        if options is not None and len(with_some) > 1:
            raise ChoiceError(f"--options needs the name of a line: {_quoted(with_some)} hold options")
        return tuple(_contest_of_options(file, frame, one, options) for one in with_some)
    return (_contest_of_options(file, frame, named_line(frame, line), options),)


def _contest_of_options(file: str, frame: Frame, line: Line, options: Sequence[str] | None) -> Contest:
    known = option_names(line)
    names = list(dict.fromkeys(options if options is not None else known))
    entrants = tuple(Entrant(name, file, with_option(frame, line.name, name)) for name in names)
    if len(entrants) > 1:
        return Contest(line.name, entrants)
    if not line.option:
        raise ChoiceError(
            f'line "{line.name}" has no options to compare: add [[line.option]] to it, or name two frame files of one '
            "bike"
        )
    raise ChoiceError(
        f'line "{line.name}": {"one option alone" if names else "no option"} cannot be compared: name two or more of '
        f"{listed(known, last='and')}"
    )


def split_options(frame: Frame, line: str | None, given: str) -> list[str]:
    """Return the names in a list with commas between them; names that hold commas themselves are known by the line.

    Parameters
    ----------
    frame : Frame
    line : str or None
    given : str
        Such as ``left,crossed``.
    """
    lines = [one for one in frame.line if line in (None, one.name)]
    known = {name for one in lines for name in option_names(one)}
    parts, found = given.split(","), list[str]()
    while parts:
        tried = (",".join(parts[:count]).strip() for count in range(len(parts), 0, -1))
        name = next((one for one in tried if one in known), parts[0].strip())
        del parts[: name.count(",") + 1]
        found += [name] if name else []
    return found


def contests_of_files(files: Sequence[tuple[str, Frame]], line: str | None = None) -> tuple[Contest, ...]:
    """Return the comparison of a line in several frame files, or of every line in which they differ.

    Parameters
    ----------
    files : sequence of (str, Frame)
        Name or path, and what it holds.
    line : str, optional
        The line; left out, every line that is not written alike in all files, or every one when all are.

    Raises
    ------
    ChoiceError
        When they are different bikes, have no such line, or lines of that name do different work.
    """
    first_file, first = files[0]
    for place, (file, frame) in enumerate(files):
        if any(file == other for other, _ in files[:place]):
            raise ChoiceError(f'"{shortened(file)}" is named twice: name two different frame files of one bike')
        if _bike(frame) != _bike(first):
            raise ChoiceError(
                f'{first_file} holds "{first.name}" and {file} "{frame.name}": only routings of one bike can be '
                "compared (names may differ after a comma)"
            )
    names = _short_names(files)
    if line is not None:
        return (_contest_of_files(files, names, line),)
    shared = [one.name for one in first.line if all(_line(frame, one.name) is not None for _, frame in files)]
    if not shared:
        raise ChoiceError(f"{listed((file for file, _ in files), last='and')}: they have no line of the same name")
    differing = [one for one in shared if any(_line(frame, one) != _line(first, one) for _, frame in files)]
    return tuple(_contest_of_files(files, names, one) for one in differing or shared)


def contest_of(
    own: tuple[str, Frame], line: str, options: Sequence[str], others: Sequence[tuple[str, Frame]]
) -> Contest:
    """Return the comparison of routings of one frame file's line and of the same line in others.

    Parameters
    ----------
    own : (str, Frame)
        The frame file: what it is called, and what it holds.
    line : str
    options : sequence of str
        Which of its routings take part, that of the line as written among them or not.
    others : sequence of (str, Frame)
        Further frame files of the same bike, with the line as written there.

    Raises
    ------
    ChoiceError
        As for `contests_of_options` and `contests_of_files`; where only one takes part, too.
    """
    file, frame = own
    if not others:
        return _contest_of_options(file, frame, named_line(frame, line), options)
    (found,) = contests_of_files([own, *others], line)
    if tuple(options) == (named_line(frame, line).routing,):
        return found
    entrants = [Entrant(name, file, with_option(frame, line, name)) for name in options]
    for one in found.entrants[1:]:
        taken = any(one.name == other.name for other in entrants)
        entrants.append(Entrant(one.file, one.file, one.frame) if taken else one)
    if len(entrants) < 2:
        raise ChoiceError(f'line "{line}": one routing alone cannot be compared: choose two or more')
    return Contest(line, tuple(entrants))


def rivals(frame: Frame, line: str, others: Sequence[tuple[str, Frame]]) -> list[tuple[str, Frame]]:
    """Return those of some frame files whose line of that name can be compared: of the same bike, for the same work."""
    work = named_line(frame, line).work
    return [
        (file, other)
        for file, other in others
        if _bike(other) == _bike(frame) and (found := _line(other, line)) is not None and found.work == work
    ]


def called(name: str) -> str:
    """Return what a frame file's routing is called beside others: its name or path without its ending."""
    return shortened_path(name).removesuffix(".toml")


def _contest_of_files(files: Sequence[tuple[str, Frame]], names: Sequence[str], line: str) -> Contest:
    work: dict[str, str] = {}
    for file, frame in files:
        try:
            work.setdefault(named_line(frame, line).work, file)
        except ChoiceError as error:
            raise ChoiceError(f"{file}: {error}") from None
    if len(work) > 1:
        told = listed((f"{kind} in {file}" for kind, file in work.items()), last="and")
        raise ChoiceError(f'line "{line}" is {told}: only lines that do the same work can be compared')
    return Contest(line, tuple(Entrant(name, file, frame) for name, (file, frame) in zip(names, files, strict=True)))


def _bike(frame: Frame) -> str:
    return frame.name.partition(",")[0].strip()


def _short_names(files: Sequence[tuple[str, Frame]]) -> list[str]:
    """Return what follows the comma in the bikes' names where that tells them apart, else the files' names."""
    after = [frame.name.partition(",")[2].strip() for _, frame in files]
    return after if all(after) and len(set(after)) == len(after) else [file for file, _ in files]


def _line(frame: Frame, name: str) -> Line | None:
    return next((line for line in frame.line if line.name == name), None)


def _quoted(lines: Sequence[Line]) -> str:
    return listed((f'"{line.name}"' for line in lines), last="and")


def unknown_name(given: str, frame: Frame, bikes: Sequence[str]) -> ChoiceError:
    """Return what is wrong with a word that is neither a line of a bike nor a frame file."""
    near = nearest(given, [*(line.name for line in frame.line), *bikes])
    hint = f'did you mean "{near}"?' if near else f"its lines are {_quoted(frame.line)}"
    return ChoiceError(f'"{shortened(given)}" is no line of {frame.name} and no frame file: {hint}')
