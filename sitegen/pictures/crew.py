"""Make what is wished: look in the cache, share out the rest among workers, collect sets and faults."""

import hashlib
import os
import signal
import threading
import time
import warnings
from collections.abc import Callable, Container, Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Executor, Future, ThreadPoolExecutor, wait
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from itertools import islice
from pathlib import Path

from PIL import Image

from sitegen.disk import sweep_parts
from sitegen.pictures import pack
from sitegen.pictures.developing import cut, develop
from sitegen.pictures.opening import PhotoFault, UnreadablePhoto, Wish, open_photo, read_photo
from sitegen.pictures.pack import Index, Packed, pack_path, signature
from sitegen.pictures.recipe import key_of
from sitegen.studio.asked import Progress
from sitegen.studio.picture import PictureSet

Sets = dict[str | Path, Packed]
# Seconds, 60 days: what nobody has wanted for so long is made again if it's wanted after all.
_UNUSED = 60 * 24 * 60 * 60
# Fewer sets than this are made by threads: they start at once, and Pillow's decoders and encoders let go of
# the interpreter while they work.
_PROCESSES_FROM = 9
# Blocks of 16 MB that Pillow keeps for its next image. A photo of 12 MP fills three; asking the system for
# fresh ones each time took a twentieth of all work. More of them were no faster.
_BLOCKS = 3
# Tasks handed out per worker: one at work, one waiting.
_AHEAD = 2


@dataclass(frozen=True, slots=True)
class Harvest:
    """Hold what a run brought in; `sets` lacks the photos named in `faults`."""

    sets: dict[str | Path, PictureSet]
    faults: tuple[PhotoFault, ...]
    made: int  # photos
    reused: int


def make(
    wishes: Iterable[Wish], cache: Path, *, workers: int | None = None, progress: Progress | None = None
) -> Harvest:
    """Make the web pictures of these photos, or find them in the cache folder.

    `workers`: how many at a time, None for one a core. `progress` gets photos done and photos in all.
    Whatever is wrong with a photo is a PhotoFault, never raised.
    """
    wished = list(wishes)
    index, sets = Index(cache), Sets()
    waiting = [wish for wish in wished if not _recall(wish, index, sets, cache)]
    made, faults = 0, dict[Wish, PhotoFault]()
    tell = progress or (lambda done, photos: None)
    done = len(wished) - len(waiting)
    tell(done, len(wished))
    sweep_parts(pack.parts_folder(cache))
    with warnings.catch_warnings():
        # Pillow's remarks about odd files are for programmers.
        warnings.simplefilter("ignore")
        for wish, outcome in work_all(partial(work, cache), waiting, workers):
            done += 1
            if isinstance(outcome, Done):
                made += outcome.made
                index.note_photo(os.fspath(wish.path), outcome.seen, outcome.digest, outcome.at_ns)
                path = pack_path(cache, outcome.key)
                index.note_pack(outcome.key, path, outcome.manifest)
                sets[wish.path] = Packed(outcome.key, outcome.manifest, path, wish.stem)
            else:
                faults[wish] = outcome
            tell(done, len(wished))
    if made:
        for key in _remove_unused(cache, {packed.key for packed in sets.values()}):
            index.packs.pop(key, None)
    index.save()
    return Harvest(
        dict(sets), tuple(faults[wish] for wish in waiting if wish in faults), made, len(sets) - made
    )


def _recall(wish: Wish, index: Index, sets: Sets, cache: Path) -> bool:
    """Find a wish fulfilled by looking at the photo's and the pack's date and size only."""
    digest = index.digest_of(os.fspath(wish.path))
    if digest is None:
        return False
    key = key_of(digest, wish.focus, wish.detail)
    path = pack_path(cache, key)
    manifest = index.manifest_of(key, path)
    if manifest is not None:
        sets[wish.path] = Packed(key, manifest, path, wish.stem)
    return manifest is not None


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


@dataclass(frozen=True, slots=True)
class Done:
    """Tell where the pack is and what was seen on the way."""

    digest: str
    seen: pack.Signature  # of the photo before it was read
    at_ns: int  # the time then
    key: str
    manifest: str
    made: bool


Work = Callable[[Wish], Done | PhotoFault]


def work(cache: Path, wish: Wish) -> Done | PhotoFault:
    """Make one photo's pack or find it, in another process; what is wrong comes back as a PhotoFault."""
    at_ns = time.time_ns()
    seen = signature(os.fspath(wish.path)) or (0, 0)
    try:
        content = read_photo(wish.path)
        digest = hashlib.sha256(content).hexdigest()
        key = key_of(digest, wish.focus, wish.detail)
        path = pack_path(cache, key)
        manifest = pack.read_manifest(path, key)
        if made := manifest is None:
            with open_photo(content) as photo:
                image, size = develop(photo)
            parts = cut(image, size, wish.focus, detail=wish.detail)
            manifest = pack.write_pack(path, key, size, parts)
        return Done(digest, seen, at_ns, key, manifest, made)
    except UnreadablePhoto as fault:
        return PhotoFault(Path(wish.path), str(fault))
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        return PhotoFault(Path(wish.path), f"the finished pictures can't be stored in {cache} ({reason})")


def work_all(
    job: Work, wishes: Sequence[Wish], workers: int | None
) -> Iterator[tuple[Wish, Done | PhotoFault]]:
    """Yield every wish with its outcome, in the order in which they end."""
    _keep_blocks()
    count = min(workers or os.cpu_count() or 1, len(wishes))
    if count <= 1:
        yield from ((wish, job(wish)) for wish in wishes)
    elif len(wishes) < _PROCESSES_FROM:
        yield from _shared(ThreadPoolExecutor(count), job, wishes, count * _AHEAD)
    else:
        yield from _shared(_processes(count), job, wishes, count * _AHEAD)


def _processes(count: int) -> Executor:
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    # "spawn" works alike on every system, and beside threads.
    return ProcessPoolExecutor(count, mp_context=get_context("spawn"), initializer=_prepare)


def _shared(
    crew: Executor, job: Work, wishes: Sequence[Wish], most: int
) -> Iterator[tuple[Wish, Done | PhotoFault]]:
    """Keep at most `most` wishes handed out: memory grows with the crew and not with the catalogue."""
    waiting = iter(wishes)
    handed: dict[Future[Done | PhotoFault], Wish] = {}
    try:
        while True:
            for wish in islice(waiting, most - len(handed)):
                handed[crew.submit(job, wish)] = wish
            if not handed:
                return
            for future in wait(handed, return_when=FIRST_COMPLETED).done:
                outcome = future.result()
                yield handed.pop(future), outcome
    except BrokenExecutor:
        # One of the photos at work ended its process. Find out which, then go on without it.
        yield from ((wish, _alone(job, wish)) for wish in handed.values())
        yield from work_all(job, list(waiting), most // _AHEAD)
    finally:
        crew.shutdown(wait=True, cancel_futures=True)


def _alone(job: Work, wish: Wish) -> Done | PhotoFault:
    with _processes(1) as crew:
        try:
            return crew.submit(job, wish).result()
        except BrokenExecutor:
            sentence = "this photo ends the program that reads it; open it and save it as a new JPEG"
            return PhotoFault(Path(wish.path), sentence)


def _keep_blocks() -> None:
    # Pillow's manual, "Block allocator"; its types don't know it.
    Image.core.set_blocks_max(_BLOCKS)  # type: ignore[attr-defined]


def _prepare() -> None:
    """Make a worker quiet: warnings about odd files are no news here, and the parent answers Ctrl-C."""
    _keep_blocks()
    warnings.simplefilter("ignore")
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    """End this worker when the parent was killed; it would wait for work for ever."""
    from multiprocessing import parent_process
    from multiprocessing.connection import wait as wait_for_end

    parent = parent_process()
    if parent is not None:
        wait_for_end([parent.sentinel])
        os._exit(1)
