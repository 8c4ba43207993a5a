"""Where a studio lies: in the open, in a history without a list of what stays out, without a fresh backup."""

from __future__ import annotations

import stat
from pathlib import Path

import pytest

from tests import makers
from tests.cli.runner import on, run


def told(folder: Path, today: str = "2026-11-25") -> str:
    return on(today, folder, "check").output


def test_a_studio_of_ones_own_says_nothing_of_its_place(tmp_path: Path) -> None:
    said = told(makers.studio(tmp_path / "s"))

    assert "lies in a folder" not in said
    assert "version control" not in said
    assert "backup" not in said


@pytest.mark.parametrize("name", ["public_html", "www", "Public"])
def test_a_folder_that_is_handed_out_is_named(tmp_path: Path, name: str) -> None:
    assert f"the studio lies in a folder called {name}" in told(makers.studio(tmp_path / name / "s"))


@pytest.mark.parametrize("where", [".", ".."])
def test_a_history_without_a_list_of_what_stays_out(tmp_path: Path, where: str) -> None:
    """In the studio or above it; a list in either is enough."""
    studio = makers.studio(tmp_path / "s")
    (studio / where / ".git").mkdir()
    assert "the studio is under version control, and nothing keeps people.csv" in told(studio)
    (studio / where / ".gitignore").write_text("people.csv\n", "utf-8")

    assert "version control" not in told(studio)


def test_begin_brings_the_list_and_closes_what_is_about_other_people(tmp_path: Path) -> None:
    run(tmp_path, "begin", str(tmp_path / "s"))
    studio = tmp_path / "s"
    (studio / ".git").mkdir()

    assert "version control" not in told(studio)
    assert {"people.csv", "sent/", "closed/", ".kept/", "out/"} <= set(
        (studio / ".gitignore").read_text().split()
    )
    assert stat.S_IMODE((studio / "people.csv").stat().st_mode) == 0o600


def test_an_old_backup_is_named_and_a_new_one_isnt(tmp_path: Path) -> None:
    studio = makers.studio(tmp_path / "s")
    assert "backup" not in told(studio)
    (studio / "sent").mkdir()
    assert "there's no backup of this studio yet" in told(studio)
    assert run(studio, "backup", str(tmp_path / "stick")).exit_code == 0
    assert "backup" not in told(studio, "2026-12-25")

    assert "the last backup is 31 days old" in told(studio, "2026-12-26 13:00")
