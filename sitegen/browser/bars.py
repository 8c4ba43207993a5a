"""Sums as bars: how long each is, and how it's filled; the template draws them and writes beside each."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

# Pixels: of a bar with its gap, and of a group's name above its bars.
_BAR, _NAME = 24, 30
FILLS = ("full", "hatch", "cross", "dots", "open")


@dataclass(frozen=True)
class Stretch:
    """A piece of a bar."""

    start: str
    """Per cent of the longest bar."""
    length: str
    fill: str


@dataclass(frozen=True)
class OneBar:
    """One bar with what stands before and behind it."""

    name: str
    said: str
    top: int
    ends: str
    pieces: tuple[Stretch, ...]


@dataclass(frozen=True)
class Group:
    """Bars below a name."""

    name: str
    top: int
    bars: tuple[OneBar, ...]


@dataclass(frozen=True)
class Bars:
    """All of a picture."""

    height: int
    groups: tuple[Group, ...]


Sums = Sequence[tuple[str, Decimal]]
"""What a bar is made of: a fill and a sum each."""


def bars(groups: Iterable[tuple[str, Sequence[tuple[str, str, Sums]]]]) -> Bars:
    """Lay groups of bars below each other, to one scale; what lies below zero is drawn by its size, open."""
    told = [(name, rows) for name, rows in groups if rows]
    longest = max((_size(sums) for _, rows in told for _, _, sums in rows), default=Decimal(0))
    found, top = [], 0
    for name, rows in told:
        head = _NAME if name else 0
        made = tuple(
            OneBar(row, said, top + head + place * _BAR, _share(_size(sums), longest), _pieces(sums, longest))
            for place, (row, said, sums) in enumerate(rows)
        )
        found.append(Group(name, top, made))
        top += head + len(rows) * _BAR + 8
    return Bars(top, tuple(found))


def _size(sums: Sums) -> Decimal:
    return sum((abs(one) for _, one in sums), Decimal(0))


def _share(amount: Decimal, longest: Decimal) -> str:
    return f"{float(amount / longest) * 100:.2f}%" if longest else "0%"


def _pieces(sums: Sums, longest: Decimal) -> tuple[Stretch, ...]:
    found, start = [], Decimal(0)
    for fill, amount in sums:
        if amount:
            shown = fill if amount > 0 else "open"
            found.append(Stretch(_share(start, longest), _share(abs(amount), longest), shown))
            start += abs(amount)
    return tuple(found)
