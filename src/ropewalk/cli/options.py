"""Values of options that typer's own checks would refuse without saying what was given."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from ropewalk.bike.wording import listed, nearest, shortened, shortened_path
from ropewalk.errors import ChoiceError, OutputError

if TYPE_CHECKING:
    from ropewalk.bike.framefile import Frame
    from ropewalk.bike.parts import Catalogue
    from ropewalk.bike.poses import Poses
    from ropewalk.workshop.choices import Choices
    from ropewalk.workshop.hands import Hands


def number_between(given: str, option: str, low: float, high: float, unit: str = "") -> float:
    """Return an option's number, or raise a `ChoiceError` that says what was given and what it may be.

    Examples
    --------
    >>> number_between("-30", "--steer", -90, 90, "°")
    -30.0
    """
    try:
        value = float(given)
    except ValueError:
        value = math.nan
    if not low <= value <= high:
        raise ChoiceError(f'{option} is "{shortened(given)}": it has to be a number between {low:g} and {high:g}{unit}')
    return value


def asked_pose(sweep: Poses, given: Mapping[str, str | None]) -> dict[str, float]:
    """Return the pose [rad, mm] that options ask for, by the names of its coordinates; None where one is left out.

    Where the bike is folded and nothing is said of the bars, they point as they do when it is folded.
    """
    from ropewalk.bike.poses import COORDINATES, SHOWN

    pose: dict[str, float] = {}
    for name, text in given.items():
        if text is None:
            continue
        at, (_, scale) = COORDINATES.index(name), SHOWN[name]
        low, high = float(sweep.low[at]) * scale, float(sweep.high[at]) * scale
        if low == high:
            raise ChoiceError(f'--{name} is "{shortened(text)}": this bike has nothing that moves so; leave it out')
        unit = "°, the bike's lock" if name == "steer" else "°" if name == "fold" else " mm"
        pose[name] = number_between(text, f"--{name}", low, high, unit) / scale
    if pose.get("fold") and given.get("steer") is None:
        pose["steer"] = sweep.fold_steer
    return pose


def form_of(path: Path, forms: tuple[str, ...]) -> str:
    """Return the form that a file's name asks for by its ending, or raise an `OutputError` that lists those there are.

    Examples
    --------
    >>> form_of(Path("bike.SVG"), ("svg", "png"))
    'svg'
    """
    form = path.suffix.lower().removeprefix(".")
    if form in forms:
        return form
    near = nearest(form, forms) if form else None
    hint = f" (did you mean .{near}?)" if near else ""
    endings = listed(f".{one}" for one in forms)
    raise OutputError(f"{shortened_path(str(path))}: the name of a drawing has to end in {endings}{hint}")


def asked_hands(given: str | None) -> Hands | None:
    """Return the hand that is to work the front brake, or raise a `ChoiceError` that says what may be asked for.

    Examples
    --------
    >>> asked_hands("front-left")
    'front-left'
    """
    if given == "front-left":
        return "front-left"
    if given == "front-right":
        return "front-right"
    if given is None:
        return None
    raise ChoiceError(f'--hands is "{shortened(given)}": write front-left or front-right, the hand on the front brake')


def asked_force(given: str | None) -> Choices | None:
    """Return the choices with a hand's force [N], or raise a `ChoiceError` beyond the lever test's.

    Examples
    --------
    >>> asked_force("120").hand_force
    120.0
    """
    from ropewalk.workshop.choices import MOST_HAND_FORCE, Choices

    if given is None:
        return None
    unit = " N, the force of the lever strength test"
    return Choices(hand_force=number_between(given, "--hand", 1.0, MOST_HAND_FORCE, unit))


def asked_options(frame: Frame, given: Sequence[str]) -> dict[str, str]:
    """Return which option each line is to take, from words such as ``rear brake=crossed``.

    Raises
    ------
    ChoiceError
        When one is no such word, or two are for one line. Whether line and option exist is not looked at.
    """
    found: dict[str, str] = {}
    for text in given:
        parts = text.split("=")
        if len(parts) < 2:
            raise ChoiceError(f'--option is "{shortened(text)}": write LINE=OPTION, such as "rear brake=crossed"')
        # a name may hold an = itself
        splits = [("=".join(parts[:at]).strip(), "=".join(parts[at:]).strip()) for at in range(1, len(parts))]
        known = {line.name for line in frame.line}
        line, option = next((split for split in splits if split[0] in known), splits[0])
        if line in found:
            raise ChoiceError(f'--option names line "{shortened(line)}" twice: choose one option for it')
        found[line] = option
    return found


def shelf_of(parts: str | None) -> Catalogue:
    """Return the parts to plan with: the built-in ones, with those of a shop's own file where one is named."""
    from ropewalk.bike.ownparts import with_own_parts
    from ropewalk.bike.parts import catalogue

    return catalogue() if parts is None else with_own_parts(parts, catalogue())
