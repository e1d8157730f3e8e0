"""Frame files for findings: for each one that triggers it and one just inside its limit, from the small bike."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import frametext
import makers
from workbench import CALIPER, FLAT_BAR, FRONT_CALIPER, FRONT_STOP, LEVER, LEVERS, REAR_STOP, line, station

Table = dict[str, Any]


def text(*lines: Table, lever: Sequence[Table] = (), bar: str = "drop", **changes: Any) -> str:
    """Return the text of a frame file of the small bike with lines, levers and changes."""
    tables = makers.merged(makers.frame_dict(), changes)
    tables["lever"] = list(lever) or [LEVERS[bar]]
    tables["line"] = list(lines)
    if bar == "flat":
        tables["cockpit"] = {**tables["cockpit"], "bar": FLAT_BAR}
    return frametext.to_toml(tables)


def brake(*stations: Table, **changes: Any) -> Table:
    """Return a brake line over stations."""
    return line(stations or (LEVER, FRONT_STOP, REAR_STOP, CALIPER), **changes)


def placed(name: str, offset: Sequence[float], towards: Sequence[float], then: str, **changes: Any) -> Table:
    """Return a stop at a place from the bottom bracket: forward, up, right."""
    where = {"on": "bottom bracket", "offset": list(offset), "towards": list(towards)}
    return {"name": name, "type": "stop", **where, "then": then, **changes}


def port(name: str, along: float, clock: float, **changes: Any) -> Table:
    """Return a port in the down tube; without changes the line goes on with a loop."""
    base = {"on": "down tube", "from": "head tube", "along": along, "clock": clock, "facing": "head tube", "lean": 25}
    return {"name": name, "type": "port", **base, "then": "loop", **changes}


INSIDE = {"then": "inside", "through": ["down tube"], "carries": "housing"}


def through(first: Table, second: Table, **changes: Any) -> Table:
    """Return a brake line with housing inside the down tube between two ports."""
    return brake(LEVER, first, second, CALIPER, **changes)


def off_axis(lean: float) -> str:
    """A stop that leans off the bare inner's way along the tube."""
    return text(brake(LEVER, station(FRONT_STOP, lean=lean), REAR_STOP, CALIPER))


def inside_run(length: float, **changes: Any) -> str:
    """Housing inside the down tube from port to port, along its left side."""
    out = port("out", 120 + length, 9, facing="bottom bracket")
    return text(through(port("in", 120, 9, **INSIDE, **changes), out))


def crossing(clock: float) -> str:
    """Two lines in the down tube: one from half past ten to half past seven, one up to a clock from as far below."""
    levers = [LEVERS["drop"], {**LEVERS["drop"], "name": "other lever", "side": "right"}]
    first = through(port("in", 100, 10.5, **INSIDE), port("out", 450, 7.5, facing="bottom bracket"))
    second = through(port("in", 100, 18 - clock, **INSIDE), port("out", 450, clock, facing="bottom bracket"))
    return text(first, {**second, "name": "other brake", "lever": "other lever"}, lever=levers)


def short_piece(gap: float) -> str:
    """Two stops facing each other, with housing strapped between them."""
    back = station(FRONT_STOP, facing="bottom bracket", then="strapped")
    last = station(FRONT_STOP, name="near stop", along=120 + gap, then="bare")
    return text(brake(LEVER, station(FRONT_STOP, name="first stop", along=60), back, last, REAR_STOP, CALIPER))


def headset(lock: float) -> str:
    """Stiff housing beside the steerer of a head tube of 90 mm and out of the down tube, with some lock."""
    onward = {"then": "inside", "through": ["head tube", "down tube"], "carries": "housing"}
    upper = {"on": "steerer", "from": "head tube top", "along": -8, "clock": 3, "facing": "top", "height": 2}
    first = {**port("headset port", 0, 9), **upper, **onward}
    last = {**port("rear port", 80, 9, facing="bottom bracket"), "from": "bottom bracket"}
    wide = {"head_tube": {"diameter": 52, "wall": 1.5}, "down_tube": {"diameter": 45, "at_head": 35}}
    joined = [{"between": ["head tube", "down tube"], "size": 25}]
    # 60 mm less of head tube at 71.5° take 56.9 mm off the stack
    chart = {"lock": lock, "head_tube": 90, "stack": 534.1}
    line_ = through(first, last, housing="compressionless brake 5.0")
    return text(line_, tubes=wide, opening=joined, chart=chart)


def on_top(clock: float) -> str:
    """A port in the down tube at a clock, so far that its end of the tube does not matter."""
    return text(through(port("in", 120, clock, **INSIDE), port("out", 320, 9, facing="bottom bracket")))


def many_pieces(count: int, **lever: Any) -> str:
    """So many pieces of housing: one to the first stop, one from the last, the others held to the down tube."""
    held = [
        station(FRONT_STOP, name=f"stop {number}", along=80 + 40 * number, facing="bottom bracket", then="strapped")
        for number in range(count - 2)
    ]
    last = station(FRONT_STOP, name="last stop", along=80 + 40 * (count - 2), facing="bottom bracket", then="loop")
    return text(brake(station(LEVER, **lever), *held, last, CALIPER))


def noodles(turn: float, count: int) -> str:
    """So many rigid parts of some turn on the way to the rear stop."""
    rigid = [
        station(FRONT_STOP, name=f"stop {at}", along=120 + 60 * at, then="rigid", arc=320, turn=turn, radius=60)
        for at in range(count)
    ]
    return text(brake(LEVER, *rigid, REAR_STOP, CALIPER))


def long_way(arc: float) -> str:
    """A rigid part of some length before the rear stop."""
    first = station(FRONT_STOP, then="rigid", arc=1500, turn=0)
    second = station(FRONT_STOP, name="second stop", along=200, then="rigid", arc=arc, turn=0)
    return text(brake(LEVER, first, second, REAR_STOP, CALIPER))


def standing_water(height: float) -> str:
    """Housing held to the frame from a high stop down to a clip and up again by some height, all level fore and aft."""
    first = placed("high", [200, 100, -40], [-1, 0, 0], "strapped")
    last = placed("last", [0, height, -40], [1, 0, 0], "loop")
    return text(brake(LEVER, first, _LOW, last, CALIPER))


def led_water(height: float) -> str:
    """The same, with bare inner that comes to the high stop from so far above it."""
    above = placed("above", [300, 100 + height, -40], [1, 0, 0], "bare")
    first = placed("high", [200, 100, -40], [-1, 0, 0], "strapped")
    last = placed("last", [0, 60, -40], [1, 0, 0], "loop")
    return text(brake(LEVER, above, first, _LOW, last, CALIPER))


_LOW = {
    "name": "low",
    "type": "clip",
    "on": "bottom bracket",
    "offset": [100, 0, -40],
    "towards": [-1, 0, 0],
    "then": "strapped",
}


def tail(aside: float) -> str:
    """A front caliper whose seat lies so far from the middle plane."""
    return text(brake(LEVER, station(FRONT_CALIPER, offset=[40, 38, aside])))


def u_turn(gap: float) -> str:
    """A loop between two stops side by side that send it out and back, of the stiffest housing."""
    one = placed("one", [300, 300, 0], [1, 0, 0], "loop")
    two = placed("two", [300, 300, gap], [1, 0, 0], "bare")
    three = placed("three", [200, 100, 0], [1, 0, 0], "bare")
    return text(brake(LEVER, FRONT_STOP, one, two, three, CALIPER, housing="compressionless brake 5.0"))


def to_lock(lock: float) -> str:
    """A loop to a stop that faces it awkwardly, with some lock."""
    awkward = placed("front stop", [395, 408, -59], [-1.0, 0.8, -0.9], "bare")
    return text(brake(LEVER, awkward, REAR_STOP, CALIPER), bar="flat", chart={"lock": lock})


def beside(x: float, y: float, z: float, **changes: Any) -> str:
    """A loop so far from the middle plane that goes back and down by a quarter turn, its middle near a place."""
    one = placed("one", [x + 60, y + 22, z], [-1, 0, 0], "loop")
    two = placed("two", [x - 20, y - 58, z], [0, 1, 0], "bare")
    three = placed("three", [x - 20, y - 200, z], [0, 1, 0], "bare")
    clear = placed("clear of the frame", [430, 540, -180], [0.3, 1, 0], "bare")
    return text(brake(LEVER, clear, one, two, three, CALIPER), **changes)


def pulls(bar: str, lever: str, part: str) -> str:
    """A brake of some kind on a lever of some kind."""
    made = {**LEVERS[bar], "part": lever}
    return text(brake(LEVER, FRONT_STOP, REAR_STOP, station(CALIPER, part=part)), lever=[made], bar=bar)


def dropper(lever: str) -> str:
    """A dropper post that holds the nipple, on a lever of some kind."""
    post = {"name": "post", "type": "stop", "part": "dropper post", "on": "seat tube", "from": "bottom bracket"}
    made = [{**LEVERS["flat"], "part": lever}]
    work = {"work": "dropper", "inner": "shift 1.2", "housing": "lengthwise shift 4.0"}
    clip = station(REAR_STOP, type="clip", name="clip", facing="bottom bracket")
    return text(brake(LEVER, clip, {**post, "along": 200}, **work), lever=made, bar="flat")


def shut(*, opening: bool) -> str:
    """Housing from the down tube into the seat tube, with or without an opening between them."""
    first = port("in", 120, 9, then="inside", through=["down tube", "seat tube"], carries="housing")
    out = {**port("out", 250, 9), "on": "seat tube", "from": "bottom bracket", "facing": "top"}
    joined = [{"between": ["down tube", "seat tube"], "size": 20}] if opening else []
    return text(through(first, out), opening=joined)
