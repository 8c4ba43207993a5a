"""What is called written is on the disk, where the artist keeps it."""

from __future__ import annotations

import os
import stat
import tempfile
from pathlib import Path

import pytest

from sitegen.disk import fresh_folder, pen, put
from sitegen.disk.pen import own_place
from tests import makers

posix = pytest.mark.skipif(os.name == "nt", reason="a folder can't be waited for there")


@pytest.fixture
def waited(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, str]]:
    """Return what was waited for and what took its place, in order: the name it has then, or for a rename the new one."""
    steps: list[tuple[str, str]] = []
    fsync, rename, replace = os.fsync, Path.rename, Path.replace

    def wait(handle: int) -> None:
        place = Path(f"/proc/self/fd/{handle}").readlink()
        kind = "folder" if stat.S_ISDIR(os.fstat(handle).st_mode) else "file"
        steps.append((kind, place.name))
        fsync(handle)

    def taken(how: object) -> object:
        def moved(path: Path, target: Path) -> Path:
            steps.append(("place", Path(target).name))
            return how(path, target)  # type: ignore[operator, no-any-return]

        return moved

    monkeypatch.setattr(os, "fsync", wait)
    monkeypatch.setattr(Path, "rename", taken(rename))
    monkeypatch.setattr(Path, "replace", taken(replace))
    return steps


@posix
@pytest.mark.skipif(not Path("/proc/self/fd").is_dir(), reason="asks /proc for names")
def test_a_file_and_its_name_are_on_the_disk(tmp_path: Path, waited: list[tuple[str, str]]) -> None:
    """fsync(2): a file's own sync doesn't say that its entry in the folder is there too."""
    with pen(tmp_path):
        put(tmp_path / "people.csv", b"new", kept=False)

    (first, _), *rest = waited
    assert first == "file"
    assert rest == [("place", "people.csv"), ("folder", tmp_path.name)]


@posix
@pytest.mark.skipif(not Path("/proc/self/fd").is_dir(), reason="asks /proc for names")
def test_a_new_folder_takes_its_place_when_all_in_it_is_on_the_disk(
    tmp_path: Path, waited: list[tuple[str, str]]
) -> None:
    makers.write(tmp_path / "studio.yaml", "")
    (tmp_path / "pieces").mkdir()
    with pen(tmp_path), fresh_folder(tmp_path / "pieces" / "owl") as making:
        for name in ("front.jpg", "piece.yaml"):
            makers.write(making / name, name)

    placed = waited.index(("place", "owl"))
    assert {("file", "front.jpg"), ("file", "piece.yaml")} <= {*waited[:placed]}
    assert waited[placed + 1] == ("folder", "pieces")


@posix
def test_what_a_link_leads_to_is_written_and_the_link_stays(tmp_path: Path) -> None:
    """A list may lie in a folder that is shared between two machines."""
    kept, studio = makers.write(tmp_path / "shared" / "people.csv", "old"), tmp_path / "studio"
    studio.mkdir()
    (studio / "people.csv").symlink_to(kept)
    with pen(studio):
        put(studio / "people.csv", b"new")

    assert (studio / "people.csv").is_symlink()
    assert kept.read_bytes() == b"new"
    assert [path.name for path in kept.parent.iterdir()] == ["people.csv"]


@posix
def test_a_link_that_another_user_laid_first_changes_no_rights(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    mine, shared = tmp_path / "mine", tmp_path / "tmp"
    mine.mkdir(mode=0o755)
    shared.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(shared))
    (shared / f"sitegen-{os.getuid()}").symlink_to(mine)

    assert own_place() is None
    assert stat.S_IMODE(mine.stat().st_mode) == 0o755
