"""Draw many bikes from the stated tolerances and write down how often the planned first cuts are too short.

Run from the tests folder: ``python -m convergence.first_cut_monte_carlo``; it takes some ten minutes a bike of the
fleet for 10,000 draws and writes ``first_cut_monte_carlo.csv`` beside itself.
"""

from __future__ import annotations

import argparse
import csv
from collections.abc import Iterator, Mapping
from dataclasses import astuple, dataclass, fields
from pathlib import Path

import numpy as np
from drawn_bikes import draw_lines, loop_lengths, piece_lengths, unconfirmed
from numpy.typing import NDArray

from ropewalk.bike.fleet import find
from ropewalk.bike.parts import catalogue
from ropewalk.bike.reading import read
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.plan import plan

TABLE = Path(__file__).with_suffix(".csv")
BIKES = ("touring", "hardtail", "road")
SEED = 20230
#: bikes drawn in one go
CHUNK = 500
#: loops followed again from straight ahead, the first so many of each chunk, and how far apart lengths may lie [mm]
FOLLOWED, APART = 50, 0.5


@dataclass(frozen=True)
class Result:
    """What drawn bikes say of one piece; lengths in mm, shares of the bikes drawn."""

    bike: str
    piece: str
    drawn: int
    first_cut: float
    planned_99: float
    planned_sigma: float
    drawn_mean: float
    drawn_sigma: float
    drawn_99: float
    too_short: float
    no_advised: float

    @property
    def apart(self) -> float:
        """How far the planned 99 % point lies from the drawn one [mm]."""
        return abs(self.planned_99 - self.drawn_99)

    @property
    def allowed(self) -> float:
        """How far it may lie [mm]."""
        return 0.5 * self.planned_sigma + 1.0


def results(bike: str, job: JobPlan, count: int, seed: int) -> tuple[list[Result], float]:
    """Return the results of a planned bike, and the share of followed loops that are not confirmed."""
    demand: dict[str, list[NDArray[np.float64]]] = {}
    kink_only: dict[str, list[NDArray[np.bool_]]] = {}
    followed = not_confirmed = 0
    for chunk, at in enumerate(range(0, count, CHUNK)):
        drawn = draw_lines(job, catalogue(), min(CHUNK, count - at), seed + chunk)
        loops = {key: loop_lengths(job, drawn, key) for key in job.loops}
        for key, (length, advised) in loops.items():
            few = slice(0, FOLLOWED)
            if job.loops[key].case.moves:
                followed += len(length[few])
                not_confirmed += len(unconfirmed(job, drawn[few], key, length[few], advised[few], APART))
        for tag, lengths in piece_lengths(job, drawn, {key: length for key, (length, _) in loops.items()}).items():
            demand.setdefault(tag, []).append(lengths)
        for tag, lost in _lost_advised(job, loops):
            kink_only.setdefault(tag, []).append(lost)
    found = [
        _result(bike, job, tag, np.concatenate(lengths), float(np.concatenate(kink_only[tag]).mean()))
        for tag, lengths in demand.items()
    ]
    return found, not_confirmed / max(followed, 1)


def _lost_advised(
    job: JobPlan, loops: Mapping[tuple[int, int], tuple[NDArray[np.float64], NDArray[np.bool_]]]
) -> Iterator[tuple[str, NDArray[np.bool_]]]:
    """Yield, by piece, on which drawn bikes a loop keeps its kink radius only although planned to keep the advised."""
    for place, line in enumerate(job.routing):
        for piece in line.route.pieces:
            own = [(place, span) for span in piece.spans if (place, span) in loops]
            lost = [~loops[key][1] & job.loops[key].keeps_advised for key in own]
            if lost:
                yield piece.tag, np.any(lost, axis=0)


def _result(bike: str, job: JobPlan, tag: str, lengths: NDArray[np.float64], no_advised: float) -> Result:
    piece = job.piece(tag)
    assert piece is not None and piece.first_cut is not None and piece.quantile is not None
    assert np.isfinite(lengths).all(), f"{bike}, {tag}: a drawn bike has no length that keeps the kink radius"
    return Result(
        bike,
        tag,
        len(lengths),
        piece.first_cut,
        round(piece.quantile, 2),
        round(piece.sigma, 2),
        round(float(lengths.mean()), 2),
        round(float(lengths.std()), 2),
        round(float(np.quantile(lengths, 0.99)), 2),
        round(float((lengths > piece.first_cut).mean()), 4),
        round(no_advised, 4),
    )


def read_table() -> list[Result]:
    """Return the kept results."""
    with TABLE.open(encoding="utf-8", newline="") as file:
        rows = csv.DictReader(line for line in file if not line.startswith("#"))
        kinds = {field.name: {"str": str, "int": int, "float": float}[str(field.type)] for field in fields(Result)}
        return [Result(**{name: kinds[name](value) for name, value in row.items()}) for row in rows]


def main() -> None:
    """Draw, and write the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--bikes", type=int, default=10_000, help="how many to draw of each bike of the fleet")
    parser.add_argument("--out", type=Path, default=TABLE, help="table to write")
    given = parser.parse_args()
    rows: list[Result] = []
    for bike in BIKES:
        found, not_confirmed = results(bike, plan(read(find(bike))), given.bikes, SEED)
        rows += found
        for row in found:
            print(row, f"{row.apart / row.allowed:.2f} of what is allowed", flush=True)
        print(f"{bike}: {not_confirmed:.2%} of the loops followed again not confirmed", flush=True)
    with given.out.open("w", encoding="utf-8", newline="") as file:
        file.write(f"# drawn from the stated tolerances with seed {SEED}; lengths in mm, shares of the bikes drawn\n")
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(field.name for field in fields(Result))
        writer.writerows(astuple(row) for row in rows)


if __name__ == "__main__":
    main()
