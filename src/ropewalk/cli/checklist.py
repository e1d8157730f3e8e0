"""What a check of a frame file tells: what it holds, how its chart closes, what was found."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from ropewalk.analysis.findings import GRADES
from ropewalk.bike.closure import compare
from ropewalk.bike.framefile import Frame
from ropewalk.bike.wording import listed
from ropewalk.cli.cutlist import print_findings
from ropewalk.workshop import words
from ropewalk.workshop.jobplan import JobPlan


def print_check(frame: Frame, job: JobPlan, console: Console) -> None:
    """Print that a frame file can be used, with what a builder compares with the chart.

    Parameters
    ----------
    frame : Frame
        The frame file, as read.
    job : JobPlan
        The plan made from it.
    console : Console
        Where to.
    """
    pieces = sum(len(line.pieces) for line in job.lines)
    console.print(Text(f"{job.bike}: the frame file can be used", style="bold"))
    console.print(Text(f"{words.how_many(len(job.lines), 'line')}, {words.how_many(pieces, 'piece')} of housing"))
    skeleton = job.model.skeleton
    for label, length in (
        ("wheelbase", skeleton.wheelbase),
        ("trail", skeleton.trail),
        ("front centre", skeleton.front_centre),
    ):
        console.print(Text(f"{label} {words.millimetres(length)}"))
    for comparison in compare(frame).comparisons:
        told = f"{comparison.figure}: {comparison.given:.1f} mm given, {comparison.found:.1f} mm from the other figures"
        console.print(Text(told))
    counts = [(sum(finding.grade == grade for finding in job.findings), grade) for grade in GRADES]
    console.print(Text(listed([words.how_many(count, grade) for count, grade in counts], last="and")))
    print_findings(job.findings, console)
