"""Release: whether what is left of the return spring's pull at the lever brings the line back once it has worn."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from ropewalk.analysis.findings import Finding
from ropewalk.analysis.friction import LineFriction
from ropewalk.bike.parts import Catalogue
from ropewalk.bike.poses import Poses, pose_words
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
    spring, needed = route.mover.spring_least, route.exit.needed_force
    if friction is None or spring is None or needed is None or needed <= 0.0:
        return
    riding = np.flatnonzero(sweep.riding)
    loss, spread = np.zeros(len(riding)), dict[str, np.ndarray]()
    for turning in friction.stretches:
        coefficient = catalogue.friction(turning.pair, CONDITION)
        turn = turning.turn[riding]
        loss = loss + float(coefficient) * turn
        spread[turning.pair] = spread.get(turning.pair, np.zeros(len(riding))) + coefficient.spread * turn
    worst = int(loss.argmax())
    arrives = float(spring) * math.exp(-float(loss[worst]))
    if arrives >= needed:
        return
    doubt = math.hypot(
        spring.spread / spring, needed.spread / needed, *(float(part[worst]) for part in spread.values())
    )
    sure = math.log(needed / arrives) > doubt
    pose = pose_words(sweep.values[riding[worst]])
    yield Finding(
        "look" if sure else "note",
        route.line.name,
        f"the lever wants some {needed:.0f} N to come back by itself, and with everything worn as is usual "
        f"{arrives:.1f} of the return spring's {spring:.0f} N reach it at {pose}"
        + ("" if sure else "; these figures are too rough to be sure")
        + f" (release reserve {friction.release_reserve:.2f})",
        "renew housing and inner before they wear so far; less turn or freer running housing gives more to spare",
        round(arrives, 1),
        round(float(needed), 1),
        "N",
    )
