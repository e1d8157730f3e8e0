"""The command that draws a bike."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from ropewalk.bike.wording import shortened_path
from ropewalk.cli.arguments import FORMS, FrameArgument, HandsOption, PartsOption
from ropewalk.cli.options import shelf_of
from ropewalk.cli.planning import frame_of, planned


def draw(
    frame: FrameArgument,
    output: Annotated[
        Path, typer.Option("--output", "-o", metavar="FILE", help="The drawing: a name in .svg, .png or .pdf.")
    ],
    *,
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
    """
    from ropewalk.bike.poses import poses
    from ropewalk.cli.console import emit
    from ropewalk.cli.options import asked_hands, asked_pose, form_of
    from ropewalk.cli.writing import check_output, write_whole

    form = form_of(output, FORMS)
    asked = asked_hands(hands)
    path, read = frame_of(frame)
    pose = asked_pose(poses(read), {"steer": steer, "fork": fork, "rear": rear, "fold": fold, "post": post})
    check_output(output, source=path)
    check_output(output, source=None if parts is None else Path(parts), called="the parts file")
    job = planned(read, path, shelf_of(parts), hands=asked)
    from ropewalk.drawing.render import drawn

    write_whole(output, drawn(job, f".{form}", pose))
    emit(f"{shortened_path(str(output))} is written\n")
