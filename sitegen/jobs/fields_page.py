"""The guide's page of all fields, made from the models, so that it can't fall behind them."""

from __future__ import annotations

import ast
import inspect
import types
from collections.abc import Iterator
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum
from functools import cache
from itertools import pairwise
from typing import Annotated, Any, Union, get_args, get_origin
from zoneinfo import ZoneInfo

from pydantic.fields import FieldInfo

from sitegen.studio import fields
from sitegen.studio.commission import Commissions
from sitegen.studio.order_lines import Move, Receipt
from sitegen.studio.piece import Piece
from sitegen.studio.settings import Settings
from sitegen.studio.show import Show

_FILES: tuple[tuple[str, type[fields.Entry]], ...] = (
    ("studio.yaml", Settings),
    ("pieces/SLUG/piece.yaml", Piece),
    ("commissions.yaml", Commissions),
    ("shows/SLUG.yaml", Show),
)
# Entries between semicolons, not blocks.
_ON_ONE_LINE = (Move, Receipt)
# Taken from the folder's or the file's name.
_NOT_TYPED = {"slug"}
# What tells an amount from another number is its reader; else the type says it.
_READERS: tuple[tuple[Any, str], ...] = (
    (fields.Money, "amount"), (fields.Percent, "percentage"), (fields.Colour, "colour"),
    (fields.WebAddress, "web address"), (fields.HomeAddress, "web address"),
)  # fmt: skip
_TYPES = {
    bool: "yes or no", int: "whole number", Decimal: "number", date: "date", datetime: "date and time",
    ZoneInfo: "time zone",
}  # fmt: skip
_INTRODUCTION = """# All fields

Every line that a file may hold. What has no default has to be there. Prices are digits and a point, dates are
year-month-day; what stands under `private:` never leaves your desk.
"""


def text() -> str:
    """Return the page, in Markdown."""
    return "\n".join([_INTRODUCTION, *(line for name, model in _FILES for line in _file(name, model))])


def _file(name: str, model: type[fields.Entry]) -> Iterator[str]:
    yield f"## {name}\n"
    yield from _rows(model, "", {})
    yield ""


def _rows(model: type[fields.Entry], within: str, told: dict[type[Any], str]) -> Iterator[str]:
    model.model_rebuild()
    said = meanings(model)
    for name, field in model.model_fields.items():
        key = field.alias or name
        if key in _NOT_TYPED:
            continue
        kind, inner = _kind(field)
        lines = [f"- `{within}{key}`: {kind}{_usual(field)}{_such_as(field)}", said.get(name, "")]
        yield ". ".join(filter(None, lines))
        if inner in told:
            yield f"  - the same lines as `{told[inner]}`"
        elif inner is not None:
            told[inner] = f"{within}{key}"
            listed = "[]" if kind.startswith("list") else ""
            yield from _rows(inner, f"{within}{key}{listed}.", told)


def _kind(field: FieldInfo) -> tuple[str, type[fields.Entry] | None]:
    """Say what is to be written, and the model of a block."""
    parts = list(_parts(field.annotation))
    inner = next((one for one in parts if isinstance(one, type) and issubclass(one, fields.Entry)), None)
    if inner in _ON_ONE_LINE:
        return "one line", None
    if inner is not None:
        return ("list of blocks" if tuple in parts else "block"), inner
    choice = next((one for one in parts if isinstance(one, type) and issubclass(one, StrEnum)), None)
    if choice is not None:
        return f"one of {', '.join(choice)}", None
    readers = [
        *field.metadata,
        *(mark for one in parts if get_origin(one) is Annotated for mark in one.__metadata__),
    ]
    bare = [one.__origin__ if get_origin(one) is Annotated else one for one in parts]
    by_type = next((word for kind, word in _TYPES.items() if kind in bare), "text")
    word = next((word for kind, word in _READERS if kind.__metadata__[0] in readers), by_type)
    if dict in parts:
        return f"names, each with a {word}", None
    return (f"list of {word}s" if tuple in parts else word), None


def _parts(annotation: Any) -> Iterator[Any]:
    """Take a type apart: unions, lists and what they hold."""
    origin = get_origin(annotation)
    yield annotation if origin in {None, Annotated} else origin
    if origin in {Union, types.UnionType, tuple, dict, Annotated}:
        for part in get_args(annotation):
            yield from _parts(part)


def _usual(field: FieldInfo) -> str:
    if field.is_required():
        return ", needed"
    usual = field.default
    if isinstance(usual, bool):
        return f" (usually {'yes' if usual else 'no'})"
    return f" (usually {usual})" if isinstance(usual, str | int) and str(usual) else ""


def _such_as(field: FieldInfo) -> str:
    return f", like `{field.examples[0]}`" if field.examples else ""


@cache
def meanings(model: type[Any]) -> dict[str, str]:
    """Return the line of meaning below each field of a model."""
    (tree,) = ast.parse(inspect.getsource(model)).body
    body = getattr(tree, "body", [])
    return {
        line.target.id: " ".join(below.value.value.split())
        for line, below in pairwise(body)
        if isinstance(line, ast.AnnAssign) and isinstance(line.target, ast.Name)
        and isinstance(below, ast.Expr) and isinstance(below.value, ast.Constant)
        and isinstance(below.value.value, str)
    }  # fmt: skip
