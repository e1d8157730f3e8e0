"""The command line: runs a command and ends quietly or with one line on standard error.

Exit status: 0 done, stops among the findings included; 2 bad input; 1 a fault of Ropewalk's own.
"""

import contextlib
import os
import sys
from collections.abc import Sequence

import typer
import typer.main

from ropewalk.bike.wording import one_line
from ropewalk.cli.commands import app
from ropewalk.errors import RopewalkError

DONE, FAULT, BAD_INPUT = 0, 1, 2
#: status after a broken pipe and after an interruption, as shells report these signals
BROKEN_PIPE, INTERRUPTED = 141, 130

# What typer finds wrong with a command line; the common kind of these errors has no public name of its own.
_UsageError: type[Exception] = typer.BadParameter.__bases__[0]


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line.

    Parameters
    ----------
    arguments : sequence of str, optional
        What stands after the program's name; that of the process when left out.

    Returns
    -------
    int
        The exit status.
    """
    from ropewalk.cli.console import encode_anything

    if sys.stdout is None:
        return _complaint("standard output is closed: there is nowhere to print to")
    encode_anything(sys.stdout)
    encode_anything(sys.stderr)
    try:
        status = _run(sys.argv[1:] if arguments is None else arguments)
        sys.stdout.flush()
    except BrokenPipeError:
        _drop_output()
        return BROKEN_PIPE
    except SystemExit as error:
        # Typer leaves so when it finds the pipe broken itself, a server when it cannot start.
        _drop_output()
        return error.code if isinstance(error.code, int) else FAULT
    except (KeyboardInterrupt, typer.Abort):
        return INTERRUPTED
    return status


def _run(arguments: Sequence[str]) -> int:
    command = typer.main.get_group(app)
    try:
        status = command.main(args=list(arguments), prog_name="ropewalk", standalone_mode=False)
    except _UsageError as error:
        # an option without its value is found out before there is a context
        named = [argument for argument in arguments[:1] if argument in command.commands]
        return _complaint(_usage(error, " ".join(["ropewalk", *named])))
    except RopewalkError as error:
        return _complaint(str(error))
    except (BrokenPipeError, typer.Abort):
        raise
    except Exception as error:
        if os.environ.get("ROPEWALK_TRACEBACK"):
            raise
        what = f"{type(error).__name__}: {error}" if str(error) else type(error).__name__
        _complaint(
            f"ropewalk failed by a fault of its own ({what}): ROPEWALK_TRACEBACK=1 shows where; please report it"
        )
        return FAULT
    return status if isinstance(status, int) else DONE


def _complaint(message: str) -> int:
    if sys.stderr is not None:
        sys.stderr.write(one_line(message) + "\n")
    return BAD_INPUT


def _usage(error: Exception, begun: str) -> str:
    """Return what is wrong with a command line, as far as it was understood, in one line that says where help is."""
    context = getattr(error, "ctx", None)
    command = context.command_path if context is not None else begun
    message = getattr(error, "format_message", error.__str__)()
    return f"{command}: {message.rstrip('.')}; see {command} --help"


def _drop_output() -> None:
    """Send what is still to be written nowhere, so that the interpreter does not complain at its end."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
