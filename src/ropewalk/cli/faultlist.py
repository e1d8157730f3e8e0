"""What is wrong with a line, on a terminal or in a pipe: verdict, reasons, what is next, how to read, cautions."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from ropewalk.cli.cutlist import print_entries
from ropewalk.workshop.fault import FaultPlan, read_words


def print_fault(found: FaultPlan, console: Console) -> None:
    """Print what is wrong with a line.

    Parameters
    ----------
    found : FaultPlan
    console : Console
        Where to; sentences wrap at its width.
    """
    console.print(Text(f"Fault finder: {found.line}, {found.bike}", style="bold"))
    for sentence in read_words(found):
        console.print(Text(sentence))
    console.print()
    console.print(Text(found.verdict, style="bold"))
    print_entries("Why", [("-", [reason]) for reason in found.reasons], console)
    print_entries("Next", [("-", [step]) for step in found.following or ("Nothing.",)], console)
    print_entries("How to read", [(f"{number}.", [step]) for number, step in enumerate(found.how, start=1)], console)
    print_entries("Limits", [("-", [limit]) for limit in found.limits], console)
    print_entries("Cautions", [("-", [caution]) for caution in found.cautions], console)
