"""The fields for what a spring scale showed: a row for every pull, and what cannot be told beside its field."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial

import streamlit

from ropewalk.bike.poses import poses
from ropewalk.errors import RopewalkError
from ropewalk.page.markup import complain
from ropewalk.page.scalereadings import MOST_PULLS, Written, write, written
from ropewalk.units import degrees, radians
from ropewalk.workshop.fault import route_of
from ropewalk.workshop.faultchecks import Misread, beyond, misread, reach_of, scale_error
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.posed import checked_pose

_HALF = "one figure is missing: read both ends of every pull, or take the pull out"
_ENDS = ("Lever", "Far end")

Change = Callable[[Written, float | None], Written]


def faults_of(job: JobPlan, line: str, held: Written) -> Iterator[Misread]:
    """Return what cannot be among the readings, pulls told by their places among the fields."""
    readings = held.readings
    for one in (*misread(readings, job.catalogue), *beyond(readings, reach_of(route_of(job, line), job.catalogue))):
        # That nothing is read yet is no fault on a page.
        if one.field != "pulls":
            yield one if one.place is None else replace(one, place=held.whole[one.place])
    for place in held.halves:
        yield Misread("lever", place, f"pull {place + 1}: {_HALF}")
    try:
        checked_pose(poses(job.model.frame), {"steer": radians(readings.steer_deg)})
    except RopewalkError as error:
        yield Misread("steer", None, str(error))


def show_fields(job: JobPlan, line: str, held: Written, faults: Sequence[Misread]) -> None:
    """Show the fields, each with what is wrong with it.

    Parameters
    ----------
    job : JobPlan
    line : str
    held : Written
        What stands in them.
    faults : sequence of Misread
        From `faults_of`.
    """
    for place in range(len(held.pulls)):
        _show_pull(job, line, held, place)
        _tell_first([fault for fault in faults if fault.place == place])
    streamlit.button(
        "Add a pull",
        key="fault add",
        on_click=partial(_rewrite, job.bike, line, Written.with_one_more),
        disabled=len(held.pulls) >= MOST_PULLS,
    )
    for first, second in (("part_moves", "part_returns"), ("scale", "steer")):
        for column, name in zip(streamlit.columns(2), (first, second), strict=True):
            with column:
                label, placeholder = _labelled(job, name)
                _number(job.bike, line, label, f"fault {name}", getattr(held, name), _changing(name), placeholder)
                _tell_first([fault for fault in faults if fault.field == name])


def _show_pull(job: JobPlan, line: str, held: Written, place: int) -> None:
    with streamlit.container(horizontal=True, vertical_alignment="bottom", key=f"pull-{place}"):
        for side, end in enumerate(_ENDS):
            label, key, force = f"{place + 1}. {end}, N", f"fault {end.lower()} {place}", held.pulls[place][side]
            _number(job.bike, line, label, key, force, _changing_pull(place, side))
        streamlit.button(
            f"Take out {place + 1}",
            key=f"fault out {place}",
            on_click=partial(_rewrite, job.bike, line, lambda now: now.without_pull(place)),
        )


def _labelled(job: JobPlan, name: str) -> tuple[str, str]:
    """Return the label of a field, and what stands in it while nothing is written."""
    if name == "part_moves":
        return "The moving part, wire off: what moves it, N", "not read"
    if name == "part_returns":
        return "What it still pulls with as it returns, N", "not read"
    if name == "scale":
        return "What the scale may be wrong by, N", f"{scale_error(Written().readings, job.catalogue):g} (usual)"
    lock = degrees(poses(job.model.frame).lock)
    return f"Where the bars pointed: left −, right +, up to {lock:.0f}°", "0 (straight ahead)"


def _number(
    bike: str, line: str, label: str, key: str, value: float | None, change: Change, placeholder: str = ""
) -> None:
    """Show a field for a number, which may stay empty."""
    streamlit.session_state[key] = value

    def take() -> None:
        _rewrite(bike, line, lambda now: change(now, streamlit.session_state[key]))

    streamlit.number_input(
        label, value=None, step=1.0, format="%g", key=key, placeholder=placeholder or None, on_change=take
    )


def _rewrite(bike: str, line: str, change: Callable[[Written], Written]) -> None:
    write(bike, line, change(written(bike, line)))


def _changing_pull(place: int, side: int) -> Change:
    return lambda now, force: now.with_pull(place, side, force)


def _changing(name: str) -> Change:
    return lambda now, value: now.with_figure(name, value)


def _tell_first(faults: Sequence[Misread]) -> None:
    if faults:
        complain(f"{faults[0].text}.")
