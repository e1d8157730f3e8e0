"""The order of work: what comes first, what last, what goes over the old inner before it is pulled."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ropewalk.bike.wording import listed
from ropewalk.routing.lines import Route
from ropewalk.workshop import words
from ropewalk.workshop.cuttingorder import cutting_order
from ropewalk.workshop.jobplan import InlinePlan, InnerPlan, JobPlan, LinerPlan, PiecePlan, SettingPlan, Step

#: what is done after what, on every line and on the whole bike
PHASES = (
    "leave", "guide", "clear", "cut", "parts", "feed", "draw", "line", "dry fit", "lock test", "set", "pull", "check",
    "trim",
)  # fmt: skip
_LOCK_TEST = "Turn the bars from lock to lock: nothing may pull, kink or rub"
_CUT = "Cut to the first cuts in this order, the longest of a kind of housing first"
_DRY_FIT = "Fit everything dry, every end home in its seat"


def order_of_work(
    route: Route,
    pieces: Sequence[PiecePlan],
    inners: Sequence[InnerPlan],
    liners: Sequence[LinerPlan],
    inlines: Sequence[InlinePlan],
    setting: SettingPlan | None,
) -> tuple[Step, ...]:
    """Return the order of work on a line.

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


def order_of_bike(job: JobPlan, *, named_only: bool = False) -> tuple[str, ...]:
    """Return the order of work on a whole bike, one sentence a step.

    Parameters
    ----------
    job : JobPlan
    named_only : bool
        Whether lines are only named in a step, where the cut list beside it says what goes on each.

    Notes
    -----
    What is done alike on several lines is one step that names them, unless it is done on every line. Lengths stand in
    the cut list: pieces are cut to their first cuts, the longest first, and trimmed to their targets.
    """
    told: list[str] = []
    for phase in PHASES:
        steps = [(line.name, step) for line in job.lines for step in line.steps if step.phase == phase]
        for lead in dict.fromkeys(step.lead for _, step in steps):
            if phase == "cut":
                told += _cut_of_bike(job, lead)
                continue
            own = [(name, "" if named_only else step.own) for name, step in steps if step.lead == lead]
            told.append(_merged(lead, own, len(job.lines)))
    return tuple(told)


def _cut_of_bike(job: JobPlan, lead: str) -> Iterator[str]:
    """Return how the pieces of all lines that are cut alike are cut, in their order."""
    alike = [piece for line in job.lines if any(step.lead == lead for step in line.steps) for piece in line.pieces]
    tags = [piece.tag for piece in cutting_order(job) if piece in alike]
    yield lead.replace(_CUT, f"{_CUT}: {', '.join(tags)}") + "."


def _merged(lead: str, own: Sequence[tuple[str, str]], lines: int) -> str:
    names = list(dict.fromkeys(name for name, _ in own))
    if any(what for _, what in own):
        return f"{lead}: {'; '.join(f'{name}, {what}' for name, what in own)}."
    alike = "" if len(names) == lines else f" ({listed(names, last='and')})"
    return f"{lead}{alike}."


def _hose(route: Route, pieces: Sequence[PiecePlan], liners: Sequence[LinerPlan]) -> Iterator[Step]:
    inside = "; ".join(words.way(*ends) for ends in _inside(route))
    if inside:
        yield _alike("leave", "Leave the old hose in, if one is in: it leads the new one")
    yield _cut(pieces, "square and clean the ends")
    for liner in liners:
        cut, lies = words.millimetres(liner.cut), f"it lies {words.way(liner.start, liner.end)}"
        lead = f"Slip the {liner.kind} over the hose"
        yield Step("parts", f"Slip the {liner.kind} of {cut} over the hose: {lies}.", lead, f"{cut}, {lies}")
    if inside:
        yield _of_line("feed", "Join new hose to old end to end and draw it through", inside)
    yield _dry_fit(pieces)
    yield _alike("lock test", _LOCK_TEST)
    yield _alike("set", "Shorten it to its last length, fit barb and olive, fill and bleed")
    yield _alike("pull", "Pull the lever hard, standing still, and look for wet joints")


def _wire(
    route: Route,
    pieces: Sequence[PiecePlan],
    inners: Sequence[InnerPlan],
    liners: Sequence[LinerPlan],
    inlines: Sequence[InlinePlan],
    setting: SettingPlan | None,
) -> Iterator[Step]:
    guides = [liner for liner in liners if liner.use == "guide"]
    yield from _clear(guides)
    if pieces:
        yield _cut(pieces, "square the ends and open the bore")
    for inline in inlines:
        turned = ", screwed in but for a turn" if inline.travel is not None else ""
        between = f"between {inline.before} and {inline.after}{turned}"
        yield Step("parts", f"Fit the {inline.part} {between}.", f"Fit the {inline.part}", between)
    yield from _feed(route, liners, inlines)
    yield _draw(route, inners, inlines)
    yield from _lay_liners(liners)
    if pieces:
        yield _dry_fit(pieces)
    yield _alike("lock test", _LOCK_TEST)
    if setting is not None:
        length = words.setting(setting)
        yield Step("set", f"Clamp the inner at its {length}.", "Clamp the inner", f"at its {length}")
    yield _static_pull(route)
    if setting is not None:
        yield _of_line("check", "Measure the setting length again", f"{setting.length:g} mm")
    tails = listed((f"{inner.tail:.0f} mm past its anchor" for inner in inners if inner.tail), last="and")
    yield _alike("trim", f"Last of all trim the inner to {tails} and cap it")


def _clear(guides: Sequence[LinerPlan]) -> Iterator[Step]:
    """Return how the old inner leaves: where it leads a guide through, not before that is in."""
    if not guides:
        yield _alike("clear", "Undo the anchor, pull the old inner out and take the housing off")
        return
    leave = "If an old inner is in, leave it in: undo its anchor, cut off its cap and draw the old housing off it"
    yield _alike("leave", leave)
    for guide in guides:
        cut, way = words.millimetres(guide.cut), words.way(guide.start, guide.end)
        out = f"until it stands out {words.millimetres(guide.out[0])} at both ends"
        text = f"Slide a guide liner of {cut} over the old inner, {way}, {out}."
        lead = f"Slide a guide liner over the old inner before that is pulled, {out}"
        yield Step("guide", text, lead, f"{cut}, {way}")
    yield _alike("clear", "Pull the old inner out")


def _feed(route: Route, liners: Sequence[LinerPlan], inlines: Sequence[InlinePlan]) -> Iterator[Step]:
    """Return how housing and sleeves go into the frame, span by span."""
    guided = {(liner.start, liner.end) for liner in liners if liner.use == "guide"}
    sleeves = {(liner.start, liner.end): liner for liner in liners if liner.use == "sleeve"}
    for place, span in enumerate(route.spans):
        if span.kind != "inside" or not span.covered:
            continue
        ends = route.line.station[span.start].name, route.line.station[span.end].name
        over = listed(_tags_at(route, place, inlines), last="and")
        sleeve = sleeves.get(ends)
        clad = f", its {sleeve.kind} of {words.millimetres(sleeve.cut)} over it" if sleeve is not None else ""
        told = f"{over}{clad}, {words.way(*ends)}"
        pushed = f"{over}{clad}{',' if clad else ''} in over"
        if ends in guided:
            through = "Run a wire through the guide liner, draw the guide off and push"
            text = f"{through} {pushed} the wire, {words.way(*ends)}."
            yield Step("feed", text, f"{through} the housing in over the wire", told)
        else:
            text = f"Push {pushed} the old inner or a wire, {words.way(*ends)}."
            yield Step("feed", text, "Push the housing in over the old inner or a wire", told)


def _lay_liners(liners: Sequence[LinerPlan]) -> Iterator[Step]:
    """Return how the liners of bare inner go in: over the new inner, which the guides have led through."""
    for liner in liners:
        if liner.use == "liner":
            ends = zip((liner.start, liner.end), liner.out, strict=True)
            out = listed((f"{words.millimetres(by)} at {name}" for name, by in ends if by > 0), last="and")
            lies = words.way(liner.start, liner.end) + (f"; it stands out {out}" if any(liner.out) else "")
            lead = f"Draw the guide off the new inner's free end and slip the {liner.kind} on"
            cut = words.millimetres(liner.cut)
            yield Step("line", f"{lead.removesuffix(' on')} of {cut} on, {lies}.", lead, f"{cut}, {lies}")


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


def _alike(phase: str, said: str) -> Step:
    """Return a step that is the same on every line that has it."""
    return Step(phase, f"{said}.", said)


def _of_line(phase: str, lead: str, own: str) -> Step:
    return Step(phase, f"{lead}: {own}.", lead, own)


def _cut(pieces: Sequence[PiecePlan], ends: str) -> Step:
    held = [piece.tag for piece in pieces if piece.first_cut is None]
    if held:
        return _alike("cut", f"Do not cut {listed(held, last='or')} before the findings are settled")
    cuts = listed((f"{piece.tag} to {words.first_cut(piece)}" for piece in pieces), last="and")
    lead = f"{_CUT}; {ends}"
    return Step("cut", f"Cut {cuts}; {ends}.", lead)


def _draw(route: Route, inners: Sequence[InnerPlan], inlines: Sequence[InlinePlan]) -> Step:
    lever, end = route.line.station[0].name, route.line.station[-1].name
    if len(inners) == 2:
        joint = next(inline.part for inline in inlines if inline.splits)
        return _alike(
            "draw",
            f"Draw the upper inner from {lever} into the {joint} and the lower one from there to {end}; cut both "
            f"square in the {joint} and clamp them",
        )
    source = f"from {end if route.exit.end == 'anchor' else lever}"
    return Step("draw", f"Draw the new inner in {source}.", "Draw the new inner in", source)


def _dry_fit(pieces: Sequence[PiecePlan]) -> Step:
    surplus = [piece for piece in pieces if piece.first_cut is None or round(piece.first_cut - piece.target) > 0]
    if not surplus:
        return _alike("dry fit", _DRY_FIT)
    targets = listed((f"{piece.tag} to {words.millimetres(piece.target)}" for piece in surplus), last="and")
    text = f"{_DRY_FIT}; trim {targets} where it hangs well."
    return Step("dry fit", text, f"{_DRY_FIT}; trim each piece to its target where it hangs well")


def _static_pull(route: Route) -> Step:
    if route.line.work == "brake":
        return _alike(
            "pull", "Pull the lever hard, standing still, several times: the joints settle, the anchor must hold"
        )
    return _alike("pull", "Pull the inner hard several times, so that the joints settle; set it again")
