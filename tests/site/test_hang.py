"""Rows of the gallery: as many in each as the theme says, and no hole at the end."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import pytest

from sitegen.site.setting import hang


@pytest.mark.parametrize(
    ("pieces", "pattern", "rows"),
    [
        (0, "3", []),
        (2, "3", [2]),
        (4, "3", [4]),
        (5, "3", [3, 2]),
        (7, "3", [3, 4]),
        (8, "3", [4, 4]),
        (9, "3 2 3 3 2", [3, 2, 4]),
        (3, "1", [1, 1, 1]),
    ],
)
def test_what_is_left_over_joins_the_rows_above(pieces: int, pattern: str, rows: list[int]) -> None:
    """No piece hangs alone below whole rows; each row and each pair fills its width."""
    wall = [SimpleNamespace(first=SimpleNamespace(card_ratio=0.6 + at % 3 / 2)) for at in range(pieces)]
    hung = hang(cast("list[Any]", wall), pattern)
    assert [sum(map(len, row)) for row in hung] == rows
    assert [one["exhibit"] for row in hung for pair in row for one in pair] == wall
    for row in hung:
        assert sum(one["share"] for pair in row for one in pair) == pytest.approx(1, abs=0.01)
        assert [len(pair) for pair in row[1:]] == [2] * (len(row) - 1)
        for pair in row:
            assert sum(one["pair_share"] for one in pair) == pytest.approx(1, abs=0.01)
