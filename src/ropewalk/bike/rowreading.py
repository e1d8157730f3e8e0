"""Tables of the catalogue turned into rows, or into one line that names file, row, field and what to do."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, TypeVar

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from ropewalk.bike.faults import show
from ropewalk.bike.rows import Named, Row
from ropewalk.bike.sourced import KINDS, Source
from ropewalk.bike.wording import listed, nearest, one_line, shortened
from ropewalk.errors import PartError

#: An estimate says so in these words, wherever it is shown.
ESTIMATE_SOURCE = "default: ask the maker"
#: most rows that one table may hold
MOST_ROWS = 400
_RowT = TypeVar("_RowT", bound=Row)
_NamedT = TypeVar("_NamedT", bound=Named)
#: a wrong key is told before the keys it leaves missing
_FIRST = ("extra_forbidden",)


@dataclass(frozen=True, slots=True)
class Home:
    """Where rows stand, in the words of messages.

    Attributes
    ----------
    file : str
        The file.
    table : str
        What stands before a row's name, such as ``housing.``; nothing in a file of one kind.
    marks : str
        Where marks are explained.
    """

    file: str
    table: str = ""
    marks: str = "sources.toml"

    def row(self, name: str) -> str:
        """Return how a row is called, such as ``movers.toml: [hub gear]``."""
        shown = f'"{shortened(name)}"' if self.table else shortened(name)
        return f"{self.file}: [{self.table}{shown}]"


def read_sources(tables: object, home: Home) -> Mapping[str, Source]:
    """Return the sources by their marks.

    Parameters
    ----------
    tables : object
        What stands in the file: one table a mark, with its kind and source.
    home : Home
        Where they stand.

    Raises
    ------
    PartError
        When a source is wrong.
    """
    sources = {}
    for mark, table in _rows_of(tables, home).items():
        if not isinstance(table, dict) or set(table) != {"kind", "source"}:
            raise PartError(f"{home.row(mark)} must hold kind and source, both filled in, and nothing else")
        kind, text = table["kind"], table["source"]
        if not isinstance(text, str) or not text.strip():
            raise PartError(f"{home.row(mark)} source must be filled in: say in words where the number comes from")
        if kind not in KINDS:
            raise PartError(f"{home.row(mark)} kind {show(kind)} is none of {listed(KINDS)}")
        if kind == "estimate" and not text.startswith(ESTIMATE_SOURCE):
            raise PartError(f"{home.row(mark)} is an estimate; its source must begin {ESTIMATE_SOURCE!r}")
        sources[mark] = Source(kind, one_line(text[:500]))
    return MappingProxyType(sources)


def read_rows(tables: object, model: type[_NamedT], sources: Mapping[str, Source], home: Home) -> Mapping[str, _NamedT]:
    """Return the rows of one kind by their names.

    Parameters
    ----------
    tables : object
        What stands in the file: one table a row.
    model : type of Named
        What a row may hold.
    sources : mapping of str to Source
        The marks that its numbers may carry.
    home : Home
        Where they stand.

    Raises
    ------
    PartError
        When a row is wrong.
    """
    rows = {}
    for name, table in _rows_of(tables, home).items():
        if name != name.strip():
            raise PartError(f"{home.row(name)} name begins or ends with a blank: take it out")
        if isinstance(table, dict) and "name" in table:
            raise PartError(f'{home.row(name)} has the unknown key "name": the name stands in the brackets alone')
        filled = {**table, "name": name} if isinstance(table, dict) else table
        rows[name] = read_row(filled, model, sources, home, name)
    return MappingProxyType(rows)


def read_row(table: object, model: type[_RowT], sources: Mapping[str, Source], home: Home, name: str = "") -> _RowT:
    """Return one row, or raise PartError that says what is wrong with it."""
    try:
        return model.model_validate(table, context={"sources": sources, "source_home": home.marks})
    except ValidationError as error:
        errors = error.errors(include_url=False)
        first = next((one for one in errors if one["type"] in _FIRST), errors[0])
        where = home.row(name) if name else f"{home.file}:"
        raise PartError(one_line(f"{where} {_sentence(first, model)}")) from None


def _rows_of(tables: object, home: Home) -> Mapping[str, Any]:
    if not isinstance(tables, dict):
        what = home.table.removesuffix(".") or "it"
        raise PartError(f'{home.file}: {what} is {show(tables)}: it has to be tables, such as [{home.table}"name"]')
    if len(tables) > MOST_ROWS:
        raise PartError(f"{home.file}: holds {len(tables)} rows of one kind: at most {MOST_ROWS} can be read")
    return tables


def _sentence(error: ErrorDetails, model: type[Row]) -> str:
    """Return what is wrong with a field."""
    path, kind, value = error["loc"], error["type"], error["input"]
    field = ".".join(shortened(step) for step in path if isinstance(step, str) and step != "[key]")
    context = error.get("ctx", {})
    match kind:
        case "extra_forbidden":
            return _unknown_key(path, model)
        case "missing":
            return f"{field}: is missing: write it, as the other rows of its kind do"
        case "literal_error":
            expected = str(context["expected"]).replace("'", '"').replace(" or ", ", ")
            near = (
                nearest(value, [word.strip(' "') for word in expected.split(",")]) if isinstance(value, str) else None
            )
            hint = f' (did you mean "{near}"?)' if near else ""
            return f"{field}: is {show(value)}: it has to be one of {expected}{hint}"
        case "value_error":
            message = error["msg"].removeprefix("Value error, ")
            return f"{field}: {message}" if field else message
        case "string_type":
            return f"{field}: is {show(value)}: it has to be text in quotation marks"
        case "string_too_long" | "string_too_short" | "string_pattern_mismatch":
            return f"{field}: {show(value)} has to be plain text of 1 to 60 characters"
        case "bool_type" | "bool_parsing":
            return f"{field}: is {show(value)}: it has to be true or false"
        case "tuple_type":
            return f"{field}: is {show(value)}: it has to be a list in square brackets"
        case "model_type" | "dict_type" | "model_attributes_type":
            return f"{field}: is {show(value)}: it has to be a table".removeprefix(": ")
        case "too_short":
            return f"{field}: is empty: it needs one entry at least"
    return f"{field}: {error['msg']}".removeprefix(": ")


def _unknown_key(path: tuple[int | str, ...], model: type[Row]) -> str:
    inner: Any = model
    for step in path[:-1]:
        fields = getattr(inner, "model_fields", {})
        found = next((field for name, field in fields.items() if step == (field.alias or name)), None)
        inner = _model_in(found.annotation) if found is not None else inner
    known = [field.alias or name for name, field in inner.model_fields.items() if name != "name"]
    near = nearest(str(path[-1]), known)
    place = ".".join(shortened(str(step)) for step in path[:-1])
    hint = f'did you mean "{near}"?' if near else f"it takes {listed(known, last='and')}"
    return f"{place + ': ' if place else ''}has the unknown key {show(str(path[-1]))}: {hint}"


def _model_in(annotation: Any) -> Any:
    """Return the model within an annotation such as ``dict[Work, Exit]``."""
    if isinstance(annotation, type) and issubclass(annotation, Row):
        return annotation
    found = [_model_in(part) for part in getattr(annotation, "__args__", ())]
    return next((one for one in found if one is not None), None)
