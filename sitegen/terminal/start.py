"""Where the program starts."""

from __future__ import annotations

import atexit
import contextlib
import gc
import sys
from typing import NoReturn

# Objects made since the last look for those that only hold each other. A command lives for seconds and makes
# few of them; at Python's own 700 it looks through a thousand pieces again and again, a quarter of its time.
_SELDOM = 100_000


def run() -> None:
    """Run the command line."""
    gc.set_threshold(_SELDOM, 50, 50)
    # At its end Python would look through everything once more; what is frozen it lets be.
    atexit.register(gc.freeze)
    try:
        from sitegen.terminal.main import main

        main(prog_name="sitegen")
    except KeyboardInterrupt:
        _end("Stopped.", 130)
    finally:
        _last_words()


def _last_words() -> None:
    """Bring out what is still to be said; Python itself would end in a traceback if that can't be."""
    try:
        sys.stdout.flush()
    except OSError as fault:
        from sitegen.terminal.telling import hush

        hush()
        _end(f"The answer can't be written out ({fault.strerror}).", 1)


def _end(sentence: str, status: int) -> NoReturn:
    with contextlib.suppress(OSError):
        sys.stderr.write(f"{sentence}\n")
        sys.stderr.flush()
    raise SystemExit(status) from None
