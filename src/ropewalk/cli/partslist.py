"""The parts catalogue on a terminal or in a pipe: one row a part, under its kind."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.table import Table
from rich.text import Text

from ropewalk.bike.parts import Catalogue, Kind
from ropewalk.workshop.partslist import part_entries


def print_parts(kinds: Sequence[Kind], catalogue: Catalogue, console: Console) -> None:
    """Print the parts of some kinds: name, main figures, kinds of source.

    Parameters
    ----------
    kinds : sequence of Kind
        What to print.
    catalogue : Catalogue
        Where it stands.
    console : Console
        Where to; its width decides how rows are broken.
    """
    for place, kind in enumerate(kinds):
        if place:
            console.print()
        console.print(Text(kind.word.replace("_", " "), style="bold"))
        table = Table.grid(padding=(0, 2, 0, 0))
        table.add_column(overflow="fold", no_wrap=not console.is_terminal)
        table.add_column(overflow="fold", ratio=1 if console.is_terminal else None)
        table.add_column(overflow="fold")
        for entry in part_entries(kind, catalogue):
            origin = f"own; {entry.origin}" if entry.own else entry.origin
            table.add_row(Text(f"  {entry.name}"), Text(entry.figures), Text(origin))
        console.print(table)
