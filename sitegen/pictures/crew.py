"""Share the work among processes, a bounded number of photos at a time."""

import os
import signal
import threading
import warnings
from collections.abc import Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Executor, Future, ThreadPoolExecutor, wait
from itertools import islice

from PIL import Image

from sitegen.pictures.work import Done, Failed, Task, work

# Fewer sets than this are made by threads: they start at once, and Pillow's decoders and encoders let go of
# the interpreter while they work.
_PROCESSES_FROM = 9
# Blocks of 16 MB that Pillow keeps for its next image. A photo of 12 MP fills three; asking the system for
# fresh ones each time took a twentieth of all work. More of them were no faster.
_BLOCKS = 3
# Tasks handed out per worker: one at work, one waiting.
_AHEAD = 2


def work_all(tasks: Sequence[Task], workers: int | None) -> Iterator[Done | Failed]:
    """Yield the outcome of every task, in the order in which they end."""
    _keep_blocks()
    count = min(workers or os.cpu_count() or 1, len(tasks))
    if count <= 1:
        yield from map(work, tasks)
    elif len(tasks) < _PROCESSES_FROM:
        yield from _shared(ThreadPoolExecutor(count), tasks, count * _AHEAD)
    else:
        yield from _shared(_processes(count), tasks, count * _AHEAD)


def _processes(count: int) -> Executor:
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    # "spawn" works alike on every system, and beside threads.
    return ProcessPoolExecutor(count, mp_context=get_context("spawn"), initializer=_prepare)


def _shared(crew: Executor, tasks: Sequence[Task], most: int) -> Iterator[Done | Failed]:
    """Keep at most `most` tasks handed out, so that memory grows with the crew and not with the catalogue."""
    waiting = iter(tasks)
    handed: dict[Future[Done | Failed], Task] = {}
    try:
        while True:
            for task in islice(waiting, most - len(handed)):
                handed[crew.submit(work, task)] = task
            if not handed:
                return
            for future in wait(handed, return_when=FIRST_COMPLETED).done:
                outcome = future.result()
                del handed[future]
                yield outcome
    except BrokenExecutor:
        # One of the photos at work ended its process. Find out which, then go on without it.
        yield from map(_alone, handed.values())
        yield from work_all(list(waiting), most // _AHEAD)
    finally:
        crew.shutdown(wait=True, cancel_futures=True)


def _alone(task: Task) -> Done | Failed:
    with _processes(1) as crew:
        try:
            return crew.submit(work, task).result()
        except BrokenExecutor:
            return Failed(
                task, "this photo ends the program that reads it; open it and save it as a new JPEG"
            )


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
