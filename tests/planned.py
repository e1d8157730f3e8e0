"""Plans of the fleet's bikes, made once for all tests that only look at them."""

from __future__ import annotations

from functools import cache

from ropewalk.bike.fleet import find
from ropewalk.bike.reading import read
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.plan import plan

BIKES = ("touring", "hardtail", "road")


@cache
def planned(name: str) -> JobPlan:
    """Return the plan of a bike of the fleet."""
    return plan(read(find(name)))
