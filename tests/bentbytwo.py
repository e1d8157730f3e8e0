"""A bike with a loop that two things bend: from the head tube to a sliding fork leg, by steering and by travel."""

from __future__ import annotations

from functools import cache

from ropewalk.bike.fleet import find
from ropewalk.bike.reading import loads
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.plan import plan

_CLIP = """    { name = "frame clip", type = "clip", on = "head tube", from = "top", along = 60, clock = 9, \
facing = "bottom", then = "loop" },
"""


@cache
def bent_by_two_text() -> str:
    """Return its frame file."""
    leg = '    { name = "leg clip",'
    text = find("trail").read_text(encoding="utf-8")
    assert leg in text
    return text.replace(leg, _CLIP + leg, 1)


@cache
def bent_by_two() -> JobPlan:
    """Return its plan."""
    return plan(loads(bent_by_two_text(), "two.toml"))
