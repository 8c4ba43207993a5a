"""Many photos at once: same bytes whoever makes them, bounded memory, no photo that stops the others."""

import os
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path
from random import Random

import pytest

from sitegen.pictures import PhotoFault, Wish, crew, make
from sitegen.pictures.crew import work
from tests.pictures.material import contents_of, photo, scene


@pytest.fixture
def many(tmp_path: Path) -> list[Path]:
    """Return a dozen small photos, the fourth and the last of them broken."""
    paths = [photo(tmp_path / f"{number:02}.jpg", scene(200, 250, seed=number)) for number in range(12)]
    paths[3].write_bytes(paths[3].read_bytes()[:3000])
    paths[11].write_text("no photo")
    return paths


def _wishes(paths: list[Path]) -> list[Wish]:
    return [Wish(path, path.stem) for path in paths]


def test_processes_threads_and_any_order_make_the_same_bytes(many: list[Path], tmp_path: Path) -> None:
    """Names and bytes depend on the photo alone; faults come in the order of the wishes."""
    alone = make(_wishes(many), tmp_path / "alone", workers=1)
    shuffled = Random(7).sample(many, len(many))
    spread = make(_wishes(shuffled), tmp_path / "spread", workers=2)
    few = [make(_wishes(many[at : at + 4]), tmp_path / "few", workers=2) for at in (0, 4, 8)]

    expected = contents_of(alone)
    assert contents_of(spread) == expected
    assert {name: body for part in few for name, body in contents_of(part).items()} == expected
    assert [fault.path for fault in alone.faults] == [many[3], many[11]]
    assert [fault.path for fault in spread.faults] == [p for p in shuffled if p in (many[3], many[11])]
    assert (alone.made, spread.made) == (10, 10)


def test_progress_counts_every_photo_up_to_all(many: list[Path], tmp_path: Path) -> None:
    """It starts with what the cache has and ends with everything, faults included."""
    make(_wishes(many[:2]), tmp_path / "cache")
    for path in many:
        os.utime(path, (1_700_000_000, 1_700_000_000))
    make(_wishes(many[:2]), tmp_path / "cache")
    told: list[tuple[int, int]] = []

    make(_wishes(many), tmp_path / "cache", progress=lambda done, photos: told.append((done, photos)))

    assert told == [(done, 12) for done in range(2, 13)]


def test_same_photo_twice_is_served_under_both_names(many: list[Path], tmp_path: Path) -> None:
    """A copy of a photo in another piece's folder shares the pack, not the name."""
    copy = tmp_path / "copy.jpg"
    copy.write_bytes(many[0].read_bytes())

    gathered = make([Wish(many[0], "moth"), Wish(copy, "clerk")], tmp_path / "cache", workers=1)

    moth, clerk = gathered.sets[many[0]], gathered.sets[copy]
    assert (gathered.made, gathered.reused) == (1, 1)
    assert moth.social.read() == clerk.social.read()
    assert (moth.social.name[:5], clerk.social.name[:6]) == ("moth-", "clerk-")


def test_nothing_wished_is_nothing_made(tmp_path: Path) -> None:
    """A studio without photos builds."""
    gathered = make([], tmp_path / "cache")

    assert (dict(gathered.sets), gathered.faults, gathered.made, gathered.reused) == ({}, (), 0, 0)


def test_few_tasks_are_out_at_a_time(tmp_path: Path) -> None:
    """Memory grows with the crew: of a thousand photos never more than four are handed out to two workers."""
    out: set[Path] = set()
    most = 0

    class Watching(ThreadPoolExecutor):
        def submit(self, function, wish):  # type: ignore[no-untyped-def, override]
            nonlocal most
            out.add(wish.path)
            most = max(most, len(out))
            return super().submit(function, wish)

    wishes = _wishes([tmp_path / f"{number}.jpg" for number in range(1000)])
    for wish, _ in crew._shared(Watching(2), partial(work, tmp_path), wishes, 4):
        out.remove(Path(wish.path))

    assert most == 4


def _deadly(_cache: Path, wish: Wish) -> PhotoFault:
    """Stand in for a decoder that ends its process."""
    if Path(wish.path).name == "05.jpg":
        os._exit(3)
    return PhotoFault(Path(wish.path), "survived")


@pytest.mark.slow
def test_photo_that_ends_its_process_is_named_and_the_others_go_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A crash in a decoder is one photo's fault."""
    monkeypatch.setattr(crew, "work", _deadly)
    paths = [tmp_path / f"{number:02}.jpg" for number in range(12)]
    for path in paths:
        path.write_bytes(b"x")

    gathered = make(_wishes(paths), tmp_path / "cache", workers=2)

    deadly = "this photo ends the program that reads it; open it and save it as a new JPEG"
    assert gathered.faults == tuple(
        PhotoFault(path, deadly if path.name == "05.jpg" else "survived") for path in paths
    )


def test_interrupt_ends_the_run_and_keeps_what_is_made(many: list[Path], tmp_path: Path) -> None:
    """Ctrl-C comes out as it is; the packs made until then are found next time."""

    def stop(done: int, photos: int) -> None:
        if done == 5:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        make(_wishes(many), tmp_path / "cache", workers=2, progress=stop)

    again = make(_wishes(many), tmp_path / "cache", workers=1)
    assert again.reused >= 3
    assert again.made + again.reused == 10
