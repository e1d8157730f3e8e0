"""Tension along a line that rubs on a row of contacts (Euler and Eytelwein's capstan law, with constant drags).

A line pulled over a contact through the angle theta with the friction coefficient mu loses tension by
exp(-mu theta), whatever the radius and length of the contact (Euler 1769, Eytelwein 1808; symbols: theta is `turn`,
mu is `friction`). A seal or an adjuster takes a constant `drag` besides. The contacts stand in order from the near
end, which pulls, to the far end, where a spring holds; each contact's drag sits on the far side of its turn.

Examples
--------
Half a turn at 0.4 leaves 142 N of 500 N:

>>> round(pull_through(500.0, [Contact(math.pi, 0.4)])[-1])
142
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

#: The release reserve is found within this share of itself.
RESERVE_TOLERANCE = 1e-12
#: No friction coefficient is as large as this.
NO_FRICTION = 1e9


@dataclass(frozen=True, slots=True)
class Contact:
    """A stretch of a line that turns and rubs.

    Parameters
    ----------
    turn : float
        Total angle the line turns through in space, at least 0 [rad].
    friction : float
        Friction coefficient [1].
    drag : float
        Constant resistance on the far side of the turn [N].
    """

    turn: float
    friction: float = 0.0
    drag: float = 0.0


def pull_through(tension_in: float, contacts: Iterable[Contact]) -> tuple[float, ...]:
    """Return the tension on the far side of each contact while the near end pulls.

    Parameters
    ----------
    tension_in : float
        Tension at the near end [N].
    contacts : iterable of Contact
        From near to far.

    Returns
    -------
    tuple of float
        Tensions [N]; the last is what arrives. Never below 0: a drag that is not overcome lets nothing past.

    Examples
    --------
    >>> [round(tension, 1) for tension in pull_through(100.0, [Contact(math.pi, 0.1), Contact(0.0, drag=3.0)])]
    [73.0, 70.0]
    """
    tensions = []
    tension = tension_in
    for contact in contacts:
        tension = max(0.0, tension * math.exp(-contact.friction * contact.turn) - contact.drag)
        tensions.append(tension)
    return tuple(tensions)


def pull_needed(tension_out: float, contacts: Sequence[Contact]) -> tuple[float, ...]:
    """Return the tension on the near side of each contact while the near end pulls a given tension out of the far one.

    Parameters
    ----------
    tension_out : float
        Tension at the far end [N].
    contacts : sequence of Contact
        From near to far.

    Returns
    -------
    tuple of float
        Tensions [N], from near to far; the first is what the near end must pull.
    """
    tensions = []
    tension = tension_out
    for contact in reversed(contacts):
        tension = (tension + contact.drag) * math.exp(contact.friction * contact.turn)
        tensions.append(tension)
    return tuple(reversed(tensions))


def release_through(spring: float, contacts: Sequence[Contact]) -> tuple[float, ...]:
    """Return the tension on the near side of each contact while the far end draws the line back.

    Parameters
    ----------
    spring : float
        Tension at the far end [N].
    contacts : sequence of Contact
        From near to far, as for pulling.

    Returns
    -------
    tuple of float
        Tensions [N], from near to far; the first is what arrives at the near end. Never below 0.

    Examples
    --------
    >>> [round(tension, 1) for tension in release_through(20.0, [Contact(math.pi, 0.1), Contact(0.0, drag=3.0)])]
    [12.4, 17.0]
    """
    tensions = []
    tension = spring
    for contact in reversed(contacts):
        tension = max(0.0, tension - contact.drag) * math.exp(-contact.friction * contact.turn)
        tensions.append(tension)
    return tuple(reversed(tensions))


def efficiency(tension_in: float, contacts: Iterable[Contact]) -> float:
    """Return tension out over tension in while the near end pulls, between 0 and 1.

    Parameters
    ----------
    tension_in : float
        Tension at the near end, above 0 [N]; it matters only where there are drags.
    contacts : iterable of Contact
        From near to far.

    Examples
    --------
    >>> efficiency(100.0, [])
    1.0
    """
    tensions = pull_through(tension_in, contacts)
    return tensions[-1] / tension_in if tensions else 1.0


def release_reserve(spring: float, contacts: Sequence[Contact], needed_force: float) -> float:
    """Return the one friction coefficient that, put on every contact, just stops the line from coming back.

    Parameters
    ----------
    spring : float
        Tension at the far end [N].
    contacts : sequence of Contact
        From near to far; their turns and drags count, their own friction does not.
    needed_force : float
        What must arrive at the near end, at least 0 [N].

    Returns
    -------
    float
        0 if the drags alone stop it, infinite if no friction can (no turn to rub on, or nothing to overcome).

    Notes
    -----
    Without drags it is ln(spring / needed) / total turn; with drags it lies below that and is found by halving,
    for what arrives falls steadily as friction grows.
    """
    if _surplus(0.0, spring, contacts, needed_force) <= 0.0:
        return 0.0
    total = sum(contact.turn for contact in contacts)
    if total == 0.0 or not (needed_force > 0.0 or _drag_follows_turn(contacts)):
        return math.inf
    if needed_force > 0.0 and not any(contact.drag for contact in contacts):
        return math.log(spring / needed_force) / total
    least, most = 0.0, 1.0
    while _surplus(most, spring, contacts, needed_force) > 0.0:
        if most > NO_FRICTION:
            return math.inf
        least, most = most, 2.0 * most
    while most - least > RESERVE_TOLERANCE * most:
        middle = 0.5 * (least + most)
        if not least < middle < most:
            break
        if _surplus(middle, spring, contacts, needed_force) > 0.0:
            least = middle
        else:
            most = middle
    return most


def _surplus(friction: float, spring: float, contacts: Sequence[Contact], needed_force: float) -> float:
    """Return what arrives beyond the force needed; a negative figure where a drag stops the line on its way."""
    tension = spring
    for contact in reversed(contacts):
        tension -= contact.drag
        if tension <= 0.0:
            return tension - needed_force
        tension *= math.exp(-friction * contact.turn)
    return tension - needed_force


def _drag_follows_turn(contacts: Sequence[Contact]) -> bool:
    """Tell whether, drawn back from the far end, the line meets a drag after a turn."""
    turned = False
    for contact in reversed(contacts):
        if turned and contact.drag > 0.0:
            return True
        turned = turned or contact.turn > 0.0
    return False
