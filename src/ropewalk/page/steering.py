"""The drawing: the side view with the bars turned as far as the visitor likes, and the cockpit from above.

What draws is loaded when the first drawing is made: the cut list stands before it and need not wait.
"""

from __future__ import annotations

import hashlib
import math
from functools import partial

import streamlit

from ropewalk.bike.poses import poses
from ropewalk.bike.wording import listed
from ropewalk.page.bikes import Source
from ropewalk.page.downloads import file_stem
from ropewalk.units import degrees, radians
from ropewalk.workshop import words
from ropewalk.workshop.jobplan import JobPlan

#: kinds of file a drawing is saved as, with their media types
KINDS = {"SVG": "image/svg+xml", "PDF": "application/pdf", "PNG": "image/png"}
#: most drawings of either view that are kept for all visitors
MOST_DRAWINGS = 96


@streamlit.fragment
def show_drawing(source: Source, job: JobPlan) -> None:
    """Show the side view at a steering angle of the visitor's choice, and the buttons that save it.

    Parameters
    ----------
    source : Source
        The frame file the plan was made from; drawings are kept by its contents.
    job : JobPlan
    """
    lock = math.floor(degrees(poses(job.model.frame).lock) + 1e-6)
    mark = hashlib.sha256(source.contents).hexdigest()
    # The angle belongs to the bike: another one starts straight ahead.
    key = f"steer {mark}"
    streamlit.session_state.setdefault(key, 0)
    with streamlit.container(horizontal=True, key="poses"):
        for label, turned in (("Left lock", -lock), ("Straight", 0), ("Right lock", lock)):
            streamlit.button(label, on_click=_turn, args=(key, turned))
    angle = streamlit.slider("Steering angle: left −, right +", -lock, lock, format="%d°", key=key)
    streamlit.image(_side_view(mark, angle, job), width="stretch", alt=described(job, angle))
    stem = f"{file_stem(job.bike)}-{file_stem(words.steering(angle))}"
    with streamlit.container(horizontal=True, key="drawings"):
        for name, media in KINDS.items():
            suffix = f".{name.lower()}"
            # Drawn when asked for: the page need not wait for files that nobody takes.
            make = partial(_file, job, suffix, radians(angle))
            streamlit.download_button(f"Save {name}", make, f"{stem}{suffix}", media, on_click="ignore")


def show_cockpit(source: Source, job: JobPlan) -> None:
    """Show the cockpit from above, straight ahead and at both locks; parameters as for `show_drawing`."""
    alt = f"Cockpit of {job.bike} from above, straight ahead and at both locks, with its housing."
    streamlit.image(_cockpit(hashlib.sha256(source.contents).hexdigest(), job), width="stretch", alt=alt)


def described(job: JobPlan, angle_deg: float) -> str:
    """Return what the side view shows, for those who cannot see it."""
    bars = f"bars turned {words.steering(angle_deg)}" if round(angle_deg) else "bars straight ahead"
    tags = listed((piece.tag for line in job.lines for piece in line.pieces), last="and")
    return f"Side view of {job.bike}, {bars}; housing pieces {tags} in place."


def _turn(key: str, angle: int) -> None:
    streamlit.session_state[key] = angle


def _file(job: JobPlan, suffix: str, steer: float) -> bytes:
    from ropewalk.drawing.render import drawn

    return drawn(job, suffix, {"steer": steer})


# A drawing follows from the frame file, known by its mark, and the angle alone.
@streamlit.cache_data(max_entries=MOST_DRAWINGS, show_spinner=False)
def _side_view(mark: str, angle_deg: int, _job: JobPlan) -> str:
    from ropewalk.drawing.render import svg

    return svg(_job, {"steer": radians(angle_deg)})


@streamlit.cache_data(max_entries=MOST_DRAWINGS, show_spinner=False)
def _cockpit(mark: str, _job: JobPlan) -> str:
    from ropewalk.drawing.render import cockpit_svg

    return cockpit_svg(_job)
