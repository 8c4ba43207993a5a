"""Make what is wished: look in the cache, share out the rest, collect the sets and the faults."""

import os
import warnings
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from sitegen.pictures.crew import work_all
from sitegen.pictures.files import remove_abandoned, remove_unused
from sitegen.pictures.index import Index, load_index, save_index
from sitegen.pictures.pack import parts_folder, shape_of, signature, unpack
from sitegen.pictures.recipe import key_of
from sitegen.pictures.values import Fault, PictureSet, Shape, Wish
from sitegen.pictures.work import Done, Task

Progress = Callable[[int, int], None]


class Sets(Mapping[Path, PictureSet]):
    """Look up the pictures of a photo.

    A set is put together when it's asked for: a build that changes one page asks for a few among thousands.
    """

    def __init__(self, cache: Path) -> None:
        self._folder = os.fspath(cache)
        self._found: dict[Path, tuple[str, str, str]] = {}

    def add(self, wish: Wish, key: str, manifest: str) -> None:
        """Remember where the pictures for this wish are."""
        self._found[wish.path] = (key, manifest, wish.stem)

    def __getitem__(self, path: Path) -> PictureSet:
        key, manifest, stem = self._found[path]
        return unpack(manifest, Path(self.place(key)), stem)

    def mark(self, path: Path) -> str:
        """Return a text that is another one whenever a picture of the set or its name is."""
        # The pack's name stands for all bytes in it; the pictures' names start with the stem.
        key, _, stem = self._found[path]
        return f"{key} {stem}"

    def shape(self, path: Path) -> Shape:
        """Return the shape of a photo."""
        return shape_of(self._found[path][1])

    @property
    def keys_used(self) -> set[str]:
        """Names of the packs that these sets are in."""
        return {key for key, _, _ in self._found.values()}

    def place(self, key: str) -> str:
        """Return where the pack of this key lies, as text: making a Path takes longer than a look at it."""
        return f"{self._folder}{os.sep}{key[:2]}{os.sep}{key}.pack"

    def __iter__(self) -> Iterator[Path]:
        return iter(self._found)

    def __len__(self) -> int:
        return len(self._found)


@dataclass(frozen=True, slots=True)
class Harvest:
    """Hold what a run brought in; `sets` lacks the photos named in `faults`."""

    sets: Sets
    faults: tuple[Fault, ...]
    # Photos.
    made: int
    reused: int


def make(
    wishes: Iterable[Wish],
    cache: Path,
    *,
    workers: int | None = None,
    progress: Progress | None = None,
    limit_megapixels: float = 100,
) -> Harvest:
    """Make the web pictures of these photos, or find them in the cache folder.

    `workers`: how many at a time, None for one a core. `progress` gets photos done and photos in all.
    Photos of more than `limit_megapixels` are refused undecoded. Whatever is wrong with a photo is a Fault,
    never raised.
    """
    wished = list(wishes)
    index, sets = load_index(cache), Sets(cache)
    waiting = [wish for wish in wished if not _recall(wish, index, sets)]
    with warnings.catch_warnings():
        # Pillow's remarks about odd files are for programmers.
        warnings.simplefilter("ignore")
        made, messages = _collect(
            waiting, sets, index, _Run(cache, workers, progress, limit_megapixels, len(wished))
        )
    if made:
        index.forget_packs(remove_unused(cache, ".pack", sets.keys_used))
    save_index(cache, index)
    faults = tuple(Fault(wish.path, messages[wish]) for wish in waiting if wish in messages)
    return Harvest(sets, faults, made, len(sets) - made)


@dataclass(frozen=True, slots=True)
class _Run:
    """Hold what `make` was told, besides the wishes."""

    cache: Path
    workers: int | None
    progress: Progress | None
    limit_megapixels: float
    photos: int

    def tell(self, done: int) -> None:
        if self.progress is not None:
            self.progress(done, self.photos)


def _recall(wish: Wish, index: Index, sets: Sets) -> bool:
    """Find a wish fulfilled by looking at the photo's and the pack's date and size only."""
    path = os.fspath(wish.path)
    digest = index.digest_of(path, signature(path))
    if digest is None:
        return False
    key = key_of(digest, wish.focus, wish.detail)
    manifest = index.manifest_of(key, signature(sets.place(key)))
    if manifest is None:
        return False
    sets.add(wish, key, manifest)
    return True


def _collect(waiting: list[Wish], sets: Sets, index: Index, run: _Run) -> tuple[int, dict[Wish, str]]:
    """Do what is left; return how many sets were made and what went wrong."""
    wish_of = {
        Task(wish.path, wish.focus, wish.detail, run.cache, run.limit_megapixels): wish for wish in waiting
    }
    made, messages, done = 0, {}, run.photos - len(waiting)
    run.tell(done)
    remove_abandoned(parts_folder(run.cache))
    for outcome in work_all(list(wish_of), run.workers):
        wish = wish_of[outcome.task]
        if isinstance(outcome, Done):
            _remember(outcome, wish, sets, index)
            made += outcome.made
        else:
            messages[wish] = outcome.message
        done += 1
        run.tell(done)
    return made, messages


def _remember(done: Done, wish: Wish, sets: Sets, index: Index) -> None:
    index.note_photo(os.fspath(wish.path), done.seen, done.digest, done.at_ns)
    seen = signature(sets.place(done.key))
    if seen is not None:
        index.note_pack(done.key, seen, done.manifest)
    sets.add(wish, done.key, done.manifest)
