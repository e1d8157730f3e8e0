"""Which lever works which brake: asked before any length is shown, as the bike is and not as a file may have it."""

from __future__ import annotations

import streamlit

from ropewalk.errors import FrameFileError, RopewalkError
from ropewalk.page import notices
from ropewalk.page.bikes import Source, take_text
from ropewalk.page.keeping import keep, kept
from ropewalk.page.markup import complain, put, tag
from ropewalk.workshop.hands import BRAKING, brakes_of
from ropewalk.workshop.jobplan import JobPlan

_CONFIRMED = "levers confirmed"
_ASKED = "Stand behind the bike and pull each lever. Lengths are right only for the levers as they are on this bike."
_LAW = "Local law and custom say which hand works the front brake; ask the rider what they are used to."


def confirmed(job: JobPlan) -> bool:
    """Return whether this visitor has confirmed the levers of a bike as they are in its plan."""
    return _layout(job) in (kept(_CONFIRMED) or ())


def ask(source: Source, job: JobPlan) -> None:
    """Show which lever works which brake, with the buttons that confirm it or change it over."""
    put(tag("h2", "Which lever works which brake?"), tag("p", _ASKED), notices.levers(job))
    put(tag("p", _LAW, css="rw-quiet"))
    with streamlit.container(horizontal=True, key="confirm"):
        streamlit.button(
            "Yes, so it is on this bike", type="primary", key="levers are so", on_click=_confirm, args=(_layout(job),)
        )
        other = _other_hand(job)
        if other is not None:
            streamlit.button(
                f"No: the front brake is on the {other}", key="change hands", on_click=_change, args=(source, job)
            )
    complaint = kept(_COMPLAINT)
    if complaint:
        complain(complaint)


def show(job: JobPlan) -> None:
    """Show the levers as they were confirmed."""
    put(tag("h2", "Which lever works which brake"), notices.levers(job))


_COMPLAINT = "levers complaint"


def _layout(job: JobPlan) -> tuple[str, ...]:
    """Return what is confirmed: the bike, and for each brake its lever's side; other lines do not matter."""
    brakes = (f"{line.name} on the {line.hand}" for line in job.lines if line.work in BRAKING)
    return (job.bike, *brakes)


def _other_hand(job: JobPlan) -> str | None:
    try:
        side = brakes_of(job.model.frame, job.routing).front.side
    except FrameFileError:
        return None
    return "right" if side == "left" else "left"


def _confirm(layout: tuple[str, ...]) -> None:
    keep(_CONFIRMED, (*(kept(_CONFIRMED) or ()), layout))


def _change(source: Source, job: JobPlan) -> None:
    """Write the changed hands into the frame file; as they are then, the levers are asked for again."""
    from ropewalk.workshop.handediting import hands_changed

    try:
        take_text(hands_changed(source.contents.decode(), job), source)
    except RopewalkError as error:
        keep(_COMPLAINT, str(error))
    else:
        keep(_COMPLAINT, None)
