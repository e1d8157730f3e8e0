"""Names in one row of the catalogue that lead to no other row."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from ropewalk.bike.wording import listed, nearest, shortened

if TYPE_CHECKING:
    from ropewalk.bike.parts import Catalogue

#: kind of part and name of a row, and what is wrong with it
Complaint = tuple[str, str, str]


def dangling(found: Catalogue) -> Iterator[Complaint]:
    """Yield a complaint for every name that leads nowhere, and every housing without exactly one ferrule.

    Parameters
    ----------
    found : Catalogue
        The whole catalogue.

    Yields
    ------
    tuple of str
        Kind and name of the row, and what is wrong with it and what to do.
    """
    yield from _lost_names(found)
    yield from _ferrules(found)
    yield from _nipples(found)


def _lost_names(found: Catalogue) -> Iterator[Complaint]:
    pairs = found.friction_pairs
    for kind, name, field, wanted, among in [
        *(("housing", row.name, "contact", row.contact, pairs) for row in found.housings.values()),
        *(("housing", row.name, "ferrule", row.ferrule, found.ferrules) for row in found.housings.values()),
        *(("inner", row.name, "strand", row.strand, found.strands) for row in found.inners.values()),
        *(("liner", row.name, "contact", row.contact, pairs) for row in found.liners.values()),
        *(("formed", row.name, "contact", row.contact, pairs) for row in found.formed.values()),
        *(("inline", row.name, "contact", row.contact, pairs) for row in found.inlines.values()),
        *(("mover", row.name, "anchor_contact", row.anchor_contact, pairs) for row in found.movers.values()),
        *(("mover", row.name, "formed", row.formed, found.formed) for row in found.movers.values()),
    ]:
        if wanted is not None and wanted not in among:
            yield kind, name, f"{field}: {_lost(wanted, among)}"


def _lost(wanted: str, among: Mapping[str, object]) -> str:
    near = nearest(wanted, among)
    hint = f'did you mean "{near}"?' if near else "it holds " + listed([f'"{known}"' for known in among], "and")
    return f'"{shortened(wanted)}" is not in the catalogue: {hint}'


def _ferrules(found: Catalogue) -> Iterator[Complaint]:
    """Yield complaints about housings that no ferrule ends, or more than one."""
    ends: dict[str, str] = {name: row.ferrule for name, row in found.housings.items() if row.ferrule is not None}
    for ferrule in found.ferrules.values():
        for housing in ferrule.housings:
            if housing not in found.housings:
                yield "ferrule", ferrule.name, f"housings: {_lost(housing, found.housings)}"
            elif housing in ends:
                already = f'"{shortened(housing)}" ends in "{shortened(ends[housing])}" already'
                yield (
                    "ferrule",
                    ferrule.name,
                    f"housings: {already}: name it once, or give the housing a name of its own",
                )
            ends.setdefault(housing, ferrule.name)
    for housing in found.housings:
        if housing not in ends:
            yield "housing", housing, "ferrule: is missing: no ferrule names this housing, so say here what ends it"


def _nipples(found: Catalogue) -> Iterator[Complaint]:
    """Yield complaints about what takes a nipple that no inner for its work is sold with."""
    heads = {(work, head) for inner in found.inners.values() for work in inner.work for head in inner.heads}
    holders = [
        *(
            ("lever", lever.name, f"exit.{work}.nipple", work, leaving.nipple)
            for lever in found.levers.values()
            for work, leaving in lever.exits.items()
        ),
        *(("mover", mover.name, "nipple", mover.work, mover.nipple) for mover in found.movers.values()),
    ]
    for kind, name, field, work, nipple in holders:
        if nipple is not None and (work, nipple) not in heads:
            yield kind, name, f'{field}: no inner for {work} has a "{nipple}" end: correct it, or add such an inner'
