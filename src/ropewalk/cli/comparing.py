"""The command that compares routings: what its words mean, and what it prints and writes."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ropewalk.bike.wording import shortened, shortened_path
from ropewalk.cli.arguments import FORMS, HandOption, PartsOption
from ropewalk.errors import ChoiceError, FrameFileError

if TYPE_CHECKING:
    from ropewalk.bike.framefile import Frame
    from ropewalk.workshop.choices import Choices
    from ropewalk.workshop.compare import Comparison
    from ropewalk.workshop.entrants import Contest


def compare(
    names: Annotated[
        list[str],
        typer.Argument(
            metavar="FRAME... [LINE]",
            help="A frame file with options in its lines, or two or more of one bike; and a line's name.",
        ),
    ],
    *,
    options: Annotated[
        str | None, typer.Option("--options", metavar="A,B,C", help="Only these options of the line.")
    ] = None,
    by: Annotated[
        str, typer.Option("--by", metavar="FIGURE", help="Rank by efficiency, reserve, lost-motion or length.")
    ] = "efficiency",
    condition: Annotated[
        str, typer.Option("--condition", metavar="STATE", help="Rank as new, worn or corroded.")
    ] = "worn",
    hand: HandOption = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object instead of the tables.")] = False,
    csv: Annotated[
        Path | None, typer.Option("--csv", metavar="FILE", help="Write a spreadsheet too: one row a routing.")
    ] = None,
    chart: Annotated[
        Path | None,
        typer.Option("--chart", metavar="FILE", help="Draw efficiency against friction: .svg, .png or .pdf."),
    ] = None,
    parts: PartsOption = None,
) -> None:
    """Compare routings of a line side by side, and rank them.

    Options of one line, or the same line in two or more frame files of one bike. Lengths, friction, release, lost
    motion, water and findings; a difference too small to be sure of is called a tie.
    """
    from ropewalk.analysis.wireline import CONDITIONS
    from ropewalk.cli.console import emit, emit_json, rendered
    from ropewalk.cli.options import asked_force, form_of
    from ropewalk.cli.writing import write_whole
    from ropewalk.workshop.compare import check_choice
    from ropewalk.workshop.comparereport import compared_as_csv, compared_as_json_object
    from ropewalk.workshop.ranking import MEASURES

    check_choice("--by", by, MEASURES)
    check_choice("--condition", condition, CONDITIONS)
    form = None if chart is None else form_of(chart, FORMS)
    choices = asked_force(hand)
    files, line = _told_apart(names)
    _check_outputs(csv, chart, [path for _, path, _ in files], None if parts is None else Path(parts))
    contests = _contests([(name, frame) for name, _, frame in files], line, options)
    compared = _compared(contests, by, condition, choices, parts)
    if csv is not None:
        write_whole(csv, compared_as_csv(compared).encode())
    if chart is not None:
        from ropewalk.drawing.frictionchart import chart_drawn

        write_whole(chart, chart_drawn(compared, f".{form}"))
    if as_json:
        emit_json(compared_as_json_object(compared))
        return
    from ropewalk.cli.comparison import print_comparisons

    emit(rendered(lambda console: print_comparisons(compared, console)))
    for output in (csv, chart):
        if output is not None:
            emit(f"{shortened_path(str(output))} is written\n")


def _check_outputs(csv: Path | None, chart: Path | None, frames: Sequence[Path], parts: Path | None) -> None:
    """Refuse files to write that cannot be, or that would replace what is read."""
    from ropewalk.cli.writing import check_output

    if csv is not None and chart is not None and csv.resolve() == chart.resolve():
        raise ChoiceError(f"--csv and --chart both name {shortened_path(str(csv))}: give each its own file")
    for output in (csv, chart):
        if output is None:
            continue
        for frame in frames:
            check_output(output, source=frame)
        check_output(output, source=parts, called="the parts file")


def _told_apart(names: Sequence[str]) -> tuple[list[tuple[str, Path, Frame]], str | None]:
    """Return the frame files that some words name, and the line that the last one may name."""
    from ropewalk.bike.fleet import find, fleet
    from ropewalk.bike.reading import read
    from ropewalk.workshop.entrants import called, unknown_name

    first = find(names[0])
    files = [(called(names[0]), first, read(first))]
    lines = []
    for name in names[1:]:
        known = any(line.name == name for line in files[0][2].line) and not Path(name).exists()
        try:
            path = None if known else find(name)
        except FrameFileError:
            if "/" in name or name.endswith(".toml"):
                raise
            path = None
        if path is None:
            lines.append(name)
        else:
            files.append((called(name), path, read(path)))
    for name in lines:
        frames = [frame for _, _, frame in files]
        if not any(line.name == name for frame in frames for line in frame.line):
            raise unknown_name(name, frames[0], [bike.name for bike in fleet()])
    if len(lines) > 1:
        told = " and ".join(f'"{shortened(name)}"' for name in lines)
        raise ChoiceError(f"{told} are different lines, which cannot be compared: name one line")
    return files, lines[0] if lines else None


def _contests(files: Sequence[tuple[str, Frame]], line: str | None, options: str | None) -> tuple[Contest, ...]:
    from ropewalk.workshop.entrants import contests_of_files, contests_of_options, split_options

    if len(files) == 1:
        (name, frame), asked = files[0], None
        if options is not None:
            asked = split_options(frame, line, options)
        return contests_of_options(name, frame, line, asked)
    if options is not None:
        raise ChoiceError("--options chooses among the options of one frame file: name one, or leave it out")
    return contests_of_files(files, line)


def _compared(
    contests: Sequence[Contest], by: str, condition: str, choices: Choices | None, parts: str | None
) -> list[Comparison]:
    from ropewalk.cli.console import shown_progress
    from ropewalk.cli.options import shelf_of
    from ropewalk.workshop.compare import compare as compare_lines

    shelf = shelf_of(parts)
    with shown_progress() as progress:
        return [
            compare_lines(contest, by=by, condition=condition, choices=choices, shelf=shelf, progress=progress)
            for contest in contests
        ]
