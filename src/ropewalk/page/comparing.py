"""Routings of a line side by side: ranked with what is sure and what is a tie, charted; tension along one of them."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence

import streamlit

from ropewalk.analysis.wireline import CONDITIONS
from ropewalk.bike.framefile import CHANGES, Frame
from ropewalk.bike.wording import listed
from ropewalk.drawing.scene import Scene
from ropewalk.errors import RopewalkError
from ropewalk.page import comparecards, links, notices
from ropewalk.page.bikes import Source
from ropewalk.page.choosing import chosen_line, chosen_word, from_link
from ropewalk.page.downloads import file_stem, json_text, save_button
from ropewalk.page.keeping import keep, kept
from ropewalk.page.markup import complain, put, tag
from ropewalk.page.pictures import show_picture
from ropewalk.page.plans import Shelf, telling_faults
from ropewalk.page.rivalfiles import (
    PAGE,
    chosen_routings,
    files_of,
    first_line,
    frame_of,
    note_files,
    take_linked_files,
    take_upload,
)
from ropewalk.page.router import tell_refused
from ropewalk.workshop.candidate import Candidate
from ropewalk.workshop.compare import Comparison, compare_planned, plan_candidates
from ropewalk.workshop.comparereport import compared_as_csv, compared_as_json_object
from ropewalk.workshop.comparewords import SURENESS
from ropewalk.workshop.entrants import Contest, called, contest_of
from ropewalk.workshop.frictionplan import (
    LIMITS,
    FrictionPlan,
    friction_as_json_object,
    friction_of_routing,
    plan_friction,
)
from ropewalk.workshop.frictionwords import pull_words, told
from ropewalk.workshop.jobplan import JobPlan

#: most comparisons that are kept for all visitors
MOST_COMPARISONS = 24
_ORDERS: Mapping[str, str] = {
    "efficiency": "What arrives",
    "reserve": "Release reserve",
    "lost-motion": "Lost motion",
    "length": "Length",
}
_ALONE = (
    "To compare routings of this line, add [[line.option]] below it in the frame file, with a name and what differs "
    f"({listed(CHANGES)}); or bring another frame file of this bike."
)


def show_compare(source: Source, job: JobPlan) -> None:
    """Show the page.

    Parameters
    ----------
    source : Source
        The frame file.
    job : JobPlan
        The plan of it.
    """
    own = (called(source.file_name), frame_of(source.contents, source.file_name))
    take_linked_files(source, own)
    line = chosen_line(source, [one.name for one in job.lines], PAGE, first_line(source, own))
    by = chosen_word(source, "by", "Order by", _ORDERS, PAGE, "efficiency")
    states = {name: name.capitalize() for name in CONDITIONS}
    condition = chosen_word(source, "condition", "Condition of the wire", states, PAGE, "worn")
    files = files_of(source, own, line)
    note_files(source, files)
    routings = chosen_routings(source, job, own[1], line, files)
    take_upload(own, line)
    tell_refused()
    found = None
    if len(routings) > 1:
        found = _compared(own, line, routings, files, by, condition)
    else:
        put(tag("p", _ALONE, css="rw-quiet"))
    if found is not None:
        _show_comparison(job, found[1])
    _show_tension(source, job, line, condition, found)
    put(tag("h2", "Limits"), comparecards.sentences(LIMITS))
    put(notices.cautions(job))


@streamlit.cache_resource(max_entries=1, show_spinner=False)
def _shelf() -> Shelf[tuple[Candidate, ...]]:
    return Shelf(MOST_COMPARISONS)


def _compared(
    own: tuple[str, Frame],
    line: str,
    routings: Sequence[str],
    files: Mapping[str, tuple[str, Frame]],
    by: str,
    condition: str,
) -> tuple[Contest, Comparison] | None:
    """Return the comparison, planned now with a bar or kept from before; None where there is none, which is told."""
    bar = streamlit.empty()

    def show(doing: str, share: float) -> None:
        bar.progress(share, text=f"Comparing: {doing}")

    options = [name for name in routings if name not in files]
    try:
        contest = contest_of(own, line, options, [files[name] for name in routings if name in files])
        key = _key(contest)
        candidates = _shelf().get(key)
        if candidates is None:
            with telling_faults(own[0]):
                candidates = plan_candidates(contest, progress=show)
            _shelf().put(key, candidates)
        return contest, compare_planned(contest, candidates, by=by, condition=condition)
    except RopewalkError as error:
        complain(str(error))
        return None
    finally:
        bar.empty()


def _key(contest: Contest) -> bytes:
    """Return what a contest's plans follow from, in short."""
    mark = hashlib.sha256(repr(contest.line).encode())
    for one in contest.entrants:
        mark.update(repr((one.name, one.file, one.frame.model_dump_json())).encode())
    return mark.digest()


def _show_comparison(job: JobPlan, comparison: Comparison) -> None:
    put(
        tag("h2", "Side by side"),
        tag("p", f"Ranked by {comparison.ranked_by}"),
        comparecards.cards(comparison),
        tag("p", SURENESS, css="rw-quiet"),
    )
    put(tag("h2", "What is clear, what is a tie"), comparecards.differences(comparison))
    put(tag("h2", "Findings"), comparecards.findings(comparison))
    stem = f"{file_stem(job.bike)}-{file_stem(comparison.line)}-compared"
    chart = None
    if any(one.wire is not None for one in comparison.candidates):
        from ropewalk.drawing.frictionchart import chart_drawn, chart_scene
        from ropewalk.drawing.paper import NARROW

        put(tag("h2", "What arrives, against friction"))
        chart, narrow = chart_drawn([comparison], ".svg"), chart_drawn([comparison], ".svg", NARROW)
        show_picture("friction", chart.decode(), narrow.decode(), _alternative(chart_scene([comparison])))
    with streamlit.container(horizontal=True, key="downloads"):
        save_button("Comparison, CSV", compared_as_csv([comparison]).encode(), f"{stem}.csv", "text/csv")
        shown = json_text(compared_as_json_object([comparison])).encode()
        save_button("Comparison, JSON", shown, f"{stem}.json", "application/json")
        if chart is not None:
            save_button("Friction chart, SVG", chart, f"{stem}.svg", "image/svg+xml")


def _alternative(scene: Scene) -> str:
    return f"{scene.title}. {scene.description}."


def _show_tension(
    source: Source, job: JobPlan, line: str, condition: str, found: tuple[Contest, Comparison] | None
) -> None:
    """Show tension along the wire of a routing of the visitor's choice."""
    put(tag("h2", "Tension along the wire"))
    try:
        plan = plan_friction(job, line, {})[0] if found is None else _tension_of_chosen(source, *found)
    except RopewalkError as error:
        put(tag("p", f"{error}.", css="rw-quiet"))
        return
    from ropewalk.drawing.paper import NARROW
    from ropewalk.drawing.tensionchart import chart_scene, tension_chart

    put(tag("p", pull_words(plan, condition)))
    chart, narrow = tension_chart([plan], ".svg"), tension_chart([plan], ".svg", NARROW)
    left, right = streamlit.columns([3, 2], gap="small")
    with left:
        show_picture("tension", chart.decode(), narrow.decode(), _alternative(chart_scene([plan])))
    with right:
        put(comparecards.tension(plan, condition))
    put(comparecards.sentences(told(plan, condition)))
    stem = f"{file_stem(job.bike)}-{file_stem(line)}-tension"
    with streamlit.container(horizontal=True, key="drawings"):
        save_button("Tension chart, SVG", chart, f"{stem}.svg", "image/svg+xml")
        shown = json_text(friction_as_json_object(plan.bike, [plan])).encode()
        save_button("Tension, JSON", shown, f"{stem}.json", "application/json")


def _tension_of_chosen(source: Source, contest: Contest, comparison: Comparison) -> FrictionPlan:
    names = [one.name for one in comparison.candidates]
    held, key = "compare tension", "compare tension of"
    linked = from_link(source, "tension", PAGE)
    if linked in names:
        keep(held, linked)
    elif linked is not None:
        links.refuse("tension", "there is no such routing among those compared; choose below")
        tell_refused()
    streamlit.session_state[key] = kept(held) if kept(held) in names else names[0]

    def take() -> None:
        keep(held, streamlit.session_state[key])

    name = streamlit.selectbox("Routing", names, key=key, on_change=take, filter_mode=None)
    links.note("tension", name)
    entrant = next(one for one in contest.entrants if one.name == name)
    return friction_of_routing(entrant, comparison.candidates[names.index(str(name))], {})
