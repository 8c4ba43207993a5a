"""`undo` takes back a whole command or says why not; a backup restores to the same bytes, and nothing else is let in."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import shutil
import stat
import zipfile
from pathlib import Path

import pytest

from sitegen.disk import states
from sitegen.jobs import begin
from sitegen.sources import StudioFault
from tests.cli.runner import contents, own, run

EDITS = (
    ("people", "leave", "ana@mail.example"),
    ("people", "add", "zoe@mail.example", "--source", "web", "--evidence", "the form"),
    ("order", "promise", "A-1", "2027-03-01"),
    ("piece", "mark", "ferry-ghost", "not for sale"),
    ("order", "hours", "A-1", "painting", "3.5"),
)


@pytest.mark.parametrize("words", EDITS, ids=" ".join)
def test_the_latest_edit_is_taken_back_to_the_byte(folder: Path, words: tuple[str, ...]) -> None:
    """Whatever the command was, and only it."""
    before = own(folder)
    assert run(folder, *words).exit_code == 0
    assert own(folder) != before
    result = run(folder, "undo")

    assert result.exit_code == 0
    assert result.output.startswith("Taken back: ")
    assert own(folder) == before
    assert run(folder, "undo").output.startswith("there is nothing to take back")


def test_edits_are_taken_back_one_after_the_other(folder: Path) -> None:
    """The list shows the latest first, and each undo goes one further back."""
    states = [own(folder)]
    for words in EDITS:
        run(folder, *words)
        states.append(own(folder))
    listed = json.loads(run(folder, "undo", "--list", "--json").output)["edits"]

    assert [one["command"].split(" ", 1)[1] for one in listed] == [
        " ".join(one[:2]) for one in reversed(EDITS)
    ]
    for state in reversed(states[:-1]):
        assert run(folder, "undo", "--json").exit_code == 0
        assert own(folder) == state


def test_a_letter_thrown_away_comes_back_whole(folder: Path) -> None:
    """With every message, for its owner only; and whoever asks to be forgotten is in no kept letter."""
    assert run(folder, "announce", "commissions").exit_code == 0
    letters = folder / "out" / "letters"
    before, ident = contents(letters), next(letters.glob("*/letter.json")).parent.name
    assert run(folder, "announce", "discard", ident).exit_code == 0
    assert not (letters / ident).exists()

    said = run(folder, "undo").output
    assert said.splitlines()[1:] == [f"  out/letters/{ident}: a folder"]
    assert contents(letters) == before
    assert {stat.S_IMODE(path.stat().st_mode) & 0o077 for path in (letters / ident).rglob("*")} == {0}
    assert run(folder, "undo", "--again").exit_code == 0
    assert not (letters / ident).exists()

    assert b"ana@mail.example" in b"".join(contents(folder / ".kept").values())
    assert run(folder, "people", "forget", "ana@mail.example", "--yes").exit_code == 0
    assert b"ana@mail.example" not in b"".join(contents(folder).values())


def test_an_added_piece_goes_with_its_photos(folder: Path) -> None:
    """The folder too."""
    before = own(folder)
    photo = next(folder.glob("pieces/*/*.jpg"))
    run(folder, "piece", "add", str(photo), "--title", "Owl")
    assert (folder / "pieces" / "owl").is_dir()
    run(folder, "undo")

    assert own(folder) == before
    assert not (folder / "pieces" / "owl").exists()


@pytest.mark.skipif(os.name == "nt", reason="rights as POSIX has them")
def test_what_was_taken_back_can_be_done_again(folder: Path) -> None:
    """One after the other, to the byte and with its rights, until another command changes something."""

    def state() -> dict[str, tuple[bytes, int]]:
        return {path: (body, (folder / path).stat().st_mode) for path, body in own(folder).items()}

    (folder / "people.csv").unlink()
    (folder / "commissions.yaml").chmod(0o600)
    photo = next(folder.glob("pieces/*/*.jpg"))
    states = [state()]
    for words in (*EDITS[1:], ("piece", "add", str(photo), "--title", "Owl")):
        assert run(folder, *words).exit_code == 0
        states.append(state())
    for _ in states[1:]:
        run(folder, "undo")
    assert state() == states[0]
    for one in states[1:]:
        assert run(folder, "undo", "--again").output.startswith("Done again: ")
        assert state() == one
    assert run(folder, "undo", "--again").output.startswith("there is nothing to do again")

    run(folder, "undo")
    run(folder, "order", "promise", "A-1", "2027-04-01")
    last = state()
    assert run(folder, "undo", "--again").exit_code == 1
    assert state() == last
    run(folder, "undo")
    assert state() == states[-2]


def test_an_undo_whose_last_note_is_refused_is_done(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Who heard otherwise would run it again and take back one more."""
    before = own(folder)
    run(folder, *EDITS[3])
    one = own(folder)
    run(folder, *EDITS[0])
    monkeypatch.setattr(states.KeptEdit, "mark", broken)
    result = run(folder, "undo")
    monkeypatch.undo()

    assert (result.exit_code, own(folder)) == (0, one)
    assert run(folder, "undo", "--again").exit_code == 0
    run(folder, "undo")
    assert own(folder) == one
    run(folder, "undo")
    assert own(folder) == before


def broken(*_: object, **__: object) -> None:
    """Refuse, as a full disk does."""
    raise OSError(28, "full")


def test_what_was_changed_by_hand_since_is_not_done_again(folder: Path) -> None:
    """Nothing is written, and what was done before that file's edit can still be taken back."""
    before = own(folder)
    run(folder, *EDITS[3])
    run(folder, *EDITS[0])
    run(folder, "undo")
    with (folder / "people.csv").open("ab") as file:
        file.write(b"by@hand.example,By Hand,,2026-11-01,web,the form,\r\n")
    people = (folder / "people.csv").read_bytes()

    assert run(folder, "undo", "--again").exit_code == 1
    assert (folder / "people.csv").read_bytes() == people
    assert run(folder, "undo").exit_code == 0
    assert own(folder) == {**before, "people.csv": people}


def test_what_was_changed_by_hand_since_is_left_alone_and_shown(folder: Path) -> None:
    """Exit 1, nothing written, and the lines that differ."""
    run(folder, *EDITS[0])
    file = folder / "people.csv"
    file.write_bytes(file.read_bytes() + b"by@hand.example,By Hand,,2026-11-01,web,the form,\r\n")
    before = contents(folder)
    result = run(folder, "undo")

    assert result.exit_code == 1
    assert "people.csv: changed since" in result.output
    assert "by@hand.example" in result.output
    assert contents(folder) == before


def test_who_is_forgotten_is_forgotten_in_earlier_states(folder: Path) -> None:
    """In no byte below the studio's folder."""
    for words in EDITS:
        run(folder, *words)
    run(folder, "people", "forget", "ana@mail.example", "--yes")

    assert [path for path, body in contents(folder).items() if b"ana@mail.example" in body.lower()] == []
    assert "people leave" not in run(folder, "undo", "--list").output


def test_a_restored_studio_is_the_same_and_builds_to_the_same_bytes(folder: Path, tmp_path: Path) -> None:
    """Every file that can't be made again, rights included; the archive and the studio are their owner's alone."""
    run(folder, "announce", "commissions")
    run(folder, "build")
    made = run(folder, "backup", str(tmp_path / "stick"), "--json")
    archive = Path(json.loads(made.output)["file"])
    result = run(folder, "restore", str(archive), str(tmp_path / "again"))

    def kept(folder: Path) -> dict[str, bytes]:
        return {
            path: body for path, body in contents(folder).items() if not path.startswith(("out/", ".kept/"))
        }

    assert result.exit_code == 0, result.output
    assert archive.name == "studio-2026-11-25.zip"
    assert kept(tmp_path / "again") == kept(folder)
    assert any(path.startswith("sent/") for path in kept(folder))
    run(tmp_path / "again", "build")
    assert contents(tmp_path / "again" / "out" / "site") == contents(folder / "out" / "site")
    if os.name != "nt":
        assert stat.S_IMODE(archive.stat().st_mode) == 0o600
        assert stat.S_IMODE((tmp_path / "again" / "sent").stat().st_mode) == 0o700


def test_two_backups_of_one_day_stand_side_by_side(folder: Path, tmp_path: Path) -> None:
    """None is written over; nothing unfinished is left."""
    for _ in range(2):
        run(folder, "backup", str(tmp_path / "stick"))

    assert sorted(path.name for path in (tmp_path / "stick").iterdir()) == [
        "studio-2026-11-25-2.zip", "studio-2026-11-25.zip",
    ]  # fmt: skip


def test_a_backup_into_the_studio_is_refused(folder: Path) -> None:
    """It would be in the next one."""
    result = run(folder, "backup", str(folder / "backups"))

    assert result.exit_code == 1
    assert "lies in the studio itself" in result.output


def archive_of(file: Path, entries: dict[str, bytes], mode: int = stat.S_IFREG | 0o644) -> Path:
    """Write an archive with these entries, all of them on its list."""
    listed = {name: hashlib.sha256(body).hexdigest() for name, body in entries.items()}
    with zipfile.ZipFile(file, "w") as archive:
        for name, body in entries.items():
            info = zipfile.ZipInfo(name)
            info.external_attr = mode << 16
            archive.writestr(info, body)
        archive.writestr("BACKUP.json", json.dumps({"format": 1, "files": listed}))
    return file


@pytest.mark.parametrize(
    "name",
    ["../escaped", "/escaped", "a/../../escaped", "..\\escaped", "C:\\escaped", "a//b", "./a", "out/site/x"],
)
def test_an_archive_never_writes_elsewhere(folder: Path, tmp_path: Path, name: str) -> None:
    """Nothing is restored at all (CWE-22 names the kind)."""
    archive = archive_of(tmp_path / "bad.zip", {"studio.yaml": b"x", name: b"y"})
    result = run(folder, "restore", str(archive), str(tmp_path / "again"))

    assert result.exit_code == 1
    assert "would be written elsewhere" in result.output
    assert sorted(path.name for path in tmp_path.iterdir()) == ["bad.zip", "studio"]


def test_a_link_in_an_archive_is_refused(folder: Path, tmp_path: Path) -> None:
    """What follows it would be written where it leads."""
    archive = archive_of(tmp_path / "bad.zip", {"studio.yaml": b"/etc"}, stat.S_IFLNK | 0o777)

    assert (
        "would be written elsewhere" in run(folder, "restore", str(archive), str(tmp_path / "again")).output
    )


def test_a_damaged_or_foreign_archive_is_told(folder: Path, tmp_path: Path) -> None:
    """Cut short, one byte changed, or no archive at all: a sentence, and nothing is left."""
    run(folder, "backup", str(tmp_path))
    whole = (tmp_path / "studio-2026-11-25.zip").read_bytes()
    middle = len(whole) // 2
    harms = [
        whole[:-30],
        whole[:middle] + bytes([whole[middle] ^ 255]) + whole[middle + 1 :],
        b"no archive",
        b"",
    ]
    for number, harm in enumerate(harms):
        file = tmp_path / f"{number}.zip"
        file.write_bytes(harm)
        result = run(folder, "restore", str(file), str(tmp_path / "again"))
        assert result.exit_code == 1, number
        assert not (tmp_path / "again").exists()
        assert len(result.output.splitlines()) == 1
    assert not [path for path in tmp_path.iterdir() if path.name.startswith(".")]


class Stopped(BaseException):
    """A run ends here, as if killed."""


@pytest.mark.parametrize("there", [False, True])
def test_a_new_studio_that_was_stopped_is_made_by_the_next_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, there: bool
) -> None:
    """At each step of putting it together and moving it up; a folder that was there stays the same one."""
    whole = contents(begin.lay_out("content", tmp_path / "whole"))
    renamed, steps = Path.rename, 0

    def stop_at(number: int) -> None:
        def rename(path: Path, target: Path) -> Path:
            nonlocal steps
            steps += 1
            if steps == number:
                raise Stopped
            return renamed(path, target)

        monkeypatch.setattr(Path, "rename", rename)
        monkeypatch.setattr(shutil, "rmtree", lambda *_, **__: None)  # nobody tidies up who is killed

    for number in range(1, 100):
        folder, steps = tmp_path / str(number), 0
        if there:
            folder.mkdir()
        inode = folder.stat().st_ino if there else 0
        stop_at(number)
        try:
            begin.lay_out("content", folder)
            break
        except Stopped:
            monkeypatch.undo()
        assert not (folder / "studio.yaml").exists()
        with contextlib.suppress(StudioFault):  # it says that there's one now
            begin.lay_out("content", folder)
        assert contents(folder) == whole
        assert {one.name for one in folder.iterdir()} == {one.name for one in (tmp_path / "whole").iterdir()}
        assert not there or folder.stat().st_ino == inode
    assert number > 5
