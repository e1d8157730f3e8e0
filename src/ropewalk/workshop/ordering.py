"""What to buy for one bike or several: one row an item, counted and measured, for a spreadsheet."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from ropewalk.workshop.jobplan import InnerPlan, JobPlan, LinePlan
from ropewalk.workshop.report import guarded
from ropewalk.workshop.splitting import seat_of

#: columns of the spreadsheet
COLUMNS = ("item", "kind", "count", "length_mm", "total_mm", "for")
#: what is bought, in the order of the rows
ITEMS = (
    "housing", "housing under a stop", "inner", "inner longer than any in stock", "liner", "sleeve", "guide liner",
    "end of housing", "part in the housing", "end cap of inner",
)  # fmt: skip


@dataclass(slots=True)
class _Gathered:
    """What was gathered of one item: how many, how long together [mm], and for which bikes and pieces."""

    count: int = 0
    total: float = 0.0
    uses: dict[str, list[str]] = field(default_factory=dict)

    def add(self, bike: str, use: str, length: float = 0.0, count: int = 1) -> None:
        self.count += count
        self.total += length
        used = self.uses.setdefault(bike, [])
        if use not in used:
            used.append(use)


@dataclass(frozen=True, slots=True)
class Wanted:
    """One item to buy.

    Attributes
    ----------
    item, kind : str
        What it is, one of `ITEMS`, and which.
    count : int
        How many pieces.
    length : float or None
        Length of each, where it is sold by the piece [mm].
    total : float or None
        Length of all together, for what is cut off a reel with what each cut takes [mm].
    uses : str
        Bikes, and what of each it is for.
    """

    item: str
    kind: str
    count: int
    length: float | None
    total: float | None
    uses: str


def to_buy(jobs: Sequence[JobPlan]) -> tuple[Wanted, ...]:
    """Return what to buy for bikes together.

    Parameters
    ----------
    jobs : sequence of JobPlan
        The bikes; one that stands there twice is bought for twice.

    Notes
    -----
    Housing: the first cuts, and what squaring both ends of each takes. How it comes off reels is not worked out: add
    what is left over at their ends. Pieces under a stop have no first cut; they stand apart, at their targets. A guide
    liner serves line after line and bike after bike: of each kind one is wanted, the longest. Ends in the seats of a
    part in the housing need nothing of their own.
    """
    found: dict[tuple[str, str, float | None], _Gathered] = {}
    guides: dict[str, tuple[float, str, str]] = {}
    for number, job in enumerate(jobs):
        bike = _called(jobs, number)
        squared = 2.0 * float(job.catalogue.settings.cut.squaring)
        for line in job.lines:
            for key, use, length, count in (*_housing(line, squared), *_wires(line), *_small_parts(line)):
                found.setdefault(key, _Gathered()).add(bike, use, length, count)
            for liner in line.liners:
                if liner.use == "guide" and liner.cut > guides.get(liner.kind, (0.0,))[0]:
                    guides[liner.kind] = (liner.cut, bike, line.name)
    rows = [_row(*key, gathered, several=len(jobs) > 1) for key, gathered in found.items()]
    for kind, (cut, bike, line_name) in guides.items():
        gathered = _Gathered()
        gathered.add(bike, line_name, cut)
        rows.append(_row("guide liner", kind, None, gathered, several=len(jobs) > 1))
    return tuple(sorted(rows, key=lambda row: (ITEMS.index(row.item), row.kind, row.length or 0.0)))


def as_order_csv(jobs: Sequence[JobPlan]) -> str:
    """Return what to buy for bikes as rows for a spreadsheet: dot decimals, LF line ends.

    A cell that a spreadsheet would take for a formula gets an apostrophe before it.
    """
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, lineterminator="\n")
    writer.writeheader()
    for row in to_buy(jobs):
        cells = (row.item, row.kind, row.count, _tenth(row.length), _tenth(row.total), row.uses)
        safe = guarded(dict(zip(COLUMNS, cells, strict=True)))
        writer.writerow({name: _unbroken(cell) for name, cell in safe.items()})
    return out.getvalue()


def _unbroken(cell: object) -> object:
    """Return a cell without ends of lines, which not every spreadsheet keeps inside a cell."""
    return cell.replace("\r", " ").replace("\n", " ") if isinstance(cell, str) else cell


_Entry = tuple[tuple[str, str, float | None], str, float, int]


def _housing(line: LinePlan, squared: float) -> Iterator[_Entry]:
    taken = {seat_of(inline.part) for inline in line.inlines}
    for piece in line.pieces:
        item = "housing" if piece.first_cut is not None else "housing under a stop"
        length = piece.target if piece.first_cut is None else piece.first_cut
        yield (item, piece.housing, None), piece.tag, length + squared, 1
        for end in piece.ends:
            if end not in taken:
                yield ("end of housing", end, None), piece.tag, 0.0, 1
    for inline in line.inlines:
        yield ("part in the housing", inline.part, None), line.name, 0.0, 1


def _wires(line: LinePlan) -> Iterator[_Entry]:
    for inner in line.inners:
        yield _inner(inner), line.name, 0.0, 1
    for liner in line.liners:
        if liner.use != "guide":
            yield (liner.use, liner.kind, None), line.name, liner.cut, 1


def _inner(inner: InnerPlan) -> tuple[str, str, float | None]:
    if inner.stock is None:
        # not to be had by the piece: told with the length it has to have
        return "inner longer than any in stock", inner.kind, float(-(-inner.need // 10.0) * 10.0)
    return "inner", inner.kind, inner.stock


def _small_parts(line: LinePlan) -> Iterator[_Entry]:
    if line.inner is not None:
        yield ("end cap of inner", "", None), line.name, 0.0, 1


def _row(item: str, kind: str, length: float | None, gathered: _Gathered, *, several: bool) -> Wanted:
    told = []
    for bike, uses in gathered.uses.items():
        shown = ", ".join(uses)
        told.append(f"{bike}: {shown}" if several else shown)
    return Wanted(item, kind, gathered.count, length, gathered.total or None, "; ".join(told))


def _called(jobs: Sequence[JobPlan], number: int) -> str:
    """Return what a bike is called here: by its name, and by its place where several have that."""
    name = jobs[number].bike
    same = [place for place, job in enumerate(jobs) if job.bike == name]
    return name if len(same) == 1 else f"{name} ({same.index(number) + 1})"


def _tenth(length: float | None) -> float | str:
    return "" if length is None else round(float(length), 1) + 0.0
