"""Beer and Johnston, Vector Mechanics for Engineers: Statics, 10th ed., problem 8.104 (read).

A hawser is wrapped two full turns round a bollard; 80 lb on its free end hold 5000 lb. Find the friction coefficient,
and how many turns hold 20 000 lb with the same 80 lb. Printed: 0.329 and 2.67 turns.
Pounds are kept: only ratios count.
"""

import math

from scipy.optimize import brentq

from ropewalk.mechanics.capstan import Contact, pull_through, release_reserve


def friction_found():
    return release_reserve(5000.0, [Contact(2 * 2 * math.pi)], 80.0)


def test_problem_8_104_a_friction():
    assert round(friction_found(), 3) == 0.329


def test_problem_8_104_b_turns():
    friction = friction_found()

    def held(turns):
        return pull_through(20_000.0, [Contact(2 * math.pi * turns, friction)])[-1] - 80.0

    assert round(brentq(held, 1.0, 5.0), 2) == 2.67
