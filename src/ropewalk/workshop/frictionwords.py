"""What friction does to a line in the words that every face uses: the pull, its stretches, what comes of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ropewalk.analysis.friction import LineFriction
from ropewalk.bike.sourced import SIGMAS_WITHIN
from ropewalk.units import degrees
from ropewalk.workshop.frictionplan import FrictionPlan


@dataclass(frozen=True, slots=True)
class StretchWords:
    """A stretch of the wire: what it is called, how far it turns, where it ends, tension there pulled and let back."""

    label: str
    turn: str
    to: str
    pulled: str
    let_back: str


def pull_words(line: FrictionPlan, condition: str) -> str:
    """Return in which pose and condition tension is told, and what pulls, in a sentence."""
    pull = f"{line.profiles[condition].pulling[0]:.0f} N at the lever's end of the wire"
    hand = f", from a hand of {line.friction.hand_force:.0f} N" if line.work == "brake" else ""
    return f"Tension {line.at}, {condition}; {pull}{hand}."


def stretch_words(line: FrictionPlan, condition: str) -> Iterator[StretchWords]:
    """Return tension along the wire, from the lever on."""
    profile = line.profiles[condition]
    yield StretchWords("at the lever", "", "0 mm", f"{profile.pulling[0]:.0f} N", f"{profile.releasing[0]:.1f} N")
    for at, stretch in enumerate(line.stretches, start=1):
        yield StretchWords(
            label=stretch.label + (f" (drag {stretch.drag:g} N)" if stretch.drag else ""),
            turn=f"{degrees(float(stretch.turn[profile.pose])):.0f}°",
            to=f"{profile.distance[at]:.0f} mm",
            pulled=f"{profile.pulling[at]:.0f} N",
            let_back=f"{profile.releasing[at]:.1f} N",
        )


def told(line: FrictionPlan, condition: str) -> Iterator[str]:
    """Return what arrives, comes back and is lost, in sentences."""
    friction = line.friction
    arrives = (
        f"{one.value:.0%} (± {SIGMAS_WITHIN * one.sigma:.0%}) {name}" for name, one in friction.efficiency.items()
    )
    yield f"Arrives straight ahead: {', '.join(arrives)}."
    yield (
        f"At its worst while riding, {line.worst_at[condition]}, {friction.least_efficiency[condition].value:.0%} "
        f"{condition}; at the left lock {friction.at_locks[condition][0]:.0%}, at the right lock "
        f"{friction.at_locks[condition][1]:.0%}."
    )
    yield f"{line.release[0].upper()}{line.release[1:]}."
    yield from _comes_back(friction)
    yield from _lost(line, condition)
    yield from _shifting(line, condition)


def _comes_back(friction: LineFriction) -> Iterator[str]:
    """Return what of the return spring reaches the lever, and what the lever wants, in a sentence."""
    release = friction.release
    if release is None:
        return
    arrives = ", ".join(
        f"{one.value:.1f} N (± {SIGMAS_WITHIN * one.sigma:.1f}) {name}" for name, one in release.arrives.items()
    )
    yield (
        f"Of the return spring's {release.spring:.0f} N at its weakest {arrives} reach the lever at their worst; it "
        f"wants {release.needed:g} N (± {SIGMAS_WITHIN * release.needed_sigma:.1f})."
    )


def _lost(line: FrictionPlan, condition: str) -> Iterator[str]:
    lost = line.lost.get(condition)
    if lost is None:
        return
    share = f", {lost.share:.0%} of the lever's pull" if lost.share is not None else ""
    parts = "; ".join(f"{one.label} {one.mm.value:.1f} mm" for one in lost.losses if one.mm.value > 0.05)
    yield (
        f"Lost on the way, {condition}: {lost.total.value:.1f} mm (± {SIGMAS_WITHIN * lost.total.sigma:.1f}, "
        f"stiffness is an estimate){share}: {parts}. Joints settle by {lost.settling:.1f} mm once, which an "
        "adjuster takes up."
    )
    if lost.left is not None and line.work == "brake":
        yield (
            f"Of the lever's {lost.pull:g} mm of wire {lost.take_up:g} mm go before the brake begins to work, and "
            f"{lost.left:.1f} mm (± {SIGMAS_WITHIN * lost.left_sigma:.1f}) are left: "
            + _at_grip(lost.left, lost.left_sigma)
        )


def _at_grip(left: float, sigma: float) -> str:
    """Return what some travel left of a lever means, in words."""
    if left + SIGMAS_WITHIN * sigma < 0.0:
        return "the lever reaches the grip first."
    if left < 0.0:
        return "the lever may reach the grip first; these figures are too rough to be sure."
    return "the lever stays off the grip." if left > SIGMAS_WITHIN * sigma else "the lever should stay off the grip."


def _shifting(line: FrictionPlan, condition: str) -> Iterator[str]:
    shifting = line.shifting
    if shifting is None:
        return
    one = shifting.hysteresis[condition]
    step = f", {one.value / shifting.step:.0%} of a click of {shifting.step:g} mm" if shifting.step else ""
    yield (
        f"Between a pull and a release the wire stands {one.value:.2f} mm (± {SIGMAS_WITHIN * one.sigma:.2f}) "
        f"apart{step}, {condition}; the bars turned 30° move it by {shifting.steering:.2f} mm. To rank by, no forecast."
    )
