"""Windows of loops against closed forms of the elastica, and against themselves scaled, mirrored and reversed.

In-line clamps: with k = sin(alpha / 2), alpha the steepest tangent, the rod is four clamped-free columns end to end, so
its length is 8 k K(k) times its least radius, its chord (2 E(k) / K(k) - 1) times its length, and it turns by 4 alpha
(Timoshenko and Gere, Theory of Elastic Stability, 2nd ed., section 2.7; from memory, recomputed).
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable

import numpy as np
import pytest
from makers import loop_case, steered
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.special import ellipe, ellipk

from ropewalk.analysis.loops import LoopCase, LoopWindow
from ropewalk.analysis.window import windows
from ropewalk.mechanics.elastica import Clamps, relax

Array = NDArray[np.float64]
X, Y, Z = np.eye(3)


def case(start: Array, leaving: Array, end: Array, arriving: Array, radius: float, **changes: object) -> LoopCase:
    """Return a loop that does not move and has one radius to keep."""

    def clamps(poses: Array) -> Clamps:
        return Clamps(*(np.tile(figure, (len(poses), 1)) for figure in (start, leaving, end, arriving)))

    allowance = float(changes.pop("allowance", 1.0))  # type: ignore[arg-type]
    return loop_case([0.0], clamps, radius, radius, **{"trim": 3.0, "turn_allowance": allowance, **changes})


def window(loop: LoopCase) -> LoopWindow:
    return windows([loop])[0]


def ends(found: LoopWindow) -> tuple[float, float]:
    assert found.shortest is not None
    assert found.longest is not None
    return found.shortest.length, found.longest.length


def in_line(chord: float, radius: float, **changes: object) -> LoopCase:
    return case(np.zeros(3), X, chord * X, X, radius, **changes)


def chord_share(modulus: float) -> float:
    return float(2.0 * ellipe(modulus**2) / ellipk(modulus**2) - 1.0)


@pytest.mark.parametrize("modulus", [0.2, 0.35, 0.5, 0.57])
def test_an_in_line_loop_is_longest_where_it_bends_to_its_radius(modulus: float) -> None:
    """Its shortest length is straight; from there on it bends the more the longer it is."""
    radius = 40.0
    longest = 8.0 * modulus * float(ellipk(modulus**2)) * radius
    found = window(in_line(longest * chord_share(modulus), radius, allowance=9.0))
    low, high = ends(found)
    assert low == pytest.approx(longest * chord_share(modulus), rel=1e-3)
    assert high == pytest.approx(longest, abs=0.1)
    assert found.shortest is not None and found.longest is not None
    assert found.shortest.why.startswith("pulls: it is straight")
    assert found.longest.why.startswith("kinks")


@pytest.mark.parametrize("allowance_deg", [15.0, 30.0, 60.0])
def test_an_in_line_loop_is_longest_where_its_turn_is_used_up(allowance_deg: float) -> None:
    """The allowance is what it turns beyond its shortest length, which is a hair over the chord."""
    chord = 200.0
    found = window(in_line(chord, 5.0, allowance=math.radians(allowance_deg)))
    low, high = ends(found)
    first = brentq(lambda k: chord_share(k) - chord / low, 1e-6, 0.9)
    steepest = (8.0 * math.asin(first) + math.radians(allowance_deg)) / 4.0
    assert high == pytest.approx(chord / chord_share(math.sin(steepest / 2)), abs=0.05)
    assert found.longest is not None
    assert found.longest.why == f"turns {allowance_deg:.0f}° more than at its shortest"


@pytest.mark.parametrize("share", [0.9, 0.95, 0.99])
def test_a_narrow_window_about_a_half_circle_is_found(share: float) -> None:
    """Between opposite clamps side by side the half circle bends least; at 0.99 of its radius 1.7 mm are left."""
    apart = 120.0
    found = window(case(np.zeros(3), Y, apart * X, -Y, share * apart / 2, allowance=9.0))
    low, high = ends(found)
    assert low < math.pi * apart / 2 < high
    rods = relax(found.case.clamps(steered(np.zeros(2))), np.array([low - 0.05, high + 0.05]))
    assert (rods.least_radius < share * apart / 2).all()
    assert found.shortest is not None and found.longest is not None
    assert found.shortest.why.startswith("pulls")
    assert found.longest.why.startswith("kinks")


def test_no_length_keeps_a_radius_that_is_too_large() -> None:
    """A hairpin between clamps 10 mm apart cannot keep 60 mm up to a full circle of it; the target misses least."""
    found = window(case(np.zeros(3), Y, 10.0 * X, -Y, 60.0))
    assert (found.shortest, found.longest, found.demand) == (None, None, None)
    lengths = np.linspace(11.0, 10.0 + 2 * math.pi * 60.0, 80)
    best = relax(found.case.clamps(steered(np.zeros(80))), lengths).least_radius.max()
    assert best < 60.0
    assert found.radius[0] > 0.97 * best


def test_the_target_is_the_shortest_length_and_the_trim() -> None:
    found = window(in_line(200.0, 5.0, trim=3.0))
    assert found.target == pytest.approx(ends(found)[0] + 3.0)
    assert not found.squeezed


def test_a_trim_that_does_not_fit_gives_way_to_the_longest_tidy_length() -> None:
    found = window(case(np.zeros(3), Y, 120.0 * X, -Y, 0.97 * 60.0, allowance=9.0, trim=40.0))
    assert found.squeezed
    assert found.target == pytest.approx(ends(found)[1])


def test_the_advised_radius_governs_where_a_tidy_length_keeps_it() -> None:
    """The half circle keeps 59 of 60 mm; at 61 mm only a balloon would."""
    tight = case(np.zeros(3), Y, 120.0 * X, -Y, 40.0, allowance=0.5)
    kept = window(dataclasses.replace(tight, advised_radius=59.0))
    assert kept.keeps_advised
    assert kept.radius[0] >= 59.0 - 1e-3
    not_kept = window(dataclasses.replace(tight, advised_radius=62.0))
    assert not not_kept.keeps_advised
    assert ends(not_kept)[0] == pytest.approx(ends(window(tight))[0], abs=0.05)


def askew(radius: float = 45.0, size: float = 1.0) -> LoopCase:
    leaving = np.array([0.3, 0.9, 0.2])
    return case(np.zeros(3), leaving / np.linalg.norm(leaving), size * np.array([180.0, 10.0, 70.0]), -Y, size * radius)


@pytest.mark.parametrize("size", [0.5, 2.0])
def test_a_window_grows_with_the_loop(size: float) -> None:
    assert ends(window(askew(size=size))) == pytest.approx([size * end for end in ends(window(askew()))], abs=0.1)


def reversed_(loop: LoopCase) -> Callable[[Array], Clamps]:
    def clamps(poses: Array) -> Clamps:
        own = loop.clamps(poses)
        return Clamps(own.end, -own.end_direction, own.start, -own.start_direction)

    return clamps


def mirrored(loop: LoopCase) -> Callable[[Array], Clamps]:
    def clamps(poses: Array) -> Clamps:
        own = loop.clamps(poses)
        parts = (own.start, own.start_direction, own.end, own.end_direction)
        return Clamps(*(part * np.array([1.0, 1.0, -1.0]) for part in parts))

    return clamps


@pytest.mark.parametrize("change", [reversed_, mirrored])
def test_a_window_is_the_same_from_the_other_end_and_in_the_mirror(
    change: Callable[[LoopCase], Callable[[Array], Clamps]],
) -> None:
    loop = askew()
    assert ends(window(dataclasses.replace(loop, clamps=change(loop)))) == pytest.approx(ends(window(loop)), abs=0.05)


def test_a_loop_s_window_does_not_depend_on_its_company() -> None:
    together = windows([askew(), in_line(200.0, 5.0), askew(60.0)])
    assert [ends(found) for found in together] == [
        pytest.approx(ends(window(loop)), abs=0.05) for loop in (askew(), in_line(200.0, 5.0), askew(60.0))
    ]


def test_what_it_must_not_rub_ends_a_window() -> None:
    """A lid above an in-line loop: it bows 20 mm high and no higher, whichever way it bows."""

    def lid(curves: Array, _poses: Array) -> Array:
        return np.asarray(20.0 - np.hypot(curves[..., 1], curves[..., 2]).max(axis=1))

    found = window(in_line(200.0, 5.0, allowance=3.0, clearance=lid))

    def height(modulus: float) -> float:
        """Middle height over length is k / K(k)."""
        return 200.0 / chord_share(modulus) * modulus / float(ellipk(modulus**2)) - 20.0

    modulus = brentq(height, 1e-6, 0.9)
    assert ends(found)[1] == pytest.approx(200.0 / chord_share(modulus), abs=0.1)
    assert found.longest is not None
    assert found.longest.why == "rubs"


def test_a_loop_that_rubs_at_its_shortest_already_has_no_room() -> None:
    found = window(in_line(200.0, 5.0, clearance=lambda curves, _poses: np.full(len(curves), -1.0)))
    assert ends(found)[1] == ends(found)[0]
    assert found.squeezed


def test_no_loops_no_windows() -> None:
    assert windows([]) == ()
