"""Titles and descriptions of pictures of a job, for those who hear them instead of seeing them."""

from __future__ import annotations

from ropewalk.drawing.posing import Pose, shown_words
from ropewalk.workshop.jobplan import JobPlan

_SIDE = "Side view with housing and inners in place"


def picture_words(job: JobPlan, pose: Pose) -> tuple[str, str]:
    """Return title and description of a picture with the side view in a pose."""
    return f"{job.bike}, {shown_words(pose)}: lines in place", lines_told(job, _SIDE)


def lines_told(job: JobPlan, shown: str) -> str:
    """Return what a picture shows, the pieces of each line, and the first caution."""
    told = (f"{line.name}: {', '.join(piece.tag for piece in line.pieces)}" for line in job.lines)
    return f"{shown}. {'; '.join(told)}. {job.cautions[0]}"
