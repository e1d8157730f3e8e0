"""What loops of one group ask for together: their demands in the poses of the bike that go together."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ropewalk.analysis.groups import Group
from ropewalk.analysis.loops import Array
from ropewalk.analysis.tolerance import ALIKE
from ropewalk.bike.poses import STEER
from ropewalk.routing.course import Loop
from ropewalk.routing.spans import PlacedLine


class Demands(NamedTuple):
    """What the loops of a piece ask for, one after the other."""

    #: shortest safe length in each of a loop's poses [mm], (K,) each
    lengths: list[Array]
    #: change of those per unit of each of F figures, (K, F) each
    changes: list[Array]
    #: the poses, (K, 5) each
    poses: list[Array]
    #: places of the loops in the line; -1 for a group
    loops: list[int]


def merged(line: PlacedLine, group: Group, demands: Demands, figures: int) -> Demands:
    """Return the demands of a piece's loops with those of one group as one.

    Parameters
    ----------
    line : PlacedLine
    group : Group
    demands : Demands
        Of all loops of the piece.
    figures : int
        How many figures the changes are told for.
    """
    own = [order for order, span in enumerate(demands.loops) if span in group.spans]
    others = [order for order in range(len(demands.loops)) if order not in own]
    poses = [demands.poses[order] for order in own]
    rows = [row for row in itertools.product(*(range(len(pose)) for pose in poses)) if _go_together(poses, row)]
    turned = any((pose[:, STEER] != 0.0).any() for pose in poses)
    steers = group.poses[:, STEER]
    angles = [0.0] if turned else sorted({float(steers.min()), 0.0, float(steers.max())})
    length, change, pose = [], [], []
    for row, angle in itertools.product(rows, angles):
        picked = list(zip(own, row, strict=True))
        whole = np.sum([demands.poses[order][at] for order, at in picked], axis=0) if picked else np.zeros(5)
        steer = max((float(demands.poses[order][at][STEER]) for order, at in picked), key=abs, default=0.0) or angle
        ways = [shape for place in group.spans if not isinstance(shape := line.spans[place], Loop)]
        fixed = sum(float(way.length_in(steer)[0]) for way in ways)
        length.append(fixed + sum(float(demands.lengths[order][at]) for order, at in picked))
        change.append(np.sum([demands.changes[order][at] for order, at in picked], axis=0) + np.zeros(figures))
        pose.append(whole)
    return Demands(
        [*(demands.lengths[order] for order in others), np.array(length)],
        [*(demands.changes[order] for order in others), np.array(change)],
        [*(demands.poses[order] for order in others), np.array(pose)],
        [*(demands.loops[order] for order in others), -1],
    )


def _go_together(poses: Sequence[Array], row: Sequence[int]) -> bool:
    """Return whether picked poses of several loops can be one pose of the bike, as far as each moves."""
    moving = [pose.max(axis=0) > pose.min(axis=0) for pose in poses]
    picked = [pose[at] for pose, at in zip(poses, row, strict=True)]
    return not any(
        _apart(one, other, first & second)
        for (one, first), (other, second) in itertools.combinations(zip(picked, moving, strict=True), 2)
    )


def _apart(one: Array, other: Array, both: NDArray[np.bool_]) -> bool:
    return bool((np.abs(one - other) > ALIKE)[both].any())
