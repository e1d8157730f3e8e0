"""Figures: numbers as people measure them, with a unit, bounds and how surely they are known.

In a frame file a figure is a plain number, or a table that says besides how surely it is known::

    stack = 591
    stack = { is = 591, within = 2 }

``within`` is a half-width that holds 19 times in 20, in the figure's own unit.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema


class Figure(float):
    """A number with the half-width within which it is known (None: the default of its kind).

    Examples
    --------
    >>> stack = Figure(591, within=2)
    >>> stack + 1, stack.within
    (592.0, 2.0)
    """

    __slots__ = ("within",)
    within: float | None

    def __new__(cls, value: float, within: float | None = None) -> Figure:
        """Make a figure from its value and half-width."""
        figure = super().__new__(cls, value)
        figure.within = None if within is None else float(within)
        return figure

    def __getnewargs__(self) -> tuple[float, float | None]:  # type: ignore[override]
        """Keep ``within`` through copying and pickling."""
        return float(self), self.within

    @classmethod
    def __get_pydantic_core_schema__(cls, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Let pydantic write a figure that stands alone; reading needs a `Measure`."""
        return core_schema.is_instance_schema(
            cls, serialization=core_schema.plain_serializer_function_ser_schema(_plain)
        )


def _plain(figure: Figure) -> float | dict[str, float]:
    """Return a figure as it is written in a file."""
    within = getattr(figure, "within", None)
    return float(figure) if within is None else {"is": float(figure), "within": within}


def _kind(given: object) -> str:
    """Return what stands where a number should, in words."""
    if isinstance(given, str):
        return "text in quotation marks"
    if isinstance(given, bool):
        return "true" if given else "false"
    return "a table" if isinstance(given, Mapping) else "a list" if isinstance(given, (list, tuple)) else "no number"


@dataclass(frozen=True, slots=True)
class Measure:
    """What a figure may be: its unit, its bounds, and the name of its default half-width.

    Used as ``Annotated[Figure, Measure("mm", 300, 800)]``.
    """

    unit: str
    low: float
    high: float
    #: name of the default half-width in the catalogue's tolerances; None: known exactly
    tolerance: str | None = None

    def parse(self, given: object) -> Figure:
        """Return ``given`` (a number or a table) as a figure, or raise a one-line validation error."""
        within: object = None
        if isinstance(given, Mapping):
            extra = sorted(set(given) - {"is", "within"})
            if extra:
                raise PydanticCustomError(
                    "figure", 'has the unknown key "{key}": write { is = …, within = … }', {"key": extra[0]}
                )
            if "is" not in given:
                raise PydanticCustomError("figure", 'lacks "is": write { is = …, within = … }', {})
            within = given.get("within")
            given = given["is"]
        value = self._number(given, "is")
        if not self.low <= value <= self.high:
            raise PydanticCustomError(
                "figure",
                "is {value}: it has to be between {low} and {high}",
                {"value": self.show(value), "low": f"{self.low:g}", "high": self.show(self.high)},
            )
        if within is None:
            return Figure(value, given.within if isinstance(given, Figure) else None)
        half_width = self._number(within, "within is")
        span = self.high - self.low
        if not 0.0 <= half_width <= span / 2:
            raise PydanticCustomError(
                "figure",
                "within is {value}: it has to be between 0 and {high}",
                {"value": self.show(half_width), "high": self.show(span / 2)},
            )
        return Figure(value, half_width)

    def show(self, value: float) -> str:
        """Return a value with its unit, as shown in messages."""
        return f"{value:.10g} {self.unit}".strip()

    def _number(self, given: object, verb: str) -> float:
        if isinstance(given, bool) or not isinstance(given, (int, float)):
            raise PydanticCustomError(
                "figure",
                "{verb} {kind}: it has to be a plain number ({unit})",
                {"verb": verb, "kind": _kind(given), "unit": self.unit or "no unit"},
            )
        try:
            value = float(given)
        except OverflowError:
            value = math.inf
        if not math.isfinite(value):
            raise PydanticCustomError(
                "figure",
                "{verb} not a finite number: write a plain number ({unit})",
                {"verb": verb, "unit": self.unit or "no unit"},
            )
        return value

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Validate through `parse`."""
        return core_schema.no_info_plain_validator_function(
            self.parse, serialization=core_schema.plain_serializer_function_ser_schema(_plain)
        )

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        """Describe both ways of writing a figure."""
        number = {"type": "number", "minimum": self.low, "maximum": self.high}
        return {
            "anyOf": [
                number,
                {
                    "type": "object",
                    "additionalProperties": False,
                    "required": ["is"],
                    "properties": {
                        "is": number,
                        "within": {
                            "type": "number",
                            "minimum": 0,
                            "maximum": (self.high - self.low) / 2,
                            "description": f"half-width that holds 19 times in 20 [{self.unit or '1'}]",
                        },
                    },
                },
            ],
            "x-unit": self.unit or "1",
        }
