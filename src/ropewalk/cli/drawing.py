"""The command that draws a bike."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ropewalk.bike.wording import shortened, shortened_path
from ropewalk.cli.arguments import FORMS, FrameArgument, HandsOption, PartsOption
from ropewalk.cli.options import shelf_of
from ropewalk.cli.planning import frame_of, planned
from ropewalk.errors import ChoiceError

if TYPE_CHECKING:
    from ropewalk.workshop.jobplan import JobPlan


def draw(
    frame: FrameArgument,
    output: Annotated[
        Path, typer.Option("--output", "-o", metavar="FILE", help="The drawing: a name in .svg, .png, .pdf or .dxf.")
    ],
    *,
    scale: Annotated[
        str | None,
        typer.Option(
            "--scale", metavar="sheet|true", help="A sheet of A4, or true: 1 mm of the bike is 1 mm, for .svg and .dxf."
        ),
    ] = None,
    steer: Annotated[
        str | None, typer.Option("--steer", metavar="DEG", help="Turn the bars so far: positive to the right.")
    ] = None,
    fork: Annotated[str | None, typer.Option("--fork", metavar="MM", help="Push the fork in so far.")] = None,
    rear: Annotated[str | None, typer.Option("--rear", metavar="MM", help="Lift the rear axle so far.")] = None,
    fold: Annotated[str | None, typer.Option("--fold", metavar="DEG", help="Fold the bike so far.")] = None,
    post: Annotated[str | None, typer.Option("--post", metavar="MM", help="Sink the dropper post so far.")] = None,
    hands: HandsOption = None,
    parts: PartsOption = None,
) -> None:
    """Draw a bike with its lines.

    From the side with the pieces' tags, and the cockpit from above. Folded, the bars point as the file says they do.
    At true scale the side view alone, in layers.
    """
    from ropewalk.bike.poses import poses
    from ropewalk.cli.console import emit
    from ropewalk.cli.options import asked_hands, asked_pose, form_of
    from ropewalk.cli.writing import check_output, write_whole

    form = form_of(output, (*FORMS, "dxf"))
    true = _true_scale(scale, form)
    if form == "dxf":
        from ropewalk.drawing.dxf import need_dxf

        need_dxf()
    asked = asked_hands(hands)
    path, read = frame_of(frame)
    pose = asked_pose(poses(read), {"steer": steer, "fork": fork, "rear": rear, "fold": fold, "post": post})
    check_output(output, source=path)
    check_output(output, source=None if parts is None else Path(parts), called="the parts file")
    job = planned(read, path, shelf_of(parts), hands=asked)
    write_whole(output, _contents(job, form, pose, true=true))
    emit(f"{shortened_path(str(output))} is written\n")


def _true_scale(given: str | None, form: str) -> bool:
    """Return whether a drawing is to be at true scale, or raise a `ChoiceError` where its form cannot be."""
    if given not in (None, "sheet", "true"):
        raise ChoiceError(f'--scale is "{shortened(given)}": write sheet or true')
    if given == "sheet" and form == "dxf":
        raise ChoiceError("--scale is sheet: a .dxf is always at true scale; leave it out, or end the name in .svg")
    if given == "true" and form not in ("svg", "dxf"):
        raise ChoiceError(f"--scale is true: a .{form} holds a sheet of A4; end the name in .svg or .dxf")
    return given == "true" or form == "dxf"


def _contents(job: JobPlan, form: str, pose: dict[str, float], *, true: bool) -> bytes:
    if form == "dxf":
        from ropewalk.drawing.dxf import dxf

        return dxf(job, pose)
    if true:
        from ropewalk.drawing.truesvg import true_svg

        return true_svg(job, pose)
    from ropewalk.drawing.render import drawn

    return drawn(job, f".{form}", pose)
