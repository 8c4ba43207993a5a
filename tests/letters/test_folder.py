"""A letter's folder is there whole or not at all, and what a killed command left is put right."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest

from sitegen.disk import pen
from sitegen.letters.folder import whole_folder


def written(letters: Path, name: str, text: str) -> None:
    with whole_folder(letters / name) as folder:
        (folder / "letter.txt").write_text(text)


def found(letters: Path) -> dict[str, str]:
    """Return every file below a folder, hidden ones too, with its text."""
    return {
        file.relative_to(letters).as_posix(): file.read_text()
        for file in letters.rglob("*")
        if file.is_file()
    }


def left_by_a_killed_command(letters: Path) -> None:
    """Lay half a letter there; one laid aside whose new form never came, and one whose new form did."""
    written(letters, "kept", "new")
    for name, text in ((".making-a/letter.txt", "half"), (".aside-b/lost/letter.txt", "old"), (".aside-c/kept/letter.txt", "old")):  # fmt: skip
        (letters / name).parent.mkdir(parents=True)
        (letters / name).write_text(text)


def test_what_a_killed_command_left_is_put_right_by_the_next(tmp_path: Path) -> None:
    """Killed between two renames, the old letter comes back; a half-made one goes."""
    letters = tmp_path / "out" / "letters"
    left_by_a_killed_command(letters)

    with pen(tmp_path):
        written(letters, "next", "made")

    assert found(letters) == {"kept/letter.txt": "new", "lost/letter.txt": "old", "next/letter.txt": "made"}
    assert sorted(path.name for path in letters.iterdir()) == ["kept", "lost", "next"]


def test_nothing_is_put_right_while_somebody_else_may_be_at_work(tmp_path: Path) -> None:
    """Without the studio's pen, half a letter may be one that is just being written."""
    letters = tmp_path / "out" / "letters"
    left_by_a_killed_command(letters)
    before = found(letters)

    written(letters, "next", "made")

    assert found(letters) == {**before, "next/letter.txt": "made"}


def test_all_is_done_beside_the_letters(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A rename is one step only within one file system (POSIX rename: EXDEV), so nothing is made in /tmp."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "not there"))

    for text in ("first", "second"):
        written(tmp_path / "letters", "one", text)

    assert found(tmp_path / "letters") == {"one/letter.txt": "second"}


def test_a_letter_that_cant_take_its_place_leaves_the_old_one_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    written(tmp_path, "one", "first")
    rename = Path.rename

    def stuck(self: Path, target: Path) -> Path:
        if self.name.startswith(".making-"):
            raise OSError("stuck")
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", stuck)
    with pytest.raises(OSError, match="stuck"):
        written(tmp_path, "one", "second")

    assert found(tmp_path) == {"one/letter.txt": "first"}
    assert [path.name for path in tmp_path.iterdir()] == ["one"]
