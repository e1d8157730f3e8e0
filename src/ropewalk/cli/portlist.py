"""The builder's list of ports on a terminal or in a pipe: every figure beside its limit, the ways inside, findings."""

from __future__ import annotations

import math

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from ropewalk.analysis.portchecks import Check
from ropewalk.cli.cutlist import GRADE_STYLES, print_entries, print_findings
from ropewalk.workshop import words
from ropewalk.workshop.portplan import PortPlan, PortsPlan, RunPlan

_GAP = 2
#: below this many columns the reason moves under its figure
_NARROW = 72


def print_ports(plan: PortsPlan, console: Console) -> None:
    """Print a list of ports.

    Parameters
    ----------
    plan : PortsPlan
        The ports.
    console : Console
        Where to; its width decides the layout.
    """
    if not plan.ports and not plan.runs:
        console.print(Text(nothing_there(plan)))
        return
    console.print(Text(f"Ports: {plan.bike}", style="bold"))
    console.print(Text("For one who builds frames, before a hole is drilled: what each port asks for, and why."))
    for port in plan.ports:
        _print_port(port, console)
    for run in plan.runs:
        steps = [(f"{number}.", [step]) for number, step in enumerate(run.order, start=1)]
        print_entries(
            run_heading(run), steps or [("-", ["no way leads through: see the cut list's findings"])], console
        )
    print_findings(plan.findings, console)
    print_entries("Cautions", [("-", [caution]) for caution in plan.cautions], console)


def nothing_there(plan: PortsPlan) -> str:
    """Return that there are no ports, in one line."""
    if plan.line is not None:
        return f"{plan.bike}: its {plan.line} passes no wall of a tube, so it has no ports"
    return f"{plan.bike}: no line passes the wall of a tube, so it has no ports"


def run_heading(plan: RunPlan) -> str:
    """Return what stands over a way inside."""
    run = plan.run
    told = [f"{run.passing.name} in the {', '.join(run.through)}"] if run.through else [run.passing.name]
    if run.reached:
        told.append(f"{words.millimetres(run.length)} from port to port")
        if math.isfinite(run.least_radius):
            told.append(f"least radius {words.millimetres(run.least_radius)}")
    return f"Inside: {run.line}, {words.way(run.start, run.end)} ({', '.join(told)})"


def _print_port(port: PortPlan, console: Console) -> None:
    study = port.study
    console.print()
    console.print(Text(f"{study.station}, {study.line}", style="bold"))
    console.print(_indented(_place(port)))
    outline = study.outline
    if outline is not None:
        given = "given" if study.hole is not None else "wanted"
        console.print(
            _indented(
                f"hole of {study.diameter:g} mm, {given}: {outline.length:.1f} long, {outline.width:.1f} wide round "
                f"the tube, {outline.through_length:.1f} long through the wall"
            )
        )
    elif study.passage == "open end":
        console.print(_indented("it enters at an open end or through the headset: no hole in a tube's wall"))
    _print_checks(port, console)


def _indented(text: str) -> Padding:
    return Padding(Text(text), (0, 0, 0, _GAP))


def _place(port: PortPlan) -> str:
    study = port.study
    skew = "" if abs(study.skew) < 1e-6 else f", skew {words.turn(study.skew)}"
    return (
        f"{study.tube.name}, {study.along:.0f} mm from the {study.from_}, at {study.clock:.2g} o'clock, "
        f"mouth to the {study.facing}{skew}; {study.passing.name} passes"
    )


def _print_checks(port: PortPlan, console: Console) -> None:
    wide = console.width >= _NARROW
    table = Table(box=None, padding=(0, 0, 0, _GAP), pad_edge=True, header_style="dim")
    table.add_column("", no_wrap=True, min_width=4)
    table.add_column("figure", overflow="fold", max_width=22 if console.is_terminal else None)
    table.add_column("is", no_wrap=True, justify="right")
    table.add_column("should be", no_wrap=True, justify="right")
    if wide:
        table.add_column("why", overflow="fold", min_width=24)
    for check in port.checks:
        grade = Text(check.grade.upper(), GRADE_STYLES[check.grade]) if check.grade else Text("ok")
        cells = [grade, Text(check.figure), Text(shown(check)), Text(limit(check))]
        if wide:
            cells.append(Text(check.reason))
        table.add_row(*cells)
    console.print(table)


def shown(check: Check) -> str:
    """Return a check's figure with its unit.

    Examples
    --------
    >>> shown(Check("lean", 25.0, 20.0, 30.0, "°", "")), shown(Check("share", 0.073, None, 0.12, "1", ""))
    ('25°', '7.3%')
    """
    return "-" if check.value is None else _figure(check.value, check.unit)


def limit(check: Check) -> str:
    """Return what a check's figure should be.

    Examples
    --------
    >>> limit(Check("lean", 25.0, 20.0, 30.0, "°", "")), limit(Check("hole", 7.0, 5.5, None, "mm", ""))
    ('20 to 30°', '5.5 mm or more')
    """
    if check.low is not None and check.high is not None:
        return f"{check.low:g} to {_figure(check.high, check.unit)}"
    if check.low is not None:
        return f"{_figure(check.low, check.unit)} or more"
    return "" if check.high is None else f"{_figure(check.high, check.unit)} at most"


def _figure(value: float, unit: str) -> str:
    if unit == "1":
        return f"{round(100.0 * value, 1):g}%"
    return f"{round(value, 1 if abs(value) >= 10.0 else 2):g}{'' if unit == '°' else ' '}{unit}"
