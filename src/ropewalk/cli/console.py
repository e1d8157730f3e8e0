"""Where the command line writes: consoles that suit a terminal, a pipe or a file."""

import codecs
import io
import json
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from typing import Any, TextIO

from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn

from ropewalk.errors import OutputError

#: columns of a console that is no terminal: rows stay whole, for grep and for spreadsheets
UNBROKEN = 2_000

# For terminals and files that cannot take these characters.
_PLAIN = {
    "→": "->",
    "–": "-",
    "—": "-",
    "°": " deg",
    "·": "-",
    "…": "...",
    "×": "x",
    "±": "+-",
    "²": "2",
    "µ": "u",
    "μ": "mu",
}


def _plain_characters(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return "".join(_PLAIN.get(character, "?") for character in error.object[error.start : error.end]), error.end


codecs.register_error("ropewalk-plain", _plain_characters)


def encode_anything(stream: TextIO) -> None:
    """Let a stream write characters that its encoding lacks as the nearest plain ones."""
    reconfigure = getattr(stream, "reconfigure", None)
    if reconfigure is not None:
        reconfigure(errors="ropewalk-plain")


def rendered(show: Callable[[Console], None]) -> str:
    """Return what a function prints, as text for standard output, without blanks at the ends of lines.

    Without a terminal rows are never broken.
    """
    real = Console(file=sys.stdout)
    text = io.StringIO()
    console = Console(
        file=text,
        width=real.width if real.is_terminal else UNBROKEN,
        force_terminal=real.is_terminal,
        no_color=real.no_color,
        highlight=False,
        markup=False,
        emoji=False,
    )
    show(console)
    return "".join(f"{line.rstrip()}\n" for line in text.getvalue().splitlines())


def emit(text: str) -> None:
    """Write text to standard output, all of it or an `OutputError` of one line."""
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except BrokenPipeError:
        raise
    except OSError as error:
        raise OutputError(f"standard output cannot be written: {error.strerror}") from None


def json_text(found: Mapping[str, Any]) -> str:
    """Return an object as the commands print it."""
    return json.dumps(found, ensure_ascii=False, allow_nan=False, indent=2) + "\n"


def emit_json(found: Mapping[str, Any]) -> None:
    """Write an object to standard output."""
    emit(json_text(found))


@contextmanager
def shown_progress() -> Iterator[Callable[[str, float], None] | None]:
    """Give a function that shows progress on standard error, or None when that is no terminal."""
    console = Console(file=sys.stderr, highlight=False, markup=False, emoji=False)
    if not console.is_terminal or console.is_dumb_terminal:
        yield None
        return
    columns = (TextColumn("{task.description}"), BarColumn(bar_width=24))
    with Progress(*columns, console=console, transient=True) as progress:
        task = progress.add_task("planning", total=1.0)

        def show(doing: str, share: float) -> None:
            progress.update(task, completed=share, description=doing)

        yield show
