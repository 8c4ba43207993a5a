"""Share the work among processes, a bounded number of photos at a time."""

import hashlib
import os
import signal
import threading
import time
import warnings
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Executor, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from PIL import Image

from sitegen.pictures.developing import cut, develop
from sitegen.pictures.opening import PhotoFault, UnreadablePhoto, Wish, open_photo, read_photo
from sitegen.pictures.pack import BadPack, Signature, pack_path, read_manifest, signature, write_pack
from sitegen.pictures.recipe import key_of

# Fewer sets than this are made by threads: they start at once, and Pillow's decoders and encoders let go of
# the interpreter while they work.
_PROCESSES_FROM = 9
# Blocks of 16 MB that Pillow keeps for its next image. A photo of 12 MP fills three; asking the system for
# fresh ones each time took a twentieth of all work. More of them were no faster.
_BLOCKS = 3
# Tasks handed out per worker: one at work, one waiting.
_AHEAD = 2


@dataclass(frozen=True, slots=True)
class Done:
    """Tell where the pack is and what was seen on the way."""

    digest: str
    # Of the photo before it was read, and the time then, in ns.
    seen: Signature
    at_ns: int
    key: str
    manifest: str
    made: bool


Work = Callable[[Wish], Done | PhotoFault]


def work(cache: Path, wish: Wish) -> Done | PhotoFault:
    """Make one photo's pack or find it, in another process; what is wrong comes back as a PhotoFault."""
    try:
        return _pack(cache, wish)
    except UnreadablePhoto as fault:
        return PhotoFault(Path(wish.path), str(fault))
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        return PhotoFault(Path(wish.path), f"the finished pictures can't be stored in {cache} ({reason})")


def _pack(cache: Path, wish: Wish) -> Done:
    at_ns = time.time_ns()
    seen = signature(os.fspath(wish.path)) or (0, 0)
    content = read_photo(wish.path)
    digest = hashlib.sha256(content).hexdigest()
    key = key_of(digest, wish.focus, wish.detail)
    path = pack_path(cache, key)
    try:
        return Done(digest, seen, at_ns, key, read_manifest(path, key), made=False)
    except BadPack:
        with open_photo(content) as photo:
            image, size = develop(photo)
        parts = cut(image, size, wish.focus, detail=wish.detail)
        manifest = write_pack(path, key, size, parts)
        return Done(digest, seen, at_ns, key, manifest, made=True)


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
