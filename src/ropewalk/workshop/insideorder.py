"""In which order things are threaded through the inside of a frame, way by way."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from ropewalk.analysis.insideruns import InsideRun
from ropewalk.bike.parts import Catalogue
from ropewalk.workshop import words
from ropewalk.workshop.jobplan import LinerPlan

_BARE_FRAME = "In a bare frame draw a thread in first, by air or magnet."


def threading_order(run: InsideRun, liners: Sequence[LinerPlan], catalogue: Catalogue) -> tuple[str, ...]:
    """Return the order of work on one way inside, one sentence a step; nothing where no way leads through.

    Parameters
    ----------
    run : InsideRun
    liners : sequence of LinerPlan
        Guide liner, liner and sleeve of its line, as in the cut list.
    catalogue : Catalogue

    Notes
    -----
    Something is in the tubes at every moment: the old inner leads the guide liner, the guide leads what follows. A
    guide that is too thick for the housing's bore is drawn off over a wire first, and that wire leads the housing.
    """
    if not run.reached:
        return ()
    own: dict[str, LinerPlan] = {
        liner.use: liner for liner in liners if (liner.start, liner.end) == (run.start, run.end)
    }
    if run.carries == "hose":
        return tuple(_hose(run, own.get("sleeve")))
    return (*_guide(run, own.get("guide")), *_after_guide(run, own, catalogue))


def _hose(run: InsideRun, sleeve: LinerPlan | None) -> Iterator[str]:
    yield f"Leave the old hose in: drain it and cut off its end. {_BARE_FRAME}"
    yield "Join the new hose to the old one, or to the thread, end to end and no thicker than the hose."
    if sleeve is not None:
        yield _slip_on(sleeve, "hose")
    yield f"Draw it in, {words.way(run.start, run.end)}, until it stands out; then cut off the joint."


def _guide(run: InsideRun, guide: LinerPlan | None) -> Iterator[str]:
    covers = " and draw the old housing off it" if run.carries == "housing" else ""
    yield (f"Leave the old inner in: undo its anchor, cut off its cap{covers}. {_BARE_FRAME}")
    if guide is not None:
        yield (
            f"Before the old inner is pulled slide the guide liner over it, {words.way(run.start, run.end)}: "
            f"{guide.kind}, {words.millimetres(guide.cut)}, so that it stands out "
            f"{words.millimetres(min(guide.out))} at both ends. Then pull the old inner."
        )


def _after_guide(run: InsideRun, own: Mapping[str, LinerPlan], catalogue: Catalogue) -> Iterator[str]:
    guide, liner, sleeve = own.get("guide"), own.get("liner"), own.get("sleeve")
    if run.carries == "liner":
        yield from _liner(run, guide, liner)
        return
    leader = "old inner"
    if guide is not None:
        leader = "guide"
        if catalogue.liner(guide.kind).outside > run.passing.bore:
            leader = "wire"
            yield f"Push a wire through the guide and draw the guide off over it: it is too thick for {_bore(run)}."
    if sleeve is not None:
        yield _slip_on(sleeve, "housing")
    yield (
        f"Slide the housing over the {leader} and in, {words.way(run.start, run.end)}, until it stands out; "
        f"pull the {leader}, then draw the new inner in."
    )


def _liner(run: InsideRun, guide: LinerPlan | None, liner: LinerPlan | None) -> Iterator[str]:
    if liner is None:
        return
    stays = guide is not None and guide.kind == liner.kind
    if not stays:
        yield f"Slide the liner in along it, {words.way(run.start, run.end)}: {liner.kind}."
    held = [name for name, out in zip((run.start, run.end), liner.out, strict=True) if out > 0.0]
    ends = f", standing out a little at {' and '.join(held)}" if held else ""
    what = "The guide stays in as the liner: trim" if stays else "Trim"
    yield f"{what} it to {words.millimetres(liner.cut)}{ends}; then draw the new inner in through it."


def _slip_on(sleeve: LinerPlan, what: str) -> str:
    return f"Slip the {sleeve.kind} of {words.millimetres(sleeve.cut)} over the {what}: it goes in with it."


def _bore(run: InsideRun) -> str:
    return f"the {run.passing.bore:g} mm bore of {run.passing.name}"
