"""Routings of a line side by side: ranked with what is sure and what is a tie, charted; tension along one of them."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence

import streamlit

from ropewalk.analysis.wireline import CONDITIONS
from ropewalk.bike.framefile import CHANGES, Frame
from ropewalk.bike.options import named_line, option_names
from ropewalk.bike.reading import loads
from ropewalk.bike.wording import listed, shortened
from ropewalk.errors import RopewalkError
from ropewalk.page import bikes, comparecards, links, notices
from ropewalk.page.bikes import MOST_MEGABYTES, Source
from ropewalk.page.choosing import chosen_line, chosen_word, from_link
from ropewalk.page.downloads import file_stem, json_text, save_button
from ropewalk.page.keeping import keep, kept
from ropewalk.page.markup import complain, put, tag
from ropewalk.page.plans import Shelf, telling_faults
from ropewalk.page.router import tell_refused
from ropewalk.workshop.candidate import Candidate
from ropewalk.workshop.compare import Comparison, compare_planned, plan_candidates
from ropewalk.workshop.comparereport import compared_as_csv, compared_as_json_object
from ropewalk.workshop.comparewords import SURENESS
from ropewalk.workshop.entrants import Contest, called, contest_of, contests_of_files, rivals
from ropewalk.workshop.frictionplan import (
    LIMITS,
    FrictionPlan,
    friction_as_json_object,
    friction_of_routing,
    plan_friction,
)
from ropewalk.workshop.frictionwords import pull_words, told
from ropewalk.workshop.jobplan import JobPlan

#: most comparisons that are kept for all visitors, and most frame files a visitor may bring to compare with
MOST_COMPARISONS, MOST_FILES = 24, 4
_PAGE, _FILES, _SEEN, _COMPLAINT = "compare", "compare files", "compare upload seen", "compare complaint"
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
#: how a frame file is called among routings to choose from
_FILE = "file "


def show_compare(source: Source, job: JobPlan) -> None:
    """Show the page.

    Parameters
    ----------
    source : Source
        The frame file.
    job : JobPlan
        The plan of it.
    """
    own = (called(source.file_name), _frame(source.contents, source.file_name))
    line = chosen_line(source, [one.name for one in job.lines], _PAGE, _first_line(source, own))
    by = chosen_word(source, "by", "Order by", _ORDERS, _PAGE, "efficiency")
    states = {name: name.capitalize() for name in CONDITIONS}
    condition = chosen_word(source, "condition", "Condition of the wire", states, _PAGE, "worn")
    files = _files(source, own, line)
    routings = _chosen_routings(source, job, own[1], line, files)
    _take_upload(own, line)
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


@streamlit.cache_resource(max_entries=32, show_spinner=False)
def _frame(contents: bytes, file_name: str) -> Frame:
    return loads(contents, file_name)


@streamlit.cache_resource(max_entries=1, show_spinner=False)
def _shelf() -> Shelf[tuple[Candidate, ...]]:
    return Shelf(MOST_COMPARISONS)


# Who takes part.


def _files(source: Source, own: tuple[str, Frame], line: str) -> dict[str, tuple[str, Frame]]:
    """Return the frame files whose line of that name can be compared with the visitor's, by how they are chosen."""
    offered: list[tuple[str, Frame]] = []
    for other in (*bikes.others(source), *(kept(_FILES) or ())):
        name = called(other.file_name)
        # Two of one name could not be told apart.
        if all(name != taken for taken, _ in (own, *offered)):
            offered.append((name, _frame(other.contents, other.file_name)))
    return {f"{_FILE}{name}": (name, frame) for name, frame in rivals(own[1], line, offered)}


def _first_line(source: Source, own: tuple[str, Frame]) -> str:
    """Return the first line there is something to compare of, else the first."""
    for line in own[1].line:
        files = _files(source, own, line.name).values()
        if line.option or any(named_line(frame, line.name) != line for _, frame in files):
            return line.name
    return own[1].line[0].name


def _chosen_routings(
    source: Source, job: JobPlan, frame: Frame, line: str, files: Mapping[str, tuple[str, Frame]]
) -> list[str]:
    """Show the routings there are, and return those to compare: options by name, files as `_files` has them."""
    options = option_names(named_line(frame, line))
    known = {
        **{key: _told(held, f"{shortened(name, 30)}.toml") for key, (name, held) in files.items()},
        **{name: name if len(options) > 1 else _told(frame, "this file") for name in options},
    }
    ordered = [*options, *(key for key in files if key not in options)]
    if len(ordered) < 2:
        return ordered
    held = f"compare routings: {job.bike}, {line}"
    _take_linked(source, held, ordered)
    usual = list(options) if len(options) > 1 else ordered
    now = kept(held)
    key = "compare routings"
    streamlit.session_state[key] = usual if now is None else [name for name in ordered if name in now]

    def take() -> None:
        keep(held, list(streamlit.session_state[key]))

    streamlit.multiselect(
        "Routings to compare", ordered, format_func=known.__getitem__, key=key, on_change=take, filter_mode=None
    )
    chosen = [name for name in ordered if name in streamlit.session_state[key]]
    links.note("routings", None if chosen == usual else json.dumps(chosen, ensure_ascii=False))
    return chosen


def _told(frame: Frame, where: str) -> str:
    """Return what tells a frame file's routing from others of the bike, and where it is from."""
    return f"{shortened(frame.name.partition(',')[2].strip() or frame.name, 50)} ({where})"


def _take_linked(source: Source, held: str, known: Sequence[str]) -> None:
    given = from_link(source, "routings", _PAGE)
    if given is None:
        return
    try:
        names = json.loads(given)
    except (ValueError, RecursionError):
        names = None
    if isinstance(names, list) and all(name in known for name in names):
        keep(held, names)
    else:
        links.refuse("routings", "not all of these are there to compare; choose below")


def _take_upload(own: tuple[str, Frame], line: str) -> None:
    """Take a further frame file to compare with, or tell in one line why it cannot be."""
    with streamlit.expander("Compare with another frame file of this bike"):
        upload = streamlit.file_uploader(
            f"Frame file, {MOST_MEGABYTES} MB at most, with the same bike's name before the comma",
            type="toml",
            max_upload_size=MOST_MEGABYTES,
            key="compare upload",
        )
    if upload is None:
        keep(_SEEN, None)
        keep(_COMPLAINT, None)
    elif kept(_SEEN) != upload.file_id:
        keep(_SEEN, upload.file_id)
        keep(_COMPLAINT, None)
        try:
            _take(own, line, Source(upload.name, upload.name, upload.getvalue()))
        except RopewalkError as error:
            keep(_COMPLAINT, f"{error}. The comparison stays as it was.")
        else:
            streamlit.rerun()
    if kept(_COMPLAINT):
        complain(kept(_COMPLAINT))


def _take(own: tuple[str, Frame], line: str, brought: Source) -> None:
    name, frame = called(brought.file_name), _frame(brought.contents, brought.file_name)
    contests_of_files([own, (name, frame)], line)
    files = [held for held in kept(_FILES) or () if called(held.file_name) != name]
    keep(_FILES, [*files, brought][-MOST_FILES:])
    held = f"compare routings: {own[1].name}, {line}"
    if kept(held) is not None:
        keep(held, [*kept(held), f"{_FILE}{name}"])


# What comes of it.


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

        put(tag("h2", "What arrives, against friction"))
        chart = chart_drawn([comparison], ".svg")
        scene = chart_scene([comparison])
        streamlit.image(chart.decode(), width="stretch", alt=f"{scene.title}. {scene.description}.")
    with streamlit.container(horizontal=True, key="downloads"):
        save_button("Comparison, CSV", compared_as_csv([comparison]).encode(), f"{stem}.csv", "text/csv")
        shown = json_text(compared_as_json_object([comparison])).encode()
        save_button("Comparison, JSON", shown, f"{stem}.json", "application/json")
        if chart is not None:
            save_button("Friction chart, SVG", chart, f"{stem}.svg", "image/svg+xml")


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
    from ropewalk.drawing.tensionchart import chart_scene, tension_chart

    put(tag("p", pull_words(plan, condition)))
    chart, scene = tension_chart([plan], ".svg"), chart_scene([plan])
    left, right = streamlit.columns([3, 2], gap="small")
    with left:
        streamlit.image(chart.decode(), width="stretch", alt=f"{scene.title}. {scene.description}.")
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
    linked = from_link(source, "tension", _PAGE)
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
