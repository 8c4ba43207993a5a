"""What isn't a file where one is expected: a pipe, a device, a link in a circle; each is a complaint, none is waited for."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest

from tests.cli.runner import contents, on, run

pytestmark = pytest.mark.skipif(os.name == "nt", reason="pipes and links as POSIX has them")

FILES = (
    "people.csv",
    "commissions.yaml",
    "pages/about.md",
    "pages/payment-terms/2026-09.md",
    "shows/quayside-2027.yaml",
)
WRITES = (
    ("people", "add", "zoe@mail.example", "--source", "web", "--evidence", "form"),
    ("order", "paid", "A-1", "10"),
    ("terms", "keep"),
)


@pytest.mark.parametrize("file", FILES)
@pytest.mark.parametrize("what", ["pipe", "endless", "circle", "nowhere"])
def test_what_is_no_file_is_a_complaint(folder: Path, file: str, what: str) -> None:
    """`check` names it, `build` is stopped by the same, and nothing that writes opens it."""
    (folder / file).unlink()
    if what == "pipe":
        os.mkfifo(folder / file)
    else:
        target = {"endless": "/dev/zero", "circle": Path(file).name, "nowhere": "nothing-there"}[what]
        (folder / file).symlink_to(target)
    checked, built = run(folder, "check"), run(folder, "build")

    assert checked.exit_code == built.exit_code == 1
    assert [line for line in checked.output.splitlines() if line.startswith(f"{file}: ")]
    assert not (folder / "out" / "site").exists()
    assert "people.csv" not in file or run(folder, *WRITES[0]).exit_code == 1
    assert "commissions" not in file or run(folder, *WRITES[1]).exit_code == 1


def test_a_mark_that_an_editor_leaves_is_no_page(folder: Path) -> None:
    """Some editors lock a file by a hidden link that leads nowhere."""
    (folder / "pages" / ".#about.md").symlink_to("someone@somewhere.1234")

    assert run(folder, "check").exit_code == 0


def test_earlier_states_are_kept_in_the_studio_only(folder: Path, tmp_path: Path) -> None:
    """A link there would have the program sweep somebody else's folder."""
    (tmp_path / "mine" / "parts").mkdir(parents=True)
    (tmp_path / "mine" / "parts" / "letter.txt").write_text("mine")
    (folder / ".kept").symlink_to(tmp_path / "mine")
    before = contents(tmp_path)
    result = run(folder, "people", "leave", "ana@mail.example")

    assert result.exit_code == 1
    assert ".kept is a link" in result.output
    assert contents(tmp_path) == before


@pytest.mark.parametrize("day", ["0001-01-01", "1899-12-31", "2201-01-01", "9999-12-31"])
def test_a_day_out_of_this_world_is_a_sentence(folder: Path, day: str) -> None:
    """For every command that asks for the day."""
    for words in (
        ("check",),
        ("build",),
        ("slots",),
        ("announce", "commissions"),
        ("backup", str(folder.parent)),
    ):
        result = on(day, folder, *words)
        assert (result.exit_code, "lies outside the years" in result.output) == (1, True), words


@pytest.mark.parametrize("day", ["1900-01-01", "1969-12-31", "2108-02-29", "2200-12-31"])
def test_a_day_far_away_is_worked_with(folder: Path, day: str) -> None:
    """A clock may be wrong; what can't be answered then is said."""
    for words in (("check",), ("build",), ("backup", str(folder.parent / "stick"))):
        assert on(day, folder, *words).exit_code == 0, words
    for words in (("slots",), ("announce", "commissions"), ("books",)):
        assert on(day, folder, *words).exit_code in {0, 1}, words


def test_what_was_typed_steers_no_terminal(folder: Path) -> None:
    """Also in a question, and in what is said of wrong usage."""
    order = "\x07\u202eX"
    for words in (("send", order), ("undo", order), ("piece", order), ("people", "forget", order), (order,)):
        said = run(folder, *words, typed="n\n").output
        assert said
        assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202e]", said), words
