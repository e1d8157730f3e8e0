"""The fields of a frame file as a form shows them: label, unit, bounds, choices and help, all from its models.

Nothing about a field is written here twice: what it may hold and what it means stands in the models of the frame file.
"""

from __future__ import annotations

import types
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from ropewalk.bike.faults import Path
from ropewalk.bike.figures import Figure, Measure
from ropewalk.bike.framefile import Frame
from ropewalk.bike.parts import Catalogue, catalogue
from ropewalk.bike.reading import tables
from ropewalk.bike.written import Strict

Kind = Literal["number", "numbers", "choice", "text", "texts", "yes-no"]

#: fields that name a part, by the entry and the key: where the catalogue holds such parts
_PARTS: Mapping[tuple[str, str], str] = {
    ("lever", "part"): "levers",
    ("line", "inner"): "inners",
    ("line", "housing"): "housings",
    ("line", "liner"): "liners",
    ("line", "indexing"): "indexings",
    ("option", "inner"): "inners",
    ("option", "housing"): "housings",
    ("option", "liner"): "liners",
    ("station", "part"): "movers",
    ("station", "housing"): "housings",
    ("station", "sleeve"): "sleeves",
    ("station", "inline"): "inlines",
}
#: abbreviations of the chart, in words
_WORDS: Mapping[str, str] = {"bb drop": "bottom bracket drop"}


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a frame file.

    Attributes
    ----------
    path : tuple of int and str
        Where it stands, such as ``("chart", "stack")`` or ``("line", 0, "station", 3, "along")``.
    label : str
        What it is called, in words.
    kind : str
        number; numbers, several in a row; choice; text; texts, several in a row; yes-no.
    value : object
        What the file has, whatever that is; None when it is left out. Of a figure with a half-width, the figure alone.
    default : object
        What counts when it is left out, or None.
    needed : bool
        Whether its table needs it.
    unit : str
    bounds : tuple of (float, float)
        Lowest and highest value, of each number when there are several.
    choices : tuple of str
        What it may hold; empty for any.
    help : str
        What it means.
    within : float or None
        Half-width of a figure, where the file gives one.
    """

    path: Path
    label: str
    kind: Kind
    value: Any
    default: Any
    needed: bool
    unit: str = ""
    bounds: tuple[tuple[float, float], ...] = ()
    choices: tuple[str, ...] = ()
    help: str = ""
    within: float | None = None


def fields_of(text: str) -> tuple[Field, ...]:
    """Return the fields of a frame file in the order of its models, those left out too.

    Parameters
    ----------
    text : str
        The file's text; it may be at fault anywhere, as long as it is TOML.

    Raises
    ------
    FrameFileError
        When it is not TOML.

    Examples
    --------
    >>> found = {field.path: field for field in fields_of('[chart]\\nstack = { is = 591, within = 2 }')}
    >>> stack = found["chart", "stack"]
    >>> stack.label, stack.value, stack.within, stack.unit, stack.bounds
    ('stack', 591, 2, 'mm', ((250, 800),))
    """
    given = tables(text, "frame file")
    return tuple(_table((), Frame, given, None, _Names(given, catalogue())))


@dataclass(frozen=True, slots=True)
class _Names:
    """Names that fields can refer to."""

    given: Mapping[str, Any]
    parts: Catalogue

    def choices(self, path: Path) -> tuple[str, ...]:
        words = [step for step in path if isinstance(step, str)]
        entry, key = (words[-2] if len(words) > 1 else ""), words[-1]
        if (entry, key) == ("line", "lever"):
            levers = self.given.get("lever")
            named = (lever.get("name") for lever in _entries(levers) if isinstance(lever, Mapping))
            return tuple(name for name in named if isinstance(name, str))
        kind = _PARTS.get((entry, key))
        return tuple(getattr(self.parts, kind)) if kind else ()


def _table(
    path: Path, model: type[Strict], given: object, base: Strict | None, names: _Names, shapes: tuple[str, ...] = ()
) -> Iterator[Field]:
    """Yield the fields of one table; base: what counts when the whole table is left out."""
    held = given if isinstance(given, Mapping) else {}
    for name, spec in model.model_fields.items():
        key = spec.alias or name
        default = getattr(base, name) if base is not None else None if spec.is_required() else spec.default
        if key == "format":
            continue
        kinds = list(_flattened(spec.annotation, tuple(spec.metadata)))
        own = (*path, key)
        if any(isinstance(kind, type) and issubclass(kind, Strict) for kind, _ in kinds):
            yield from _inner_table(own, [kind for kind, _ in kinds], held.get(key), default, names)
            continue
        entry_model = _listed_model(kinds[0][0])
        if entry_model is not None:
            for place, entry in enumerate(_entries(held.get(key))):
                yield from _table((*own, place), entry_model, entry, None, names)
            continue
        choices = shapes if key == "shape" and shapes else names.choices(own)
        needed = spec.is_required() and base is None
        yield _leaf(own, kinds, held.get(key), (default, needed, spec.description or ""), choices)


def _inner_table(path: Path, models: Sequence[Any], given: object, default: object, names: _Names) -> Iterator[Field]:
    shape = given.get("shape") if isinstance(given, Mapping) else None
    fitting = [model for model in models if shape in _shapes(model)]
    shapes = tuple(word for model in models for word in _shapes(model)) if len(models) > 1 else ()
    base = default if isinstance(default, Strict) else None
    yield from _table(path, (fitting or models)[0], given, base, names, shapes)


def _leaf(
    path: Path,
    kinds: Sequence[tuple[Any, tuple[Any, ...]]],
    value: Any,
    told: tuple[Any, bool, str],
    choices: tuple[str, ...],
) -> Field:
    annotation, rules = kinds[0]
    default, needed, description = told
    label = str(path[-1]).replace("_", " ")
    label = _WORDS.get(label, label)
    within = None
    if isinstance(value, Mapping) and "is" in value:
        value, within = value["is"], value.get("within")
    measures = _measures(annotation, rules)
    if measures:
        unit, kind = measures[0].unit, "number" if annotation is Figure else "numbers"
        bounds = tuple((measure.low, measure.high) for measure in measures)
        return Field(path, label, kind, value, default, needed, unit, bounds, (), description, within)  # type: ignore[arg-type]
    words = choices or tuple(str(word) for one, _ in kinds for word in _literals(one))
    kind = "yes-no" if annotation is bool else "texts" if get_origin(annotation) is tuple else "text"
    return Field(
        path,
        label,
        "choice" if words else kind,  # type: ignore[arg-type]
        value,
        None if default == () else default,
        needed,
        choices=words,
        help=description,
    )


def _flattened(annotation: Any, rules: tuple[Any, ...]) -> Iterator[tuple[Any, tuple[Any, ...]]]:
    """Yield what an annotation allows besides None, each with its rules."""
    origin = get_origin(annotation)
    if origin is Annotated:
        inner, *own = get_args(annotation)
        yield from _flattened(inner, (*rules, *own))
    elif origin in (Union, types.UnionType):
        for part in get_args(annotation):
            if part is not type(None):
                yield from _flattened(part, rules)
    else:
        yield annotation, rules


def _listed_model(annotation: Any) -> type[Strict] | None:
    """Return the model of a list's entries, or None when it is no list of tables."""
    if get_origin(annotation) is not tuple:
        return None
    first, _ = next(_flattened(get_args(annotation)[0], ()))
    return first if isinstance(first, type) and issubclass(first, Strict) else None


def _measures(annotation: Any, rules: tuple[Any, ...]) -> list[Measure]:
    """Return the measure of a figure, or those of several in a row."""
    if annotation is Figure:
        return [rule for rule in rules if isinstance(rule, Measure)][:1]
    if get_origin(annotation) is not tuple:
        return []
    return [
        measure
        for part in get_args(annotation)
        if part is not Ellipsis
        for measure in _measures(*next(_flattened(part, ())))
    ]


def _literals(annotation: Any) -> tuple[Any, ...]:
    return get_args(annotation) if get_origin(annotation) is Literal else ()


def _shapes(model: type[Strict]) -> tuple[str, ...]:
    field = model.model_fields.get("shape")
    return get_args(field.annotation) if field is not None else ()


def _entries(given: object) -> Sequence[Any]:
    return given if isinstance(given, (list, tuple)) else ()
