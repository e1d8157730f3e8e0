"""Colours of the steering view by day and by night: the drawing's own, and told apart by every kind of sight."""

from __future__ import annotations

import itertools
import re
from pathlib import Path

import numpy as np
import pytest
from sight import SIGHT, lab, linear, luminance

import ropewalk.page
from ropewalk.drawing.style import CHALK, SIGNALS

_STYLE = (Path(ropewalk.page.__file__).parent / "steering_view.css").read_text(encoding="utf-8")
_DAY, _NIGHT = _STYLE.split('[data-theme="dark"]', 1)
_BOTH = {"day": _DAY, "night": _NIGHT.split("}", 1)[0]}


def colours(style: str) -> list[str]:
    return re.findall(r"--line-\d: (#[0-9a-f]{6});", style)


def colour(style: str, name: str) -> str:
    found = re.search(rf"--{name}: (#[0-9a-f]{{6}});", style)
    assert found
    return found[1]


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_by_day_it_has_the_drawings_colours() -> None:
    assert colours(_DAY) == list(SIGNALS)
    assert colour(_DAY, "paper") == CHALK


@pytest.mark.parametrize("time", _BOTH)
@pytest.mark.parametrize("sight", SIGHT)
def test_lines_are_told_apart(time: str, sight: str) -> None:
    seen = [lab(np.array(SIGHT[sight]) @ linear(one)) for one in colours(_BOTH[time])]
    assert len(seen) == len(SIGNALS)
    assert min(float(np.linalg.norm(a - b)) for a, b in itertools.combinations(seen, 2)) > 20.0


@pytest.mark.parametrize("time", _BOTH)
def test_lines_and_words_stand_out_from_the_paper(time: str) -> None:
    """At least 3 : 1 for what is drawn and 4.5 : 1 for words (WCAG 2.2, success criteria 1.4.11 and 1.4.3)."""
    paper = colour(_BOTH[time], "paper")
    assert min(contrast(one, paper) for one in colours(_BOTH[time])) >= 3.0
    assert contrast(colour(_BOTH[time], "ink"), paper) >= 4.5
