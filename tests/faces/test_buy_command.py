"""What to buy: the same lengths and counts as the cut list's, summed over bikes, and no formula in any cell."""

from __future__ import annotations

import csv
import dataclasses
import io
import math
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest
from commands import printed, refused_with
from planned import FLEET, planned

from ropewalk.cli.main import main
from ropewalk.workshop.jobplan import JobPlan
from ropewalk.workshop.ordering import as_order_csv, to_buy
from ropewalk.workshop.report import as_json_object

COMMAND = Path(sys.executable).with_name("ropewalk")


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def counted(text: str, *items: str) -> Counter[str]:
    found: Counter[str] = Counter()
    for row in rows(text):
        if row["item"] in items:
            found[row["kind"] + (f" × {float(row['length_mm']):.0f} mm" if row["length_mm"] else "")] += int(
                row["count"]
            )
    return found


@pytest.mark.parametrize("name", FLEET)
def test_it_buys_what_the_cut_list_asks_for(name: str) -> None:
    """The JSON object and its parts are made elsewhere; what squaring takes, 4 mm an end, is told in settings.toml."""
    job = planned(name)
    bought, told = as_order_csv([job]), as_json_object(job)
    cuts: dict[str, list[float]] = {}
    for line in told["lines"]:
        for piece in line["pieces"]:
            cuts.setdefault(piece["housing"], []).append(piece["first_cut_mm"])
    housing = {row["kind"]: row for row in rows(bought) if row["item"] == "housing"}
    assert set(housing) == set(cuts)
    for kind, lengths in cuts.items():
        assert int(housing[kind]["count"]) == len(lengths)
        assert float(housing[kind]["total_mm"]) == pytest.approx(sum(lengths) + 8.0 * len(lengths), abs=0.1)
    parts = {part["item"]: part["count"] for part in told["parts"]}
    small = {item: count for item, count in parts.items() if not item.endswith("metres begun")}
    caps = small.pop("end cap for inner", 0)
    inners = {item.removeprefix("inner "): small.pop(item) for item in list(small) if item.startswith("inner ")}
    assert counted(bought, "end of housing", "part in the housing") == small
    assert counted(bought, "inner") == inners
    assert sum(counted(bought, "end cap of inner").values()) == caps
    for item in ("liner", "sleeve", "guide liner"):
        for row in rows(bought):
            if row["item"] == item:
                as_told = f"{row['kind']}{' as guide liner' if item == 'guide liner' else ''}, metres begun"
                assert math.ceil(float(row["total_mm"]) / 1000.0) == parts[as_told]


def test_several_bikes_are_bought_for_together() -> None:
    names = ("touring", "road", "road", "trail")
    together = as_order_csv([planned(name) for name in names])
    apart = [as_order_csv([planned(name)]) for name in names]
    items = ("housing", "inner", "liner", "sleeve", "end of housing", "part in the housing", "end cap of inner")
    for item in items:
        assert counted(together, item) == sum((counted(one, item) for one in apart), Counter())
    totals: Counter[str] = Counter()
    for one in apart:
        totals.update({row["kind"]: float(row["total_mm"]) for row in rows(one) if row["item"] == "housing"})
    housing = {row["kind"]: row for row in rows(together) if row["item"] == "housing"}
    assert {kind: float(row["total_mm"]) for kind, row in housing.items()} == pytest.approx(dict(totals))
    assert "Lighthouse road (1): A1, B1; Lighthouse road (2): A1, B1" in housing["spiral brake 5.0"]["for"]
    # One guide liner of a kind leads wires through every frame: the longest.
    longest = max(
        float(row["total_mm"])
        for one in apart
        for row in rows(one)
        if (row["item"], row["kind"]) == ("guide liner", "shift liner")
    )
    guide = [row for row in rows(together) if (row["item"], row["kind"]) == ("guide liner", "shift liner")]
    assert [(row["count"], float(row["total_mm"])) for row in guide] == [("1", longest)]


def changed(job: JobPlan, **changes: object) -> JobPlan:
    """Return a job with changes in the first piece of its first line."""
    first = job.lines[0]
    pieces = (dataclasses.replace(first.pieces[0], **changes), *first.pieces[1:])  # type: ignore[arg-type]
    return dataclasses.replace(job, lines=(dataclasses.replace(first, pieces=pieces), *job.lines[1:]))


def test_a_piece_under_a_stop_stands_apart() -> None:
    job = changed(planned("touring"), first_cut=None, window=None)
    found = {row.item: row for row in to_buy([job]) if row.kind == "spiral brake 5.0"}
    assert found["housing under a stop"].uses == "A1"
    assert found["housing"].uses == "B1, B2"


def test_an_inner_that_no_stock_is_long_enough_for_is_told_with_its_length() -> None:
    job = planned("touring")
    first = job.lines[0]
    assert first.inner is not None
    line = dataclasses.replace(first, inner=dataclasses.replace(first.inner, stock=None, need=4321.0))
    found = [row for row in to_buy([dataclasses.replace(job, lines=(line,))]) if row.item.startswith("inner")]
    assert [(row.item, row.length) for row in found] == [("inner longer than any in stock", 4330.0)]


@pytest.mark.parametrize("name", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1"])
def test_no_cell_is_a_formula(name: str) -> None:
    job = changed(planned("touring"), housing=name, ends=(name, name), tag=name)
    text = as_order_csv([dataclasses.replace(job, bike=name), dataclasses.replace(planned("road"), bike=name)])
    cells = [cell for row in csv.reader(io.StringIO(text)) for cell in row]
    assert not [cell for cell in cells if cell[:1] in ("=", "+", "-", "@", "\t", "\r") and cell]
    assert f"'{name}".replace("\r", " ") in cells


def test_the_command_writes_and_prints_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    listed = subprocess.run([COMMAND, "buy", "touring", "track"], capture_output=True, check=True, timeout=60).stdout
    assert listed.decode() == as_order_csv([planned("touring"), planned("track")])
    assert main(("buy", "touring", "track", "-o", "order.csv")) == 0
    assert capsys.readouterr() == ("order.csv is written\n", "")
    assert Path("order.csv").read_bytes() == listed


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("track", "-o", "order.txt"), "order.txt: the name of a list to buy by has to end in .csv"),
        (("own.csv", "-o", "own.csv"), "own.csv: is the frame file itself: name another file"),
        (("road", "own.csv", "-o", "own.csv"), "own.csv: is the frame file itself: name another file"),
        (
            ("track", "road", "--hands", "front-left"),
            "--hands goes with one bike: leave it out, or list the bikes one by one",
        ),
    ],
)
def test_what_cannot_be_is_refused(
    arguments: tuple[str, ...],
    said: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    printed(capsys, "fleet", "--copy", "track")
    Path("track.toml").rename("own.csv")
    assert refused_with(capsys, "buy", *arguments) == said
    assert [path.name for path in tmp_path.iterdir()] == ["own.csv"]
