"""Numbers that know how surely they are known, and where they come from.

A :class:`Sourced` is a float and a :class:`Triple` three floats, so both go straight into a formula;
each carries besides its spread, unit, kind and source.
"""

import math
from dataclasses import dataclass

#: A half-width that holds 19 times in 20 is this many standard deviations of a normal figure.
SIGMAS_WITHIN = 1.96
KINDS = ("common practice", "estimate", "read", "measured", "computed")
_RADIANS = {"deg": math.pi / 180.0, "h": math.pi / 6.0}


@dataclass(frozen=True, slots=True)
class Source:
    """Where a number comes from.

    Parameters
    ----------
    kind : str
        One of :data:`KINDS`.
    text : str
        The source in words.
    """

    kind: str
    text: str


class Sourced(float):
    """A number with its spread, unit, kind and source.

    Parameters
    ----------
    value : float
        In `unit`.
    spread : float
        Half-width that holds 19 times in 20, in `unit`.
    unit : str
        Unit of the value; an angle is kept in ``rad`` whatever it was written in.
    source : Source
        Kind and source.

    Examples
    --------
    >>> trade = Source("common practice", "trade sizes")
    >>> outside = Sourced(5.0, 0.1, "mm", trade)
    >>> outside / 2, outside.spread, outside.kind
    (2.5, 0.1, 'common practice')
    """

    __slots__ = ("kind", "source", "spread", "unit")
    spread: float
    unit: str
    kind: str
    source: str

    def __new__(cls, value: float, spread: float, unit: str, source: Source) -> "Sourced":
        """Make a float and hang its spread, unit and source on it."""
        self = super().__new__(cls, value)
        for name, item in (("spread", spread), ("unit", unit), ("kind", source.kind), ("source", source.text)):
            object.__setattr__(self, name, item)
        return self

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"a figure does not change: {name}")

    def __reduce__(self) -> tuple[type["Sourced"], tuple[float, float, str, Source]]:
        return Sourced, (float(self), self.spread, self.unit, Source(self.kind, self.source))

    @property
    def sigma(self) -> float:
        """Standard deviation, in the figure's unit."""
        return self.spread / SIGMAS_WITHIN


class Triple(tuple[float, float, float]):
    """Three numbers along three axes with one spread, unit, kind and source.

    Parameters
    ----------
    values : tuple of float
        A place [mm], or a direction of length 1.
    spread : float
        Half-width that holds 19 times in 20 in each axis [mm]; of a direction, an angle [rad].
    unit : str
        ``mm`` for a place, ``rad`` (the unit of its spread) for a direction.
    source : Source
        Kind and source.
    """

    spread: float
    unit: str
    kind: str
    source: str

    def __new__(cls, values: tuple[float, float, float], spread: float, unit: str, source: Source) -> "Triple":
        """Make a tuple and hang its spread, unit and source on it."""
        self = super().__new__(cls, values)
        for name, item in (("spread", spread), ("unit", unit), ("kind", source.kind), ("source", source.text)):
            object.__setattr__(self, name, item)
        return self

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"a triple does not change: {name}")

    def __reduce__(self) -> tuple[type["Triple"], tuple[tuple[float, ...], float, str, Source]]:
        return Triple, (tuple(self), self.spread, self.unit, Source(self.kind, self.source))

    @property
    def sigma(self) -> float:
        """Standard deviation in each axis, in the triple's unit."""
        return self.spread / SIGMAS_WITHIN


def sourced(value: float, spread: float, unit: str, source: Source) -> Sourced:
    """Return a figure as the package keeps it: degrees and clock hours become radians.

    Examples
    --------
    >>> round(sourced(30, 3, "deg", Source("estimate", "default: ask the maker")), 6)
    0.523599
    """
    if unit in _RADIANS:
        factor = _RADIANS[unit]
        return Sourced(value * factor, spread * factor, "rad", source)
    return Sourced(value, spread, unit, source)


def direction(values: tuple[float, float, float], spread: float, unit: str, source: Source) -> Triple:
    """Return a unit vector along `values` with an angular spread given in `unit`.

    Raises
    ------
    ValueError
        If the vector has no length.
    """
    length = math.hypot(*values)
    if length < 1e-6:
        raise ValueError(f"the direction {list(values)} has no length; give it at least one part")
    x, y, z = values
    return Triple((x / length, y / length, z / length), spread * _RADIANS.get(unit, 1.0), "rad", source)
