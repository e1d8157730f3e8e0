"""The order of work on one line: what comes first, what last, what goes over the old inner before it is pulled."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ropewalk.bike.wording import listed
from ropewalk.routing.lines import Route
from ropewalk.workshop import words
from ropewalk.workshop.jobplan import InlinePlan, InnerPlan, LinerPlan, PiecePlan, SettingPlan


def order_of_work(
    route: Route,
    pieces: Sequence[PiecePlan],
    inners: Sequence[InnerPlan],
    liners: Sequence[LinerPlan],
    inlines: Sequence[InlinePlan],
    setting: SettingPlan | None,
) -> tuple[str, ...]:
    """Return the order of work on a line, one sentence a step.

    Parameters
    ----------
    route : Route
    pieces : sequence of PiecePlan
    inners : sequence of InnerPlan
        None for a hose.
    liners : sequence of LinerPlan
    inlines : sequence of InlinePlan
    setting : SettingPlan or None

    Notes
    -----
    The old inner leads everything inside the frame, so it leaves last but for the guide liner; the new one is trimmed
    last of all, as only then every length is known.
    """
    if not inners:
        return tuple(_hose(route, pieces, liners))
    return tuple(_wire(route, pieces, inners, liners, inlines, setting))


def _hose(route: Route, pieces: Sequence[PiecePlan], liners: Sequence[LinerPlan]) -> Iterator[str]:
    inside = [words.way(*ends) for ends in _inside(route)]
    if inside:
        yield "Leave the old hose in, if one is in: it leads the new one."
    yield _cut(pieces, "square and clean the ends")
    for liner in liners:
        lies = words.way(liner.start, liner.end)
        yield f"Slip the {liner.kind} of {words.millimetres(liner.cut)} over the hose: it lies {lies}."
    if inside:
        yield f"Join new hose to old end to end and draw it through: {'; '.join(inside)}."
    yield _dry_fit(pieces)
    yield _LOCK_TEST
    yield "Shorten it to its last length, fit barb and olive, fill and bleed."
    yield "Pull the lever hard, standing still, and look for wet joints."


_LOCK_TEST = "Turn the bars from lock to lock: nothing may pull, kink or rub."


def _wire(
    route: Route,
    pieces: Sequence[PiecePlan],
    inners: Sequence[InnerPlan],
    liners: Sequence[LinerPlan],
    inlines: Sequence[InlinePlan],
    setting: SettingPlan | None,
) -> Iterator[str]:
    guides = [liner for liner in liners if liner.use == "guide"]
    if guides:
        yield "If an old inner is in, leave it in: undo its anchor, cut off its cap and draw the old housing off it."
    for guide in guides:
        yield (
            f"Slide a guide liner of {words.millimetres(guide.cut)} over the old inner, "
            f"{words.way(guide.start, guide.end)}, until it stands out {words.millimetres(guide.out[0])} at both ends."
        )
    yield "Pull the old inner out." if guides else "Undo the anchor, pull the old inner out and take the housing off."
    if pieces:
        yield _cut(pieces, "square the ends and open the bore")
    for inline in inlines:
        turned = ", screwed in but for a turn" if inline.travel is not None else ""
        yield f"Fit the {inline.part} between {inline.before} and {inline.after}{turned}."
    yield from _feed(route, liners, inlines)
    yield _draw(route, inners, inlines)
    yield from _lay_liners(liners)
    if pieces:
        yield _dry_fit(pieces)
    yield _LOCK_TEST
    if setting is not None:
        yield f"Clamp the inner at its {words.setting(setting)}."
    yield _static_pull(route)
    if setting is not None:
        yield f"Measure the setting length again: {setting.length:g} mm."
    tails = [f"{inner.tail:.0f} mm past its anchor" for inner in inners if inner.tail]
    yield f"Last of all trim the inner to {listed(tails, last='and')} and cap it."


def _feed(route: Route, liners: Sequence[LinerPlan], inlines: Sequence[InlinePlan]) -> Iterator[str]:
    """Return how housing and sleeves go into the frame, span by span."""
    guided = {(liner.start, liner.end) for liner in liners if liner.use == "guide"}
    sleeves = {(liner.start, liner.end): liner for liner in liners if liner.use == "sleeve"}
    for place, span in enumerate(route.spans):
        if span.kind != "inside" or not span.covered:
            continue
        ends = route.line.station[span.start].name, route.line.station[span.end].name
        over = listed(_tags_at(route, place, inlines), last="and")
        sleeve = sleeves.get(ends)
        clad = f", its {sleeve.kind} of {words.millimetres(sleeve.cut)} over it," if sleeve is not None else ""
        if ends in guided:
            through = "Run a wire through the guide liner, draw the guide off"
            yield f"{through} and push {over}{clad} in over the wire, {words.way(*ends)}."
        else:
            yield f"Push {over}{clad} in over the old inner or a wire, {words.way(*ends)}."


def _lay_liners(liners: Sequence[LinerPlan]) -> Iterator[str]:
    """Return how the liners of bare inner go in: over the new inner, which the guides have led through."""
    for liner in liners:
        if liner.use == "liner":
            lies = words.way(liner.start, liner.end)
            ends = zip((liner.start, liner.end), liner.out, strict=True)
            out = listed((f"{words.millimetres(by)} at {name}" for name, by in ends if by > 0), last="and")
            stands = f"; it stands out {out}" if any(liner.out) else ""
            cut = words.millimetres(liner.cut)
            yield f"Draw the guide off the new inner's free end and slip the {liner.kind} of {cut} on, {lies}{stands}."


def _tags_at(route: Route, place: int, inlines: Sequence[InlinePlan]) -> list[str]:
    """Return the tags of the housing in a span: two where a part lies in it."""
    run = next(piece for piece in route.pieces if place in piece.spans)
    part = next((inline for inline in inlines if inline.before == run.tag), None)
    if part is None:
        return [run.tag]
    return [*([part.before] if place <= part.span else []), *([part.after] if place >= part.span else [])]


def _inside(route: Route) -> list[tuple[str, str]]:
    stations = route.line.station
    return [(stations[span.start].name, stations[span.end].name) for span in route.spans if span.kind == "inside"]


def _cut(pieces: Sequence[PiecePlan], ends: str) -> str:
    cuts = listed((f"{piece.tag} to {words.first_cut(piece)}" for piece in pieces if piece.first_cut), last="and")
    held = [piece.tag for piece in pieces if piece.first_cut is None]
    if held:
        return f"Do not cut {listed(held, last='or')} before the findings are settled."
    return f"Cut {cuts}; {ends}."


def _draw(route: Route, inners: Sequence[InnerPlan], inlines: Sequence[InlinePlan]) -> str:
    lever, end = route.line.station[0].name, route.line.station[-1].name
    if len(inners) == 2:
        joint = next(inline.part for inline in inlines if inline.splits)
        return (
            f"Draw the upper inner from {lever} into the {joint} and the lower one from there to {end}; cut both "
            f"square in the {joint} and clamp them."
        )
    source = end if route.exit.end == "anchor" else lever
    return f"Draw the new inner in from {source}."


def _dry_fit(pieces: Sequence[PiecePlan]) -> str:
    surplus = [piece for piece in pieces if piece.first_cut is None or round(piece.first_cut - piece.target) > 0]
    if not surplus:
        return "Fit everything dry, every end home in its seat."
    targets = listed((f"{piece.tag} to {words.millimetres(piece.target)}" for piece in surplus), last="and")
    return f"Fit everything dry, every end home in its seat; trim {targets} where it hangs well."


def _static_pull(route: Route) -> str:
    if route.line.work == "brake":
        return "Pull the lever hard, standing still, several times: the joints settle, the anchor must hold."
    return "Pull the inner hard several times, so that the joints settle; set it again."
