"""How long an inside span takes to be placed again: with its ports moved, and with the whole frame moved."""

import time

import pytest
from insides import CHAINSTAY, SHELL_OPENINGS, TO_CHAINSTAY, WIDE_SHELL, boss, inside, port, rear_port

from ropewalk.bike.deviations import deviated
from ropewalk.bike.model import build
from ropewalk.routing.spans import shape_span

WAYS = {
    "one tube, straight": (port(), rear_port(), {}),
    "one tube with a boss": (port(), rear_port(), {"obstacle": [boss()]}),
    "two tubes": (
        port(through=["down tube", "seat tube"]),
        rear_port(on="seat tube", from_="bottom bracket", along=250, facing="top"),
        {"opening": [{"between": ["down tube", "seat tube"], "size": 20}]},
    ),
    "three tubes": (
        port(through=TO_CHAINSTAY),
        rear_port(**CHAINSTAY),
        {"tubes": WIDE_SHELL, "opening": SHELL_OPENINGS},
    ),
}


def least(runs):
    """The least processor time of some runs [s]: other work on the machine only adds to it."""
    spent = []
    for run in runs:
        start = time.process_time()
        run()
        spent.append(time.process_time() - start)
    return min(spent)


@pytest.mark.parametrize("name", WAYS)
def test_placed_again(name: str) -> None:
    first, last, frame = WAYS[name]
    bike, line, found = inside(first, last, **frame)

    def again(other):
        return shape_span(other, line.route, 1, line.stations, line.onward, radii=False)

    assert again(bike).length == pytest.approx(found.length, rel=1e-12)
    same = least([lambda: again(bike)] * 50)
    others = [build(deviated(bike.frame, {("chart", "stack"): 0.01 * (step + 1)})) for step in range(30)]
    moved = least([lambda other=other: again(other) for other in others])
    print(f"\n{name}: {1e3 * same:.2f} ms of processor time, {1e3 * moved:.2f} ms with the frame moved")
    assert same < 5e-3
    assert moved < 10e-3
