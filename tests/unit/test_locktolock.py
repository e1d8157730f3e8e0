"""Curves from lock to lock agree with the sweep they are of, and with the window."""

from __future__ import annotations

import numpy as np
import pytest
from planned import planned

from ropewalk.workshop.locktolock import lock_curves, tightest

BIKES = ("touring", "trail", "gravel-headset", "longtail", "folding")


@pytest.mark.parametrize("name", BIKES)
def test_the_radius_is_the_sweep_s_at_the_angles_they_share(name: str) -> None:
    job = planned(name)
    loops = {loop.case.name: loop for loop in job.loops.values()}
    for curve in lock_curves(job):
        loop = loops[curve.loop]
        swept = {round(np.degrees(pose[0]), 6): radius for pose, radius in _riding(loop)}
        shared = [at for at, angle in enumerate(curve.angles) if round(float(angle), 6) in swept]
        assert len(shared) > 5
        for at in shared:
            assert curve.radius[at] == pytest.approx(swept[round(float(curve.angles[at]), 6)], rel=1e-5)


def _riding(loop):  # type: ignore[no-untyped-def]
    """Return the poses of a sweep in which nothing but the bars has moved, with their least radius."""
    return [
        (pose, radius)
        for pose, radius in zip(loop.case.poses, loop.sweep.least_radius, strict=True)
        if not pose[1:].any()
    ]


@pytest.mark.parametrize("name", ["touring", "longtail"])
def test_where_least_is_to_spare_the_target_is_as_much_over_the_shortest_as_the_trim(name: str) -> None:
    job = planned(name)
    loops = {loop.case.name: loop for loop in job.loops.values()}
    for curve in lock_curves(job):
        loop = loops[curve.loop]
        assert loop.shortest is not None
        # The shortest is refined between the sweep's steps, so that it may ask for a little more than they do.
        assert curve.spare.min() == pytest.approx(loop.target - loop.shortest.length, abs=0.1)
        assert curve.spare.min() >= loop.target - loop.shortest.length - 1e-6


def test_the_tightest_is_the_least_of_the_curve() -> None:
    for curve in lock_curves(planned("touring")):
        angle, radius = tightest(curve)
        assert radius == np.nanmin(curve.radius)
        assert curve.radius[list(curve.angles).index(angle)] == radius
