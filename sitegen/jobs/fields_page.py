"""All fields of the files with what a form needs to show each, and the guide's page of them.

Made from the models and the starter's files, so that they can't fall behind.
"""

from __future__ import annotations

import ast
import inspect
import re
import types
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum
from functools import cache
from itertools import pairwise
from typing import Annotated, Any, Union, get_args, get_origin
from zoneinfo import ZoneInfo

from pydantic.fields import FieldInfo

from sitegen.carried import carried
from sitegen.sources.forms import MODELS
from sitegen.studio import fields
from sitegen.studio.order_lines import Move, Postage, Receipt, WeekWorked

# Written on one line, though the model holds blocks.
_ON_ONE_LINE = (Move, Postage, Receipt, WeekWorked)
# Taken from the folder's or the file's name.
_NOT_TYPED = {"slug"}
# What is told in more than a line.
_LONG = {
    "about", "address", "brief", "care", "consent", "how_to_ask", "how_to_pay", "includes", "note", "notes",
    "postal_address", "privacy_note", "shipping", "story",
}  # fmt: skip
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

Every line that a file may hold. What has no default has to be there. Prices are digits, with a point or a
comma before the smaller coin; dates are year-month-day; what stands under `private:` never leaves your desk.
"""


@dataclass(frozen=True)
class FormField:
    """One field of a file, with all that a form says of it."""

    path: str  # like `photos.*.alt`: a star stands for any entry of a list
    kind: str
    """`text`, `long text`, `amount`, `percentage`, `number`, `whole number`, `date`, `date and time`,
    `yes or no`, `choice`, `colour`, `web address`, `time zone`, `one line`; `block`, `list`, or `names` that
    are made up."""
    each: str  # of a list, and of names: the kind of what each holds
    meaning: str
    example: str
    choices: tuple[str, ...]
    needed: bool
    usual: str  # what it is where nothing is said
    block: type[Any] | None = None  # the model of a block, or of each in a list

    @property
    def said(self) -> str:
        """What is to be written, in words."""
        if self.kind == "choice":
            return f"one of {', '.join(self.choices)}"
        if self.kind == "names":
            return f"names, each with a {self.each}"
        return f"list of {self.each}s" if self.kind == "list" else self.kind


def text() -> str:
    """Return the page, in Markdown."""
    lines = [_INTRODUCTION]
    for kind in MODELS:
        lines.append(f"## {kind.replace('*', 'SLUG')}\n")
        told, skipped = dict[type[Any], str](), "-"
        for field in fields_of(kind):
            if field.path.startswith(skipped):
                continue
            path = field.path.replace(".*", "[]")
            usual = ", needed" if field.needed else f" (usually {field.usual})" if field.usual else ""
            such = f", like `{field.example}`" if field.example not in {"", field.usual} else ""
            lines.append(". ".join(filter(None, [f"- `{path}`: {field.said}{usual}{such}", field.meaning])))
            if field.block in told:
                lines.append(f"  - the same lines as `{told[field.block]}`")
                skipped = f"{field.path}."
            elif field.block is not None:
                told[field.block] = path
        lines.append("")
    return "\n".join(lines)


@cache
def fields_of(kind: str) -> tuple[FormField, ...]:
    """Return every field of a kind of file, a key of `sources.forms.MODELS`, in the order of the model."""
    starter = next(carried("content").glob(kind)).read_text("utf-8")
    return tuple(_fields(MODELS[kind], "", starter))


def _fields(model: type[fields.Entry], within: str, starter: str) -> Iterator[FormField]:
    model.model_rebuild()
    meaning = meanings(model)
    for name, field in model.model_fields.items():
        key = field.alias or name
        if key in _NOT_TYPED:
            continue
        path = f"{within}{key}"
        kind, each, block, choices = _kind(key, field)
        example, comment = _in_starter(starter, path)
        usual = "" if field.is_required() else _usual(field.default)
        example = "" if kind in {"choice", "yes or no"} else example
        example = str(field.examples[0]) if field.examples else example
        said = meaning.get(name, comment)
        yield FormField(path, kind, each, said, example, choices, field.is_required(), usual, block)
        if block is not None:
            yield from _fields(block, f"{path}.*." if kind == "list" else f"{path}.", starter)


def _kind(key: str, field: FieldInfo) -> tuple[str, str, type[fields.Entry] | None, tuple[str, ...]]:
    """Say what is to be written, what each of several is, a block's model, and the words to choose from."""
    parts = list(_parts(field.annotation))
    block = next((part for part in parts if isinstance(part, type) and issubclass(part, fields.Entry)), None)
    if block in _ON_ONE_LINE:
        return "one line", "", None, ()
    if block is not None:
        return ("list", "block", block, ()) if tuple in parts else ("block", "", block, ())
    choice = next((part for part in parts if isinstance(part, type) and issubclass(part, StrEnum)), None)
    if choice is not None:
        return "choice", "", None, tuple(choice)
    readers = [
        *field.metadata,
        *(mark for part in parts if get_origin(part) is Annotated for mark in part.__metadata__),
    ]
    bare = [part.__origin__ if get_origin(part) is Annotated else part for part in parts]
    by_type = next((word for kind, word in _TYPES.items() if kind in bare), "text")
    word = next((word for kind, word in _READERS if kind.__metadata__[0] in readers), by_type)
    if dict in parts or tuple in parts:
        return "names" if dict in parts else "list", word, None, ()
    return "long text" if key in _LONG else word, "", None, ()


def _in_starter(starter: str, path: str) -> tuple[str, str]:
    """Return what the starter gives as example of a field, and says of it; commented-out lines count."""
    first, *inner = path.replace(".*", "").split(".")
    found = re.search(rf"(?m)^((?:# ?[^#\n]*\n)*)#?{first}:(?P<brace>)(?P<value>.*)$", starter)
    said = re.match(r"(?:# [^ ].*\n)*", found[1]) if found else None
    comment = re.sub(r"\(?To use an example[^)]*\)?|# ", "", said[0]) if said else ""
    section = re.split(r"(?m)^#?[a-z_]+:", starter[found.start("value") :])[0] if found else ""
    for part in inner:
        found = re.search(rf"(?m)(?:^[ #-]*|(?P<brace>[{{,] *)){part}:(?P<value>.*)$", section)
        if found is None:
            break
        section = section if found["brace"] else section[found.end() :]
        comment = "" if found["brace"] else found["value"].partition(" # ")[2]
    if found is None:
        return "", ""
    bare = re.split(r" +#|[,}]" if found["brace"] else r" +#", found["value"])[0].strip().strip("'\"")
    # No place to fill in is an example, and no block.
    return "" if bare[:1] in {"<", "|", ">", "{"} else bare, " ".join(comment.split())


def _usual(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value) if isinstance(value, str | int) else ""


def _parts(annotation: Any) -> Iterator[Any]:
    origin = get_origin(annotation)
    yield annotation if origin in {None, Annotated} else origin
    if origin in {Union, types.UnionType, tuple, dict, Annotated}:
        for part in get_args(annotation):
            yield from _parts(part)


@cache
def meanings(model: type[Any]) -> dict[str, str]:
    """Return the line of meaning below each field of a model, its base's among them."""
    base = model.__base__
    above = meanings(base) if base is not None and issubclass(base, fields.Entry) else {}
    (tree,) = ast.parse(inspect.getsource(model)).body
    body = getattr(tree, "body", [])
    return above | {
        line.target.id: " ".join(below.value.value.split())
        for line, below in pairwise(body)
        if isinstance(line, ast.AnnAssign) and isinstance(line.target, ast.Name)
        and isinstance(below, ast.Expr) and isinstance(below.value, ast.Constant)
        and isinstance(below.value.value, str)
    }  # fmt: skip
