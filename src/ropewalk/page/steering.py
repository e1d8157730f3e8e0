"""The steering view: side view and cockpit from above, drawn in the browser as the visitor moves the bike.

The bike is sent once; its script moves the picture. Figures are worked out here for every whole degree and millimetre.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import Any

import streamlit

from ropewalk.bike.poses import COORDINATES, SHOWN, Poses, pose_of, poses
from ropewalk.page import links, notices
from ropewalk.page.bikes import Source
from ropewalk.page.downloads import file_stem
from ropewalk.page.keeping import keep, kept
from ropewalk.page.markup import complain, put, tag
from ropewalk.page.steeringdata import figures_sent, scene_sent
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.sweepview import Range, effective, ranges

#: kinds of file a drawing is saved as, with their media types
KINDS = {"SVG": "image/svg+xml", "PDF": "application/pdf", "PNG": "image/png"}
#: most bikes whose geometry, and most settings whose figures are kept for all visitors
MOST_SCENES, MOST_FIGURES = 24, 96
_HERE = Path(__file__).resolve().parent
#: the script in its parts: how the bike moves, how it is drawn, what the visitor moves
_SCRIPTS = ("steering_motion.js", "steering_picture.js", "steering_view.js")
_VIEW = streamlit.components.v2.component(
    "ropewalk_steering",
    html='<div class="steering"></div>',
    css=(_HERE / "steering_view.css").read_text(encoding="utf-8"),
    js="\n".join((_HERE / name).read_text(encoding="utf-8") for name in _SCRIPTS),
)
_UNITS = {"steer": "°", "fork": " mm", "rear": " mm", "fold": "°", "post": " mm"}

#: a pose in whole units as shown, by coordinate [° or mm]
Setting = dict[str, int]


def show_steering(source: Source, job: JobPlan) -> None:
    """Show the page.

    Parameters
    ----------
    source : Source
        The frame file the plan was made from; what is drawn is kept by its contents.
    job : JobPlan
    """
    mark = hashlib.sha256(source.contents).hexdigest()
    sweep = poses(job.model.frame)
    if kept(f"pose {mark}") is None:
        keep(f"pose {mark}", _given(ranges(sweep)))
        for told in links.refused():
            complain(told)
    _show(mark, job, sweep, kept(f"pose {mark}"))
    put(notices.cautions(job))


@streamlit.fragment
def _show(mark: str, job: JobPlan, sweep: Poses, first: Setting) -> None:
    key = f"steering {mark}"
    moved = streamlit.session_state.get(key, {}).get("pose")
    if moved is not None:
        keep(f"pose {mark}", _checked(moved, ranges(sweep)))
    setting: Setting = kept(f"pose {mark}")
    for name, value in setting.items():
        links.note(name, value or None)
    _VIEW(
        key=key,
        data={
            "scene": _scene(mark, job),
            "figures": _figures(mark, tuple(setting.get(name, 0) for name in COORDINATES[1:]), job),
            # Where the sliders start. It stays the same while they move: what is sent again unchanged need not travel.
            "pose": first,
        },
        default={"pose": first},
        on_pose_change=_nothing,
    )
    _offer(job, sweep, setting)


def _offer(job: JobPlan, sweep: Poses, setting: Mapping[str, int]) -> None:
    """Show the buttons that save the drawing in the pose shown."""
    asked = {name: value / SHOWN[name][1] for name, value in setting.items()}
    values = effective(sweep, pose_of(asked))
    pose = {name: float(value) for name, value in zip(COORDINATES, values, strict=True) if value}
    shown = {name: round(value * SHOWN[name][1]) for name, value in pose.items()}
    stem = "-".join([file_stem(job.bike), *(_worded(name, value) for name, value in shown.items())])
    put(tag("h2", "Save the drawing in this pose"))
    with streamlit.container(horizontal=True, key="drawings"):
        for name, media in KINDS.items():
            suffix = f".{name.lower()}"
            # Drawn when asked for: the page need not wait for files that nobody takes.
            make = partial(_file, job, suffix, pose)
            streamlit.download_button(f"Save {name}", make, f"{stem}{suffix}", media, on_click="ignore")


def _worded(name: str, value: int) -> str:
    if name == "steer":
        return f"{abs(value)}-{'right' if value > 0 else 'left'}"
    return f"{name}-{value}"


def _given(moves: tuple[Range, ...]) -> Setting:
    """Return the pose that the visitor's link gives."""
    found: Setting = {}
    for move in moves:
        value = links.given_number(move.name, move.low, move.high, _UNITS[move.name])
        found[move.name] = round(value or 0)
    return found


def _checked(moved: Any, moves: tuple[Range, ...]) -> Setting:
    """Return a pose that came from a browser, which may send anything, as far as the bike moves."""
    found: Setting = {}
    for move in moves:
        value = moved.get(move.name) if isinstance(moved, Mapping) else None
        found[move.name] = round(value) if isinstance(value, int | float) and move.low <= value <= move.high else 0
    return found


def _nothing() -> None:
    """Let the fragment run again: it reads the pose itself."""


def _file(job: JobPlan, suffix: str, pose: Mapping[str, float]) -> bytes:
    from ropewalk.drawing.render import drawn

    return drawn(job, suffix, pose)


# What is sent follows from the frame file, known by its mark, and the setting alone.
@streamlit.cache_data(max_entries=MOST_SCENES, show_spinner=False)
def _scene(mark: str, _job: JobPlan) -> dict[str, Any]:
    return scene_sent(_job, mark)


@streamlit.cache_data(max_entries=MOST_FIGURES, show_spinner=False)
def _figures(mark: str, others: tuple[int, ...], _job: JobPlan) -> list[list[dict[str, Any]]]:
    named = zip(COORDINATES[1:], others, strict=True)
    return figures_sent(_job, {name: value / SHOWN[name][1] for name, value in named})
