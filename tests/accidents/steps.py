"""Let a command end, or the disk refuse, at one of its steps: each time it opens, renames or removes something.

Python tells of each such step before it's taken (PEP 578), so every instant between two of them can be tried. What
can't be told in a hook stays for as long as its process lives, so this belongs into a process of its own.
"""

from __future__ import annotations

import errno
import os
import signal
import sys
from collections.abc import Callable
from typing import Any

_WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT
_STEPS = frozenset({"os.rename", "os.remove", "os.mkdir", "os.rmdir", "os.chmod", "os.link", "os.truncate"})
# What a full disk refuses; taking something away or another name it doesn't.
_NEEDS_ROOM = frozenset({"open", "os.mkdir", "os.link"})

Act = Callable[[str, Any], None]


def at_step(number: int, act: Act, *, onwards: bool = False) -> list[int]:
    """Call `act` with name and first argument of a step, counted from 1; `onwards` also at each later one.

    Returns a list whose only number is how many steps there were.
    """
    count = [0]

    def hook(event: str, args: tuple[Any, ...]) -> None:
        if event not in _STEPS and not (event == "open" and _is_write(args)):
            return
        count[0] += 1
        if count[0] == number or (onwards and count[0] > number):
            act(event, args[0] if args else None)

    sys.addaudithook(hook)
    return count


def _is_write(args: tuple[Any, ...]) -> bool:
    path, _, flags = args
    return isinstance(path, str | bytes | os.PathLike) and isinstance(flags, int) and bool(flags & _WRITES)


def killed(_event: str, _path: object) -> None:
    """End here, as `kill -9` does it."""
    os.kill(os.getpid(), signal.SIGKILL)


def refused(_event: str, path: object) -> None:
    """Refuse one step."""
    raise OSError(errno.EIO, os.strerror(errno.EIO), path)


def full(event: str, path: object) -> None:
    """Refuse what needs room."""
    if event in _NEEDS_ROOM:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), path)
