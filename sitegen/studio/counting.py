"""Counts with their nouns, and numbers without needless noughts."""

from __future__ import annotations

from decimal import Decimal


def counted(count: int, one: str, many: str) -> str:
    """Return the count with its noun: `1 person`, `3 people`."""
    return f"{count} {one if count == 1 else many}"


def bare(number: Decimal) -> str:
    """Write a number in digits, without noughts at its end: 12.50 as `12.5`, 1E+1 as `10`."""
    return f"{number.normalize():f}"
