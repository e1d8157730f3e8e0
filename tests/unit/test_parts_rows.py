"""The rows of the catalogue: they hold what sources print, agree with each other, and are reachable."""

import math

import makers
import pytest

from ropewalk.bike.model import build
from ropewalk.bike.parts import KINDS_OF_PART, catalogue
from ropewalk.bike.rows import Named
from ropewalk.bike.sourced import KINDS, Sourced, Triple

PARTS = catalogue()
ROWS = [(kind, name) for kind in KINDS_OF_PART for name in PARTS.rows(kind)]


def figures(row):
    """Yield every number of a row, those of its tables included."""
    for _, value in row:
        if isinstance(value, (Sourced, Triple)):
            yield value
        elif isinstance(value, tuple):
            yield from (one for one in value if isinstance(one, Sourced))
        elif isinstance(value, dict):
            for inner in value.values():
                yield from figures(inner)


# Every row.


@pytest.mark.parametrize(("kind", "name"), ROWS, ids=[f"{kind.word}: {name}" for kind, name in ROWS])
def test_every_number_of_a_row_keeps_its_source(kind, name):
    row = PARTS.rows(kind)[name]
    assert isinstance(row, Named)
    assert row.name == name
    found = list(figures(row))
    assert found
    for figure in found:
        assert figure.kind in KINDS
        assert figure.source.strip()
        assert figure.spread >= 0
        assert figure.unit in {"mm", "rad", "N", "N/mm2", "N mm2", "1"}


ACCESSORS = {
    "housing": PARTS.housing,
    "inner": PARTS.inner,
    "strand": PARTS.strand,
    "liner": PARTS.liner,
    "guide_tube": PARTS.guide_tube,
    "sleeve": PARTS.sleeve,
    "ferrule": lambda name: next(
        PARTS.ferrule_for(housing) for housing in PARTS.housings if PARTS.ferrule_for(housing).name == name
    ),
    "end_cap": lambda name: next(
        cap for cap in map(PARTS.end_cap_for, PARTS.inners.values()) if cap is not None and cap.name == name
    ),
    "formed": PARTS.formed_piece,
    "inline": PARTS.inline,
    "lever": PARTS.lever,
    "mover": PARTS.mover,
    "friction": lambda name: PARTS.friction_pairs[name],
    "indexing": PARTS.indexing,
}


@pytest.mark.parametrize(("kind", "name"), ROWS, ids=[f"{kind.word}: {name}" for kind, name in ROWS])
def test_every_row_is_reached_by_what_asks_for_its_kind(kind, name):
    assert ACCESSORS[kind.word](name) is PARTS.rows(kind)[name]


def test_names_of_one_kind_differ_by_more_than_capitals():
    for kind in KINDS_OF_PART:
        assert len({name.casefold() for name in PARTS.rows(kind)}) == len(PARTS.rows(kind))


def test_every_mount_of_a_moving_end_is_on_a_bike():
    bike = build(makers.frame(travel={"post": 125}))
    places = {*bike.mounts, *bike.tubes}
    assert {mover.mount for mover in PARTS.movers.values()} <= places


def test_every_friction_pair_is_used_by_a_row():
    used = {row.contact for row in (*PARTS.housings.values(), *PARTS.liners.values(), *PARTS.formed.values())}
    used |= {row.anchor_contact for row in PARTS.movers.values()}
    assert set(PARTS.friction_pairs) <= used


# What sources print: read in published tables, told apart by what they measured.


def test_lever_pull_and_advantage_are_those_of_published_measurements():
    # Published measurements of several makers: short pull 7 to 8 mm, advantage 4.5 to 5.1; long pull 15 mm, 1.6 to 2.6.
    bands = {"short": ((7, 8), (4.5, 5.1)), "long": ((14, 16), (1.6, 2.6))}
    seen = set()
    for lever in PARTS.levers.values():
        if "brake" not in lever.exits:
            continue
        brake = lever.exit("brake")
        (least, most), (weakest, strongest) = bands[brake.pull_kind]
        assert least <= brake.pull - brake.pull.spread
        assert brake.pull + brake.pull.spread <= most
        assert brake.pull.kind == "read"
        if brake.inner_count == 1:
            assert weakest <= brake.advantage - brake.advantage.spread + 1e-9
            assert brake.advantage + brake.advantage.spread <= strongest + 1e-9
        seen.add(brake.pull_kind)
    assert seen == set(bands)


@pytest.mark.parametrize(
    ("family", "pull"),
    [
        ("7 speed, short step", 2.9),
        ("8 speed, short step", 2.8),
        ("9 speed, short step", 2.5),
        ("10 speed, short step", 2.3),
        ("7 speed, long step", 4.5),
        ("8 speed, long step", 4.3),
        ("9 speed, long step", 4.0),
    ],
)
def test_wire_pull_per_click_is_that_of_published_tables(family, pull):
    row = PARTS.indexing(family)
    assert row.pull == pull
    assert row.pull.kind == "read"


def test_sprocket_spacing_is_that_of_published_tables():
    # Published tables: 5.0, 4.8, 4.35, 3.95, 3.75 mm for 7 to 11 sprockets; the wide-range pull is 3.4 to 3.6 mm.
    spacing = {"7": 5.0, "8": 4.8, "9": 4.35, "10": 3.95, "11": 3.75}
    for name, row in PARTS.indexings.items():
        assert row.spacing == spacing[name.split()[0]]
        if "wide range" in name:
            assert (row.pull - row.pull.spread, row.pull + row.pull.spread) == pytest.approx((3.4, 3.6))


def test_the_shift_ferrule_is_the_measured_one():
    # Published drawing of one shift ferrule: length 12.77, outside 5.78, bore 4.28, wire hole 1.80 mm.
    ferrule = PARTS.ferrule_for("lengthwise shift 4.0")
    assert (ferrule.length, ferrule.outside, ferrule.bore, ferrule.wire_hole) == (12.77, 5.78, 4.28, 1.80)
    assert {ferrule.length.source, ferrule.outside.source} == {"published drawing of one measured shift ferrule"}
    assert ferrule.insertion + ferrule.floor == pytest.approx(float(ferrule.length), abs=ferrule.insertion.spread)


def test_friction_lies_where_rig_and_handbook_read_it():
    # One home-made rig, gear wire in new lined housing: 0.06; the trade's figures reach 0.10. Handbook tables of
    # sliding friction: steel on nylon, dry, 0.3; steel on steel, greased, 0.16.
    new = PARTS.friction("lined housing", "new")
    assert (new - new.spread, new + new.spread) == pytest.approx((0.06, 0.10))
    assert PARTS.friction("bare guide", "worn") == 0.3
    assert PARTS.friction("unlined housing", "new") == 0.16
    assert "handbook" in PARTS.friction("bare guide", "worn").source


def test_strands_carry_the_factors_of_en_12385():
    # Feyrer, Wire Ropes, table 1.9: C and K of 7x7 0.432 and 0.388, of 7x19 0.418 and 0.362.
    factors = {name: (row.area_factor, row.breaking_factor) for name, row in PARTS.strands.items()}
    assert factors["7x7"] == (0.432, 0.388)
    assert factors["7x19"] == (0.418, 0.362)
    # 19 equal circles in a circle of five of their diameters fill 19/25 of it.
    assert factors["1x19"][0] == pytest.approx(19 / 25 * math.pi / 4, abs=5e-4)


def test_an_end_cap_stays_on_under_the_pull_that_iso_4210_asks_for():
    # ISO 4210-2, through an adopted text: a cap on a cable's end withstands 20 N.
    for cap in PARTS.end_caps.values():
        assert cap.holds == 20
        assert "ISO 4210" in cap.holds.source


def test_bolts_lie_within_published_fitting_tables():
    # Published fitting tables: brake anchor 5.7 to 7.9 N m, derailleur anchor 4 to 7 N m.
    torque = PARTS.settings.torque
    assert (
        torque.brake_anchor - torque.brake_anchor.spread,
        torque.brake_anchor + torque.brake_anchor.spread,
    ) == pytest.approx((5.7, 7.9))
    assert (
        torque.derailleur_anchor - torque.derailleur_anchor.spread,
        torque.derailleur_anchor + torque.derailleur_anchor.spread,
    ) == pytest.approx((4.0, 7.0))


def test_adjusters_have_the_threads_of_iso_261():
    # ISO 261 coarse pitches, from memory: M5 0.8, M6 1.0 mm. Common practice: it replaces 25 to 45 mm of housing and
    # travels 8 to 12 mm.
    adjuster = PARTS.inline("inline adjuster")
    assert (adjuster.pitch, PARTS.inline("inline adjuster, coarse").pitch) == (0.8, 1.0)
    assert (adjuster.replaces - adjuster.replaces.spread, adjuster.replaces + adjuster.replaces.spread) == (25, 45)
    assert (adjuster.travel - adjuster.travel.spread, adjuster.travel + adjuster.travel.spread) == (8, 12)


# Rows agree with each other.


def test_noodles_turn_as_they_are_called_and_brakes_know_theirs():
    for name, row in PARTS.formed.items():
        if name.startswith("noodle"):
            assert math.degrees(row.turn) == pytest.approx(int(name.split()[1]))
            # Common practice: bent to a radius of 20 to 25 mm.
            assert 20 <= row.radius <= 25
            assert row.length > row.radius * row.turn
    kinds = {mover.formed for mover in PARTS.movers.values() if mover.formed is not None}
    assert kinds == {"noodle 90", "noodle 110", "noodle 135"}
    for mover in PARTS.movers.values():
        if mover.formed is not None:
            noodle = PARTS.formed_piece(mover.formed)
            assert mover.anchor_turn == pytest.approx(float(noodle.turn))
            assert mover.anchor_path > noodle.length


def test_a_noodle_points_its_housing_where_it_is_bent_to():
    # The wire leaves the arm along the axle, towards the far side of the bike from the anchor; there it is turned by
    # the noodle's bend, so the housing's direction makes that angle with it.
    for mover in PARTS.movers.values():
        if mover.formed is not None:
            out = math.copysign(1.0, -mover.anchor[2])
            angle = math.acos(out * mover.leaves[2])
            assert angle == pytest.approx(float(mover.anchor_turn), abs=mover.leaves.spread)


def test_brakes_and_levers_of_one_kind_of_pull_fit():
    levers = [lever.exit("brake") for lever in PARTS.levers.values() if "brake" in lever.exits]
    brakes = [mover for mover in PARTS.movers.values() if mover.work == "brake"]
    for brake in brakes:
        fits = {
            lever.pull_kind
            for lever in levers
            if abs(lever.pull - brake.pull_wanted) <= lever.pull.spread + brake.pull_wanted.spread
        }
        assert fits == {brake.pull_kind}
    assert {brake.pull_kind for brake in brakes} == {"short", "long"}


def test_springs_lie_in_the_trades_ranges():
    # Our estimates of the spring's pull at the wire [N].
    ranges = {
        "dual-pivot": (10, 20),
        "single-pivot": (20, 35),
        "linear-pull": (10, 20),
        "cantilever": (20, 40),
        "cable disc": (20, 40),
        "roller": (30, 60),
        "front derailleur": (80, 150),
    }
    for word, (least, most) in ranges.items():
        found = [mover for name, mover in PARTS.movers.items() if name.startswith(word)]
        assert found
        assert {(mover.spring_least, mover.spring_most) for mover in found} == {(least, most)}


def test_a_straddle_wire_hangs_from_its_yoke():
    found = [mover for mover in PARTS.movers.values() if mover.straddle_wire is not None]
    assert {name.split(",")[0] for name in (mover.name for mover in found)} == {
        "cantilever with hanger and straddle",
        "centre-pull rim caliper",
    }
    for mover in found:
        way = 2 * math.hypot(mover.straddle_span / 2, mover.straddle_rise)
        assert mover.straddle_wire == pytest.approx(way, abs=mover.straddle_wire.spread)


def test_a_setting_length_is_the_inner_to_the_anchor():
    found = {name: mover for name, mover in PARTS.movers.items() if mover.setting_length is not None}
    assert set(found) == {"hub gear", "hub gear, from above"}
    for mover in found.values():
        assert mover.anchor_path == mover.setting_length
        assert mover.setting_length.source.startswith("default: ask the maker")


def test_every_kind_of_line_has_both_its_ends():
    # The wire's nipple is held at one end of a line and its anchor at the other.
    ends = {"nipple": "anchor", "anchor": "nipple", "fitting": "fitting"}
    held = {(work, leaving.end) for lever in PARTS.levers.values() for work, leaving in lever.exits.items()}
    for mover in PARTS.movers.values():
        assert (mover.work, ends[mover.end]) in held


def test_a_splitter_parts_the_inner_and_an_adjuster_does_not():
    assert PARTS.inline("cable splitter").splits_inner
    assert not PARTS.inline("inline adjuster").splits_inner
    for row in PARTS.inlines.values():
        assert not (row.splits_inner and row.travel is not None)
        assert (row.contact is None) == (row.work == ("hose",))


def test_end_caps_go_over_every_inner():
    for inner in PARTS.inners.values():
        cap = PARTS.end_cap_for(inner)
        assert cap is not None
        assert inner.diameter < cap.bore < inner.diameter + 0.6
    thick = PARTS.inner("brake 1.5").model_copy(update={"diameter": Sourced(3.0, 0.1, "mm", PARTS.sources["E"])})
    assert PARTS.end_cap_for(thick) is None


def test_heavy_wire_has_a_housing():
    # Common practice: a wire runs free in its housing and passes the hole of its ferrule.
    for inner in PARTS.inners.values():
        assert any(
            housing.bore > inner.diameter and PARTS.ferrule_for(housing).wire_hole > inner.diameter
            for housing in PARTS.housings.values()
            if not housing.is_hose and set(inner.work) & set(housing.work)
        )


def test_two_inners_share_one_lever():
    assert PARTS.lever("flat-bar brake lever, two inners").exit("brake").inner_count == 2
    assert PARTS.lever("flat-bar brake lever, short pull").exit("brake").inner_count == 1
