"""The fleet's bikes are found by name wherever the program is used from, and a file of one's own comes first."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from planned import FLEET, planned

from ropewalk.bike import fleet as fleet_module
from ropewalk.bike.fleet import find, fleet, fleet_folder
from ropewalk.bike.reading import read
from ropewalk.errors import FrameFileError


def test_the_fleet_holds_three_bikes_at_least_and_every_file_can_be_read() -> None:
    bikes = fleet()
    assert {"touring", "hardtail", "road"} <= {bike.name for bike in bikes}
    for bike in bikes:
        assert read(bike.path).name == bike.title


def test_the_fleet_holds_eleven_bikes_and_one_of_them_in_three_routings() -> None:
    names = {bike.name for bike in fleet()}
    assert {name for name in names if name.startswith("gravel-")} == {
        "gravel-outside",
        "gravel-ports",
        "gravel-headset",
    }
    assert len({name.partition("-")[0] for name in names}) == 11


@pytest.mark.parametrize("bike", FLEET)
def test_every_bike_is_planned_without_a_stop(bike: str) -> None:
    """None of them carries a fault on purpose: every piece has its window and its first cut."""
    job = planned(bike)
    assert [finding.text for finding in job.findings if finding.grade == "stop"] == []
    pieces = [piece for line in job.lines for piece in line.pieces]
    assert pieces
    assert all(piece.window is not None and piece.first_cut is not None for piece in pieces)


@pytest.mark.parametrize("bike", FLEET)
def test_the_file_says_which_hand_works_each_brake(bike: str) -> None:
    """In a comment on every lever that works one, and by the lever's side."""
    frame, text = read(find(bike)), find(bike).read_text(encoding="utf-8")
    comments = " ".join(row.lstrip("# ") for row in text.splitlines() if row.startswith("#"))
    sides = {lever.name: lever.side for lever in frame.lever}
    for line in frame.line:
        if line.work not in ("brake", "hose"):
            continue
        which = "roller|rear" if line.name.startswith("rear") else "front"
        assert re.search(rf"{sides[line.lever]} lever works the ({which})\b", comments), line.name


@pytest.mark.parametrize("bike", FLEET)
def test_every_line_has_a_comment_of_its_own(bike: str) -> None:
    rows = find(bike).read_text(encoding="utf-8").splitlines()
    starts = [number for number, row in enumerate(rows) if row == "[[line]]"]
    assert [rows[start + 1] for start in starts if not rows[start - 1].startswith("# ")] == []


def test_the_routings_of_the_gravel_bike_differ_in_the_rear_brake_only() -> None:
    """The same bike, levers and other lines, and the rear brake between the same lever and caliper."""
    frames = [read(find(name)) for name in FLEET if name.startswith("gravel-")]
    first = frames[0]
    for other in frames[1:]:
        assert (other.chart, other.tubes, other.cockpit, other.lever) == (
            first.chart,
            first.tubes,
            first.cockpit,
            first.lever,
        )
        assert [line.name for line in other.line] == [line.name for line in first.line]
        for one, two in zip(first.line, other.line, strict=True):
            if one.name != "rear brake":
                assert one == two
                continue
            assert (one.lever, one.inner, one.housing, one.station[-1].part) == (
                two.lever,
                two.inner,
                two.housing,
                two.station[-1].part,
            )
            assert one.station != two.station


def test_the_fleet_is_in_the_order_of_names() -> None:
    names = [bike.name for bike in fleet()]
    assert names == sorted(names)


@pytest.mark.parametrize("asked", ["touring", "touring.toml"])
def test_a_bike_is_found_by_name_from_any_folder(asked: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert find(asked) == fleet_folder() / "touring.toml"


def test_an_existing_path_wins(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    own = tmp_path / "touring.toml"
    own.write_text("mine")
    assert find("touring.toml") == Path("touring.toml")
    assert find(own) == own


def test_a_name_that_is_not_there_names_the_nearest() -> None:
    with pytest.raises(FrameFileError, match=r'^turing: there is no such file and no .* did you mean "touring"\?$'):
        find("turing")
    with pytest.raises(FrameFileError, match=r'^bikes/turing\.toml: .* did you mean "touring"\?$'):
        find("bikes/turing.toml")


def test_a_name_like_none_lists_the_fleet() -> None:
    with pytest.raises(FrameFileError) as caught:
        find("xyzzy")
    assert all(bike.name in str(caught.value) for bike in fleet())


@pytest.mark.parametrize("asked", ["", "a\0b", "x" * 9000, "\x1b[2J", "../touring", "sub/touring"])
def test_odd_names_are_refused_in_one_line(asked: str) -> None:
    with pytest.raises(FrameFileError) as caught:
        find(asked)
    assert str(caught.value).isprintable()


def test_an_installed_package_uses_its_own_copy(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    installed = tmp_path / "site-packages" / "ropewalk"
    (installed / "frames").mkdir(parents=True)
    (installed / "frames" / "touring.toml").write_text('name = "Installed"')
    monkeypatch.setattr(fleet_module, "_PACKAGE", installed)
    assert [(bike.name, bike.title) for bike in fleet()] == [("touring", "Installed")]


def test_the_repository_holds_the_only_copy_and_the_wheel_takes_it_along() -> None:
    repository = Path(__file__).parents[2]
    settings = tomllib.loads((repository / "pyproject.toml").read_text())
    assert settings["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"]["frames"] == "ropewalk/frames"
    assert not (repository / "src" / "ropewalk" / "frames").exists()
