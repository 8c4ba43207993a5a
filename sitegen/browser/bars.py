"""Sums as bars: how long each is, and how it's filled; the template draws them and writes beside each."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

# Pixels: of a bar with its gap, of a group's name above its bars, between groups.
_BAR, _NAME, _GAP = 24, 30, 8
FILLS = ("full", "hatch", "cross", "dots", "open")

Sums = Sequence[tuple[str, Decimal]]
"""What a bar is made of: a fill and a sum each."""


@dataclass(frozen=True)
class OneBar:
    """One bar with what stands before and behind it; lengths are per cent of the longest."""

    name: str
    said: str
    top: int
    ends: str
    parts: tuple[tuple[str, str, str], ...]
    """Where each begins, how long it is, its fill."""


@dataclass(frozen=True)
class Bars:
    """All of a picture: its height, and groups of a name, a place and their bars."""

    height: int
    groups: tuple[tuple[str, int, tuple[OneBar, ...]], ...]


def bars(groups: Iterable[tuple[str, Sequence[tuple[str, str, Sums]]]]) -> Bars:
    """Lay groups of bars below each other, to one scale; what lies below zero is drawn by its size, open."""
    told = [(name, rows) for name, rows in groups if rows]
    longest = max((_size(sums) for _, rows in told for _, _, sums in rows), default=Decimal(0)) or Decimal(1)
    found, top = [], 0
    for name, rows in told:
        made = [_bar(row, top + _NAME + place * _BAR, longest) for place, row in enumerate(rows)]
        found.append((name, top, tuple(made)))
        top += _NAME + len(rows) * _BAR + _GAP
    return Bars(top, tuple(found))


def _bar(row: tuple[str, str, Sums], top: int, longest: Decimal) -> OneBar:
    name, said, sums = row
    parts, start = [], Decimal(0)
    for fill, amount in sums:
        if amount:
            length = abs(amount) / longest
            parts.append((f"{start:.2%}", f"{length:.2%}", fill if amount > 0 else "open"))
            start += length
    return OneBar(name, said, top, f"{start:.2%}", tuple(parts))


def _size(sums: Sums) -> Decimal:
    return sum((abs(one) for _, one in sums), Decimal(0))
