"""One field of a frame file as a widget: unit and bounds in its label, its default when left out, its fault below."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

import streamlit

from ropewalk.bike.editing import with_value, with_values
from ropewalk.bike.faultplaces import Fault
from ropewalk.bike.faults import Path
from ropewalk.bike.fields import Field, fields_of
from ropewalk.bike.wording import shortened
from ropewalk.page.bikes import Source
from ropewalk.page.drafts import change
from ropewalk.page.markup import complain

#: numbers that a browser's number field holds exactly
_MOST = 2.0**53 - 1
#: fields side by side on a wide screen
_COLUMNS = 3


def show_fields(
    source: Source,
    fields: Sequence[Field],
    faults: Sequence[Fault],
    suggest: Callable[[Field], Sequence[str]] | None = None,
) -> Sequence[Field]:
    """Show fields in rows, each with what is wrong with it, and return them.

    Parameters
    ----------
    source : Source
        The visitor's bike.
    fields : sequence of Field
    faults : sequence of Fault
        Of the whole file; those of other fields are passed over.
    suggest : callable, optional
        Returns what a text field may hold on this bike.
    """
    for start in range(0, len(fields), _COLUMNS):
        row = fields[start : start + _COLUMNS]
        for column, field in zip(streamlit.columns(_COLUMNS), row, strict=False):
            with column:
                _show(source, field, list(suggest(field)) if suggest else [])
                for fault in faults:
                    if concerns(fault, field):
                        complain(fault.message)
    return fields


def concerns(fault: Fault, field: Field) -> bool:
    """Return whether a fault's path is a field's, or lies within it."""
    return fault.path is not None and fault.path[: len(field.path)] == field.path


def label_of(field: Field) -> str:
    """Return a field's label with its bounds and unit.

    Examples
    --------
    >>> label_of(Field(("chart", "stack"), "stack", "number", 591, None, True, "mm", ((250, 800),), within=2))
    'Stack ± 2, 250 to 800 mm'
    """
    name = field.label[0].upper() + field.label[1:]
    if isinstance(field.within, (int, float)):
        name += f" ± {field.within:g}"
    if not field.bounds:
        return f"{name}, with commas between" if field.kind == "texts" else name
    low, high = min(pair[0] for pair in field.bounds), max(pair[1] for pair in field.bounds)
    several = f"{len(field.bounds)} numbers, " if field.kind == "numbers" else ""
    return f"{name}, {several}{low:g} to {high:g} {field.unit}".strip()


def _show(source: Source, field: Field, suggestions: list[str]) -> None:
    """Show one widget; what the draft holds is what it shows, whatever it showed before."""
    key = key_of(field.path)
    told: dict[str, Any] = {
        "key": key,
        "help": field.help or None,
        "on_change": _changed,
        "args": (source, field, key),
    }
    left_out = _left_out(field)
    state, label = streamlit.session_state, label_of(field)
    if field.kind == "number" and (field.value is None or _is_number(field.value)):
        state[key] = None if field.value is None else float(field.value)
        streamlit.number_input(label, value=None, step=_step(field), format="%g", placeholder=left_out, **told)
    elif field.kind == "yes-no" and isinstance(field.value, (bool, type(None))):
        state[key] = bool(field.default if field.value is None else field.value)
        streamlit.checkbox(label, **told)
    elif (field.kind == "choice" or suggestions) and isinstance(field.value, (str, type(None))):
        options = list(dict.fromkeys([*field.choices, *suggestions]))
        if field.value is not None and field.value not in options:
            options.append(field.value)
        state[key] = field.value
        streamlit.selectbox(label, options, index=None, placeholder=left_out, filter_mode=None, **told)
    else:
        state[key] = _as_text(field.value)
        streamlit.text_input(label, placeholder=left_out, **told)


def key_of(path: Path) -> str:
    """Return the key of a field's widget."""
    return "edit " + ".".join(str(step) for step in path)


def _changed(source: Source, field: Field, key: str) -> None:
    """Write what a widget holds now into the draft."""
    value = _read(field, streamlit.session_state.get(key))

    def edit(text: str) -> str:
        new = with_value(text, field.path, value)
        return _without_strangers(text, new, field.path[:-1]) if field.path[-1] == "shape" else new

    change(source, edit)


def _without_strangers(old: str, new: str, table: Path) -> str:
    """Return a text without the fields that belong to another shape only, which was chosen before."""
    known = {field.path for field in fields_of(new)}
    strangers = [
        field.path
        for field in fields_of(old)
        if field.path[: len(table)] == table and field.value is not None and field.path not in known
    ]
    return with_values(new, dict.fromkeys(strangers))


def _read(field: Field, held: Any) -> Any:
    """Return what a widget holds as the file takes it; what cannot be read stays as it was typed."""
    if field.kind == "yes-no" and isinstance(held, bool):
        return None if held == bool(field.default) else held
    if not isinstance(held, str):
        return held
    if not held.strip():
        return None
    parts = [part.strip() for part in held.split(",") if part.strip()]
    try:
        match field.kind:
            case "number":
                return _number(held)
            case "numbers":
                return [_number(part) for part in parts]
            case "texts":
                return parts
    except ValueError:
        pass
    return held


def _number(text: str) -> float:
    number = float(text)
    if not math.isfinite(number):
        raise ValueError(text)
    return number


def _is_number(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and abs(value) <= _MOST


def _as_text(value: object) -> str:
    match value:
        case None:
            return ""
        case str():
            return value
        case bool():
            return str(value).lower()
        case int() | float():
            return f"{value:.10g}" if abs(value) < 1e300 else "a number beyond all measure"
        case list() | tuple():
            return ", ".join(_as_text(entry) for entry in value)
    return shortened(str(value))


def _left_out(field: Field) -> str:
    """Return what a field shows when the file leaves it out."""
    if field.default in (None, "", ()):
        return "to be filled in" if field.needed else "left out"
    default = f"{field.default:g} {field.unit}".strip() if _is_number(field.default) else str(field.default)
    return f"left out: {default}"


def _step(field: Field) -> float:
    """Return how far the buttons beside a number go."""
    low, high = field.bounds[0]
    return 1.0 if field.unit in ("mm", "°") and high - low > 10 else 0.5 if field.unit == "h" else 0.1
