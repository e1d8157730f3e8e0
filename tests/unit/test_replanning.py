"""A plan made with an earlier one at hand is the very same plan."""

from __future__ import annotations

import pytest

from ropewalk.bike.fleet import FleetBike, fleet
from ropewalk.bike.reading import loads, read
from ropewalk.workshop import plan as planning
from ropewalk.workshop.choices import Choices
from ropewalk.workshop.plan import plan
from ropewalk.workshop.report import as_json_object

BIKES = [bike for bike in fleet() if bike.name in ("touring", "trail", "folding", "gravel-ports")]


@pytest.mark.parametrize("bike", BIKES, ids=lambda bike: bike.name)
def test_a_plan_with_one_line_changed_is_the_same_with_and_without_the_plan_before(
    bike: FleetBike, monkeypatch: pytest.MonkeyPatch
) -> None:
    frame = read(bike.path)
    before = plan(frame)
    *others, last = frame.line
    changed = frame.model_copy(update={"line": (last, *others[1:])})
    afresh = as_json_object(plan(changed))
    studied: list[int] = []
    windows = planning.windows
    monkeypatch.setattr(planning, "windows", lambda cases: studied.append(len(cases)) or windows(cases))
    again = as_json_object(plan(changed, before=before))
    assert again == afresh
    # Loops of lines that are the same were not studied again, but for those whose housing slides.
    plan(changed)
    assert studied[0] < studied[1]


def test_a_bike_changed_anywhere_else_is_studied_afresh() -> None:
    touring = next(bike for bike in BIKES if bike.name == "touring")
    before = plan(read(touring.path))
    text = touring.path.read_text(encoding="utf-8")
    for old, new in (
        ("stem = 100", "stem = 120"),
        ("lock = 75", "lock = 20"),
        ("reach = 380\n", "reach = { is = 380, within = 9 }\n"),
        ("along = 95, clock = 6", "along = 105, clock = 6"),
    ):
        changed = text.replace(old, new, 1)
        frame = loads(changed, "changed.toml")
        assert as_json_object(plan(frame, before=before)) == as_json_object(plan(frame))
    frame = read(touring.path)
    trimmed = Choices(trim_moving=25.0)
    assert as_json_object(plan(frame, trimmed, before=before)) == as_json_object(plan(frame, trimmed))
    assert as_json_object(plan(frame, before=before)) == as_json_object(before)
