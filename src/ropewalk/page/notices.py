"""What has to be seen before anything is cut: levers and brakes, findings, cautions."""

from __future__ import annotations

from collections.abc import Sequence

from ropewalk.analysis.findings import GRADES, Finding
from ropewalk.page.markup import Markup, mark, tag
from ropewalk.workshop import words
from ropewalk.workshop.jobplan import JobPlan, LinePlan

_MEANING = {
    "stop": "settle before you cut",
    "look": "look at it on the bike before you cut",
    "note": "worth knowing",
}
#: what lines do that slow the bike
_BRAKING = ("brake", "hose")


def levers(job: JobPlan) -> Markup:
    """Return which lever works what, brakes first; the left one stands on the left."""
    hands = [hand for hand in ("left", None, "right") if any(line.hand == hand for line in job.lines)]
    return tag(
        "div", *(_hand(hand, [line for line in job.lines if line.hand == hand]) for hand in hands), css="rw-hands"
    )


def _hand(hand: str | None, lines: Sequence[LinePlan]) -> Markup:
    brakes = [line.name for line in lines if line.work in _BRAKING]
    others = [line.name for line in lines if line.work not in _BRAKING]
    name = "No lever on the bar" if hand is None else f"{hand.capitalize()} lever"
    works = tag("b", ", ".join(brakes) if brakes else "no brake")
    also = [tag("span", ", ".join(others), css="rw-quiet")] if others else []
    return tag("p", tag("span", name, css="rw-hand-name"), works, *also, css=f"rw-hand rw-hand-{hand or 'none'}")


def stops(job: JobPlan) -> Markup | None:
    """Return the warning that there are stops, or None when there are none."""
    count = sum(finding.grade == "stop" for finding in job.findings)
    if not count:
        return None
    told = f" {words.how_many(count, 'stop')} among the findings: {_MEANING['stop']}."
    return tag("p", mark("stop"), told, css="rw-complaint", attributes='role="alert"')


def findings(job: JobPlan) -> Markup:
    """Return the findings by grade, the gravest first, each with what to do."""
    if not job.findings:
        return tag("p", "Nothing was found that needs a word.")
    return graded(job.findings)


def graded(told: Sequence[Finding]) -> Markup:
    """Return some findings by grade, the gravest first."""
    groups = ((grade, [finding for finding in told if finding.grade == grade]) for grade in GRADES)
    return tag("div", *(_group(grade, found) for grade, found in groups if found), css="rw-findings")


def _group(grade: str, found: Sequence[Finding]) -> Markup:
    heading = tag(
        "h3", mark(grade, words.how_many(len(found), grade)), " ", tag("span", _MEANING[grade], css="rw-quiet")
    )
    return tag("section", heading, tag("ul", *(_finding(entry) for entry in found), css=f"rw-list rw-edge-{grade}"))


def _finding(found: Finding) -> Markup:
    figures = words.against_limit(found)
    said = tag("p", tag("b", f"{found.where}: "), found.text, f" ({figures})" if figures else "", ".")
    return tag("li", said, tag("p", tag("b", "To do: "), f"{found.advice}."))


def cautions(job: JobPlan) -> Markup:
    """Return the cautions."""
    entries = tag("ul", *(tag("li", caution) for caution in job.cautions))
    return tag("aside", tag("h2", "Before you trust it"), entries, css="rw-cautions")
