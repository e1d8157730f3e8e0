"""Why a line drags: readings of a spring scale at both ends of its wire, the verdict, and what it rests on."""

from __future__ import annotations

from collections.abc import Iterable

import streamlit

from ropewalk.errors import RopewalkError
from ropewalk.page import comparecards, links, notices
from ropewalk.page.bikes import Source
from ropewalk.page.choosing import chosen_line, from_link
from ropewalk.page.downloads import file_stem, json_text, save_button
from ropewalk.page.faultfields import faults_of, show_fields
from ropewalk.page.markup import Markup, complain, mark, put, tag
from ropewalk.page.router import tell_refused
from ropewalk.page.scalereadings import Written, as_link, from_texts, write, written
from ropewalk.workshop.cautions import FAULT_CAUTIONS
from ropewalk.workshop.fault import HOW, FaultPlan, find_fault, read_words
from ropewalk.workshop.faultreport import fault_as_json_object
from ropewalk.workshop.jobplan import JobPlan

_PAGE = "fault"
_HOSES = "This bike has hoses only: there is no wire that could drag."
_EMPTY = "Write what the scale showed at both ends of the wire, and the verdict stands here."
_BAD = "There is no verdict until the readings marked above are settled."
#: what a verdict is marked with: its grade and word
_MARKS = {"nothing": ("note", "nothing found"), "unclear": ("look", "not settled")}
_FOUND = ("stop", "fault found")


def show_fault(source: Source, job: JobPlan) -> None:
    """Show the page.

    Parameters
    ----------
    source : Source
        The frame file.
    job : JobPlan
        The plan of it.
    """
    wired = [line.name for line in job.lines if line.friction is not None]
    if not wired:
        put(tag("p", _HOSES))
        return
    put(_cautions())
    line = chosen_line(source, wired, _PAGE)
    _take_linked(source, job, line)
    tell_refused()
    held = written(job.bike, line)
    with streamlit.expander("How to read", expanded=not held.whole):
        put(_ordered(HOW))
    faults = list(faults_of(job, line, held))
    put(tag("h2", "What the scale showed"))
    show_fields(job, line, held, faults)
    for name, value in as_link(held).items():
        links.note(name, value)
    put(tag("h2", "Verdict"))
    if faults or not held.whole:
        put(tag("p", _BAD if faults else _EMPTY, css="rw-quiet"))
    else:
        _show_verdict(job, line, held)
    put(notices.cautions(job))


def _cautions() -> Markup:
    return tag("ul", *(tag("li", mark("look"), caution) for caution in FAULT_CAUTIONS), css="rw-list rw-edge-look")


def _ordered(steps: Iterable[str]) -> Markup:
    return tag("ol", *(tag("li", step) for step in steps), css="rw-steps")


def _take_linked(source: Source, job: JobPlan, line: str) -> None:
    """Take over the readings that the visitor's link gives, where they have written none."""
    names = list(as_link(Written()))
    given = {name: from_link(source, name, _PAGE) for name in names}
    if all(value is None for value in given.values()):
        return
    held, refused = from_texts(given)
    for name in refused:
        links.refuse(name, "write newtons (degrees for steered) as plain numbers, such as 42.5")
    if written(job.bike, line) == Written():
        write(job.bike, line, held)


def _show_verdict(job: JobPlan, line: str, held: Written) -> None:
    try:
        found = find_fault(job, line, held.readings)
    except RopewalkError as error:
        complain(f"{error}.")
        return
    grade, word = _MARKS.get(found.diagnosis.verdict, _FOUND)
    put(
        tag(
            "div", mark(grade, word), tag("p", found.verdict, css="rw-verdict-words"), css=f"rw-verdict rw-edge-{grade}"
        )
    )
    put(tag("h3", "What to do next"), comparecards.sentences(found.following or ("Nothing.",)))
    left, right = streamlit.columns(2, gap="medium")
    with left:
        told = [reason for reason in found.reasons if reason not in found.untold]
        put(tag("h3", "What it rests on"), comparecards.sentences([*told, *read_words(found)]))
    with right:
        put(tag("h3", "What the readings cannot tell"), comparecards.sentences([*found.untold, *found.limits]))
    with streamlit.container(horizontal=True, key="downloads"):
        _save(job, line, found)


def _save(job: JobPlan, line: str, found: FaultPlan) -> None:
    shown = json_text(fault_as_json_object(found)).encode()
    save_button("Verdict, JSON", shown, f"{file_stem(job.bike)}-{file_stem(line)}-fault.json", "application/json")
