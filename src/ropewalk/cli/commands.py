"""The commands: each parses what was asked, calls the planner and shows.

What a command needs is imported inside it, so that help comes at once.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from ropewalk.bike.wording import shortened_path
from ropewalk.cli.arguments import FrameArgument, PartsOption
from ropewalk.cli.buying import buy
from ropewalk.cli.comparing import compare
from ropewalk.cli.cutting import cut
from ropewalk.cli.drawing import draw
from ropewalk.cli.faulting import fault
from ropewalk.cli.frictioning import friction
from ropewalk.cli.options import shelf_of
from ropewalk.cli.planning import frame_of, planned
from ropewalk.cli.sheeting import sheet
from ropewalk.errors import ChoiceError, OutputError

app = typer.Typer(
    name="ropewalk",
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)


def _print_version(asked: bool) -> None:  # noqa: FBT001 - typer calls it with the option's value
    if asked:
        from ropewalk import __version__

        typer.echo(f"ropewalk {__version__}")
        raise typer.Exit


@app.callback(invoke_without_command=True)
def _ropewalk(
    context: typer.Context,
    *,
    version: Annotated[
        bool, typer.Option("--version", callback=_print_version, is_eager=True, help="Print the version and stop.")
    ] = False,
) -> None:
    """Plan bicycle cable housing: how long to cut every piece, inner and liner, before anything is cut."""
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())


app.command()(cut)
app.command()(compare)
app.command()(friction)
app.command()(fault)
app.command()(sheet)
app.command()(buy)
app.command()(draw)


@app.command()
def check(frame: FrameArgument, *, parts: PartsOption = None) -> None:
    """Check a frame file.

    Whether it can be used, how its chart closes, and what was found.
    """
    from ropewalk.cli.checklist import print_check
    from ropewalk.cli.console import emit, rendered

    path, read = frame_of(frame)
    job = planned(read, path, shelf_of(parts))
    emit(rendered(lambda console: print_check(read, job, console)))


@app.command()
def ports(
    frame: FrameArgument,
    *,
    line: Annotated[str | None, typer.Option("--line", metavar="NAME", help="Only the ports of this line.")] = None,
    as_json: Annotated[
        bool, typer.Option("--json", help="Print one JSON object instead of the list, with the holes' templates.")
    ] = False,
    parts: PartsOption = None,
) -> None:
    """List the ports of a frame, for its builder.

    The hole each asks for, its limits and their reasons, the way inside, and the order of threading.
    """
    from ropewalk.cli.console import emit, emit_json, rendered
    from ropewalk.workshop.portplan import plan_ports

    path, read = frame_of(frame)
    studied = plan_ports(planned(read, path, shelf_of(parts)), line)
    if as_json:
        from ropewalk.workshop.portreport import ports_as_json_object

        emit_json(ports_as_json_object(studied))
        return
    from ropewalk.cli.portlist import print_ports

    emit(rendered(lambda console: print_ports(studied, console)))


@app.command(name="parts")
def list_parts(
    kind: Annotated[
        str | None, typer.Argument(metavar="KIND", help="Only parts of this kind, such as housing, lever or mover.")
    ] = None,
    *,
    as_json: Annotated[
        bool, typer.Option("--json", help="Print one JSON object with every figure and source.")
    ] = False,
    parts: PartsOption = None,
) -> None:
    """List the parts that frame files may name.

    Names, main figures and where they come from, by kind.
    """
    from ropewalk.cli.console import emit, emit_json, rendered
    from ropewalk.workshop.partslist import kinds_asked, parts_as_json

    kinds, shelf = kinds_asked(kind), shelf_of(parts)
    if as_json:
        emit_json(parts_as_json(kinds, shelf))
        return
    from ropewalk.cli.partslist import print_parts

    emit(rendered(lambda console: print_parts(kinds, shelf, console)))


@app.command()
def schema(
    output: Annotated[
        Path | None, typer.Option("--output", "-o", metavar="FILE", help="Write it to a file instead.")
    ] = None,
) -> None:
    """Print the JSON Schema of frame files.

    With it an editor completes and checks their keys.
    """
    from ropewalk.bike.reading import schema as frame_schema
    from ropewalk.cli.console import emit, json_text
    from ropewalk.cli.writing import check_output, write_whole

    if output is not None:
        check_output(output)
    text = json_text(frame_schema())
    if output is None:
        emit(text)
    else:
        write_whole(output, text.encode())
        emit(f"{shortened_path(str(output))} is written\n")


@app.command()
def fleet(
    copy: Annotated[
        str | None, typer.Option("--copy", metavar="NAME", help="Copy one bike's frame file here, to edit it.")
    ] = None,
) -> None:
    """List the bikes that come with Ropewalk."""
    from ropewalk.bike.fleet import fleet as bikes
    from ropewalk.cli.console import emit

    if copy is not None:
        _copy_bike(copy)
        return
    width = max((len(bike.name) for bike in bikes()), default=0)
    for bike in bikes():
        emit(f"{bike.name:<{width}}  {bike.title}\n")


@app.command()
def page(
    port: Annotated[str, typer.Option("--port", metavar="N", help="Port on this computer.")] = "8501",
    *,
    lan: Annotated[bool, typer.Option("--lan", help="Open it to everyone on this computer's network.")] = False,
    host: Annotated[
        list[str] | None, typer.Option("--host", metavar="NAME", help="With --lan: another name it may be opened by.")
    ] = None,
) -> None:
    """Start the page for a browser.

    It answers this computer alone, at http://127.0.0.1 and the port; Ctrl-C stops it.
    """
    from ropewalk.cli.console import emit
    from ropewalk.cli.options import number_between

    number = int(number_between(port, "--port", 1, 65535))
    if host and not lan:
        raise ChoiceError("--host goes with --lan: without it the page answers this computer alone")
    from ropewalk.page.launch import names_on_network, serve

    names = names_on_network(host or ()) if lan else None
    if names is not None:
        emit(_OPENED.format(links="\n".join(f"  http://{name}:{number}" for name in names)))
    serve(number, names)


_OPENED = """The page is open to everyone on this computer's network. There is no password, and what passes can be read
on the way: use it in a network you trust, and stop it with Ctrl-C when you are done. Each visitor has a
bike of their own, nobody sees another's, and nothing is stored. It can be opened at:
{links}
"""


def _copy_bike(name: str) -> None:
    from ropewalk.bike.fleet import find
    from ropewalk.bike.fleet import fleet as bikes
    from ropewalk.cli.console import emit
    from ropewalk.cli.writing import check_output, write_whole

    source = next((bike.path for bike in bikes() if bike.name == name.removesuffix(".toml")), None) or find(name)
    target = Path(source.name)
    check_output(target)
    if target.exists():
        raise OutputError(f"{source.name}: is here already: move it away or give it another name first")
    write_whole(target, source.read_bytes())
    emit(f"{source.name} is yours to edit; then: ropewalk cut {source.name}\n")
