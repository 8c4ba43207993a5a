"""The old site stays whole until the new one stands, wherever the build is stopped."""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
from collections import defaultdict
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from sitegen.site.house import Content, MadeSheet, Sheet, Shelf
from sitegen.site.placing import Built, put_in_place, recover
from sitegen.studio.asked import Fault
from sitegen.studio.picture import Rendition


def _picture(shelf: str, body: bytes) -> str:
    """Return where a picture lies: its name ends in a hash of its bytes."""
    return f"pictures/{shelf}/1-{hashlib.sha256(body).hexdigest()[:10]}.jpg"


OLD = {
    "index.html": b"old home",
    "a/index.html": b"same",
    "gone.html": b"gone",
    "pieces/moth/index.html": b"the moth",
    "pieces/wren/index.html": b"the wren",
    "pieces/newt/index.html": b"the newt",
    "style.css": b"plain",
    _picture("moth", b"moth at dusk"): b"moth at dusk",
    _picture("wren", b"wren"): b"wren",
    _picture("newt", b"newt"): b"newt",
}
NEW = {
    "index.html": b"new home",
    "a/index.html": b"same",
    "b/index.html": b"fresh",
    "pieces/moth/index.html": b"the moth, retaken",
    "pieces/wren/index.html": b"the wren",
    "pieces/crow/index.html": b"the crow",
    "style.css": b"plain",
    _picture("moth", b"moth at dawn, retaken"): b"moth at dawn, retaken",
    _picture("wren", b"wren"): b"wren",
    _picture("crow", b"crow"): b"crow",
}
# Written or not by the way from OLD to NEW.
_WRITTEN = (
    "b/index.html",
    "index.html",
    _picture("crow", b"crow"),
    _picture("moth", b"moth at dawn, retaken"),
    "pieces/crow/index.html",
    "pieces/moth/index.html",
)
_REMOVED = (
    "gone.html",
    _picture("moth", b"moth at dusk"),
    _picture("newt", b"newt"),
    "pieces/newt/index.html",
)
_KEPT = ("a/index.html", _picture("wren", b"wren"), "pieces/wren/index.html", "style.css")


def content(files: Mapping[str, bytes]) -> Content:
    """Return files as a site: pages as sheets with a key of their bytes, pictures on shelves."""
    shelves: dict[str, list[Rendition]] = defaultdict(list)
    for path, body in files.items():
        if path.startswith("pictures/"):
            _, shelf, name = path.split("/")
            shelves[shelf].append(Rendition("image/jpeg", 1, 1, name, len(body), partial(bytes, body)))
    return Content(
        sheets=tuple(
            Sheet(path, hashlib.sha256(body).hexdigest(), partial(MadeSheet, body))
            for path, body in files.items()
            if not path.startswith("pictures/")
        ),
        shelves=tuple(
            Shelf(name, repr([rendition.name for rendition in pictures]), partial(tuple, pictures))
            for name, pictures in shelves.items()
        ),
    )


def put(out: Path, files: Mapping[str, bytes]) -> Built:
    """Publish these files."""
    return put_in_place(out, content(files))


def is_whole(site: Path, files: Mapping[str, bytes]) -> bool:
    """Tell whether a site is these files; pictures that no page shows yet, or any more, may lie there too."""
    there = contents(site)
    extra = {path for path in there.keys() - files.keys() if not path.startswith("pictures/")}
    return not extra and all(there.get(path) == body for path, body in files.items())


class Stopped(BaseException):
    """What a stopped program raises; no handler of ours may take it for an ordinary fault."""


def contents(site: Path) -> dict[str, bytes]:
    """Return the bytes of every file of a site."""
    return {
        file.relative_to(site).as_posix(): file.read_bytes() for file in site.rglob("*") if file.is_file()
    }


def test_a_build_writes_only_what_changed(tmp_path: Path) -> None:
    """New, changed and vanished files are named; the rest keep their times."""
    put(tmp_path, OLD)
    times = {path: (tmp_path / "site" / path).stat().st_mtime_ns for path in _KEPT}
    built = put(tmp_path, NEW)

    assert built.written == _WRITTEN
    assert built.removed == _REMOVED
    assert built.unchanged == len(_KEPT)
    assert contents(tmp_path / "site") == NEW
    assert {path: (tmp_path / "site" / path).stat().st_mtime_ns for path in _KEPT} == times
    assert sorted(one.name for one in tmp_path.iterdir()) == [".site-manifest.json", ".site-own.json", "site"]


def test_files_altered_or_deleted_by_hand_are_put_right(tmp_path: Path) -> None:
    """Also one of the same size; what no build made stays."""
    put(tmp_path, OLD)
    (tmp_path / "site" / "index.html").write_bytes(b"OLD HOME")
    (tmp_path / "site" / "gone.html").unlink()
    (tmp_path / "site" / "stray.html").write_bytes(b"whose is this")
    (tmp_path / "site" / _picture("moth", b"moth at dusk")).unlink()
    (tmp_path / "site" / "pictures" / "wren" / "stray.jpg").write_bytes(b"stray")
    (tmp_path / "site" / "pictures" / "stray").mkdir()
    built = put(tmp_path, OLD)

    assert built.written == ("gone.html", "index.html", _picture("moth", b"moth at dusk"))
    assert built.removed == ()
    assert (tmp_path / "site" / "pictures" / "stray").is_dir()
    assert contents(tmp_path / "site") == {
        **OLD, "stray.html": b"whose is this", "pictures/wren/stray.jpg": b"stray",
    }  # fmt: skip


@pytest.mark.parametrize(
    "spoil",
    [
        lambda file: file.unlink(),
        lambda file: file.write_bytes(file.read_bytes()[:-20]),
        lambda file: file.write_text('{"format": 1, "check": "", "files": "{}"}'),
        lambda file: file.write_text("[]"),
    ],
    ids=["gone", "cut short", "tampered", "foreign"],
)
def test_a_spoilt_manifest_is_a_miss(tmp_path: Path, spoil: Callable[[Path], Any]) -> None:
    """Without a note of what lies there, the files themselves are read; nothing is written again."""
    put(tmp_path, OLD)
    times = {path: path.stat().st_mtime_ns for path in (tmp_path / "site").rglob("*")}
    spoil(tmp_path / ".site-manifest.json")
    built = put(tmp_path, OLD)

    assert (built.written, built.removed) == ((), ())
    assert {path: path.stat().st_mtime_ns for path in (tmp_path / "site").rglob("*")} == times


def stop_at(monkeypatch: pytest.MonkeyPatch, step: int, after: bool) -> Callable[[], int]:
    """Stop the program at the given one of its steps that touch the disk; return how many it took."""
    taken = 0

    def watched(original: Callable[..., Any]) -> Callable[..., Any]:
        def run(*args: Any, **more: Any) -> Any:
            nonlocal taken
            taken += 1
            # A step may take another inside it: a folder makes its parents.
            mine = taken
            if mine == step and not after:
                raise Stopped
            result = original(*args, **more)
            if mine == step and after:
                raise Stopped
            return result

        return run

    for owner, name in (
        (Path, "mkdir"),
        (Path, "write_bytes"),
        (Path, "write_text"),
        (Path, "rename"),
        (Path, "replace"),
        (Path, "unlink"),
        (os, "link"),
        (shutil, "rmtree"),
    ):
        monkeypatch.setattr(owner, name, watched(getattr(owner, name)))
    return lambda: taken


def steps_in_all(tmp_path: Path) -> int:
    """Count the steps of one build that touch the disk."""
    with pytest.MonkeyPatch.context() as patch:
        put(tmp_path, OLD)
        taken = stop_at(patch, -1, after=False)
        put(tmp_path, NEW)
        return taken()


@pytest.mark.parametrize("after", [False, True], ids=["before it", "after it"])
def test_a_build_stopped_at_any_step_leaves_a_whole_site(tmp_path: Path, after: bool) -> None:
    """Old or new, never a mixture; and the next build ends with the new one and nothing left over."""
    steps = steps_in_all(tmp_path / "count")
    assert steps > 10
    for step in range(1, steps + 1):
        out = tmp_path / f"{step}-{after}"
        put(out, OLD)
        with pytest.MonkeyPatch.context() as patch:
            stop_at(patch, step, after)
            with pytest.raises(Stopped):
                put(out, NEW)
        assert is_whole(out / "site", OLD) or is_whole(out / "site", NEW), step
        put(out, NEW)
        assert contents(out / "site") == NEW
        assert sorted(one.name for one in out.iterdir()) == [".site-manifest.json", ".site-own.json", "site"]


def test_a_change_that_cannot_be_turned_back_at_once_is_turned_back_by_the_next_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The disk refuses twice, on the way and on the way back: what was kept stays until it's back in its place."""
    put(tmp_path, OLD)
    replace, taken = Path.replace, list[Path]()

    def once(ready: Path, target: Path) -> Path:
        if tmp_path / "site" in target.parents and "pictures" not in target.parts:
            taken.append(target)
            if len(taken) > 1:
                raise OSError(5, "Input/output error")
        return replace(ready, target)

    with monkeypatch.context() as patch:
        patch.setattr(Path, "replace", once)
        with pytest.raises(Fault, match="can't be written"):
            put(tmp_path, NEW)
    assert not is_whole(tmp_path / "site", OLD)
    recover(tmp_path)

    assert is_whole(tmp_path / "site", OLD)
    put(tmp_path, NEW)
    assert contents(tmp_path / "site") == NEW


_PROGRAM = """
import os, signal, sys
from pathlib import Path
from tests.site.test_placing import NEW, put
left = 0
def counting(original):
    def run(self, *args, **more):
        global left
        result = original(self, *args, **more)
        left -= 1
        if not left:
            os.kill(os.getpid(), signal.SIGKILL)
        return result
    return run
for name in ("replace", "rename", "rmdir", "unlink"):
    setattr(Path, name, counting(getattr(Path, name)))
for out in map(Path, sys.argv[1:]):
    left = int(out.name)
    if not (child := os.fork()):
        put(out, NEW)
        os._exit(0)
    print(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]))
"""

# What a host or the artist laid into the folder: a repository, a file of the host's, one in each kind of folder of ours.
FOREIGN = {
    ".git/HEAD": b"ref: refs/heads/main",
    "CNAME": b"owlery.example",
    "talks/2026.html": b"a talk",
    "pieces/moth/notes.txt": b"beside a page",
    "pieces/newt/notes.txt": b"beside a page that goes",
    "pictures/newt/own.jpg": b"beside pictures that go",
    "pictures/own/1.jpg": b"own",
    "a/b/c.txt": b"deep",
}


def lay(out: Path, files: Mapping[str, bytes]) -> None:
    """Put files into the site by hand."""
    for path, body in files.items():
        (out / "site" / path).parent.mkdir(parents=True, exist_ok=True)
        (out / "site" / path).write_bytes(body)


@pytest.mark.skipif(os.name == "nt", reason="SIGKILL and fork are not known there")
def test_a_killed_process_is_recovered_from(tmp_path: Path) -> None:
    """A real process, really killed after each of its steps: foreign files never miss, the next run ends the work."""
    outs = [tmp_path / str(step) for step in (*range(1, 24, 2), 999)]
    for out in outs:
        put(out, OLD)
        lay(out, FOREIGN)
    program = [sys.executable, "-c", _PROGRAM, *map(str, outs)]
    ended = subprocess.run(program, check=True, cwd=Path(__file__).parents[2], capture_output=True, text=True)
    assert ended.stdout.split().count("-9") > 8
    for out in outs:
        there = contents(out / "site")
        assert {path: there.get(path) for path in FOREIGN} == FOREIGN, out.name

        put(out, NEW)
        assert contents(out / "site") == {**NEW, **FOREIGN}, out.name
        assert sorted(one.name for one in out.iterdir()) == [".site-manifest.json", ".site-own.json", "site"]


def test_what_no_build_made_survives_every_build(tmp_path: Path) -> None:
    """Files and folders of somebody else, also in folders of ours and of pieces that go; empty ones too."""
    (tmp_path / "site").mkdir()
    lay(tmp_path, {path: body for path, body in FOREIGN.items() if "pictures" not in path})
    put(tmp_path, OLD)
    lay(tmp_path, FOREIGN)
    (tmp_path / "site" / "empty").mkdir()
    for files in (NEW, OLD, NEW, {"index.html": b"only this"}):
        put(tmp_path, files)
        assert contents(tmp_path / "site") == {**files, **FOREIGN}
    assert (tmp_path / "site" / "empty").is_dir()


@pytest.mark.parametrize(
    ("foreign", "told"),
    [
        ("index.html", "out/site/index.html: no build made this"),
        ("b", "out/site/b: no build made this"),
        ("b/index.html/x", "out/site/b/index.html: no build made this"),
        ("pictures/crow", "out/site/pictures/crow: no build made this"),
    ],
)
def test_what_is_in_the_way_gets_a_sentence(tmp_path: Path, foreign: str, told: str) -> None:
    """Nothing is changed, and nothing is overwritten."""
    first = {path: body for path, body in OLD.items() if path != "index.html"}
    put(tmp_path, first)
    lay(tmp_path, {foreign: b"mine"})
    before = contents(tmp_path / "site")
    with pytest.raises(Fault, match=told):
        put(tmp_path, NEW)

    assert contents(tmp_path / "site") == before


def test_a_file_becomes_a_folder_and_back(tmp_path: Path) -> None:
    """What is ours gives way to what is ours."""
    put(tmp_path, {"a.html": b"1", "x.html/a.html": b"1"})
    put(tmp_path, {"a.html/index.html": b"2", "x.html": b"2"})
    assert contents(tmp_path / "site") == {"a.html/index.html": b"2", "x.html": b"2"}
    put(tmp_path, {"a.html": b"3"})

    assert contents(tmp_path / "site") == {"a.html": b"3"}


@pytest.mark.skipif(os.name == "nt", reason="links need rights there")
def test_nothing_is_written_through_a_link(tmp_path: Path) -> None:
    """A link where a folder of ours belongs leads elsewhere; a build doesn't follow it."""
    put(tmp_path, OLD)
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (tmp_path / "site" / "b").symlink_to(elsewhere)
    with pytest.raises(Fault, match="out/site/b: no build made this"):
        put(tmp_path, NEW)

    assert list(elsewhere.iterdir()) == []


def test_a_disk_without_hard_links_is_served_by_copies(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Unchanged files keep their times all the same."""

    def no_links(*_: object, **__: object) -> None:
        raise OSError(95, "Operation not supported")

    monkeypatch.setattr(os, "link", no_links)
    put(tmp_path, OLD)
    time = (tmp_path / "site" / "a" / "index.html").stat().st_mtime_ns
    put(tmp_path, NEW)

    assert contents(tmp_path / "site") == NEW
    assert (tmp_path / "site" / "a" / "index.html").stat().st_mtime_ns == time


def test_two_names_that_differ_only_in_case_are_refused(tmp_path: Path) -> None:
    """They'd be one file on most laptops."""
    with pytest.raises(
        Fault, match=r"^two files of the site would be called a\.html and A\.html; rename one"
    ):
        put(tmp_path, {"a.html": b"1", "A.html": b"2"})


def test_a_full_disk_is_told_in_words(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The system's reason, the file, and what to do; the old site stands."""
    put(tmp_path, OLD)

    def full(self: Path, _: bytes) -> int:
        raise OSError(28, "No space left on device", str(self))

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(
        Fault, match=r"the site can't be written \(No space left on device\); .*free some room"
    ):
        put(tmp_path, NEW)
    assert contents(tmp_path / "site") == OLD
