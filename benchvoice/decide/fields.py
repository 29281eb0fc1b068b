"""The fields that board and meter files share: typed values, percentages, flags; and their errors as sentences."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Annotated, Any, TypeVar

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints, ValidationError, WithJsonSchema
from pydantic_core import ErrorDetails, PydanticCustomError
from rapidfuzz import process

from benchvoice.decide.yaml_text import Document, Path
from benchvoice.errors import BoardError, UnitError
from benchvoice.records import Quantity
from benchvoice.units import QUANTITIES, QuantityKind, convert, read_typed

__all__ = [
    "Count",
    "FileModel",
    "Flag",
    "Line",
    "QuantityName",
    "Refs",
    "Tolerance",
    "Written",
    "checked",
    "file_schema",
    "in_unit",
    "nearest",
]

_Model = TypeVar("_Model", bound=BaseModel)
_VALUE = r"^\s*[+\-\u2212]?[0-9]+(\.[0-9]+)?\s*[^0-9\s.,+\-]*\s*$"
_COUNT = re.compile(r"[0-9]{1,6}")


class FileModel(BaseModel):
    """A part of a file: keys that are not named here are refused."""

    model_config = ConfigDict(frozen=True, extra="forbid")


def _refused(error: UnitError) -> PydanticCustomError:
    return PydanticCustomError("benchvoice", "{what}", {"what": error.what, "cure": error.cure})


def _value(text: Any) -> Quantity:
    if not isinstance(text, str):
        raise PydanticCustomError("benchvoice", "{what}", {"what": "a value is expected", "cure": "Write 3.3 V"})
    try:
        return Quantity(*read_typed(text))
    except UnitError as error:
        raise _refused(error) from error


def _flag(text: Any) -> bool:
    if text not in ("true", "false"):
        raise PydanticCustomError("benchvoice", "{what}", {"what": f"'{text}' is not true or false", "cure": None})
    return bool(text == "true")


def _count(text: Any) -> int:
    if not isinstance(text, str) or not _COUNT.fullmatch(text):
        raise PydanticCustomError("benchvoice", "{what}", {"what": f"'{text}' is not a whole number", "cure": None})
    return int(text)


def _quantity_name(text: Any) -> str:
    if not isinstance(text, str) or text not in QUANTITIES:
        close = nearest(str(text), QUANTITIES)
        cure = f"Did you mean '{close}'?" if close else f"Write one of: {', '.join(QUANTITIES)}"
        what = f"'{text}' is not a quantity benchvoice knows"
        raise PydanticCustomError("benchvoice", "{what}", {"what": what, "cure": cure})
    return text


Written = Annotated[
    Quantity, BeforeValidator(_value), WithJsonSchema({"type": ["string", "number"], "pattern": _VALUE})
]
"""A number and its unit as typed, `3.3 V`; the number keeps its digits."""
Tolerance = Written
"""`5 %`, or a value in the quantity's unit."""
Flag = Annotated[bool, BeforeValidator(_flag), WithJsonSchema({"type": "boolean"})]
Count = Annotated[int, BeforeValidator(_count), WithJsonSchema({"type": "integer", "minimum": 0})]
QuantityName = Annotated[
    str, BeforeValidator(_quantity_name), WithJsonSchema({"type": "string", "enum": list(QUANTITIES)})
]
Line = Annotated[
    str,
    StringConstraints(min_length=1, max_length=200, strip_whitespace=True, pattern=r"^[^\x00-\x1f\x7f]*$"),
    WithJsonSchema({"type": ["string", "number"], "minLength": 1, "maxLength": 200}),
]
"""One line of text."""


def _several(given: Any) -> Any:
    return (given,) if isinstance(given, str) else given


Refs = Annotated[
    tuple[Line, ...],
    Field(min_length=1),
    BeforeValidator(_several),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": ["string", "number"]},
                {"type": "array", "items": {"type": ["string", "number"]}, "minItems": 1},
            ]
        }
    ),
]
"""References of parts: one, or a list."""


def nearest(word: str, known: Any) -> str | None:
    """The known word that looks most like `word`, or None where none is near."""
    found = process.extractOne(word, list(known), score_cutoff=60)
    return None if found is None else str(found[0])


def checked(document: Document, model: type[_Model]) -> _Model:
    """The document as that model.

    Raises:
        BoardError: naming file, line and field of the first thing that does not fit.
    """
    if not isinstance(document.data, dict):
        raise document.error("this is not a list of keys and values", (), "Write it as 'key: value' lines")
    try:
        return model.model_validate(document.data)
    except ValidationError as error:
        raise _first(document, model, error.errors(include_url=False)) from error


def file_schema(model: type[FileModel], title: str) -> dict[str, Any]:
    """JSON Schema (Draft 2020-12) of the file that `model` describes, for editors."""
    schema = model.model_json_schema()
    schema = {key: value for key, value in schema.items() if key not in ("title", "description")}
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": title, **schema}


def _first(document: Document, model: type[BaseModel], errors: list[ErrorDetails]) -> BoardError:
    # an unknown key explains a missing one, so it comes first
    entry = min(errors, key=lambda error: error["type"] != "extra_forbidden")
    path: Path = tuple(entry["loc"])
    context: dict[str, Any] = entry.get("ctx") or {}
    match entry["type"]:
        case "extra_forbidden":
            known = _keys_at(model, path[:-1])
            close = nearest(str(path[-1]), known)
            cure = f"Did you mean '{close}'?" if close else f"The keys here are: {', '.join(known)}"
            error = document.error(f"unknown key '{path[-1]}'", path, cure)
        case "missing":
            error = document.error(f"'{path[-1]}' is missing", path)
        case _ if entry["input"] is None:
            error = document.error("this is empty", path, "Write a value, or leave the line out")
        case "benchvoice":
            error = document.error(str(context["what"]), path, context["cure"])
        case "model_type" | "model_attributes_type" | "dict_type":
            cure = f"The keys here are: {', '.join(_keys_at(model, path))}"
            error = document.error("keys and values are expected here", path, cure)
        case "tuple_type" | "list_type":
            error = document.error("a list is expected here", path, "Begin each entry with '- ', or write [a, b]")
        case "too_short":
            error = document.error("at least one entry is needed here", path)
        case "literal_error":
            error = document.error(f"'{entry['input']}' is not {context['expected']}", path)
        case _:
            error = document.error(_plain(entry["msg"]), path)
    return error


def _plain(message: str) -> str:
    return message[:1].lower() + message[1:]


def _keys_at(model: type[BaseModel], path: Path) -> tuple[str, ...]:
    """The keys that the model has at a path, found through its JSON Schema."""
    schema = model.model_json_schema()
    node: Any = schema
    for part in (*path, None):
        while "$ref" in node or "anyOf" in node:
            if "$ref" in node:
                node = schema["$defs"][str(node["$ref"]).rsplit("/", 1)[-1]]
            else:
                node = next(option for option in node["anyOf"] if option.get("type") != "null")
        if part is not None:
            # a table whose names are the user's own has one schema for all of its entries
            own = node.get("additionalProperties") or {}
            node = node["items"] if isinstance(part, int) else node.get("properties", {}).get(part, own)
    return tuple(node.get("properties", ()))


_OFTEN = {"capacitance": "uF", "current": "A", "resistance": "ohm"}


def _with_unit(value: Quantity, kind: QuantityKind) -> str:
    """What to write instead; nobody means 220 farads."""
    return f"Write {value} {_OFTEN.get(kind.name, kind.base)}, or with another of {', '.join(kind.units)}"


def in_unit(document: Document, value: Quantity, kind: QuantityKind, unit: str, path: Path) -> Decimal:
    """A typed value in `unit`, having checked that it is one of the quantity.

    Raises:
        BoardError: its unit belongs to another quantity or is missing.
    """
    if value.unit == "" and kind.base:
        raise document.error(f"'{value}' has no unit", path, _with_unit(value, kind))
    if value.unit != "" and value.unit not in kind.units:
        cure = f"Write it in {', '.join(kind.units)}" if kind.units else "Write the number alone"
        raise document.error(f"{value.unit} does not measure {kind.name}", path, cure)
    if value.number < 0 and not kind.signed:
        raise document.error(f"{kind.name} cannot be below zero", path)
    return convert(value.number, value.unit, unit) if value.unit else value.number
