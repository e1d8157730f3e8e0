"""What is wrong with a line, on a terminal or in a pipe: verdict, reasons, what is next, how to read, cautions."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from ropewalk.cli.cutlist import print_entries
from ropewalk.units import degrees
from ropewalk.workshop import words
from ropewalk.workshop.fault import FaultPlan


def print_fault(found: FaultPlan, console: Console) -> None:
    """Print what is wrong with a line.

    Parameters
    ----------
    found : FaultPlan
    console : Console
        Where to; sentences wrap at its width.
    """
    readings = found.readings
    console.print(Text(f"Fault finder: {found.line}, {found.bike}", style="bold"))
    pulls = "; ".join(f"{lever:g} N in, {end:g} N out" for lever, end in zip(readings.lever, readings.end, strict=True))
    turn = degrees(found.diagnosis.line.turn)
    console.print(Text(f"{pulls}; read {words.pose(found.pose)}, {turn:.0f}° of turn between the scales."))
    part = []
    if readings.part_moves is not None:
        part.append(f"{readings.part_moves:g} N move it")
    if readings.part_returns is not None:
        part.append(f"it returns with {readings.part_returns:g} N")
    if part:
        console.print(Text(f"The moving part, wire off: {', '.join(part)}."))
    console.print(Text(f"The scale may be wrong by {readings.scale:g} N, 19 times in 20."))
    console.print()
    console.print(Text(found.verdict, style="bold"))
    print_entries("Why", [("-", [reason]) for reason in found.reasons], console)
    print_entries("Next", [("-", [step]) for step in found.following or ("Nothing.",)], console)
    print_entries("How to read", [(f"{number}.", [step]) for number, step in enumerate(found.how, start=1)], console)
    print_entries("Limits", [("-", [limit]) for limit in found.limits], console)
    print_entries("Cautions", [("-", [caution]) for caution in found.cautions], console)
