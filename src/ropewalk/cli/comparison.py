"""A comparison on a terminal or in a pipe: the ranking with its reasons, then every figure side by side."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from ropewalk.cli.cutlist import GRADE_STYLES, print_entries
from ropewalk.workshop.compare import Comparison
from ropewalk.workshop.comparewords import SURENESS, figures, graded_findings, rank_words

#: columns of what the rows are called, and the least of a routing; more routings go below each other
_LABEL, _LEAST, _GAP = 17, 18, 2


def print_comparisons(comparisons: Sequence[Comparison], console: Console) -> None:
    """Print comparisons of one bike's lines, then limits and cautions once.

    Parameters
    ----------
    comparisons : sequence of Comparison
    console : Console
        Where to; its width decides how many routings stand beside each other.
    """
    for place, comparison in enumerate(comparisons):
        if place:
            console.print()
        _print_comparison(comparison, console)
    print_entries("Limits", [("-", [limit]) for limit in comparisons[0].limits], console)
    print_entries("Cautions", [("-", [caution]) for caution in comparisons[0].cautions], console)


def _print_comparison(comparison: Comparison, console: Console) -> None:
    console.print(Text(f"Compared: {comparison.line}, {comparison.bike}", style="bold"))
    console.print(Text(f"Ranked by {comparison.ranked_by}"))
    console.print(Text(SURENESS))
    entries = [(f"{rank_words(one, comparison.standings)} {one.name}", [one.why]) for one in comparison.standings]
    print_entries("Ranking", entries, console)
    print_entries("Coming back", [(one.name, [one.release]) for one in comparison.candidates], console)
    room = max((console.width - _LABEL - _GAP) // (_LEAST + _GAP), 1)
    for first in range(0, len(comparison.candidates), room):
        console.print()
        _print_table(comparison, slice(first, first + room), console)
    _print_findings(comparison, console)


def _print_table(comparison: Comparison, which: slice, console: Console) -> None:
    candidates, standings = comparison.candidates[which], comparison.standings[which]
    table = Table(box=None, padding=(0, 0, 0, _GAP), pad_edge=False, header_style="bold")
    table.add_column("", width=_LABEL, overflow="fold")
    for standing in standings:
        table.add_column(
            Text(f"{rank_words(standing, comparison.standings)} {standing.name}"),
            overflow="fold",
            min_width=_LEAST,
            max_width=_share(console, len(candidates)),
        )
    for label, cell in figures(comparison):
        cells = [cell(candidate) for candidate in candidates]
        if any(cells):
            table.add_row(Text(label), *(Text(text or "-") for text in cells))
    console.print(table)


def _share(console: Console, count: int) -> int:
    return max((console.width - _LABEL - _GAP) // count - _GAP, _LEAST)


def _print_findings(comparison: Comparison, console: Console) -> None:
    """Print stops and looks, each once with the routings it is found in; notes stand in each one's own cut list."""
    for grade, found in graded_findings(comparison):
        console.print()
        console.print(Text(grade.upper(), GRADE_STYLES[grade]))
        for names, text in found:
            console.print(Padding(Text(f"{names}: {text}"), (0, 0, 0, _GAP)))
