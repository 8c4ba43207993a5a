"""Whatever a piece's file can say, what is remembered of it is what was read: every line, every alias."""

from __future__ import annotations

import types
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import Annotated, Any, Union, get_args, get_origin

from hypothesis import given, settings
from hypothesis import strategies as some
from pydantic import BaseModel

from sitegen.sources.gathered import recalled, remembered
from sitegen.studio import fields
from sitegen.studio.order_lines import Move, Receipt, Step
from sitegen.studio.piece import Piece

DIGITS = {"JPY": 0, "EUR": 2, "KWD": 3}
LINES = some.text(some.characters(exclude_categories=["C"]), max_size=12)
DAYS = some.dates(date(fields.FIRST_YEAR, 1, 1), date(fields.LAST_YEAR, 12, 31)).map(str)


def amounts(digits: int) -> some.SearchStrategy[str]:
    return some.decimals(0, 99_999, places=digits).map(lambda one: f"{one:f}")


def typed(digits: int) -> tuple[tuple[Any, some.SearchStrategy[str]], ...]:
    """Return what an artist types where a reader of its own tells the kind of value."""
    return (
        (fields.Money, amounts(digits)),
        (fields.Percent, some.integers(0, 100).map(lambda one: f"{one}%")),
        (fields.WebAddress, some.just("https://studio.example/")),
    )


TYPES: dict[type, some.SearchStrategy[str]] = {
    bool: some.sampled_from(["yes", "no"]),
    int: some.integers(1, 99).map(str),
    Decimal: some.decimals(0, 1, places=3).map(str),
    date: DAYS,
}

# Lines that a reader of their own looks at; whoever adds one says here what is typed into it.
SPECIAL: dict[str, str] = {
    "returned": f"{fields.LAST_YEAR}-12-31", "until": f"{fields.LAST_YEAR}-12-31", "back": f"{fields.LAST_YEAR}-12-31",
    "due": f"{fields.LAST_YEAR}-12-31", "paid": f"{fields.LAST_YEAR}-12-31", "place": "The Long Room", "fee": "0", "deposit": "30%", "number": "2026-07", "version": "2026-11",
    "buy_at": "https://shop.example/owl", "next_prices": "2027-08-01 530; 2027-02-01 506",
    "from": "2027-01-01", "to": "2027-02-01",  # lines that only make sense together
}  # fmt: skip


def written(model: type[BaseModel], draw: Any, digits: int) -> dict[str, Any]:
    """Fill in every line of a model, as it stands in a file."""
    model.model_rebuild()
    return {
        field.alias or name: value_of(field.alias or name, field, draw, digits)
        for name, field in model.model_fields.items()
    }


def value_of(key: str, field: Any, draw: Any, digits: int) -> Any:
    parts = list(parts_of(field.annotation))
    if Move in parts:
        return f"{draw(DAYS)} 12:04 {draw(some.sampled_from(Step))}"
    if Receipt in parts and key != "next_prices":
        return f"{draw(DAYS)} {draw(amounts(digits))}; {draw(DAYS)} -{draw(amounts(digits))}"
    inner = next((part for part in parts if isinstance(part, type) and issubclass(part, BaseModel)), None)
    if inner is not None and key != "next_prices":
        block = written(inner, draw, digits)
        return [block] if tuple in parts else block
    if key in SPECIAL:
        return SPECIAL[key]
    return single(field, parts, draw, digits)


def single(field: Any, parts: list[Any], draw: Any, digits: int) -> Any:
    choice = next((part for part in parts if isinstance(part, type) and issubclass(part, StrEnum)), None)
    if choice is not None:
        return str(draw(some.sampled_from(choice)))
    marks = [*field.metadata, *(m for one in parts if get_origin(one) is Annotated for m in one.__metadata__)]
    bare = [part.__origin__ if get_origin(part) is Annotated else part for part in parts]
    by_type = next((typing for kind, typing in TYPES.items() if kind in bare), LINES)
    found = next((typing for kind, typing in typed(digits) if kind.__metadata__[0] in marks), by_type)
    if dict in parts:
        return {"sculpting": draw(found)}
    return [draw(found), draw(found)] if tuple in parts else draw(found)


def parts_of(annotation: Any) -> Iterator[Any]:
    origin = get_origin(annotation)
    yield annotation if origin in {None, Annotated} else origin
    if origin in {Union, types.UnionType, tuple, dict, Annotated}:
        for part in get_args(annotation):
            yield from parts_of(part)


@settings(max_examples=40, deadline=None)
@given(data=some.data(), currency=some.sampled_from(sorted(DIGITS)))
def test_what_is_remembered_is_what_was_read(data: some.DataObject, currency: str) -> None:
    digits = DIGITS[currency]
    said = Piece.model_validate(written(Piece, data.draw, digits), context={"digits": digits})

    assert recalled(remembered(said), digits) == said
