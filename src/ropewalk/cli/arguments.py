"""Arguments and options that several commands take, with their help."""

from __future__ import annotations

from typing import Annotated

import typer

#: forms that drawings and charts can be written in, by the ending of the file's name
FORMS = ("svg", "png", "pdf")

FrameArgument = Annotated[
    str, typer.Argument(metavar="FRAME", help="A frame file, or the name of a bike of the fleet (see: ropewalk fleet).")
]

PartsOption = Annotated[
    str | None,
    typer.Option("--parts", metavar="FILE", help="Parts of your own, beside the catalogue (see: ropewalk parts)."),
]

HandsOption = Annotated[
    str | None,
    typer.Option(
        "--hands",
        metavar="front-left|front-right",
        help="Plan it with this hand working the front brake, and tell which lengths that changes.",
    ),
]

RoutingOption = Annotated[
    list[str] | None,
    typer.Option("--option", metavar="LINE=OPTION", help="Take this option of a line (repeat for other lines)."),
]

HandOption = Annotated[str | None, typer.Option("--hand", metavar="N", help="Force of the hand at the lever.")]
