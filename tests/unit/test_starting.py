"""A new bike started from the fleet: its chart closes, its lines run, and nothing in it passes for measured."""

from __future__ import annotations

import itertools
import re

import pytest

from ropewalk.bike.closure import compare
from ropewalk.bike.fleet import FleetBike, fleet
from ropewalk.bike.framefile import Frame
from ropewalk.bike.parts import catalogue
from ropewalk.bike.reading import loads, read
from ropewalk.bike.starting import Size, fleet_frames, kind_of, kinds, nearest_bikes, started_from
from ropewalk.errors import FrameFileError
from ropewalk.workshop.plan import check_options, place_lines, plan

BIKES = fleet()
TOURING = next(bike for bike in BIKES if bike.name == "touring")
STACKS, REACHES = (-60.0, 0.0, 60.0), (-40.0, 0.0, 40.0)


def closes(frame: Frame) -> None:
    # The stack is the one figure that others give as well; the fleet's own are rounded.
    assert abs(compare(frame).worst.difference) < 3.0


@pytest.mark.parametrize("bike", BIKES, ids=lambda bike: bike.name)
def test_every_size_reads_and_runs_or_is_refused_in_one_line(bike: FleetBike) -> None:
    chart = read(bike.path).chart
    refused: list[tuple[float, str]] = []
    for rise, ahead in itertools.product(STACKS, REACHES):
        size = Size("Łódź ≤ 5", stack=chart.stack + rise, reach=chart.reach + ahead)
        try:
            frame = loads(started_from(bike, size), "new.toml")
        except FrameFileError as error:
            refused.append((rise, str(error)))
            continue
        assert (frame.name, float(frame.chart.stack), float(frame.chart.reach)) == ("Łódź ≤ 5", size.stack, size.reach)
        closes(frame)
        place_lines(frame, catalogue())
        check_options(frame, catalogue())
    # Bikes with a short head tube cannot become much lower, whatever their reach.
    assert len(refused) in (0, len(REACHES))
    for rise, told in refused:
        assert rise == -60.0
        assert re.match(rf"{bike.title} cannot be moved to this size: chart.head_tube would be [\d.]+ mm", told)
        assert "\n" not in told


@pytest.mark.parametrize("bike", BIKES, ids=lambda bike: bike.name)
def test_a_larger_size_is_planned_whole(bike: FleetBike) -> None:
    chart = read(bike.path).chart
    frame = loads(started_from(bike, Size("Larger", chart.stack + 40, chart.reach + 20)), "new.toml")
    assert all(piece.target > 0 for line in plan(frame).lines for piece in line.pieces)


def test_the_size_of_the_bike_itself_changes_no_figure() -> None:
    old = read(TOURING.path)
    new = loads(started_from(TOURING, Size("Same", old.chart.stack, old.chart.reach)), "new.toml")
    assert new.chart == old.chart.model_copy(update={"wheelbase": None, "trail": None, "front_centre": None})
    assert (new.tubes, new.cockpit, new.lever, new.line) == (old.tubes, old.cockpit, old.lever, old.line)


def test_the_seat_tube_alone_moves_stack_and_reach() -> None:
    old = read(TOURING.path).chart
    new = loads(started_from(TOURING, Size("Tall", seat_tube=580)), "new.toml").chart
    assert new.seat_tube == 580
    # The seat tube is nearly upright, so the stack rises by almost as much as it grows.
    assert 36.0 < new.stack - old.stack < 40.0
    assert 0.0 < new.reach - old.reach < 15.0


def test_what_is_not_measured_says_so_and_the_fleet_bikes_own_story_is_gone() -> None:
    text = started_from(TOURING, Size("New", stack=620, reach=390))
    chart = text[text.index("[chart]") : text.index("[tubes]")]
    told = dict(re.findall(r"^([a-z_]+) = .*?(?:  # (.*))?$", chart, re.M))
    assert told["stack"] == told["reach"] == ""
    assert told["head_tube"] and told["seat_tube"].startswith("worked out")
    assert all("measure" in comment for key, comment in told.items() if key not in ("stack", "reach"))
    assert "wheelbase =" not in text and "trail =" not in text
    original = TOURING.path.read_text(encoding="utf-8")
    assert not {line for line in original.splitlines() if line.startswith("#")} & set(text.splitlines())


@pytest.mark.parametrize("name", ['A "x" # y', "Łódź ≤ 5", "<script>alert(1)</script>", "[[line]]", "a\\b"])
def test_any_name_is_kept(name: str) -> None:
    assert loads(started_from(TOURING, Size(name, stack=600, reach=385)), "new.toml").name == name


def test_the_nearest_of_a_kind_comes_first() -> None:
    assert {kind_of(frame) for _, frame in fleet_frames()} == set(kinds())
    for bike, frame in fleet_frames():
        own = Size("x", float(frame.chart.stack), float(frame.chart.reach), float(frame.chart.seat_tube))
        nearest, *_ = nearest_bikes(kind_of(frame), own)
        found = read(nearest.path).chart
        assert (found.stack, found.reach) == (frame.chart.stack, frame.chart.reach), bike.name
    assert [bike.name for bike in nearest_bikes("tandem", Size("x", stack=400))] == ["tandem"]


@pytest.mark.parametrize(
    "size", [Size("x", stack=1e9, reach=380), Size("x", stack=591, reach=-5), Size("x", seat_tube=1)]
)
def test_absurd_sizes_are_refused_in_one_line(size: Size) -> None:
    with pytest.raises(FrameFileError, match="cannot be moved to this size") as caught:
        started_from(TOURING, size)
    assert "\n" not in str(caught.value)
