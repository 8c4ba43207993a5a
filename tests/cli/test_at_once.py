"""Commands at once, as real processes: what each calls done is in the files, and nothing is lost."""

from __future__ import annotations

import csv
import subprocess
import sys
import threading
from collections.abc import Iterable
from importlib import import_module
from pathlib import Path

import pytest

from sitegen.disk import PenMissing, pen, put
from sitegen.studio.asked import Fault
from tests import makers
from tests.cli.runner import TODAY


def started(folder: Path, *words: str) -> subprocess.Popen[str]:
    """Start `sitegen WORDS` as a process of its own."""
    return subprocess.Popen(
        [sys.executable, "-m", "sitegen", "--studio", str(folder), "--today", TODAY, *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def all_at_once(folder: Path, commands: Iterable[tuple[str, ...]]) -> list[int]:
    """Run commands at once; return their exit codes."""
    running = [started(folder, *words) for words in commands]
    return [one.communicate() and one.returncode for one in running]


def addresses(folder: Path) -> list[str]:
    """Return every address in people.csv."""
    with (folder / "people.csv").open(encoding="utf-8", newline="") as stream:
        return [row[0] for row in csv.reader(stream)][1:]


@pytest.mark.slow
def test_people_added_at_once_are_all_on_the_list(folder: Path) -> None:
    """Four say done, and four are there, once each."""
    before = addresses(folder)
    new = [f"guest-{number}@mail.example" for number in range(4)]
    codes = all_at_once(
        folder, (("people", "add", one, "--source", "web", "--evidence", "the form") for one in new)
    )

    assert codes == [0] * 4
    assert sorted(addresses(folder)) == sorted([*before, *new])


def test_pieces_added_at_once_have_numbers_of_their_own(folder: Path) -> None:
    """Each studio number is given once."""
    photo = next(folder.glob("pieces/*/*.jpg"))
    codes = all_at_once(folder, (("piece", "add", str(photo), "--title", f"Owl {n}") for n in range(3)))
    numbers = [
        line for file in folder.glob("pieces/owl-*/piece.yaml")
        for line in file.read_text("utf-8").splitlines() if line.startswith("number:")
    ]  # fmt: skip

    assert codes == [0] * 3
    assert len(set(numbers)) == 3


def test_who_waits_too_long_is_told_who_is_at_work(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is written meanwhile; the command is named by its own words, since when, and its process."""
    monkeypatch.setattr(import_module("sitegen.disk.pen"), "PATIENCE", 0.0)
    told: list[str] = []

    def wait() -> None:
        with pytest.raises(Fault) as fault, pen(folder):
            pass
        told.append(str(fault.value))

    with pen(folder):
        other = threading.Thread(target=wait)
        other.start()
        other.join()

    assert len(told) == 1
    assert "is changing the files in" in told[0]
    assert "process" in told[0]
    assert "since" in told[0]


def test_no_file_of_the_studio_changes_without_the_pen(folder: Path) -> None:
    """A job that forgot to take it can't write at all."""
    with pytest.raises(PenMissing):
        put(folder / "people.csv", b"")
    with pen(folder):
        put(folder / "people.csv", b"x")

    assert (folder / "people.csv").read_bytes() == b"x"


def test_the_pen_of_one_studio_is_no_pen_of_another(folder: Path, tmp_path: Path) -> None:
    """Also of one whose name begins alike."""
    other = makers.studio(tmp_path / "studio-two")
    with pen(folder), pytest.raises(PenMissing):
        put(other / "people.csv", b"")
