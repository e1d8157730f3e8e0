"""Choices: bounds told in one line, and the catalogue's settings where the shop leaves one open."""

from __future__ import annotations

import dataclasses
import math

import pytest
from workbench import PARTS

from ropewalk.errors import ChoiceError
from ropewalk.workshop.choices import Choices, settle

#: a choice, one value that is too small, one too large, and its unit
BOUNDS = [
    ("trim_moving", -1.0, 61.0, "mm"),
    ("trim_still", -0.1, 100.0, "mm"),
    ("turn_allowance_deg", 4.0, 181.0, "°"),
    ("tail", 5.0, 90.0, "mm"),
    ("working_length", -1.0, 401.0, "mm"),
    ("hand_force", 0.0, 451.0, "N"),
]


def test_every_choice_has_bounds_here() -> None:
    assert {name for name, *_ in BOUNDS} == {field.name for field in dataclasses.fields(Choices)}


@pytest.mark.parametrize(("name", "low", "high", "unit"), BOUNDS)
def test_a_choice_out_of_bounds_is_told_with_its_value_and_bounds(
    name: str, low: float, high: float, unit: str
) -> None:
    for value in (low, high, math.nan, math.inf):
        with pytest.raises(ChoiceError) as refusal:
            Choices(**{name: value})
        said = str(refusal.value)
        assert said.startswith(f"{name} is {value:g} {unit}: choose between ")
        assert "\n" not in said


def test_what_the_shop_leaves_open_is_the_catalogue_s() -> None:
    settled, cut = settle(Choices(), PARTS), PARTS.settings.cut
    assert (settled.trim_moving, settled.trim_still) == (cut.trim_moving, cut.trim_still)
    assert math.degrees(settled.turn_allowance) == pytest.approx(30.0)
    assert (settled.tail, settled.working_length) == (PARTS.settings.inner.tail, PARTS.settings.inner.working_length)
    assert settled.hand_force == 100.0


def test_what_the_shop_chooses_goes_before_it() -> None:
    chosen = settle(Choices(5.0, 0.0, 45.0, 25.0, 0.0, 60.0), PARTS)
    assert dataclasses.astuple(chosen) == pytest.approx((5.0, 0.0, math.radians(45.0), 25.0, 0.0, 60.0))
