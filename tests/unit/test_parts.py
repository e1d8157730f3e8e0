"""The catalogue: every number is complete, wrong rows are refused in one line, names lead to rows."""

import copy
import math
import pickle
import shutil
import tomllib
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from ropewalk.bike.parts import catalogue, read_catalogue
from ropewalk.bike.rowreading import ESTIMATE_SOURCE
from ropewalk.bike.sourced import KINDS
from ropewalk.errors import PartError

DATA = Path(str(files("ropewalk.data")))
FILES = sorted(path.name for path in DATA.glob("*.toml"))
UNITS = {"mm", "deg", "h", "N", "N/mm2", "N mm2", "N m", "m", "1"}


def numbers_without_row(table, sources, place=""):
    """Yield the place of every number that does not stand in a complete row of four."""
    for key, item in table.items():
        here = f"{place}/{key}"
        if isinstance(item, dict):
            yield from numbers_without_row(item, sources, here)
        elif isinstance(item, list) and not all(isinstance(part, str) for part in item):
            complete = (
                len(item) == 4
                and type(item[1]) in (int, float)
                and item[1] >= 0
                and item[2] in UNITS
                and sources.get(item[3], {}).get("kind") in KINDS
                and sources[item[3]]["source"].strip()
            )
            if not complete:
                yield here
        elif type(item) in (int, float):
            yield here


def load(name):
    return tomllib.loads((DATA / name).read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", [name for name in FILES if name != "sources.toml"])
def test_every_shipped_number_has_value_unit_spread_source_and_kind(name):
    assert list(numbers_without_row(load(name), load("sources.toml"))) == []


@pytest.mark.parametrize(
    "bad",
    [
        5.0,
        [5.0, 0.1, "mm"],
        [5.0, "mm", "P"],
        [5.0, 0.1, "mm", "hearsay"],
        [5.0, 0.1, "furlong", "P"],
        [5.0, -0.1, "mm", "P"],
    ],
)
def test_the_walk_itself_finds_an_incomplete_number(bad):
    assert list(numbers_without_row({"part": {"outside": bad}}, load("sources.toml"))) == ["/part/outside"]


def test_every_file_is_read(tmp_path):
    for name in FILES:
        folder = tmp_path / name
        shutil.copytree(DATA, folder)
        (folder / name).unlink()
        with pytest.raises(PartError, match=name):
            read_catalogue(folder)


def test_estimates_say_whom_to_ask():
    estimates = [entry for entry in load("sources.toml").values() if entry["kind"] == "estimate"]
    assert estimates
    assert all(entry["source"].startswith("default: ask the maker") for entry in estimates)
    assert catalogue().housing("link").kink_radius.source == ESTIMATE_SOURCE


def broken(tmp_path, name, old, new):
    folder = tmp_path / "data"
    shutil.copytree(DATA, folder)
    text = (folder / name).read_text(encoding="utf-8")
    assert old in text
    (folder / name).write_text(text.replace(old, new, 1), encoding="utf-8")
    return folder


@pytest.mark.parametrize(
    ("name", "old", "new", "says"),
    [
        ("housings.toml", '[5.0,    0.1, "mm",    "P"]', "5.0", "row of four"),
        ("housings.toml", '[5.0,    0.1, "mm",    "P"]', '[5.0, 0.1, "mm", "x"]', "mark 'x'"),
        ("housings.toml", '[5.0,    0.1, "mm",    "P"]', '[5.0, 0.1, "N", "P"]', "unit is 'N', wanted 'mm'"),
        ("housings.toml", '[5.0,    0.1, "mm",    "P"]', '[nan, 0.1, "mm", "P"]', "not a number"),
        ("housings.toml", '[5.0,    0.1, "mm",    "P"]', '[0.0, 0.1, "mm", "P"]', "above 0"),
        ("housings.toml", '[5.0,    0.1, "mm",    "P"]', '[5.0, -1, "mm", "P"]', "spread"),
        ("housings.toml", "kink_radius       = ", "kinked = ", "kink"),
        ("housings.toml", 'contact = "lined housing"', 'contact = "silk"', "silk"),
        ("housings.toml", '["link"]', '["chain"]', "chain"),
        ("housings.toml", '["link"]', "[link", "not valid TOML"),
        ("inners.toml", "[1650, 2050", "[2050, 1650", "must rise"),
        ("inners.toml", '"1x19"', '"1x9"', "1x9"),
        ("levers.toml", "[[1, 0, 0],  12", "[[0, 0, 0],  12", "no length"),
        ("levers.toml", "[[1, 0, 0],  12", "[[1, 0],  12", "three numbers"),
        ("movers.toml", "[49,   5,", "[19,   5,", "shorter than the straight"),
        ("movers.toml", '"fork crown"', '"fork crow"', "mount"),
        ("sources.toml", 'kind = "common practice"', 'kind = "rumour"', "rumour"),
        ("sources.toml", 'source = "default: ask the maker"', 'source = "me"', "ask the maker"),
        ("sources.toml", 'source = "default: ask the maker"', 'source = ""', "filled in"),
    ],
)
def test_a_wrong_row_is_refused_in_one_line_naming_file(tmp_path, name, old, new, says):
    with pytest.raises(PartError) as caught:
        read_catalogue(broken(tmp_path, name, old, new))
    message = str(caught.value)
    assert says in message
    assert "\n" not in message
    assert ".toml" in message


def test_the_field_and_row_are_named(tmp_path):
    folder = broken(tmp_path, "levers.toml", '[38,   8, "mm",  "E"]', '[38, 8, "mm"]')
    with pytest.raises(PartError, match=r"levers.toml: \[drop-bar brake lever\] exit.brake.head_path: "):
        read_catalogue(folder)


@pytest.mark.parametrize(
    ("ask", "near"),
    [
        (lambda parts: parts.housing("spiral brake"), "spiral brake 5.0"),
        (lambda parts: parts.inner("brake1.5"), "brake 1.5"),
        (lambda parts: parts.liner("brake lining"), "brake liner"),
        (lambda parts: parts.strand("1x18"), "1x19"),
        (lambda parts: parts.lever("flat bar shifter"), "flat-bar shifter"),
        (lambda parts: parts.mover("rear derailer"), "rear derailleur"),
        (lambda parts: parts.formed_piece("noodle 95"), "noodle 90"),
        (lambda parts: parts.indexing("8 speed, short"), "8 speed, short step"),
        (lambda parts: parts.ferrule_for("lengthwise shift 4"), "lengthwise shift 4.0"),
        (lambda parts: parts.friction("lined housings", "new"), "lined housing"),
        (lambda parts: parts.friction("lined housing", "neu"), "new"),
    ],
)
def test_an_unknown_name_names_the_nearest(ask, near):
    with pytest.raises(PartError, match=f'did you mean "{near}"'):
        ask(catalogue())


def test_a_name_like_no_other_lists_the_known_ones():
    with pytest.raises(PartError, match='it has "shift liner" and "brake liner"'):
        catalogue().liner("xyz")


def test_a_lever_names_its_exits():
    lever = catalogue().lever("drop-bar brake-and-shift lever")
    assert lever.exit("shift").end == "nipple"
    with pytest.raises(PartError, match="it has brake, shift"):
        lever.exit("dropper")


def test_angles_are_radians_and_directions_have_length_one():
    parts = catalogue()
    assert parts.settings.cut.turn_allowance == pytest.approx(math.pi / 6)
    assert parts.tolerances.station.clock == pytest.approx(math.radians(9.0))
    directions = [leaving.leaves for lever in parts.levers.values() for leaving in lever.exits.values()]
    directions += [mover.leaves for mover in parts.movers.values()]
    assert np.linalg.norm(np.array(directions), axis=1) == pytest.approx(1.0)
    assert all(leaving.unit == "rad" and 0 < leaving.spread < math.radians(30) for leaving in directions)


def test_figures_do_not_change_and_travel():
    outside = catalogue().housing("link").outside
    seat = catalogue().mover("rear derailleur").seat
    with pytest.raises(AttributeError):
        outside.spread = 3.0
    with pytest.raises(AttributeError):
        seat.unit = "m"
    for item in (outside, seat):
        for twin in (pickle.loads(pickle.dumps(item)), copy.deepcopy(item)):
            assert twin == item
            assert (twin.spread, twin.unit, twin.kind, twin.source) == (item.spread, item.unit, item.kind, item.source)
    assert outside.sigma == pytest.approx(outside.spread / 1.959964, rel=1e-4)


def test_the_catalogue_does_not_change():
    parts = catalogue()
    with pytest.raises(TypeError):
        parts.housings["link"] = parts.housing("link")
    with pytest.raises(ValueError, match="frozen"):
        parts.housing("link").bore = 3.0


def test_wire_fits_where_it_runs():
    # Common practice: a wire runs free in its housing and passes the hole of its ferrule.
    parts = catalogue()
    thickest = {"shift": 1.2, "brake": 1.6}
    for housing in parts.housings.values():
        assert housing.bore < housing.outside
        assert housing.kink_radius < housing.advised_radius
        ferrule = parts.ferrule_for(housing)
        for work, wire in thickest.items():
            if work in housing.work and housing.name != "link":
                assert housing.bore > wire
                assert ferrule.wire_hole > wire
    for liner in parts.liners.values():
        assert max(wire for work, wire in thickest.items() if work in liner.work) < liner.bore < liner.outside


def test_shift_housing_and_shift_wire_are_kept_off_brakes():
    # Common practice: lengthwise housing bursts and thin wire breaks under a hard brake.
    parts = catalogue()
    assert "brake" not in parts.housing("lengthwise shift 4.0").work
    assert "brake" not in parts.housing("lengthwise shift 5.0").work
    assert "shift" not in parts.housing("spiral brake 5.0").work
    for inner in parts.inners.values():
        assert ("brake" in inner.work) == (inner.diameter > 1.3)


def test_friction_grows_with_neglect():
    for pair in catalogue().friction_pairs.values():
        assert pair.new < pair.worn < pair.corroded


def test_a_half_turn_over_new_lined_housing_keeps_some_four_fifths_of_the_pull():
    # Common practice of the trade: a bend of 180 degrees keeps some 80 %.
    assert math.exp(-catalogue().friction("lined housing", "new") * math.pi) == pytest.approx(0.8, abs=0.05)


def test_every_lever_work_has_a_mover_and_a_housing():
    parts = catalogue()
    works = {work for lever in parts.levers.values() for work in lever.exits}
    assert works == {mover.work for mover in parts.movers.values()}
    assert works == {work for housing in parts.housings.values() for work in housing.work}
