"""Hang pieces in rows of equal height, and know how wide each picture will be."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import cycle

from sitegen.site.faults import SiteFault
from sitegen.site.shown import Exhibit

# A piece without a picture takes the room of an upright one.
_UPRIGHT = 0.75


@dataclass(frozen=True, slots=True)
class Hung:
    """A piece on its nail."""

    exhibit: Exhibit
    share: float
    """Its part of the row's width, 0 to 1, where the whole row hangs side by side."""
    pair_share: float
    """The same where the first of three hangs alone above the other two."""


def hang(exhibits: Sequence[Exhibit], pattern: str) -> tuple[tuple[Hung, ...], ...]:
    """Lay pieces out in rows; `pattern` says how many hang in each, in turn, like `3 2 3`.

    Raises SiteFault for a pattern that holds anything but whole numbers from 1.
    """
    rows: list[tuple[Hung, ...]] = []
    at = 0
    for count in cycle(_counts(pattern)):
        if at >= len(exhibits):
            return tuple(rows)
        rows.append(_row(exhibits[at : at + count]))
        at += count
    return tuple(rows)


def _counts(pattern: str) -> list[int]:
    words = pattern.split()
    if not words or not all(word.isdecimal() and int(word) > 0 for word in words):
        raise SiteFault(f"the theme's rows are '{pattern}'; write whole numbers with spaces, like 3 2 3")
    return [int(word) for word in words]


def _row(exhibits: Sequence[Exhibit]) -> tuple[Hung, ...]:
    ratios = [one.first.card_ratio if one.first else _UPRIGHT for one in exhibits]
    pair = sum(ratios[1:]) or 1
    return tuple(
        Hung(
            one,
            round(ratio / sum(ratios), 3),
            1.0
            if place == 0 and len(ratios) != 2
            else round(ratio / (pair if len(ratios) > 2 else sum(ratios)), 3),
        )
        for place, (one, ratio) in enumerate(zip(exhibits, ratios, strict=True))
    )
