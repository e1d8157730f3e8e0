"""Pieces of housing: the windows of their loops and groups and the lengths of their other spans, added up."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from ropewalk.analysis.groups import Group
from ropewalk.analysis.loops import Array, LoopWindow
from ropewalk.bike.poses import Poses, nearest_pose
from ropewalk.routing.course import Course, Loop, Way
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
    groups : tuple of Group
        Its runs of spans that share their slack.
    courses : tuple of Course or Wrap
        Its spans that are no loop.
    fixed : float
        Length of everything but loops and groups: other spans and what lies in the ferrules [mm].
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
    groups: tuple[Group, ...]
    courses: tuple[Way, ...]
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
    def held(self) -> tuple[LoopWindow, ...]:
        """Its loops that keep their own length."""
        return tuple(loop for loop in self.loops if not loop.case.slides)

    @property
    def wanted(self) -> float:
        """What its target would be if all of its loops and groups had theirs [mm]."""
        return self.fixed + sum(loop.target for loop in self.held) + sum(group.target for group in self.groups)

    @property
    def keeps_advised(self) -> bool:
        """Whether every loop keeps its advised radius in the riding range."""
        return all(loop.keeps_advised for loop in self.loops)


def study_piece(
    line: PlacedLine, piece: Piece, loops: Sequence[LoopWindow], groups: Sequence[Group], sweep: Poses
) -> PieceStudy:
    """Add up one piece.

    Parameters
    ----------
    line : PlacedLine
        The line on the bike.
    piece : Piece
        One of its pieces.
    loops : sequence of LoopWindow
        The windows of the piece's loops, in order; those of groups at their shares.
    groups : sequence of Group
        Its runs of spans that share their slack, in order.
    sweep : Poses
        The bike's.

    Notes
    -----
    Where stations hold the housing every span keeps its own slack and the windows add up; a group counts as one. The
    allowance of turn is for the whole piece: several loops share it in proportion to their own windows.
    """
    in_groups = {place for group in groups for place in group.spans}
    shapes = {place: line.spans[place] for place in piece.spans}
    courses = tuple(shape for shape in shapes.values() if not isinstance(shape, Loop))
    held = [loop for loop in loops if not loop.case.slides]
    alone = [shape for place, shape in shapes.items() if isinstance(shape, Course) and place not in in_groups]
    terms = _terms(line, piece, loops, groups)
    fixed = sum(term.mm for term in terms) - sum(loop.target for loop in held) - sum(group.target for group in groups)
    runs = [*(_run_of_loop(loop, sweep) for loop in held), *(_run_of_group(group, sweep) for group in groups)]
    window, why_longest = _window(runs, alone, fixed, _allowance(loops))
    target = sum(term.mm for term in terms)
    if window is not None and target > window[1]:
        terms = (*terms, Term("less, to stay tidy", window[1] - target, "its loops share the allowance of turn"))
        target = window[1]
    radius, pose = _least_radius(loops, courses)
    return PieceStudy(
        route=line.route,
        piece=piece,
        loops=tuple(loops),
        groups=tuple(groups),
        courses=courses,
        fixed=fixed,
        window=window if all(course.reached for course in courses) else None,
        target=target,
        why_shortest=_why_shortest(runs, courses),
        why_longest=why_longest,
        least_radius=radius,
        least_radius_pose=pose,
        turn=sum(float(course.turn_in(0.0)[0]) for course in courses)
        + sum(float(loop.sweep.turn[loop.case.home]) for loop in loops),
        terms=terms,
    )


@dataclass(frozen=True, slots=True)
class _Run:
    """A loop that keeps its length, or a group: what it may measure and how it turns in the riding range."""

    name: str
    window: tuple[float, float] | None
    why_shortest: str
    why_longest: str
    alone: bool
    turn: Callable[[float], Array]


def _run_of_loop(loop: LoopWindow, sweep: Poses) -> _Run:
    places = loop.case.places_of(sweep.values[sweep.riding])
    if loop.shortest is None or loop.longest is None:
        why = "no length keeps the kink radius"
        return _Run(loop.case.name, None, why, why, True, lambda length: np.zeros(len(places)))
    window = (loop.shortest.length, loop.longest.length)
    return _Run(
        loop.case.name,
        window,
        loop.shortest.why,
        loop.longest.why,
        True,
        lambda length: loop.turn_at(length)[places],
    )


def _run_of_group(group: Group, sweep: Poses) -> _Run:
    ridden = sweep.values[sweep.riding]
    return _Run(
        group.name,
        group.window,
        group.why_shortest,
        group.why_longest,
        False,
        lambda length: group.turn_at(length, ridden),
    )


def _allowance(loops: Sequence[LoopWindow]) -> float:
    return loops[0].case.turn_allowance if loops else 0.0


def _terms(line: PlacedLine, piece: Piece, loops: Sequence[LoopWindow], groups: Sequence[Group]) -> tuple[Term, ...]:
    stations = line.route.line.station
    terms = [Term(f"in the ferrule at {stations[piece.start].name}", float(piece.start_ferrule.insertion))]
    waiting = list(loops)
    shared = {place: group for group in groups for place in group.spans}
    for place in piece.spans:
        span, shape = line.route.spans[place], line.spans[place]
        label = f"{span.kind}, {stations[span.start].name} to {stations[span.end].name}"
        loop = waiting.pop(0) if isinstance(shape, Loop) else None
        if place in shared:
            group = shared[place]
            home = nearest_pose(group.poses, np.zeros(5))
            terms.append(Term(label, float(group.shares[place][home]), _share_note(group, place)))
        elif loop is not None:
            terms.append(Term(label, loop.target, _loop_note(loop)))
        elif isinstance(shape, Course):
            terms.append(Term(label, shape.length, "taut path through the tubes" if span.kind == "inside" else ""))
    terms.append(Term(f"in the ferrule at {stations[piece.end].name}", float(piece.end_ferrule.insertion)))
    return tuple(terms)


def _share_note(group: Group, place: int) -> str:
    """Return what to say of one span's share; the group's own sum is told at its first span."""
    if place != group.spans[0]:
        return "its share straight ahead: housing slides"
    if group.window is None:
        return "no length serves every pose: together they miss it least"
    kept = "longest tidy" if group.squeezed else f"{group.trim:.0f} to trim"
    if len(group.spans) == 1:
        return "the most it needs while the bars turn"
    return f"its share straight ahead: housing slides; together shortest safe {group.window[0]:.1f} and {kept}"


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
    runs: Sequence[_Run], courses: Sequence[Course], fixed: float, allowance: float
) -> tuple[tuple[float, float] | None, str]:
    slack = sum(course.slack for course in courses)
    windows = [run.window for run in runs if run.window is not None]
    if len(windows) < len(runs):
        return None, next(run.why_longest for run in runs if run.window is None)
    if not runs:
        reason = "it lies from wall to wall in the tubes" if slack > 0.05 else "it is held along its whole length"
        return (fixed, fixed + slack), reason
    share = _share_of_turn(runs, allowance)
    longest = sum(low + share * (high - low) for low, high in windows)
    why = _named([(run.name, run.why_longest) for run in runs])
    if share < 1.0:
        why = f"its loops together turn {math.degrees(allowance):.0f}° more than at their shortest"
    return (fixed + sum(low for low, _ in windows), fixed + longest + slack), why


def _share_of_turn(runs: Sequence[_Run], allowance: float) -> float:
    """Return how far runs may go from shortest to longest before the piece's allowance of turn is used up."""
    if len(runs) == 1 and runs[0].alone:
        return 1.0
    limit = _turn(runs, 0.0) + allowance + 1e-9
    shares = np.linspace(0.0, 1.0, _SHARES)
    over = next((at for at, share in enumerate(shares) if _turn(runs, float(share)) > limit), None)
    if over is None:
        return 1.0
    low, high = float(shares[over - 1]), float(shares[over])
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if _turn(runs, middle) <= limit else (low, middle)
    return low


def _turn(runs: Sequence[_Run], share: float) -> float:
    """Return the most turn over the riding range with every run at a share of its window."""
    turns = [
        run.turn(run.window[0] + share * (run.window[1] - run.window[0])) for run in runs if run.window is not None
    ]
    return float(np.sum(turns, axis=0).max())


def _why_shortest(runs: Sequence[_Run], courses: Sequence[Way]) -> str:
    lacking = [run.why_shortest for run in runs if run.window is None]
    if lacking:
        return lacking[0]
    if runs:
        return _named([(run.name, run.why_shortest) for run in runs])
    return "it is taut in the tubes" if any(course.slack for course in courses) else "it is the length of its way"


def _named(reasons: Sequence[tuple[str, str]]) -> str:
    """Return the reasons of a piece's runs; where there are several, each after its run's name."""
    if len(reasons) == 1:
        return reasons[0][1]
    return "; ".join(f"{name}: {why}" for name, why in reasons)


def _least_radius(loops: Sequence[LoopWindow], courses: Sequence[Way]) -> tuple[float, Array]:
    radius = min((course.least_radius for course in courses), default=math.inf)
    pose = np.zeros(5)
    for loop in loops:
        worst = int(loop.radius.argmin())
        if loop.radius[worst] < radius:
            radius, pose = float(loop.radius[worst]), loop.case.poses[worst]
    return radius, pose
