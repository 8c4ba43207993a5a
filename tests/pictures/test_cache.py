"""The cache: found by content, proven before use, whole after any accident."""

import os
import signal
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import nullcontext
from pathlib import Path

import pytest

from sitegen.disk import hold
from sitegen.pictures import Harvest, Wish, make, recipe
from sitegen.pictures.pack import keep, read_manifest
from tests.pictures.material import contents_of, photo, scene

LONG_AGO = 1_700_000_000


@pytest.fixture
def shelf(tmp_path: Path) -> Path:
    """Return a folder with three small photos that were put there long ago."""
    folder = tmp_path / "pieces"
    folder.mkdir()
    for number in range(3):
        _aged(photo(folder / f"{number}.jpg", scene(240, 300, seed=number)))
    return folder


def _aged(path: Path) -> Path:
    os.utime(path, (LONG_AGO, LONG_AGO))
    return path


def _run(shelf: Path, cache: Path) -> Harvest:
    gathered = make([Wish(path, path.stem) for path in sorted(shelf.iterdir())], cache, workers=1)
    assert gathered.faults == ()
    return gathered


def _counts(gathered: Harvest) -> tuple[int, int]:
    return gathered.made, gathered.reused


def _packs(cache: Path) -> list[Path]:
    return sorted(cache.rglob("*.pack"))


def _tree(folder: Path) -> dict[Path, tuple[int, bytes]]:
    return {p: (p.stat().st_mtime_ns, p.read_bytes()) for p in folder.rglob("*") if p.is_file()}


def test_second_run_reads_no_photo_and_writes_nothing(
    shelf: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What didn't change by date and size isn't opened; the cache keeps its every byte."""
    first = _run(shelf, tmp_path / "cache")
    before = _tree(tmp_path / "cache")
    monkeypatch.setattr("sitegen.pictures.crew.read_photo", _never)

    second = _run(shelf, tmp_path / "cache")

    assert (_counts(first), _counts(second)) == ((3, 0), (0, 3))
    assert second.sets == first.sets
    assert _tree(tmp_path / "cache") == before


def _never(path: Path) -> bytes:
    raise AssertionError(f"{path} was read")


def test_moved_renamed_and_touched_photos_are_found_by_content(shelf: Path, tmp_path: Path) -> None:
    """Only the public name follows the wish; the work isn't done again."""
    first = _run(shelf, tmp_path / "cache")
    moved = tmp_path / "elsewhere"
    shelf.rename(moved)
    (moved / "0.jpg").rename(moved / "moth.jpg")
    os.utime(moved / "1.jpg", (LONG_AGO + 5, LONG_AGO + 5))

    second = _run(moved, tmp_path / "cache")

    assert _counts(second) == (0, 3)
    assert set(contents_of(second).values()) == set(contents_of(first).values())


def test_changed_photo_is_made_anew_and_the_others_are_not(shelf: Path, tmp_path: Path) -> None:
    """One new photo costs one new set."""
    _run(shelf, tmp_path / "cache")
    _aged(photo(shelf / "1.jpg", scene(240, 300, seed=9)))

    assert _counts(_run(shelf, tmp_path / "cache")) == (1, 2)


def test_photo_changed_within_the_clocks_step_is_noticed(tmp_path: Path) -> None:
    """Same size, same date, other pixels, seconds after the first run: the date isn't trusted while it's fresh."""
    shelf = tmp_path / "pieces"
    shelf.mkdir()
    path = photo(shelf / "a.png", scene(64, 64, seed=1).convert("1").convert("L"), "PNG", compress_level=0)
    # An hour ahead: fresh whatever this machine's speed.
    fresh = time.time_ns() + 3600 * 10**9
    os.utime(path, ns=(fresh, fresh))
    stat = path.stat()
    first = _run(shelf, tmp_path / "cache")
    photo(path, scene(64, 64, seed=2).convert("1").convert("L"), "PNG", compress_level=0)
    os.utime(path, ns=(stat.st_atime_ns, stat.st_mtime_ns))
    assert path.stat().st_size == stat.st_size

    second = _run(shelf, tmp_path / "cache")

    assert _counts(second) == (1, 0)
    assert not set(contents_of(first)) & set(contents_of(second))


def test_focus_and_detail_are_part_of_the_key(shelf: Path, tmp_path: Path) -> None:
    """The same photo with another centre of interest is another set; going back finds the old one."""
    path = shelf / "0.jpg"
    wishes = [Wish(path, "a"), Wish(path, "a", (0.5, 0.9)), Wish(path, "a", (0.5, 0.9), detail=True)]

    counts = [_counts(make([wish], tmp_path / "cache")) for wish in (*wishes, *wishes)]

    assert counts == [(1, 0)] * 3 + [(0, 1)] * 3


def test_new_recipe_or_library_makes_all_anew(
    shelf: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A pack made by other rules isn't shown as if it followed these."""
    _run(shelf, tmp_path / "cache")
    monkeypatch.setattr(recipe, "fingerprint", lambda: "another library")

    assert _counts(_run(shelf, tmp_path / "cache")) == (3, 0)


@pytest.mark.parametrize("damage", ["cut", "emptied", "one byte", "foreign", "swapped", "removed", "folder"])
def test_entry_that_cannot_prove_itself_is_made_anew(damage: str, shelf: Path, tmp_path: Path) -> None:
    """A damaged or foreign pack is a miss, whether or not the index saw it sound."""
    first = _run(shelf, tmp_path / "cache")
    victim, other = _packs(tmp_path / "cache")[:2]
    _harm(victim, other, damage)

    second = _run(shelf, tmp_path / "cache")

    assert _counts(second) == ((2, 1) if damage == "swapped" else (1, 2))
    assert contents_of(second) == contents_of(first)
    for pack in _packs(tmp_path / "cache"):
        assert read_manifest(pack, pack.stem)


def _harm(victim: Path, other: Path, damage: str) -> None:
    sound = victim.read_bytes()
    if damage == "swapped":
        victim.write_bytes(other.read_bytes())
        other.write_bytes(sound)
    elif damage in {"removed", "folder"}:
        victim.unlink()
        if damage == "folder":
            victim.parent.rename(victim.parent.with_name("zz"))
    else:
        half = len(sound) // 2
        flipped = sound[:half] + bytes([sound[half] ^ 1]) + sound[half + 1 :]
        foreign = other.read_bytes()
        harmed = {"cut": sound[:half], "emptied": b"", "one byte": flipped, "foreign": foreign}[damage]
        victim.write_bytes(harmed)
        os.utime(victim, (LONG_AGO, LONG_AGO))


@pytest.mark.parametrize("damage", [b"", b"garbage", b"0" * 64 + b"\n{}"])
def test_damaged_index_costs_time_only(damage: bytes, shelf: Path, tmp_path: Path) -> None:
    """The index is a hint: without it the photos are read and found by content."""
    first = _run(shelf, tmp_path / "cache")
    (tmp_path / "cache" / "index-1.json").write_bytes(damage)

    second = _run(shelf, tmp_path / "cache")

    assert (_counts(second), second.sets) == ((0, 3), first.sets)


def test_failing_write_leaves_nothing_behind(
    shelf: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A disk that is full in the middle of a pack: a fault that says so, no pack, no unfinished file."""
    monkeypatch.setattr(Path, "replace", _full)

    gathered = make([Wish(shelf / "0.jpg", "a")], tmp_path / "cache")

    assert [fault.message for fault in gathered.faults] == [
        f"the finished pictures can't be stored in {tmp_path / 'cache'} (no space left on device)"
    ]
    assert [p for p in (tmp_path / "cache").rglob("*") if p.is_file()] == []


@pytest.mark.parametrize(("there", "kept"), [(b"whole", True), (b"wrong", False)])
def test_a_refused_file_counts_as_kept_only_if_the_same_bytes_are_there(
    there: bytes, kept: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Windows refuses to replace a file that another build reads; a damaged one of the same size won't do."""
    (tmp_path / "aa").mkdir()
    (tmp_path / "aa" / "a.pack").write_bytes(there)
    monkeypatch.setattr(Path, "replace", _refused)

    with nullcontext() if kept else pytest.raises(PermissionError):
        keep(tmp_path / "aa" / "a.pack", [b"who", b"le"])

    assert [path.name for path in tmp_path.rglob("*") if path.is_file()] == ["a.pack"]


def _refused(source: Path, target: Path) -> None:
    raise PermissionError(13, "Permission denied", str(target))


def _full(source: Path, target: Path) -> None:
    raise OSError(28, "No space left on device", str(target))


def test_unfinished_files_of_killed_builds_are_removed_and_fresh_ones_kept(
    shelf: Path, tmp_path: Path
) -> None:
    """What a build at work writes is locked by it; nobody writes the other any more."""
    parts = tmp_path / "cache" / "parts"
    parts.mkdir(parents=True)
    left, written = parts / ".a.pack.aaaaaaaa.part", parts / ".b.pack.bbbbbbbb.part"
    left.write_bytes(b"half")
    with written.open("wb") as file:
        hold(file.fileno())
        _run(shelf, tmp_path / "cache")

        assert list(parts.iterdir()) == [written]


def test_two_builds_at_once_make_the_same(shelf: Path, tmp_path: Path) -> None:
    """Both finish with all pictures, and the cache is sound afterwards."""
    with ThreadPoolExecutor(2) as both:
        first, second = both.map(lambda _: _run(shelf, tmp_path / "cache"), range(2))

    assert contents_of(first) == contents_of(second)
    assert len(_packs(tmp_path / "cache")) == 3
    assert _counts(_run(shelf, tmp_path / "cache")) == (0, 3)


BUILD = """
import sys
from pathlib import Path
from sitegen.pictures import Wish, make

if __name__ == "__main__":
    shelf, cache = map(Path, sys.argv[1:])
    wishes = [Wish(path, path.stem) for path in sorted(shelf.iterdir())]
    make(wishes, cache, workers=2, progress=lambda done, photos: print(done, flush=True))
"""


@pytest.mark.slow
def test_killed_build_leaves_a_sound_cache_and_no_worker(tmp_path: Path) -> None:
    """Kill it in the middle: every pack there is whole, the next build goes on, no process lives on."""
    shelf, cache = tmp_path / "pieces", tmp_path / "cache"
    shelf.mkdir()
    for number in range(14):
        _aged(photo(shelf / f"{number:02}.jpg", scene(480, 640, seed=number)))
    (tmp_path / "build.py").write_text(BUILD)
    command = [sys.executable, str(tmp_path / "build.py"), str(shelf), str(cache)]
    environment = os.environ | {"PYTHONPATH": str(Path(recipe.__file__).parents[2])}
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment) as build:
        assert build.stdout is not None
        while build.stdout.readline().strip() != "3":
            assert build.poll() is None
        build.send_signal(signal.SIGKILL if hasattr(signal, "SIGKILL") else signal.SIGTERM)
        # The end of the pipe comes when the last process that could write to it has ended.
        build.communicate(timeout=60)

    kept = _packs(cache)
    for pack in kept:
        assert read_manifest(pack, pack.stem)
    again = _run(shelf, cache)

    assert 3 <= len(kept) < 14
    assert _counts(again) == (14 - len(kept), len(kept))
    assert contents_of(again) == contents_of(_run(shelf, tmp_path / "fresh"))


def test_a_pack_that_is_cut_or_another_ones_is_none(tmp_path: Path) -> None:
    """The room itself can tell a cut pack from one that belongs elsewhere."""
    shelf = tmp_path / "pieces"
    shelf.mkdir()
    photo(shelf / "a.jpg", scene(64, 64))
    _run(shelf, tmp_path / "cache")
    (pack,) = _packs(tmp_path / "cache")

    assert read_manifest(pack, pack.stem) is not None
    assert read_manifest(pack, "0" * 64) is None
    pack.write_bytes(pack.read_bytes()[:-1])
    assert read_manifest(pack, pack.stem) is None


def test_a_shape_is_known_without_the_set(tmp_path: Path) -> None:
    """Of the whole frame and of a card, for upright photos, for wide ones and for a detail that a card crops."""
    for number, (height, width, detail) in enumerate(
        ((600, 450, False), (450, 600, False), (450, 600, True))
    ):
        path = photo(tmp_path / f"{number}.jpg", scene(height, width, seed=number))
        sets = make([Wish(path, f"figure-{number}", None, detail)], tmp_path / "cache").sets
        untouched = make([Wish(path, f"figure-{number}", None, detail)], tmp_path / "cache").sets[path]
        assert (untouched.ratio, untouched.card_ratio) > (0, 0)
        assert "full" not in vars(untouched)
        whole, card = sets[path].full[0], max(sets[path].card, key=lambda rendition: rendition.width)

        assert untouched.ratio == pytest.approx(sets[path].width / sets[path].height)
        assert untouched.ratio == pytest.approx(whole.width / whole.height, rel=0.01)
        assert untouched.card_ratio == card.width / card.height


def test_packs_that_nobody_has_wanted_for_long_are_removed(shelf: Path, tmp_path: Path) -> None:
    """Old and unwanted goes, with the next photo that is made; old and wanted, young and unwanted stay."""
    cache = tmp_path / "cache"
    _run(shelf, cache)
    unwanted = {}
    for number in (0, 1):
        lone = photo(tmp_path / f"lone-{number}.jpg", scene(240, 300, seed=20 + number))
        before = set(_packs(cache))
        make([Wish(lone, "lone")], cache, workers=1)
        (unwanted[number],) = set(_packs(cache)) - before
    wanted = set(_packs(cache)) - set(unwanted.values())
    for pack in (*wanted, unwanted[0]):
        _aged(pack)
    _aged(photo(shelf / "9.jpg", scene(240, 300, seed=9)))
    _run(shelf, cache)

    left = set(_packs(cache))
    assert (unwanted[0] in left, unwanted[1] in left, wanted <= left) == (False, True, True)
    assert _counts(_run(shelf, cache)) == (0, 4)
