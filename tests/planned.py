"""Plans of the fleet's bikes, made once for all tests that only look at them."""

from __future__ import annotations

from functools import cache

from ropewalk.bike.fleet import find, fleet
from ropewalk.bike.reading import read
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.plan import plan

#: three bikes for tests that take long
BIKES = ("touring", "hardtail", "road")
#: every bike of the fleet
FLEET = tuple(bike.name for bike in fleet())


@cache
def planned(name: str) -> JobPlan:
    """Return the plan of a bike of the fleet."""
    return plan(read(find(name)))
