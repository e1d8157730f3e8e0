"""Values of options that typer's own checks would refuse without saying what was given."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING

from ropewalk.bike.wording import listed, nearest, shortened, shortened_path
from ropewalk.errors import ChoiceError, OutputError

if TYPE_CHECKING:
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
