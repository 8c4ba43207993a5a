"""What changes a studio's files is called by jobs, which hold the pen; here the tests hold it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from sitegen.disk import pen


@pytest.fixture(autouse=True)
def _pen_in_hand(tmp_path: Path) -> Iterator[None]:
    with pen(tmp_path):
        yield
