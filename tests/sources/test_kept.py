"""The files of closed years: which count, who may read them, and that none is written over."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from sitegen.disk import pen
from sitegen.sources import StudioFault
from sitegen.sources.kept import closed_years, read_closed, write_closed


def test_only_files_named_by_their_year_count_and_in_order(tmp_path: Path) -> None:
    """What else lies there, such as a copy that somebody made, is nothing of ours."""
    (tmp_path / "closed" / "2024.json").mkdir(parents=True)
    for name in ("2026.json", "2025.json", "2025 (copy).json", "notes.json", "2023.txt"):
        (tmp_path / "closed" / name).write_text("{}")

    assert list(closed_years(tmp_path)) == [2025, 2026]
    assert list(closed_years(tmp_path / "elsewhere")) == []


@pytest.mark.skipif(os.name == "nt", reason="has no such rights")
def test_a_closed_year_is_its_owners_alone(tmp_path: Path) -> None:
    """What clients paid stands in it (POSIX file modes: 0700 and 0600 shut out everybody else)."""
    with pen(tmp_path):
        file = write_closed(tmp_path, 2026, {"left": "1.00"})

    assert [oct(path.stat().st_mode & 0o777) for path in (file.parent, file)] == ["0o700", "0o600"]


def test_a_year_is_written_once_and_reads_back(tmp_path: Path) -> None:
    assert read_closed(tmp_path, 2026) is None
    with pen(tmp_path):
        write_closed(tmp_path, 2026, {"maker": "Łabędź"})
        with pytest.raises(StudioFault, match=r"^2026 is closed already; closed/2026\.json says how\."):
            write_closed(tmp_path, 2026, {})

    assert read_closed(tmp_path, 2026) == {"maker": "Łabędź"}


@pytest.mark.parametrize("content", [b"{", b"\xff", b"[" * 100_000])
def test_a_damaged_year_is_told(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "closed").mkdir()
    (tmp_path / "closed" / "2026.json").write_bytes(content)

    with pytest.raises(StudioFault, match=r"^closed/2026\.json can't be read; bring it back from a backup"):
        read_closed(tmp_path, 2026)


@pytest.mark.parametrize("content", ["null", "{}", "0"])
def test_an_empty_year_is_closed_all_the_same(tmp_path: Path, content: str) -> None:
    (tmp_path / "closed").mkdir()
    (tmp_path / "closed" / "2026.json").write_text(content)

    assert read_closed(tmp_path, 2026) == {}
