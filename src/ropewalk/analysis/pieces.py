"""Pieces of housing: the windows of their loops and the lengths of their other spans, added up."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ropewalk.analysis.loops import Array, LoopWindow
from ropewalk.bike.poses import Poses
from ropewalk.routing.course import Course
from ropewalk.routing.lines import Piece, Route
from ropewalk.routing.spans import PlacedLine

#: shares of the way from shortest to longest at which the turn of a piece with several loops is looked at
_SHARES = 33
#: how often the step in which it passes the allowance is halved
_HALVINGS = 10


@dataclass(frozen=True, slots=True)
class Term:
    """One thing a length is made of: what it is, mm, and a remark."""

    label: str
    mm: float
    note: str = ""


@dataclass(frozen=True, slots=True)
class PieceStudy:
    """What was found of one piece of housing.

    Attributes
    ----------
    route : Route
    piece : Piece
    loops : tuple of LoopWindow
        Its loops from lever to work.
    courses : tuple of Course
        Its other spans.
    fixed : float
        Length of everything but the loops: other spans and what lies in the ferrules [mm].
    window : tuple of float or None
        Shortest safe and longest tidy length [mm]; None when a loop has no window or no way leads inside.
    target : float
        [mm]
    why_shortest, why_longest : str
        The reasons in words.
    least_radius : float
        Least radius at the target length over the sweep [mm]; infinite for a straight piece.
    least_radius_pose : (5,) array
        Pose in which it is found.
    turn : float
        Turn straight ahead at the target length [rad].
    terms : tuple of Term
        What the target is made of.
    """

    route: Route
    piece: Piece
    loops: tuple[LoopWindow, ...]
    courses: tuple[Course, ...]
    fixed: float
    window: tuple[float, float] | None
    target: float
    why_shortest: str
    why_longest: str
    least_radius: float
    least_radius_pose: Array
    turn: float
    terms: tuple[Term, ...]

    @property
    def reached(self) -> bool:
        """Whether every inside span of it finds a way through the tubes."""
        return all(course.reached for course in self.courses)

    @property
    def keeps_advised(self) -> bool:
        """Whether every loop keeps its advised radius in the riding range."""
        return all(loop.keeps_advised for loop in self.loops)


def study_piece(line: PlacedLine, piece: Piece, loops: Sequence[LoopWindow], sweep: Poses) -> PieceStudy:
    """Add up one piece.

    Parameters
    ----------
    line : PlacedLine
        The line on the bike.
    piece : Piece
        One of its pieces.
    loops : sequence of LoopWindow
        The windows of the piece's loops, in order.
    sweep : Poses
        The bike's.

    Notes
    -----
    Its stations hold the housing, so every span keeps its own slack and the windows add up. The allowance of turn is
    for the whole piece: several loops share it in proportion to their own windows.
    """
    courses = tuple(span for place in piece.spans if isinstance(span := line.spans[place], Course))
    terms = _terms(line, piece, loops)
    fixed = sum(term.mm for term in terms) - sum(loop.target for loop in loops)
    window, why_longest = _window(loops, courses, fixed, sweep)
    target = fixed + sum(loop.target for loop in loops)
    if window is not None and target > window[1]:
        terms = (*terms, Term("less, to stay tidy", window[1] - target, "its loops share the allowance of turn"))
        target = window[1]
    radius, pose = _least_radius(loops, courses)
    return PieceStudy(
        route=line.route,
        piece=piece,
        loops=tuple(loops),
        courses=courses,
        fixed=fixed,
        window=window if all(course.reached for course in courses) else None,
        target=target,
        why_shortest=_why_shortest(loops, courses),
        why_longest=why_longest,
        least_radius=radius,
        least_radius_pose=pose,
        turn=sum(course.turn for course in courses) + sum(float(loop.sweep.turn[loop.case.home]) for loop in loops),
        terms=terms,
    )


def _terms(line: PlacedLine, piece: Piece, loops: Sequence[LoopWindow]) -> tuple[Term, ...]:
    stations = line.route.line.station
    terms = [Term(f"in the ferrule at {stations[piece.start].name}", float(piece.start_ferrule.insertion))]
    waiting = list(loops)
    for place in piece.spans:
        span, shape = line.route.spans[place], line.spans[place]
        label = f"{span.kind}, {stations[span.start].name} to {stations[span.end].name}"
        if isinstance(shape, Course):
            terms.append(Term(label, shape.length, "taut path through the tubes" if span.kind == "inside" else ""))
        else:
            loop = waiting.pop(0)
            terms.append(Term(label, loop.target, _loop_note(loop)))
    terms.append(Term(f"in the ferrule at {stations[piece.end].name}", float(piece.end_ferrule.insertion)))
    return tuple(terms)


def _loop_note(loop: LoopWindow) -> str:
    if loop.shortest is None:
        return "no length keeps the kink radius: this one misses it least"
    beyond = loop.target - loop.shortest.length
    if loop.squeezed:
        return f"longest tidy; shortest safe {loop.shortest.length:.1f}"
    if beyond > loop.case.trim + 0.05:
        return f"shortest safe {loop.shortest.length:.1f} and {beyond:.1f} more, for less turn"
    return f"shortest safe {loop.shortest.length:.1f} and {loop.case.trim:.0f} to trim"


def _window(
    loops: Sequence[LoopWindow], courses: Sequence[Course], fixed: float, sweep: Poses
) -> tuple[tuple[float, float] | None, str]:
    slack = sum(course.slack for course in courses)
    lows = [loop.shortest.length for loop in loops if loop.shortest is not None]
    highs = [loop.longest.length for loop in loops if loop.longest is not None]
    if len(lows) < len(loops) or len(highs) < len(loops):
        return None, "no length keeps the kink radius"
    if not loops:
        reason = "it lies from wall to wall in the tubes" if slack > 0.05 else "it is held along its whole length"
        return (fixed, fixed + slack), reason
    share = _share_of_turn(loops, sweep)
    longest = sum(low + share * (high - low) for low, high in zip(lows, highs, strict=True))
    why = _named([(loop, loop.longest.why) for loop in loops if loop.longest is not None])
    if share < 1.0:
        why = f"its loops together turn {math.degrees(loops[0].case.turn_allowance):.0f}° more than at their shortest"
    return (fixed + sum(lows), fixed + longest + slack), why


def _share_of_turn(loops: Sequence[LoopWindow], sweep: Poses) -> float:
    """Return how far loops may go from shortest to longest before the piece's allowance of turn is used up."""
    if len(loops) < 2:
        return 1.0
    ridden = sweep.values[sweep.riding]
    places = [loop.case.places_of(ridden) for loop in loops]
    limit = _turn(loops, 0.0, places) + loops[0].case.turn_allowance + 1e-9
    shares = np.linspace(0.0, 1.0, _SHARES)
    over = next((at for at, share in enumerate(shares) if _turn(loops, float(share), places) > limit), None)
    if over is None:
        return 1.0
    low, high = float(shares[over - 1]), float(shares[over])
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if _turn(loops, middle, places) <= limit else (low, middle)
    return low


def _turn(loops: Sequence[LoopWindow], share: float, places: Sequence[NDArray[np.intp]]) -> float:
    """Return the most turn over the riding range with every loop at a share of its window."""
    total: Array = np.zeros(len(places[0]))
    for loop, place in zip(loops, places, strict=True):
        assert loop.shortest is not None
        assert loop.longest is not None
        length = loop.shortest.length + share * (loop.longest.length - loop.shortest.length)
        total = total + loop.turn_at(length)[place]
    return float(total.max())


def _why_shortest(loops: Sequence[LoopWindow], courses: Sequence[Course]) -> str:
    if loops and all(loop.shortest is not None for loop in loops):
        return _named([(loop, loop.shortest.why) for loop in loops if loop.shortest is not None])
    if loops:
        return "no length keeps the kink radius"
    return "it is taut in the tubes" if any(course.slack for course in courses) else "it is the length of its way"


def _named(reasons: Sequence[tuple[LoopWindow, str]]) -> str:
    """Return the reasons of a piece's loops; where there are several, each after its loop's name."""
    if len(reasons) == 1:
        return reasons[0][1]
    return "; ".join(f"{loop.case.name}: {why}" for loop, why in reasons)


def _least_radius(loops: Sequence[LoopWindow], courses: Sequence[Course]) -> tuple[float, Array]:
    radius = min((course.least_radius for course in courses), default=math.inf)
    pose = np.zeros(5)
    for loop in loops:
        worst = int(loop.radius.argmin())
        if loop.radius[worst] < radius:
            radius, pose = float(loop.radius[worst]), loop.case.poses[worst]
    return radius, pose
