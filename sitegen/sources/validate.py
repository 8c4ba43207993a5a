"""From plain values to the model: every fault of a file at once, each with its line and cure."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import UnionType
from typing import Any, TypeVar, Union, get_args, get_origin
from zoneinfo import ZoneInfo

from pydantic import BaseModel, ValidationError

from sitegen.sources.text import FEW, Notebook, and_more
from sitegen.sources.yaml_text import Written
from sitegen.studio.fields import did_you_mean
from sitegen.studio.text import short

Model = TypeVar("Model", bound=BaseModel)


def build(
    model: type[Model],
    written: Written,
    notes: Notebook,
    *,
    digits: int = 2,
    zone: ZoneInfo | None = None,
    given: Mapping[str, Any] | None = None,
) -> Model | None:
    """Build `model` from a file's values; None after complaints.

    `given` are fields that don't come from the file (a folder's name as slug, say); `digits` is the
    number of minor digits of the studio's currency, `zone` its time zone.
    """
    given = dict(given or {})
    for name in given.keys() & written.value.keys():
        notes.error(
            written.line([name]), f"'{name}' is not written here; it comes from the folder's or file's name"
        )
    try:
        return model.model_validate({**written.value, **given}, context={"digits": digits, "zone": zone})
    except ValidationError as fault:
        errors = fault.errors(include_url=False, include_context=True)
        unknown = [error for error in errors if error["type"] == "extra_forbidden"]
        # To find the line and the nearest name of 20,000 would take a quarter of a minute.
        beyond = {id(error) for error in unknown[FEW + 1 :]}
        for error in errors:
            if id(error) in beyond:
                continue
            path = [part for part in error["loc"] if isinstance(part, str | int)]
            more = and_more(len(beyond)) if error in unknown[FEW : FEW + 1] else ""
            notes.error(written.line(path), _sentence(model, path, dict(error)) + more)
        return None


def _sentence(model: type[BaseModel], path: Sequence[str | int], error: Mapping[str, Any]) -> str:
    kind = str(error["type"])
    name = " › ".join(f"entry {part + 1}" if isinstance(part, int) else short(part) for part in path)
    if kind == "extra_forbidden":
        word, known = short(path[-1]), [name for name in fields_at(model, path[:-1]) if name != "slug"]
        return f"unknown key '{word}'{did_you_mean(word, known) or '; known here: ' + ', '.join(known)}"
    if kind == "missing":
        return f"{name} is missing; add a line like `{path[-1]}: {_example(model, path)}`"
    if kind == "value_error":
        return f"{name} {error['ctx']['error']}" if path else str(error["ctx"]["error"])
    if kind == "string_too_long":
        return f"{name} is too long; write at most {error['ctx']['max_length']} characters"
    example = _example(model, path) if path and not isinstance(path[-1], int) else "…"
    like = f", like `{path[-1]}: {example}`" if example != "…" else ""
    return f"{name} {_SHAPES.get(kind, 'is not written as it should be')}{like}"


_GROUP = "must be a group of lines, each a word, a colon and a value"
_SHAPES = {
    "string_type": "must be one text, not a list or a group of lines",
    "tuple_type": "must be a list: one entry a line, each with a hyphen and a space",
    **dict.fromkeys(("dict_type", "model_type", "model_attributes_type"), _GROUP),
    "decimal_type": "must be a number, not a list or a group of lines",
    "int_type": "must be a whole number, not a list or a group of lines",
    "date_type": "must be a date, not a list or a group of lines",
    "datetime_type": "must be a date with a time, not a list or a group of lines",
    "bool_type": "must be yes or no",
    "enum": "must be one of the known words, not a list or a group of lines",
    "too_long": "has too many entries",
}


def fields_at(model: type[BaseModel], path: Sequence[str | int]) -> dict[str, Any]:
    """Return name (as written in files) → field of the block that `path` leads to."""
    block: type[BaseModel] = model
    for part in (part for part in path if isinstance(part, str)):
        field = _by_written_name(block).get(part)
        inner = _block_in(field.annotation) if field is not None else None
        if inner is None:
            return {}
        block = inner
    return _by_written_name(block)


def names_of(model: type[BaseModel]) -> Callable[[Sequence[str | int]], list[str]]:
    """Return what tells the names that may stand beside the one at a path, in the model's order."""
    return lambda path: list(fields_at(model, path[:-1]))


def _by_written_name(block: type[BaseModel]) -> dict[str, Any]:
    return {field.alias or name: field for name, field in block.model_fields.items()}


def _block_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    if get_origin(annotation) in (Union, UnionType, tuple, dict):
        return next((found for part in get_args(annotation) if (found := _block_in(part))), None)
    return None


def _example(model: type[BaseModel], path: Sequence[str | int]) -> str:
    field = fields_at(model, path[:-1]).get(str(path[-1]))
    return str(field.examples[0]) if field is not None and field.examples else "…"
