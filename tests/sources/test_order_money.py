"""Money of an order that is missing is spoken of once the piece is gone, and not before."""

from __future__ import annotations

from pathlib import Path

import pytest

from sitegen.sources import read
from tests import makers


@pytest.mark.parametrize(
    ("step", "paid", "said"),
    [
        ("on the bench", "2026-10-02 100", ""),
        ("accepted", "2026-10-02 100", ""),
        ("paid", "2026-10-02 430.99", "A-1 is paid, but only 430.99 of 431.00 is noted under `paid:`"),
        ("paid", "2026-10-02 431", ""),
        ("shipped", "2026-10-02 100", "A-1 is shipped, but only 100.00 of 431.00 is noted under `paid:`"),
    ],
)
def test_what_a_gone_piece_lacks_is_told(tmp_path: Path, step: str, paid: str, said: str) -> None:
    made = makers.studio(tmp_path)
    text = makers.COMMISSIONS.replace("on the bench", step).replace("price: 431", f"price: 431, paid: {paid}")
    makers.write(made / "commissions.yaml", text)

    assert [complaint.message for complaint in read(made).complaints] == ([said] if said else [])
