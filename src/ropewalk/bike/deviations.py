"""Figures of a frame file one by one, and a bike with some of them changed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Annotated, Any, TypeVar, get_args, get_origin

from pydantic import BaseModel

from ropewalk.bike.figures import Figure, Measure

Model = TypeVar("Model", bound=BaseModel)
Path = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class KnownFigure:
    """One figure of a frame file.

    Attributes
    ----------
    path : tuple
        Attribute names and places in lists that lead to it.
    value : float
        The figure, in its own unit.
    within : float
        Half-width that holds 19 times in 20, in the same unit; 0 when it is taken as exact.
    unit : str
        Its unit.
    """

    path: Path
    value: float
    within: float
    unit: str

    @property
    def sigma(self) -> float:
        """Standard deviation of a normal spread of which 95 % lies within ``within``."""
        return self.within / 1.96


def _measure(annotation: Any, metadata: Sequence[Any] = ()) -> Measure | None:
    for item in metadata:
        if isinstance(item, Measure):
            return item
    if get_origin(annotation) is Annotated:
        return _measure(get_args(annotation)[0], annotation.__metadata__)
    for inner in get_args(annotation):
        found = _measure(inner)
        if found is not None:
            return found
    return None


@cache
def _measures(model: type[BaseModel]) -> Mapping[str, Measure]:
    found = {name: _measure(field.annotation, field.metadata) for name, field in model.model_fields.items()}
    return {name: measure for name, measure in found.items() if measure is not None}


def figures(model: BaseModel, path: Path = ()) -> list[KnownFigure]:
    """Return every figure below a model, in file order.

    Parameters
    ----------
    model : pydantic.BaseModel
        A frame, or a part of one.
    path : tuple
        Where the model itself stands.
    """
    found: list[KnownFigure] = []
    measures = _measures(type(model))
    for name, value in model:
        here = (*path, name)
        if isinstance(value, BaseModel):
            found += figures(value, here)
        elif isinstance(value, tuple):
            for place, item in enumerate(value):
                if isinstance(item, BaseModel):
                    found += figures(item, (*here, place))
                elif isinstance(item, Figure):
                    found.append(KnownFigure((*here, place), float(item), item.within or 0.0, measures[name].unit))
        elif isinstance(value, Figure) and name in measures:
            found.append(KnownFigure(here, float(value), value.within or 0.0, measures[name].unit))
    return found


def deviated(model: Model, deviations: Mapping[Path, float]) -> Model:
    """Return the model with figures moved by the given amounts, each in its own unit.

    Bounds are not applied again: a deviation is a measuring error, not an entry.
    """
    if not deviations:
        return model
    grouped: dict[str, dict[Path, float]] = {}
    for path, amount in deviations.items():
        grouped.setdefault(str(path[0]), {})[path[1:]] = amount
    update: dict[str, Any] = {name: _moved(getattr(model, name), inner) for name, inner in grouped.items()}
    return model.model_copy(update=update)


def _moved(value: Any, deviations: Mapping[Path, float]) -> Any:
    if isinstance(value, Figure):
        return Figure(value + deviations[()], value.within)
    if isinstance(value, BaseModel):
        return deviated(value, deviations)
    items = list(value)
    grouped: dict[int, dict[Path, float]] = {}
    for path, amount in deviations.items():
        grouped.setdefault(int(path[0]), {})[path[1:]] = amount
    for place, inner in grouped.items():
        items[place] = _moved(items[place], inner)
    return tuple(items)


def with_default_spread(model: Model, defaults: Mapping[str, float]) -> Model:
    """Return the model with every figure that names no half-width given the default of its kind.

    Parameters
    ----------
    model : pydantic.BaseModel
        A frame, or a part of one.
    defaults : mapping
        Half-widths by the name of the tolerance.
    """
    measures = _measures(type(model))
    update: dict[str, Any] = {}
    for name, value in model:
        if isinstance(value, BaseModel):
            update[name] = with_default_spread(value, defaults)
        elif isinstance(value, tuple) and value and isinstance(value[0], BaseModel):
            update[name] = tuple(with_default_spread(item, defaults) for item in value)
        elif name in measures and measures[name].tolerance is not None:
            half_width = defaults[str(measures[name].tolerance)]
            if isinstance(value, tuple):
                update[name] = tuple(_spread(item, half_width) for item in value)
            elif isinstance(value, Figure):
                update[name] = _spread(value, half_width)
    return model.model_copy(update=update)


def _spread(value: Figure, half_width: float) -> Figure:
    return value if value.within is not None else Figure(value, half_width)
