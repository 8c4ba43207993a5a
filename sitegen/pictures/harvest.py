"""Make what is wished: look in the cache, share out the rest, collect the sets and the faults."""

import os
import time
import warnings
from collections.abc import Callable, Container, Iterable
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from sitegen.disk import sweep_parts
from sitegen.pictures.crew import Done, work, work_all
from sitegen.pictures.opening import PhotoFault, Wish
from sitegen.pictures.pack import Index, Packed, load_index, pack_path, parts_folder, save_index, signature
from sitegen.pictures.recipe import key_of
from sitegen.studio.picture import PictureSet

Progress = Callable[[int, int], None]
# Seconds, 60 days: what nobody has wanted for so long is made again if it's wanted after all.
_UNUSED = 60 * 24 * 60 * 60


@dataclass(frozen=True, slots=True)
class Harvest:
    """Hold what a run brought in; `sets` lacks the photos named in `faults`."""

    sets: dict[str | Path, PictureSet]
    faults: tuple[PhotoFault, ...]
    # Photos.
    made: int
    reused: int


def make(
    wishes: Iterable[Wish], cache: Path, *, workers: int | None = None, progress: Progress | None = None
) -> Harvest:
    """Make the web pictures of these photos, or find them in the cache folder.

    `workers`: how many at a time, None for one a core. `progress` gets photos done and photos in all.
    Whatever is wrong with a photo is a PhotoFault, never raised.
    """
    wished = list(wishes)
    index, sets = load_index(cache), dict[str | Path, PictureSet]()
    waiting = [wish for wish in wished if not _recall(wish, index, sets, cache)]
    made, faults = 0, dict[Wish, PhotoFault]()
    tell = progress or (lambda done, photos: None)
    done = len(wished) - len(waiting)
    tell(done, len(wished))
    sweep_parts(parts_folder(cache))
    with warnings.catch_warnings():
        # Pillow's remarks about odd files are for programmers.
        warnings.simplefilter("ignore")
        for wish, outcome in work_all(partial(work, cache), waiting, workers):
            done += 1
            if isinstance(outcome, Done):
                _remember(outcome, wish, index, sets, cache)
                made += outcome.made
            else:
                faults[wish] = outcome
            tell(done, len(wished))
    if made:
        index.forget_packs(
            _remove_unused(cache, {one.key for one in sets.values() if isinstance(one, Packed)})
        )
    save_index(cache, index)
    return Harvest(sets, tuple(faults[wish] for wish in waiting if wish in faults), made, len(sets) - made)


def _recall(wish: Wish, index: Index, sets: dict[str | Path, PictureSet], cache: Path) -> bool:
    """Find a wish fulfilled by looking at the photo's and the pack's date and size only."""
    digest = index.digest_of(os.fspath(wish.path))
    if digest is None:
        return False
    key = key_of(digest, wish.focus, wish.detail)
    pack = pack_path(cache, key)
    manifest = index.manifest_of(key, pack)
    if manifest is not None:
        sets[wish.path] = Packed(key, manifest, pack, wish.stem)
    return manifest is not None


def _remember(done: Done, wish: Wish, index: Index, sets: dict[str | Path, PictureSet], cache: Path) -> None:
    index.note_photo(os.fspath(wish.path), done.seen, done.digest, done.at_ns)
    pack = pack_path(cache, done.key)
    if seen := signature(pack):
        index.note_pack(done.key, seen, done.manifest)
    sets[wish.path] = Packed(done.key, done.manifest, pack, wish.stem)


def _remove_unused(cache: Path, used: Container[str]) -> list[str]:
    """Remove packs that are neither `used` nor young; return their keys.

    A photo that is put back within that time, or a studio that is built from two folders, finds them again.
    """
    oldest, removed = time.time() - _UNUSED, []
    for file in cache.glob("??/*.pack"):
        with suppress(OSError):  # another build may be tidying up too
            if file.stem not in used and file.stat().st_mtime < oldest:
                file.unlink()
                removed.append(file.stem)
    return removed
