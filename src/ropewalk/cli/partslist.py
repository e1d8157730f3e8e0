"""The parts catalogue by kind: in a pipe one row a part, on a terminal its figures below its name."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from ropewalk.bike.parts import Catalogue, Kind
from ropewalk.workshop.partslist import PartEntry, part_entries


def print_parts(kinds: Sequence[Kind], catalogue: Catalogue, console: Console) -> None:
    """Print the parts of some kinds: name, main figures, kinds of source.

    Parameters
    ----------
    kinds : sequence of Kind
        What to print.
    catalogue : Catalogue
        Where it stands.
    console : Console
        Where to.
    """
    for place, kind in enumerate(kinds):
        if place:
            console.print()
        console.print(Text(kind.word.replace("_", " "), style="bold"))
        entries = [
            (entry, f"own; {entry.origin}" if entry.own else entry.origin) for entry in part_entries(kind, catalogue)
        ]
        if console.is_terminal:
            for entry, origin in entries:
                console.print(Text(f"  {entry.name}"))
                console.print(Padding(Text(f"{entry.figures} ({origin})"), (0, 0, 0, 6)))
        else:
            console.print(_rows(entries))


def _rows(entries: Sequence[tuple[PartEntry, str]]) -> Table:
    table = Table.grid(padding=(0, 2, 0, 0))
    for entry, origin in entries:
        table.add_row(Text(f"  {entry.name}"), Text(entry.figures), Text(origin))
    return table
