"""What is wrong with a frame file, said as a mechanic would say it.

Pydantic tells where a fault is by a path such as ``("line", 0, "station", 3, "along")``; here that becomes
``line "rear brake", station "top tube stop", along`` and the fault a sentence about it.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from typing import Any, get_args

from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from ropewalk.bike.wording import listed, nearest, shortened

Path = tuple[int | str, ...]


def say_first(errors: Sequence[ErrorDetails], given: Mapping[str, Any], model: type[BaseModel]) -> str:
    """Return the first fault in file order as one line, with the count of the others.

    Parameters
    ----------
    errors : sequence of ErrorDetails
        What pydantic found.
    given : mapping
        The file's contents.
    model : type of BaseModel
        The model that refused them.
    """
    faults = say_each(errors, given, model)
    others = len(faults) - 1
    return faults[0][1] + (f" (and {others} more)" if others else "")


def say_each(
    errors: Sequence[ErrorDetails], given: Mapping[str, Any], model: type[BaseModel]
) -> list[tuple[Path, str]]:
    """Return every fault in file order: the path of the field it concerns, and one line.

    Parameters
    ----------
    errors, given, model
        As for `say_first`.
    """
    order = _FileOrder(given)
    faults = [error for error in errors if not _is_consequence(error)]
    faults.sort(key=lambda error: order.place(error["loc"]))
    return [(_concerned(error, given), _sentence(error, given, model)) for error in faults]


def show(value: object) -> str:
    """Return a value of a file as a message repeats it.

    Examples
    --------
    >>> show("top tube"), show(True), show({"is": 3})
    ('"top tube"', 'true', 'a table')
    """
    match value:
        case str():
            return f'"{shortened(value)}"'
        case bool():
            return str(value).lower()
        case int() | float():
            return shortened(f"{value:.10g}") if abs(value) < 1e300 else "a number beyond all measure"
        case Mapping():
            return "a table"
        case list() | tuple():
            return "a list"
        case datetime.date() | datetime.time():
            return "a date or time"
    return "of no known kind"


class _FileOrder:
    """Where in the file a fault stands."""

    def __init__(self, given: Mapping[str, Any]) -> None:
        self.given = given
        self.places: dict[int, dict[str, int]] = {}

    def place(self, path: Path) -> tuple[int, ...]:
        at: object = self.given
        found = []
        for step in _as_written(path, self.given):
            if isinstance(step, int):
                found.append(step)
            elif isinstance(at, Mapping):
                if id(at) not in self.places:
                    self.places[id(at)] = {key: place for place, key in enumerate(at)}
                keys = self.places[id(at)]
                # A missing key is missed at the end of its table.
                found.append(keys.get(step, len(keys)))
            at = _entry(at, step)
        return tuple(found)


def _is_consequence(error: ErrorDetails) -> bool:
    """Tell whether a list is called too short only because its entries were refused."""
    if error["type"] != "too_short":
        return False
    given, least = error["input"], error["ctx"]["min_length"]
    return isinstance(given, (list, tuple)) and len(given) >= least


def _concerned(error: ErrorDetails, given: Mapping[str, Any]) -> Path:
    """Return the path of the field that a fault concerns, as the file has it."""
    path, kind, context = _as_written(error["loc"], given), error["type"], error.get("ctx", {})
    match kind:
        case "names":
            return (*path, context["number"] - 1, "name")
        case "lever":
            lines = given.get("line", ())
            named = (place for place, line in enumerate(lines) if _entry(line, "name") == context["line"])
            return (*path, "line", next(named, 0), "lever")
        case "union_tag_invalid" | "union_tag_not_found":
            return (*path, "shape")
    return path


def _sentence(error: ErrorDetails, given: Mapping[str, Any], model: type[BaseModel]) -> str:
    path, kind, value = error["loc"], error["type"], error["input"]
    if kind in ("extra_forbidden", "names", "stations") or (kind == "missing" and isinstance(path[-1], int)):
        place = _place(path[:-1], given)
    elif kind in ("union_tag_invalid", "union_tag_not_found"):
        place = _place((*path, "shape"), given)
    else:
        place = _place(path, given)
    fault = _fault(kind, error, path, model)
    if kind == "missing" and isinstance(path[-1], int):
        count = len(_entry_at(given, path[:-1]))
        fault = f"has {count} entries: it needs more ({_description(path[:-1], model)})"
    elif kind == "extra_forbidden":
        fault = _unknown_key(str(path[-1]), _known_keys(path[:-1], model))
    elif kind == "tuple_type" and isinstance(value, Mapping):
        fault = f"is one table: write [[{_dotted(path)}]], with double brackets, for each"
    # A fault that names its own place in the list stands after a colon.
    return f"{place}: {fault}" if kind == "names" and place else f"{place} {fault}".strip()


def _fault(kind: str, error: ErrorDetails, path: Path, model: type[BaseModel]) -> str:
    value, context = error["input"], error.get("ctx", {})
    match kind:
        case "missing":
            return f"is missing: {_description(path, model)}"
        case "model_type" | "model_attributes_type" | "dict_type":
            return f"is {show(value)}: it has to be a table, which starts with [{_dotted(path)}]"
        case "tuple_type":
            return f"is {show(value)}: it has to be a list"
        case "string_type":
            return f"is {show(value)}: it has to be text in quotation marks"
        case "string_too_short":
            return "is empty: write a word or two"
        case "string_too_long":
            return f"is {len(value)} characters long: it may have at most {context['max_length']}"
        case "string_pattern_mismatch":
            return f"is {show(value)}: it has to be plain text without control characters"
        case "literal_error":
            return _not_a_choice(value, _choices(path, model))
        case "union_tag_invalid":
            return _not_a_choice(context["tag"], _words(context["expected_tags"]))
        case "union_tag_not_found":
            return f"is missing: it has to be {listed(_tags(path, model))}"
        case "too_long":
            return f"has {len(value)} entries: at most {context['max_length']} can be read"
        case "too_short":
            return f"has {len(value)} entries: at least {context['min_length']} are needed"
    return error["msg"]


def _not_a_choice(value: object, choices: Sequence[str]) -> str:
    near = nearest(value, choices) if isinstance(value, str) else None
    hint = f' (did you mean "{near}"?)' if near else ""
    return f"is {show(value)}: it has to be {listed(choices)}{hint}"


def _unknown_key(key: str, known: Sequence[str]) -> str:
    near = nearest(key, known)
    return f"has the unknown key {show(key)}: " + (f'did you mean "{near}"?' if near else f"it takes {listed(known)}")


def _place(path: Path, given: Mapping[str, Any]) -> str:
    """Return the place in words: ``chart.chainstay``, or ``line "rear brake", station "stop", along``."""
    parts: list[str] = []
    at: object = given
    joined = False
    written = _as_written(path, given)
    for position, step in enumerate(written):
        entry = _entry(at, step)
        if isinstance(step, int):
            siblings = at if isinstance(at, Sequence) else ()
            parts[-1:] = _numbered(parts[-1], step, entry, () if written[position + 1 :] == ("name",) else siblings)
            joined = False
        elif joined:
            parts[-1] += f".{shortened(step)}"
        else:
            parts.append(shortened(step))
            joined = True
        at = entry
    return ", ".join(parts)


def _numbered(word: str, step: int, entry: object, siblings: Sequence[object]) -> list[str]:
    """Return how an entry of a list is called: by its name when that is its own, else by its number."""
    if not isinstance(entry, Mapping):
        return [word, f"entry {step + 1}"]
    name = entry.get("name")
    namesakes = [other for other in siblings if isinstance(other, Mapping) and other.get("name") == name]
    return [
        f"{word} {show(name)}"
        if isinstance(name, str) and name.strip() and len(namesakes) == 1
        else f"{word} {step + 1}"
    ]


def _as_written(path: Path, given: Mapping[str, Any]) -> Path:
    """Return a path without the shapes that were chosen on the way: they are no keys of the file."""
    at: object = given
    written: list[int | str] = []
    chosen = False
    for step in path:
        if not chosen and isinstance(at, Mapping) and at.get("shape") == step:
            chosen = True
            continue
        written.append(step)
        at, chosen = _entry(at, step), False
    return tuple(written)


def _entry(at: object, step: int | str) -> Any:
    if isinstance(step, int):
        return at[step] if isinstance(at, (list, tuple)) and step < len(at) else None
    return at.get(step) if isinstance(at, Mapping) else None


def _entry_at(given: Mapping[str, Any], path: Path) -> Any:
    at: Any = given
    for step in _as_written(path, given):
        at = _entry(at, step)
    return at


def _dotted(path: Path) -> str:
    return ".".join(shortened(step) for step in path if isinstance(step, str))


def _models_at(path: Path, model: type[BaseModel]) -> list[type[BaseModel]]:
    """Return the models that the table at a path may follow."""
    models = [model]
    for step in path:
        if isinstance(step, int):
            continue
        if len(models) > 1:
            models = [one for one in models if step in _shapes(one)]
        else:
            field = _field(step, models)
            models = _models_in(field.annotation) if field else []
    return models


def _models_in(annotation: object) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [found for part in get_args(annotation) for found in _models_in(part)]


def _field(key: str, models: Sequence[type[BaseModel]]) -> FieldInfo | None:
    for model in models:
        for name, field in model.model_fields.items():
            if key == (field.alias or name):
                return field
    return None


def _shapes(model: type[BaseModel]) -> Sequence[str]:
    field = model.model_fields.get("shape")
    return get_args(field.annotation) if field else ()


def _tags(path: Path, model: type[BaseModel]) -> list[str]:
    return [shape for one in _models_at(path, model) for shape in _shapes(one)]


def _known_keys(path: Path, model: type[BaseModel]) -> list[str]:
    return [field.alias or name for one in _models_at(path, model) for name, field in one.model_fields.items()]


def _description(path: Path, model: type[BaseModel]) -> str:
    field = _field(str(path[-1]), _models_at(path[:-1], model))
    return (field.description if field else None) or "it has to be given"


def _choices(path: Path, model: type[BaseModel]) -> list[str]:
    """Return the words that a field takes."""
    keys = [step for step in path if isinstance(step, str)]
    field = _field(keys[-1], _models_at(tuple(keys[:-1]), model))
    return [str(word) for word in _literals(field.annotation if field else None)]


def _literals(annotation: object) -> list[object]:
    found: list[object] = []
    for part in get_args(annotation):
        found += [part] if isinstance(part, (str, int)) else _literals(part)
    return found


def _words(quoted: str) -> list[str]:
    return [word.strip(" '") for word in quoted.split(",")]
