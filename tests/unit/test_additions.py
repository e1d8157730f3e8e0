"""Parts in the place of housing, exact settings, sleeves and shared levers: what is refused, and what is shared."""

from __future__ import annotations

from typing import Any

import makers
import pytest
from workbench import (
    CALIPER,
    FLAT_BAR,
    FRONT_CALIPER,
    FRONT_STOP,
    LEVER,
    PARTS,
    REAR_STOP,
    line,
    placed,
    refusal_of,
    station,
)

from ropewalk.bike.framefile import Frame
from ropewalk.errors import FrameFileError
from ropewalk.routing.lines import slack_at_setting, trims_moved
from ropewalk.workshop.plan import place_lines, plan

STATIONS = [LEVER, FRONT_STOP, REAR_STOP, CALIPER]
SHIFT: dict[str, Any] = {"work": "shift", "inner": "shift 1.2", "housing": "lengthwise shift 4.0"}
HUB = {"name": "hub", "type": "stop", "part": "hub gear"}
CLIP = {
    "name": "stay clip", "type": "clip", "on": "right chainstay", "from": "rear axle", "along": 200, "clock": 3,
    "facing": "rear axle", "then": "loop",
}  # fmt: skip
PORT = station(FRONT_STOP, name="port", type="port", then="inside", through=["down tube"], carries="housing", lean=25)
REAR_PORT = station(REAR_STOP, name="rear port", type="port", lean=25)


def test_tags_number_every_uncut_length() -> None:
    """With a part in the first piece the second piece of the line is its third length."""
    stations = [station(LEVER, inline="inline adjuster", inline_at=150), FRONT_STOP, REAR_STOP, CALIPER]
    first, second = placed(stations)[1].route.pieces
    assert first.inline is not None
    assert (first.tag, first.inline.tag, second.tag) == ("A1", "A2", "A3")
    assert first.inline.taken == 150.0 + 35.0
    assert second.inline is None


#: what is wrong, the stations, changes to the line, and what the message has to name
REFUSED: dict[str, tuple[list[dict[str, Any]], dict[str, Any], list[str]]] = {
    "a part that the catalogue lacks": (
        [station(LEVER, inline="inline adjustr", inline_at=100), *STATIONS[1:]],
        {},
        ['station "lever"', 'did you mean "inline adjuster"?'],
    ),
    "a part for another work": (
        [station(LEVER, inline="inline adjuster, coarse", inline_at=100), FRONT_STOP, station(REAR_STOP, clock=3), HUB],
        SHIFT,
        ['inline is "inline adjuster, coarse"', "shift line", '"inline adjuster"', '"cable splitter"'],
    ),
    "a part that takes no housing's place": (
        [station(LEVER, inline="cable splitter, bare", inline_at=100), *STATIONS[1:]],
        {},
        ['inline is "cable splitter, bare"', "does not take the place of housing"],
    ),
    "a part on a bare span": (
        [LEVER, station(FRONT_STOP, inline="inline adjuster", inline_at=100), REAR_STOP, CALIPER],
        {},
        ['station "front stop"', 'inline is "inline adjuster"', "then is bare", "where its piece of housing starts"],
    ),
    "a part in the middle of a piece": (
        [LEVER, PORT, station(REAR_PORT, inline="inline adjuster", inline_at=100), CALIPER],
        {},
        ['station "rear port"', "no housing starts here"],
    ),
    "a part at the end of the line": (
        [*STATIONS[:3], station(CALIPER, inline="inline adjuster", inline_at=100)],
        {},
        ['station "caliper"', "the line ends"],
    ),
    "a part without a place": (
        [station(LEVER, inline="inline adjuster"), *STATIONS[1:]],
        {},
        ['station "lever"', "inline_at is missing"],
    ),
    "a place without a part": (
        [station(LEVER, inline_at=100), *STATIONS[1:]],
        {},
        ["inline_at means nothing without inline"],
    ),
    "a part beyond its piece": (
        [station(LEVER, inline="inline adjuster", inline_at=900), *STATIONS[1:]],
        {},
        ['station "lever"', "inline_at is 900 mm", '"front stop"', "mm or less"],
    ),
    "two splitters": (
        [
            station(LEVER, inline="cable splitter", inline_at=150),
            FRONT_STOP,
            station(REAR_STOP, inline="cable splitter", inline_at=150),
            CALIPER,
        ],
        {},
        ["more than one splitter"],
    ),
    "a sleeve outside the frame": (
        [station(LEVER, sleeve="anti-rattle sleeve"), *STATIONS[1:]],
        {},
        ['station "lever"', "sleeve means nothing here"],
    ),
    "a sleeve that the catalogue lacks": (
        [LEVER, station(PORT, sleeve="anti-rattle sleave"), REAR_PORT, CALIPER],
        {},
        ["anti-rattle sleave", 'did you mean "anti-rattle sleeve"?'],
    ),
    "a setting on the way": (
        [LEVER, station(FRONT_STOP, setting=100), REAR_STOP, CALIPER],
        {},
        ['station "front stop"', "setting means nothing here", "last station"],
    ),
    "a setting longer than its piece": (
        [LEVER, FRONT_STOP, station(REAR_STOP, along=520, clock=3), station(HUB, setting=400, offset=[160, 20, 70])],
        SHIFT,
        ['station "hub"', "setting length of 400 mm", "longer than the", '"hub"', "write that as setting"],
    ),
}


@pytest.mark.parametrize("fault", REFUSED)
def test_what_means_nothing_is_refused_in_one_line_that_says_where(fault: str) -> None:
    stations, changes, expected = REFUSED[fault]
    said = refusal_of(_frame(line(stations, **changes)))
    assert [part for part in expected if part not in said] == []


def test_a_hose_takes_no_part_and_no_setting() -> None:
    caliper = {"name": "caliper", "type": "stop", "part": "hydraulic disc caliper, rear"}
    lever = {"name": "lever", "part": "drop-bar hydraulic lever", "side": "left", "along": 215}
    hose = {"work": "hose", "inner": None, "housing": "hydraulic hose"}
    coupled = [station(LEVER, inline="hose coupling", inline_at=100), caliper]
    for stations, expected in (
        (coupled, 'inline is "hose coupling": a hose takes none'),
        ([LEVER, station(caliper, setting=50)], "this line has none"),
    ):
        with pytest.raises(FrameFileError, match=expected):
            plan(makers.frame(lever=[lever], line=[line(stations, **hose)]))


def _frame(*lines: dict[str, Any], part: str = "drop-bar brake-and-shift lever", flat: bool = False) -> Frame:
    lever = {"name": "lever", "part": part, "side": "left", "along": 120 if flat else 215}
    cockpit = {"cockpit": {"bar": FLAT_BAR}} if flat else {}
    return makers.frame(lever=[lever], line=list(lines), **cockpit)


# Exact settings.


def hub_line(*, clips: int = 0, **changes: Any) -> Any:
    """Return a hub gear's line whose last piece has one loop more than clips."""
    held = [station(CLIP, name=f"clip {place}", along=280 - 80 * place) for place in range(clips)]
    stations = [LEVER, FRONT_STOP, station(REAR_STOP, clock=3), *held, station(HUB, **changes)]
    return placed(stations, **SHIFT)[1].route


def test_a_hub_gear_s_setting_is_the_catalogue_s_unless_the_station_has_its_own() -> None:
    assert hub_line().setting == float(PARTS.mover("hub gear").setting_length or 0.0)
    assert hub_line(setting=113).setting == 113.0
    assert placed(STATIONS)[1].route.setting is None


def test_the_loop_at_the_hub_gives_its_allowance_to_the_others_of_its_piece() -> None:
    """Spans: loop, bare, then one loop more than clips; the allowance as a whole stays what it was."""
    trims = {0: 10.0, 2: 3.0, 3: 3.0, 4: 4.0}
    assert trims_moved(hub_line(clips=2), trims) == {0: 10.0, 2: 5.0, 3: 5.0, 4: 0.0}
    assert trims_moved(hub_line(clips=1), {0: 10.0, 2: 3.0, 3: 3.0}) == {0: 10.0, 2: 6.0, 3: 0.0}


def test_a_loop_alone_keeps_its_allowance() -> None:
    assert trims_moved(hub_line(), {0: 10.0, 2: 3.0}) == {0: 10.0, 2: 3.0}
    assert slack_at_setting(hub_line())
    assert not slack_at_setting(hub_line(clips=1))


def test_lines_without_an_exact_setting_keep_every_trim() -> None:
    ordinary = placed(STATIONS)[1].route
    assert trims_moved(ordinary, {0: 10.0, 2: 3.0}) == {0: 10.0, 2: 3.0}
    assert not slack_at_setting(ordinary)


# Two lines at one lever.


def two_lines(part: str, *, flat: bool = False) -> Frame:
    names = {"name": "front", "housing": "spiral brake 5.0"}, {"name": "rear"}
    return _frame(line([LEVER, FRONT_CALIPER], **names[0]), line(STATIONS, **names[1]), part=part, flat=flat)


def test_two_inners_of_one_lever_share_its_pull() -> None:
    _, lines = place_lines(two_lines("flat-bar brake lever, two inners", flat=True), PARTS)
    assert [made.route.share for made in lines] == [0.5, 0.5]
    assert placed(STATIONS)[1].route.share == 1.0


def test_a_lever_for_one_inner_is_refused_a_second_line_of_its_work() -> None:
    with pytest.raises(FrameFileError) as refusal:
        place_lines(two_lines("flat-bar brake lever, short pull", flat=True), PARTS)
    said = str(refusal.value)
    assert "\n" not in said
    for part in ('line "rear"', 'lever is "lever"', 'works the line "front" already', "takes one inner for brake"):
        assert part in said


def test_a_third_line_is_one_too_many_for_two_inners() -> None:
    frame = two_lines("flat-bar brake lever, two inners", flat=True)
    third = frame.line[1].model_copy(update={"name": "third"})
    with pytest.raises(FrameFileError, match=r'line "third".*"front" and "rear" already and takes 2 inners'):
        place_lines(frame.model_copy(update={"line": (*frame.line, third)}), PARTS)


def test_a_lever_may_work_two_lines_of_different_work() -> None:
    shift = line([LEVER, FRONT_STOP, station(REAR_STOP, clock=3), HUB], name="gear", **SHIFT)
    _, lines = place_lines(_frame(line(STATIONS), shift), PARTS)
    assert [made.route.share for made in lines] == [1.0, 1.0]


def test_half_the_pull_doubles_the_breaking_load_factor_and_leaves_the_efficiency() -> None:
    """Tension out over tension in does not depend on the tension (capstan law); strength over pull does."""
    shared = plan(two_lines("flat-bar brake lever, two inners", flat=True))
    alone = plan(_frame(line(STATIONS, name="rear"), part="flat-bar brake lever, short pull", flat=True))
    rear, own = shared.lines[1], alone.lines[0]
    assert rear.efficiency == pytest.approx(own.efficiency)
    both = [finding.value for finding in shared.findings if "breaking load" in finding.text]
    (one,) = [finding.value for finding in alone.findings if "breaking load" in finding.text]
    assert one is not None
    # lines of which the same is found may be told in one
    assert both
    assert both == pytest.approx([2 * one] * len(both), abs=0.02)
