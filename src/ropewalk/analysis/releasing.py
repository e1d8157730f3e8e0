"""Release: whether what is left of the return spring's pull at the lever brings the line back once it has worn."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ropewalk.analysis.findings import Finding
from ropewalk.analysis.friction import LineFriction
from ropewalk.analysis.release import needed_at_lever
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.poses import Poses, pose_words
from ropewalk.bike.sourced import SIGMAS_WITHIN
from ropewalk.routing.lines import Route

CONDITION = "worn"


def judge_release(route: Route, friction: LineFriction | None, sweep: Poses, catalogue: Catalogue) -> Iterator[Finding]:
    """Return a finding on a line that may not come back by itself when worn, at its worst pose while riding.

    Notes
    -----
    Each contact rubs with its own worn coefficient. Spring, need of the lever and coefficients are known roughly, most
    of them as estimates: a look is given where the spring falls short by more than their spreads together explain,
    taken as independent (those of one pair of materials as one), and a note where it falls short by less.
    """
    spring, needed = route.mover.spring_least, needed_at_lever(route)
    release = None if friction is None else friction.release
    if friction is None or release is None or spring is None or needed is None or needed.value <= 0.0:
        return
    worst, arrives = release.least_at[CONDITION], release.arrives[CONDITION].value
    if arrives >= needed.value:
        return
    spread: dict[str, float] = {}
    for stretch in friction.stretches:
        own = catalogue.friction(stretch.pair, CONDITION).spread * float(stretch.turn[worst])
        spread[stretch.pair] = spread.get(stretch.pair, 0.0) + own
    doubt = math.hypot(spring.spread / spring, SIGMAS_WITHIN * needed.sigma / needed.value, *spread.values())
    sure = arrives <= 0.0 or math.log(needed.value / arrives) > doubt
    pose = pose_words(sweep.values[worst])
    yield Finding(
        "look" if sure else "note",
        route.line.name,
        f"the lever wants some {needed.value:.0f} N to come back by itself, and with everything worn as is usual "
        f"{arrives:.1f} of the return spring's {spring:.0f} N reach it at {pose}"
        + ("" if sure else "; these figures are too rough to be sure")
        + f" (release reserve {friction.release_reserve:.2f})",
        "renew housing and inner before they wear so far; less turn or freer running housing gives more to spare",
        round(arrives, 1),
        round(needed.value, 1),
        "N",
    )
