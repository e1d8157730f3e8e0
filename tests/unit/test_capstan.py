"""Tension along contacts: order, balance, drags, and the friction that just stops the return."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from ropewalk.mechanics.capstan import Contact, efficiency, pull_needed, pull_through, release_reserve, release_through

turns = st.just(0.0) | st.floats(1e-3, 4 * math.pi)
frictions = st.floats(0.0, 0.5)
contact_lists = st.lists(st.builds(Contact, turns, frictions, st.floats(0.0, 3.0)), min_size=1, max_size=6)
free_lists = st.lists(st.builds(Contact, turns, frictions), min_size=1, max_size=6)


@pytest.mark.parametrize(("friction", "turn"), [(0.06, 1.0), (0.2, 6.0), (0.35, 12.0)])
def test_one_contact_obeys_the_balance_of_a_line_on_a_round_post(friction, turn):
    # dT/dtheta = -mu T, integrated numerically.
    solution = solve_ivp(lambda _, tension: -friction * tension, (0.0, turn), [100.0], rtol=1e-10, atol=1e-12)
    assert pull_through(100.0, [Contact(turn, friction)])[-1] == pytest.approx(solution.y[0, -1], rel=1e-7)


def test_a_drag_is_taken_where_it_sits():
    half = math.log(2.0)
    assert pull_through(100.0, [Contact(half, 1.0, 10.0), Contact(half, 1.0)]) == pytest.approx((40.0, 20.0))
    assert pull_through(100.0, [Contact(half, 1.0), Contact(half, 1.0, 10.0)]) == pytest.approx((50.0, 15.0))
    assert release_through(100.0, [Contact(half, 1.0), Contact(half, 1.0, 10.0)]) == pytest.approx((22.5, 45.0))
    assert release_through(100.0, [Contact(half, 1.0, 10.0), Contact(half, 1.0)]) == pytest.approx((20.0, 50.0))


def test_a_drag_that_is_not_overcome_lets_nothing_past():
    contacts = [Contact(0.0, drag=12.0), Contact(1.0, 0.1)]
    assert pull_through(10.0, contacts) == (0.0, 0.0)
    assert release_through(10.0, contacts)[0] == 0.0
    assert efficiency(10.0, contacts) == 0.0


@given(free_lists)
def test_only_the_sum_of_friction_times_turn_counts(contacts):
    exponent = sum(contact.friction * contact.turn for contact in contacts)
    assert efficiency(37.0, contacts) == pytest.approx(math.exp(-exponent), rel=1e-9)
    assert release_through(20.0, contacts)[0] == pytest.approx(20.0 * math.exp(-exponent), rel=1e-9)
    assert efficiency(37.0, contacts) == pytest.approx(efficiency(37.0, contacts[::-1]), rel=1e-9)


@given(contact_lists, st.floats(0.0, 100.0))
def test_what_is_needed_arrives(contacts, tension_out):
    needed = pull_needed(tension_out, contacts)
    arrived = pull_through(needed[0], contacts)
    assert arrived[-1] == pytest.approx(tension_out, rel=1e-6, abs=1e-6)
    assert arrived[:-1] == pytest.approx(needed[1:], rel=1e-6, abs=1e-6)


@given(contact_lists, st.floats(1.0, 100.0))
def test_a_line_drawn_back_pulls_less_than_the_spring_and_needs_more(contacts, spring):
    assert release_through(spring, contacts)[0] <= spring <= pull_needed(spring, contacts)[0]


@given(contact_lists, st.floats(0.5, 80.0), st.floats(0.05, 5.0))
def test_at_the_release_reserve_just_the_needed_force_arrives(contacts, spring, needed):
    reserve = release_reserve(spring, contacts, needed)

    def arrives(friction):
        return release_through(spring, [Contact(item.turn, friction, item.drag) for item in contacts])[0]

    if reserve == 0.0:
        assert arrives(0.0) <= needed * (1 + 1e-9)
    elif math.isinf(reserve):
        assert all(item.turn == 0.0 for item in contacts)
        assert arrives(1e6) > needed
    else:
        assert arrives(reserve * (1 - 1e-6)) >= needed * (1 - 1e-6)
        assert arrives(reserve * (1 + 1e-6) + 1e-9) <= needed * (1 + 1e-6)


def test_the_reserve_without_drags_is_the_logarithm_over_the_turn():
    contacts = [Contact(math.pi, 0.3), Contact(math.pi / 2, 0.1)]
    assert release_reserve(20.0, contacts, 4.0) == pytest.approx(math.log(5.0) / (1.5 * math.pi), rel=1e-12)


def test_the_reserve_with_one_drag_by_hand():
    # Drawn back: 20 N less 2 N over 1 rad must leave 6 N: mu = ln 3.  With the drag nearer: 20 exp(-mu) - 2 = 6.
    assert release_reserve(20.0, [Contact(1.0, drag=2.0)], 6.0) == pytest.approx(math.log(3.0), rel=1e-9)
    near = [Contact(0.0, drag=2.0), Contact(1.0)]
    assert release_reserve(20.0, near, 6.0) == pytest.approx(math.log(2.5), rel=1e-9)
    assert release_reserve(20.0, near, 0.0) == pytest.approx(math.log(10.0), rel=1e-9)


@pytest.mark.parametrize(
    ("spring", "contacts", "needed", "reserve"),
    [
        (20.0, [Contact(1.0, drag=15.0), Contact(1.0, drag=5.0)], 0.0, 0.0),
        (20.0, [Contact(1.0)], 20.0, 0.0),
        (20.0, [Contact(0.0, drag=15.0)], 6.0, 0.0),
        (0.0, [Contact(1.0)], 0.0, 0.0),
        (20.0, [Contact(0.0, drag=2.0)], 6.0, math.inf),
        (20.0, [], 6.0, math.inf),
        (20.0, [Contact(3.0)], 0.0, math.inf),
        (20.0, [Contact(3.0, drag=2.0)], 0.0, math.inf),
    ],
)
def test_the_ends_of_the_reserve(spring, contacts, needed, reserve):
    assert release_reserve(spring, contacts, needed) == reserve
