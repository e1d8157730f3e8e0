"""The bike as a picture in any pose: what stands on each body, placed and looked at; far things first."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

import numpy as np

from ropewalk.bike.model import Bike
from ropewalk.drawing.scene import Polyline, Shape
from ropewalk.drawing.silhouettes import Eye, from_the_right
from ropewalk.drawing.solids import seen
from ropewalk.drawing.standing import Joining, Placed, Standing, side_things
from ropewalk.workshop.jobplan import JobPlan


def bike_shapes(job: JobPlan, placed: Placed, travelled: Placed) -> Iterator[Shape]:
    """Draw everything but the lines from the rider's right.

    Parameters
    ----------
    job : JobPlan
    placed : mapping of str to Placement
        Where each body is.
    travelled : mapping of str to Placement
        Where it is with the bars straight and the bike unfolded, for the ground under both wheels.
    """
    bike = job.model
    yield _ground(bike, travelled)
    things = list(side_things(job))
    ahead = bike.tubes["head tube"].body
    if ahead != "frame" and not np.allclose(placed[ahead].rotation, np.eye(3)):
        # folded, the front half lies beside the rear one: all of it nearer, or all of it behind
        nearer = float(placed["fork"].points(bike.skeleton.front_axle)[0, 2]) > 0.0
        things.sort(key=lambda thing: thing.ahead is nearer)
    yield from shapes(things, placed, from_the_right)


def shapes(things: Iterable[Standing | Joining], placed: Placed, eye: Eye) -> Iterator[Shape]:
    """Draw what stands on placed bodies, in its order."""
    for thing in things:
        if isinstance(thing, Joining):
            yield from thing.draw(placed)
        else:
            yield from seen(thing.solid, placed[thing.body], eye)


def _ground(bike: Bike, travelled: Placed) -> Polyline:
    """Return the ground: level as the chart has it, or under both wheels where springs have given way."""
    bones = bike.skeleton
    rear = travelled[bike.mounts["rear axle"].body].points(bones.rear_axle)[0, :2]
    front = travelled[bike.mounts["front axle"].body].points(bones.front_axle)[0, :2]
    about = bones.wheel_radius + 60.0
    if np.allclose(rear, bones.rear_axle[:2]) and np.allclose(front, bones.front_axle[:2]):
        ends = [[rear[0] - about, bones.ground], [front[0] + about, bones.ground]]
        return Polyline(np.array(ends), "ground")
    along = (front - rear) / math.dist(front, rear)
    down = bones.wheel_radius * np.array([along[1], -along[0]])
    return Polyline(np.stack([rear + down - about * along, front + down + about * along]), "ground")
