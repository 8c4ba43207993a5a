"""What nobody foresaw, a stopped reader, a full disk, Ctrl-C: each ends in a sentence and shows nothing private."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import click
import pytest

from sitegen.jobs import people
from sitegen.studio import person
from tests.cli.runner import contents, run


def broken(fault: BaseException) -> Callable[..., None]:
    """Return a job that fails so."""

    def job(*_: object, **__: object) -> None:
        raise fault

    return job


def test_what_nobody_foresaw_is_a_sentence_and_a_note_without_names(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its own exit status, no traceback, nothing written; the note names places of the program only."""
    before = contents(folder)
    monkeypatch.setattr(people, "set_left", broken(ZeroDivisionError("ana@mail.example owes 431")))
    result = run(folder, "people", "leave", "ana@mail.example")

    assert result.exit_code == 3
    assert "Traceback" not in result.output
    assert "ana@mail.example" not in result.output
    assert contents(folder) == before
    note = Path(result.output.split("is noted in ")[1].split(", without")[0])
    text = note.read_text("utf-8")
    note.unlink()
    assert "ZeroDivisionError" in text
    assert "people leave" in text
    assert "ana@" not in text
    assert "431" not in text


def test_ctrl_c_is_a_sentence(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the status that shells give it."""
    monkeypatch.setattr(person, "picker", broken(KeyboardInterrupt()))
    result = run(folder, "people", "list")

    assert (result.exit_code, result.output) == (
        130, "Stopped. No file is half-written; run it again to finish.\n",
    )  # fmt: skip


@pytest.mark.parametrize("fault", [KeyboardInterrupt(), EOFError()])
def test_ctrl_c_at_a_question_is_a_sentence(
    folder: Path, monkeypatch: pytest.MonkeyPatch, fault: BaseException
) -> None:
    """Nothing was written, and that is said; a no is told from a stop by its status."""

    def stopped(*_: object, **__: object) -> None:
        """As the library's own question ends; where it reads a key from differs by version."""
        try:
            raise fault
        except (KeyboardInterrupt, EOFError):
            raise click.Abort from None

    before = contents(folder)
    monkeypatch.setattr(click, "confirm", stopped)
    result = run(folder, "people", "forget", "ana@mail.example")
    monkeypatch.undo()
    no = run(folder, "people", "forget", "ana@mail.example", typed="n\n")

    assert (result.exit_code, result.stderr) == (130, "\nNothing was written.\n")
    assert (no.exit_code, no.stderr) == (1, "Nothing was written.\n")
    assert contents(folder) == before


def test_a_disk_that_is_full_or_closed_is_a_sentence(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the file and the cure."""
    for number, cure in ((28, "the disk is full; free some room"), (13, "look at its rights")):
        monkeypatch.setattr(person, "picker", broken(OSError(number, "system's words", "people.csv")))
        result = run(folder, "people", "list")
        assert result.exit_code == 1
        assert result.output.startswith("people.csv: ")
        assert cure in result.output


@pytest.mark.parametrize(
    "where",
    [
        pytest.param("/dev/full", marks=pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no /dev/full here")),
        pytest.param("closed", marks=pytest.mark.skipif(os.name == "nt", reason="a closed pipe is another fault there")),
    ],
)  # fmt: skip
def test_an_answer_that_cannot_be_written_is_a_sentence(folder: Path, where: str) -> None:
    """A full disk behind the answer, and a reader who stopped."""
    program = [sys.executable, "-m", "sitegen", "--studio", str(folder), "people", "list"]
    if where == "closed":
        read, out = os.pipe()
        os.close(read)
    else:
        out = os.open(where, os.O_WRONLY)
    ended = subprocess.run(program, stdout=out, stderr=subprocess.PIPE, text=True, check=False)
    os.close(out)

    assert ended.returncode == 1
    assert len(ended.stderr.splitlines()) <= 2
    assert "Traceback" not in ended.stderr
    assert "Exception ignored" not in ended.stderr
    assert (
        "disk is full" if where == "/dev/full" else "Whoever read this answer has stopped"
    ) in ended.stderr


@pytest.mark.skipif(os.name == "nt", reason="there are no modes there")
def test_lists_letters_and_the_record_are_their_owners_alone(folder: Path) -> None:
    """Whatever the umask, new or rewritten."""
    before = os.umask(0)
    try:
        run(folder, "people", "leave", "ben@post.example")
        run(folder, "order", "promise", "A-1", "2027-03-01")
        result = run(folder, "announce", "commissions")
    finally:
        os.umask(before)
    assert result.exit_code == 0, result.output
    private = [folder / "people.csv", folder / ".kept", folder / "sent", folder / "out" / "letters"]
    private += [path for top in private[1:] for path in top.rglob("*")]

    assert len(private) > 10
    assert [str(path) for path in private if path.stat().st_mode & 0o077] == []
