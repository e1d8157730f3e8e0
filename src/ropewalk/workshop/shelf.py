"""What to pick from the shelf for a job, counted."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from ropewalk.workshop.jobplan import InnerPlan, LinePlan, Part
from ropewalk.workshop.splitting import seat_of


def count_parts(lines: Sequence[LinePlan]) -> Iterator[Part]:
    """Count what to pick from the shelf: metres, ends, parts in the place of housing, inners.

    Parameters
    ----------
    lines : sequence of LinePlan

    Notes
    -----
    A guide liner serves line after line: of each kind the longest is counted. Ends in the seats of a part in the place
    of housing need nothing of their own.
    """
    metres: Counter[str] = Counter()
    guides: dict[str, float] = {}
    ends: Counter[str] = Counter()
    inners: Counter[str] = Counter()
    for line in lines:
        taken = {seat_of(inline.part) for inline in line.inlines}
        for piece in line.pieces:
            metres[piece.housing] += round(piece.first_cut or piece.target)
            ends.update(end for end in piece.ends if end not in taken)
        ends.update(inline.part for inline in line.inlines)
        for liner in line.liners:
            if liner.use == "guide":
                guides[liner.kind] = max(guides.get(liner.kind, 0.0), liner.cut)
            else:
                metres[liner.kind] += round(liner.cut)
        inners.update(_inner_item(inner) for inner in line.inners)
    yield from (Part(f"{name}, metres begun", -(-length // 1000)) for name, length in metres.items())
    yield from (Part(f"{name} as guide liner, metres begun", -(-round(cut) // 1000)) for name, cut in guides.items())
    yield from (Part(name, count) for name, count in ends.items())
    yield from (Part(name, count) for name, count in inners.items())
    if inners:
        yield Part("end cap for inner", sum(line.inner is not None for line in lines))


def _inner_item(inner: InnerPlan) -> str:
    if inner.stock is None:
        return f"inner {inner.kind}, over {inner.need:.0f} mm"
    return f"inner {inner.kind} × {inner.stock:.0f} mm"
