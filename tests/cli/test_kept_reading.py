"""A reading that is kept is what a reading from nothing would be, whatever was edited in between."""

from __future__ import annotations

import os
import shutil
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

from sitegen import pictures
from sitegen.jobs import reading
from sitegen.jobs.check import check
from sitegen.jobs.reading import ORDERS, PEOPLE, kept_reading, once, reading_of, sit
from sitegen.sources import StudioFault, read
from sitegen.sources.folder import EVERYTHING
from tests import makers

DAY = "2026-11-25"
SECOND = 1_000_000_000


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return makers.studio(tmp_path / "s")


@pytest.fixture
def later(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Let every file be old enough to be trusted, and keep readings."""
    now = time.time_ns()
    monkeypatch.setattr(time, "time_ns", lambda: now + 3600 * SECOND)
    with kept_reading():
        yield


@pytest.fixture
def reads(monkeypatch: pytest.MonkeyPatch) -> list[frozenset[str]]:
    """What was read, in order."""
    found: list[frozenset[str]] = []

    def counted(folder: Path, *, only: frozenset[str], **more: Any) -> object:
        found.append(only)
        return read(folder, only=only, **more)

    monkeypatch.setattr(reading, "read", counted)
    return found


def test_without_the_switch_each_job_reads(folder: Path, reads: list[frozenset[str]]) -> None:
    sit(folder, DAY)
    sit(folder, DAY)

    assert len(reads) == 2


@pytest.mark.usefixtures("later")
def test_what_has_not_changed_is_read_once(folder: Path, reads: list[frozenset[str]]) -> None:
    first = sit(folder, DAY)

    assert sit(folder, DAY).studio is first.studio
    assert sit(folder, DAY, ORDERS).studio is first.studio
    assert sit(folder, "2026-11-26").today != first.today
    assert len(reads) == 1


def in_place(file: Path, old: str, new: str) -> None:
    """Change a file's text by as many signs as it had, and put its time back: only its change time tells."""
    stat, text = file.stat(), file.read_text()
    assert old in text
    assert len(old) == len(new)
    with file.open("r+") as stream:
        stream.write(text.replace(old, new))
    os.utime(file, ns=(stat.st_atime_ns, stat.st_mtime_ns))


EDITS: dict[str, Callable[[Path], object]] = {
    "a line of a piece": lambda at: in_place(at / "pieces/ferry-ghost/piece.yaml", "480", "490"),
    "an order's step": lambda at: in_place(at / "commissions.yaml", "on the bench", "waiting     "),
    "a person": lambda at: in_place(at / "people.csv", "Ben", "Bea"),
    "a page": lambda at: in_place(at / "pages/about.md", "window", "willow"),
    "kept terms": lambda at: in_place(at / "pages/payment-terms/2026-09.md", "30%", "31%"),
    "the studio": lambda at: in_place(at / "studio.yaml", "rate: 28", "rate: 29"),
    "one more piece": lambda at: makers.add_piece(at, "owl", makers.piece_yaml("Owl")),
    "a piece less": lambda at: shutil.rmtree(at / "pieces/ferry-ghost"),
    "a piece under another name": lambda at: (at / "pieces/ferry-ghost").rename(at / "pieces/ghost"),
    "one more show": lambda at: makers.write(at / "shows/autumn.yaml", makers.SHOW),
    "a show less": lambda at: (at / "shows/quayside-2027.yaml").unlink(),
    "a page less": lambda at: (at / "pages/about.md").unlink(),
    "a file in another's place": lambda at: makers.write(
        at / "pages/_new", "# About\n\nOne bench, two lamps.\n"
    ).replace(at / "pages/about.md"),
    "no people": lambda at: (at / "people.csv").unlink(),
    "a photo less": lambda at: (at / "pieces/ferry-ghost/front.jpg").unlink(),
    "a folder without a piece": lambda at: (at / "pieces/empty").mkdir(),
    "a fault": lambda at: makers.write(at / "shows/odd.yaml", "name: [\n"),
}


@pytest.mark.usefixtures("later")
@pytest.mark.parametrize("edit", EDITS)
def test_an_edit_by_hand_shows_at_once(folder: Path, edit: str) -> None:
    before = reading_of(folder)

    EDITS[edit](folder)

    for only in (EVERYTHING, ORDERS, PEOPLE):
        after, fresh = reading_of(folder, only), read(folder, only=only)
        if only == EVERYTHING:
            assert (after.studio, after.complaints) == (fresh.studio, fresh.complaints)
            assert (after.studio, after.complaints) != (before.studio, before.complaints)
        else:
            assert (after.studio is None) == (fresh.studio is None)


@pytest.mark.usefixtures("later")
def test_a_fault_elsewhere_stops_no_part_and_is_told_to_the_whole(
    folder: Path, reads: list[frozenset[str]]
) -> None:
    makers.write(folder / "shows" / "odd.yaml", "name: [\n")

    first = sit(folder, DAY, ORDERS).studio
    again = sit(folder, DAY, ORDERS).studio
    with pytest.raises(StudioFault, match="odd"):
        sit(folder, DAY)

    assert again is first
    assert [code.code for code in first.commissions.queue] == ["A-1"]
    assert reads == [EVERYTHING, ORDERS]


@pytest.mark.usefixtures("later")
def test_odd_places_get_the_words_that_a_reading_has(folder: Path) -> None:
    (folder / "pages" / "round.md").symlink_to(folder / "pages" / "round.md")
    with pytest.raises(StudioFault, match="round"):
        sit(folder, DAY)

    shutil.rmtree(folder)
    with pytest.raises(StudioFault, match=r"there is no studio\.yaml"):
        sit(folder, DAY)


@pytest.mark.usefixtures("later")
def test_threads_that_ask_at_once_wait_for_one_reading(folder: Path, reads: list[frozenset[str]]) -> None:
    together = threading.Barrier(6)

    def ask(_: int) -> int:
        together.wait(timeout=30)
        return id(sit(folder, DAY).studio)

    with ThreadPoolExecutor(6) as crew:
        found = set(crew.map(ask, range(6)))

    assert len(found) == 1
    assert len(reads) == 1


@pytest.mark.parametrize("age", [0, 1_000_000, 40_000_000])
def test_a_file_as_young_as_its_reading_is_read_again(
    folder: Path, monkeypatch: pytest.MonkeyPatch, age: int
) -> None:
    """An edit within one tick of the clock leaves the same time; git calls such an entry racily clean."""
    newest = max(file.stat().st_ctime_ns for file in folder.rglob("*"))
    monkeypatch.setattr(time, "time_ns", lambda: newest + age)

    with kept_reading():
        assert sit(folder, DAY).studio is not sit(folder, DAY).studio


@pytest.mark.parametrize(
    ("changed", "age", "unsure"),
    [
        (7 * SECOND + 123_456_789, SECOND, False),
        (7 * SECOND + 123_456_789, SECOND // 100, True),
        (7 * SECOND, SECOND, True),  # a clock of whole seconds
        (7 * SECOND + 250_000_000, SECOND, True),  # of hundredths
        (7 * SECOND, 3 * SECOND, False),
        (7 * SECOND + 123_456_789, -SECOND, True),  # a clock that went back
    ],
)
def test_a_coarse_clock_is_waited_for_longer(changed: int, age: int, unsure: bool) -> None:
    assert reading._may_change_unseen([changed], changed + age) is unsure


@pytest.mark.usefixtures("later")
def test_a_check_after_an_edit_looks_into_no_photo_again(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Looking into each photo took most of the first check after an edit."""
    looked: list[str] = []
    monkeypatch.setattr(pictures, "examine", lambda path: looked.append(path.name))
    check(folder, DAY)
    (photo, *_), first = sorted(folder.glob("pieces/*/*.jpg")), len(looked)
    file = photo.parent / "piece.yaml"
    file.write_text(file.read_text("utf-8") + "# later\n", "utf-8")
    check(folder, DAY)
    assert (first > 0, len(looked)) == (True, first)

    photo.write_bytes(b"no photo")
    check(folder, DAY)

    assert looked[first:] == [photo.name]


@pytest.mark.usefixtures("later")
def test_what_is_worked_out_of_a_kept_studio_is_worked_out_once(folder: Path) -> None:
    made: list[str] = []
    studio = sit(folder, DAY).studio

    def make() -> int:
        made.append("once")
        return len(made)

    assert [once(studio, "name", state, make) for state in ("a", "a", "b")] == [1, 1, 2]
    EDITS["a page"](folder)
    assert once(sit(folder, DAY).studio, "name", "b", make) == 3
    assert once(studio, "name", "b", make) == 4, "the one before is kept no more"
    for other in range(200):
        once(studio, other, "b", make)
    assert once(studio, "name", "b", make) == 205, "and no more than some are kept"
