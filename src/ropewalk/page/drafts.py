"""The frame file as a visitor is changing it: the text, what it was before, and whether it could be planned.

The visitor's bike is the last text that could be planned; a text at fault waits here until it is put right.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from ropewalk.bike.editing import as_text
from ropewalk.bike.faultplaces import Fault, fault_from, faults_of
from ropewalk.errors import RopewalkError
from ropewalk.page.bikes import Source, planned_with_bar, take_text
from ropewalk.page.keeping import keep, kept
from ropewalk.workshop.jobplan import JobPlan

#: most frame files whose changes are kept, and most changes of one that can be taken back
MOST_DRAFTS, MOST_CHANGES = 6, 60
_KEY = "drafts"


@dataclass(frozen=True, slots=True)
class Draft:
    """A frame file being changed.

    Attributes
    ----------
    opened : str
        The text as it was.
    text : str
        As it is now; perhaps at fault.
    before : tuple of str
        What it was before each change, the latest last.
    refused : str or None
        A text that was tried and cannot be planned.
    faults : tuple of Fault
        What is wrong with that; or with a change that could not be made.
    lengths : mapping of str to float
        First cut of each piece by its tag when the file was opened [mm].
    """

    opened: str
    text: str
    before: tuple[str, ...] = ()
    refused: str | None = None
    faults: tuple[Fault, ...] = ()
    lengths: Mapping[str, float] | None = None


def draft_of(source: Source) -> Draft:
    """Return the draft of a frame file: the visitor's, or one without changes."""
    text = as_text(source.contents)
    held = (kept(_KEY) or {}).get(source.contents)
    return held if held is not None else Draft(text, text)


def keep_draft(contents: bytes, draft: Draft) -> None:
    """Keep a draft of the frame file with these contents."""
    others = {key: value for key, value in (kept(_KEY) or {}).items() if key != contents}
    latest = dict(list(others.items())[1 - MOST_DRAFTS :])
    keep(_KEY, {**latest, contents: draft})


def change(source: Source, edit: Callable[[str], str]) -> None:
    """Change a frame file's text; what cannot be done is kept as a fault."""
    draft = draft_of(source)
    try:
        text = edit(draft.text)
    except RopewalkError as error:
        keep_draft(source.contents, replace(draft, faults=(fault_from(error, draft.text, source.file_name),)))
        return
    if text != draft.text:
        before = (*draft.before, draft.text)[-MOST_CHANGES:]
        keep_draft(source.contents, replace(draft, text=text, before=before, refused=None, faults=()))


def undo(source: Source) -> None:
    """Take the last change back."""
    draft = draft_of(source)
    if draft.before:
        text, before = draft.before[-1], draft.before[:-1]
        keep_draft(source.contents, replace(draft, text=text, before=before, refused=None, faults=()))


def back(source: Source) -> None:
    """Go back to the file as it was."""
    change(source, lambda _: draft_of(source).opened)


def take_over(source: Source, job: JobPlan | None) -> bool:
    """Make the draft the visitor's bike when it can be planned; return whether the bike is another now.

    Parameters
    ----------
    source : Source
        The visitor's bike.
    job : JobPlan or None
        Its plan; None when it has none.
    """
    draft = draft_of(source)
    if draft.lengths is None and job is not None and draft.text == draft.opened:
        draft = replace(draft, lengths=lengths_of(job))
        keep_draft(source.contents, draft)
    settled = job is not None and draft.text == as_text(source.contents)
    if settled or draft.refused == draft.text:
        return False
    try:
        planned_with_bar(Source("", source.file_name, draft.text.encode()))
        take_text(draft.text, source)
    except RopewalkError as error:
        told = faults_of(draft.text, source.file_name) or (fault_from(error, draft.text, source.file_name),)
        keep_draft(source.contents, replace(draft, refused=draft.text, faults=told))
        return False
    # The bike it came from has no changes of its own.
    keep(_KEY, {key: value for key, value in (kept(_KEY) or {}).items() if key != source.contents})
    keep_draft(draft.text.encode(), replace(draft, refused=None, faults=()))
    return True


def lengths_of(job: JobPlan) -> dict[str, float]:
    """Return the first cut of each piece that has one, by its tag [mm]."""
    return {piece.tag: piece.first_cut for line in job.lines for piece in line.pieces if piece.first_cut is not None}
