"""What most tests of commands begin with."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests import makers


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a whole valid studio; its terms are kept as version 2026-09."""
    return makers.studio(tmp_path / "studio")
