"""What is kept of a commission on one line each: its steps with their days, money with its days, new days.

Both are written the same way, entries between semicolons, each a day and a word or an amount:
`moves: 2026-08-30 request; 2026-09-06 offered` and `paid: 2026-09-16 282; 2026-11-02 -120`.
A step may carry its time of day, which counts where the first to ask is the first served:
`moves: 2026-08-30 12:04 request`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date, time
from decimal import Decimal
from enum import StrEnum
from typing import Any

from pydantic import ValidationInfo

from sitegen.studio import money
from sitegen.studio.fields import USUAL_DIGITS, Entry, one_of, read_day
from sitegen.studio.foreign import quoted

_ENTRY = re.compile(r"([0-9]{4}-[0-9]{2}-[0-9]{2})\s+(\S.*)")
_TIMED = re.compile(r"([0-9]{1,2}:[0-9]{2})\s+(\S.*)")


class Step(StrEnum):
    """Where a commission stands, from first letter to parcel."""

    REQUEST = "request"
    WAITING = "waiting"
    OFFERED = "offered"
    ACCEPTED = "accepted"
    ON_THE_BENCH = "on the bench"
    FINISHED = "finished"
    PAID = "paid"
    SHIPPED = "shipped"
    DECLINED = "declined"
    """By the maker, before anything was agreed."""
    WITHDRAWN = "withdrawn"
    """By the client, before anything was agreed."""
    LAPSED = "lapsed"
    """An offer that nobody answered in time."""
    CALLED_OFF = "called off"
    """By either side, after the offer was accepted."""


class Move(Entry):
    """One step taken."""

    on: date
    step: Step
    at: time | None = None
    """The time of day by the studio's clock, where it counts."""


class Receipt(Entry):
    """Money that came in; below zero for money sent back."""

    on: date
    amount: Decimal


def read_moves(text: Any) -> Any:
    """Read steps with their days. Raises ValueError with a sentence."""
    if not isinstance(text, str):
        return text
    return tuple(_move(day, word) for day, word in _entries(text, "2026-08-30 request"))


def _move(day: date, words: str) -> Move:
    timed = _TIMED.fullmatch(words)
    word = timed[2] if timed else words
    return Move(on=day, step=Step(one_of(Step)(word)), at=_time(timed[1]) if timed else None)


def _time(text: str) -> time:
    hour, minute = map(int, text.split(":"))
    if hour > 23 or minute > 59:
        raise ValueError(f"{quoted(text)} is a time that doesn't exist; hours run from 00 to 23")
    return time(hour, minute)


def read_receipts(text: Any, info: ValidationInfo) -> Any:
    """Read amounts with their days, in the studio's currency. Raises ValueError with a sentence."""
    if not isinstance(text, str):
        return text
    digits = (info.context or {}).get("digits", USUAL_DIGITS)
    return tuple(
        Receipt(on=day, amount=read_signed(word, digits)) for day, word in _entries(text, "2026-09-16 282")
    )


def read_signed(text: str, digits: int) -> Decimal:
    """Read an amount with a minus sign for money sent back. Raises ValueError with a sentence."""
    bare = text.removeprefix("-")
    amount = money.read_amount(bare, digits)
    return amount if bare == text else -amount


def read_days(text: Any) -> Any:
    """Read days between semicolons, `2027-03-15; 2027-04-20`. Raises ValueError with a sentence."""
    if not isinstance(text, str):
        return text
    return tuple(read_day(part.strip()) for part in text.split(";") if part.strip())


def write_days(days: Iterable[date]) -> str:
    """Write days on one line, as `read_days` reads them."""
    return "; ".join(map(str, days))


def write_moves(moves: Iterable[Move]) -> str:
    """Write steps with their days on one line, as `read_moves` reads them."""
    return "; ".join(
        f"{move.on}{f' {move.at:%H:%M}' if move.at is not None else ''} {move.step}" for move in moves
    )


def write_receipts(receipts: Iterable[Receipt]) -> str:
    """Write amounts with their days on one line, as `read_receipts` reads them."""
    return "; ".join(f"{receipt.on} {receipt.amount:f}" for receipt in receipts)


def _entries(text: str, example: str) -> list[tuple[date, str]]:
    return [_entry(part.strip(), example) for part in text.split(";") if part.strip()]


def _entry(part: str, example: str) -> tuple[date, str]:
    found = _ENTRY.fullmatch(part)
    if found is None:
        raise ValueError(
            f"{quoted(part)} isn't a day and a word; write it like {example}, with ; between two"
        )
    return read_day(found[1]), found[2].strip()
