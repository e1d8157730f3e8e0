"""Matching: whether housing, inner, lever and moving part are made for each other and for the work."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ropewalk.analysis.findings import Finding
from ropewalk.analysis.pieces import PieceStudy
from ropewalk.bike.parts import Catalogue
from ropewalk.mechanics.wire import breaking_load
from ropewalk.routing.lines import Route


def wrong_work(study: PieceStudy) -> Finding | None:
    """Return the stop for housing that may not do a line's work."""
    housing, line = study.piece.housing, study.route.line
    if line.work in housing.work:
        return None
    danger = ": under a brake's pull it bursts" if line.work == "brake" and "shift" in housing.work else ""
    return Finding(
        "stop",
        f"{line.name}, {study.piece.tag}",
        f"{housing.name} housing is for {' and '.join(housing.work)}, not for a {line.work} line{danger}",
        f"choose a housing made for a {line.work} line",
    )


def judge_matches(route: Route, catalogue: Catalogue) -> Iterator[Finding]:
    """Return findings on a line's inner, its ends, its strength, and the pull its brake gets."""
    if route.inner is not None:
        if route.line.work not in route.inner.work:
            yield Finding(
                "stop",
                route.line.name,
                f"{route.inner.name} wire is for {' and '.join(route.inner.work)}, not for a {route.line.work} line",
                f"choose an inner made for a {route.line.work} line",
            )
        yield from _ends(route)
    yield from _pull(route)
    if route.line.work == "brake":
        yield from _strength(route, catalogue)


def _ends(route: Route) -> Iterator[Finding]:
    """Return stops for an inner whose soldered end no part holds, or holds wrongly."""
    assert route.inner is not None
    name, heads = route.line.name, route.inner.heads
    lever, work = route.exit, route.mover
    if lever.end == work.end:
        both = "nipple" if lever.end == "nipple" else "anchor bolt"
        yield Finding(
            "stop",
            name,
            f"lever and {work.name} both hold the inner by its {both}: one has to hold its nipple, the other clamp it",
            "choose a lever that fits what it works",
        )
        return
    for part, nipple in ((f"the lever {route.line.lever}", lever.nipple), (f"the {work.name}", work.nipple)):
        if nipple is not None and nipple not in heads:
            yield Finding(
                "stop",
                name,
                f"{part} holds a {nipple} nipple, but {route.inner.name} is sold with {' or '.join(heads)}: "
                "it may pull out",
                f"choose an inner with a {nipple} nipple",
            )


def _pull(route: Route) -> Iterator[Finding]:
    """Return a finding where a brake gets another pull than it is made for."""
    pull, wanted = route.exit.pull, route.mover.pull_wanted
    if pull is None or wanted is None:
        return
    least, most = float(wanted - wanted.spread), float(wanted + wanted.spread)
    if pull < least:
        yield Finding(
            "stop",
            route.line.name,
            f"the lever draws {pull:g} mm of inner, but the {route.mover.name} wants {wanted:g}, {least:g} at least: "
            "the lever meets the grip before the brake is on",
            "fit a lever of longer pull, or a brake made for this one",
            float(pull),
            round(least, 2),
            "mm",
        )
    elif pull > most:
        yield Finding(
            "look",
            route.line.name,
            f"the lever draws {pull:g} mm of inner, but the {route.mover.name} wants {wanted:g}, {most:g} at most: "
            f"it gets some {wanted / pull:.0%} of the force it is made for",
            "fit a lever of shorter pull, or a brake made for this one",
            float(pull),
            round(most, 2),
            "mm",
        )


def _strength(route: Route, catalogue: Catalogue) -> Iterator[Finding]:
    """Return what an inner's breaking load is against its pull in the lever test.

    Notes
    -----
    Least breaking load K d² R over test force times advantage; the spread takes those of K, d, R and the advantage as
    independent. Nipple, anchor and lever are not judged.
    """
    if route.inner is None or route.exit.advantage is None:
        return
    forces, wire, advantage = catalogue.settings.force, route.inner, route.exit.advantage
    strand = catalogue.strand(wire.strand)
    load = breaking_load(float(wire.diameter), float(strand.breaking_factor), float(strand.grade))
    gain = float(advantage) * route.share
    factor = load / (float(forces.lever_test) * gain)
    rows = (strand.breaking_factor, strand.grade, advantage)
    spread = math.hypot(2 * wire.diameter.spread / wire.diameter, *(row.spread / row for row in rows))
    enough = factor >= 1
    yield Finding(
        "note" if enough else "look",
        route.line.name,
        f"the inner's breaking load is {factor:.2f} (± {factor * spread:.2f}) times its pull in the lever test of "
        f"{forces.lever_test:.0f} N, and {load / (float(forces.operating) * gain):.1f} times that at the "
        f"{forces.operating:.0f} N a hand is reckoned with"
        + ("" if enough else "; the lever may reach the grip first"),
        "renew it at the first broken wire" if enough else "ask the lever's maker; a thicker inner is stronger",
        round(factor, 2),
        1.0,
        "1",
    )
