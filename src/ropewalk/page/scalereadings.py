"""What a visitor has read off a spring scale on one line: kept, put into a link, and taken from one."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from ropewalk.page.keeping import keep, kept
from ropewalk.workshop.faultchecks import Readings

#: pulls there are fields for: at first, and at most
FIRST_PULLS, MOST_PULLS = 2, 12
#: largest figure a link may give
_MOST = 1e9

#: one pull: what was read at the lever and at the other end [N]; None where nothing is written yet
Pull = tuple[float | None, float | None]


@dataclass(frozen=True, slots=True)
class Written:
    """What stands in the fields, whether it can be or not.

    Attributes
    ----------
    pulls : tuple of Pull
    scale, part_moves, part_returns, steer : float or None
        As for `ropewalk.workshop.faultchecks.Readings`; None where nothing is written.
    """

    pulls: tuple[Pull, ...] = ((None, None),) * FIRST_PULLS
    scale: float | None = None
    part_moves: float | None = None
    part_returns: float | None = None
    steer: float | None = None

    @property
    def whole(self) -> tuple[int, ...]:
        """Places of the pulls that were read at both ends."""
        return tuple(place for place, pull in enumerate(self.pulls) if None not in pull)

    @property
    def halves(self) -> tuple[int, ...]:
        """Places of the pulls that were read at one end alone."""
        return tuple(place for place, pull in enumerate(self.pulls) if sum(one is None for one in pull) == 1)

    @property
    def readings(self) -> Readings:
        """What was read, pulls at both ends alone."""
        return Readings(
            lever=tuple(self.pulls[place][0] or 0.0 for place in self.whole),
            end=tuple(self.pulls[place][1] or 0.0 for place in self.whole),
            scale=self.scale,
            part_moves=self.part_moves,
            part_returns=self.part_returns,
            steer_deg=self.steer or 0.0,
        )

    def with_pull(self, place: int, side: int, force: float | None) -> Written:
        """Return them with another figure at one end of a pull."""
        pull = list(self.pulls[place])
        pull[side] = force
        return replace(self, pulls=(*self.pulls[:place], (pull[0], pull[1]), *self.pulls[place + 1 :]))

    def with_figure(self, name: str, value: float | None) -> Written:
        """Return them with another figure that stands alone: scale, part_moves, part_returns or steer."""
        return replace(self, **{name: value})  # type: ignore[arg-type]

    def without_pull(self, place: int) -> Written:
        """Return them without a pull; the last one is emptied."""
        left = (*self.pulls[:place], *self.pulls[place + 1 :])
        return replace(self, pulls=left or ((None, None),))

    def with_one_more(self) -> Written:
        """Return them with room for another pull."""
        return replace(self, pulls=(*self.pulls, (None, None))[:MOST_PULLS])


def written(bike: str, line: str) -> Written:
    """Return what this visitor has written for a line."""
    found = kept(_key(bike, line))
    return found if isinstance(found, Written) else Written()


def write(bike: str, line: str, held: Written) -> None:
    """Keep what this visitor has written for a line."""
    keep(_key(bike, line), held)


def as_link(held: Written) -> Mapping[str, str | None]:
    """Return what a link has to give for these fields, by name; None where nothing is written.

    Examples
    --------
    >>> as_link(Written(((40.0, 18.5), (90.0, None)), scale=2.0))["lever"]
    '40,90'
    >>> as_link(Written(((40.0, 18.5), (90.0, None))))["end"]
    '18.5,'
    """
    several = {
        name: ",".join("" if pull[side] is None else f"{pull[side]:g}" for pull in held.pulls)
        for side, name in enumerate(("lever", "end"))
    }
    some = any(force is not None for pull in held.pulls for force in pull)
    single = {"scale": held.scale, "moves": held.part_moves, "returns": held.part_returns, "steered": held.steer}
    return {
        **{name: told if some else None for name, told in several.items()},
        **{name: None if value is None else f"{value:g}" for name, value in single.items()},
    }


def from_texts(given: Mapping[str, str | None]) -> tuple[Written, list[str]]:
    """Return what a link gives, and the names of what cannot be taken from it.

    Parameters
    ----------
    given : mapping of str to str or None
        By the names of `as_link`.
    """
    figures: dict[str, list[float | None]] = {}
    refused = []
    for name, told in given.items():
        parts = (told or "").split(",")
        try:
            figures[name] = [_figure(part) for part in parts]
            if len(parts) > (MOST_PULLS if name in ("lever", "end") else 1):
                raise ValueError(name)
        except ValueError:
            refused.append(name)
            figures[name] = [None]
    lever, end = figures["lever"], figures["end"]
    count = max(len(lever), len(end), FIRST_PULLS)
    pulls = tuple(zip(*(side + [None] * (count - len(side)) for side in (lever, end)), strict=True))
    scale, moves, returns, steer = (figures[name][0] for name in ("scale", "moves", "returns", "steered"))
    return Written(pulls, scale, moves, returns, steer), refused


def _figure(text: str) -> float | None:
    if not text.strip():
        return None
    number = float(text)
    if not math.isfinite(number) or abs(number) > _MOST:
        raise ValueError(text)
    return number


def _key(bike: str, line: str) -> str:
    return f"scale readings: {bike}, {line}"
