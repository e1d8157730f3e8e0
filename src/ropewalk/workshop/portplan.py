"""The builder's list of ports of a planned bike: each with its limits, the ways inside, findings, cautions."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ropewalk.analysis.findings import Finding, ordered
from ropewalk.analysis.insideruns import InsideRun, inside_runs
from ropewalk.analysis.portchecks import Check, port_checks
from ropewalk.analysis.ports import PortStudy, study_ports
from ropewalk.bike.wording import listed, nearest, shortened
from ropewalk.errors import ChoiceError
from ropewalk.workshop.cautions import CAUTIONS, PORT_CAUTIONS
from ropewalk.workshop.insideorder import threading_order
from ropewalk.workshop.jobplan import JobPlan, LinerPlan


@dataclass(frozen=True, slots=True)
class PortPlan:
    """One port and every figure of it beside its limit."""

    study: PortStudy
    checks: tuple[Check, ...]

    @property
    def where(self) -> str:
        """Line and station, as findings say it."""
        return f"{self.study.line}, {self.study.station}"

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What is worth saying about it."""
        found = (check.finding(self.where) for check in self.checks)
        return tuple(finding for finding in found if finding is not None)


@dataclass(frozen=True, slots=True)
class RunPlan:
    """One way inside: what it is, what is cut for it, and the order in which things are threaded."""

    run: InsideRun
    liners: tuple[LinerPlan, ...]
    order: tuple[str, ...]

    def cut(self, use: str) -> float | None:
        """Return what its guide liner, liner or sleeve is cut to [mm], or None where it has none."""
        return next((liner.cut for liner in self.liners if liner.use == use), None)


@dataclass(frozen=True, slots=True)
class PortsPlan:
    """All ports of a bike, or of one of its lines.

    Attributes
    ----------
    bike : str
    line : str or None
        The line asked for; None for all.
    ports : tuple of PortPlan
        From lever to work, line by line.
    runs : tuple of RunPlan
    findings : tuple of Finding
        On these ports, the gravest first.
    cautions : tuple of str
    """

    bike: str
    line: str | None
    ports: tuple[PortPlan, ...]
    runs: tuple[RunPlan, ...]
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...]


def plan_ports(job: JobPlan, line: str | None = None) -> PortsPlan:
    """Return the ports of a planned bike.

    Parameters
    ----------
    job : JobPlan
    line : str, optional
        Name of the only line wanted.

    Raises
    ------
    ChoiceError
        When the bike has no such line; the message names the nearest.
    """
    wanted = None if line is None else _line_named(job, line)
    numbers = range(len(job.routing)) if wanted is None else [wanted]
    ports = tuple(port for number in numbers for port in _ports(job, number))
    return PortsPlan(
        bike=job.bike,
        line=None if wanted is None else job.lines[wanted].name,
        ports=ports,
        runs=tuple(run for number in numbers for run in _runs(job, number)),
        findings=ordered([finding for port in ports for finding in port.findings]),
        cautions=(*PORT_CAUTIONS, *CAUTIONS),
    )


def _line_named(job: JobPlan, name: str) -> int:
    names = [line.name for line in job.lines]
    lowered = [known.lower() for known in names]
    if name.strip().lower() in lowered:
        return lowered.index(name.strip().lower())
    near = nearest(name, names)
    hint = f'did you mean "{near}"?' if near else f"its lines are {listed(names, last='and')}"
    raise ChoiceError(f'--line is "{shortened(name)}": {job.bike} has no such line; {hint}')


def _ports(job: JobPlan, number: int) -> Iterator[PortPlan]:
    loops = {span: loop for (line, span), loop in job.loops.items() if line == number}
    for study in study_ports(job.model, job.routing[number], loops, job.catalogue):
        yield PortPlan(study, port_checks(study, job.catalogue))


def _runs(job: JobPlan, number: int) -> Iterator[RunPlan]:
    for run in inside_runs(job.routing[number]):
        own = tuple(liner for liner in job.lines[number].liners if (liner.start, liner.end) == (run.start, run.end))
        yield RunPlan(run, own, threading_order(run, own, job.catalogue))
