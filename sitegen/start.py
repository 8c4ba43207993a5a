"""Where the program starts."""

from __future__ import annotations

import atexit
import gc

# Objects made since the last look for those that only hold each other. A command lives for seconds and makes
# few of them; at Python's own 700 it looks through a thousand pieces again and again, a quarter of its time.
_SELDOM = 100_000


def run() -> None:
    """Run the command line."""
    gc.set_threshold(_SELDOM, 50, 50)
    # At its end Python would look through everything once more; what is frozen it lets be.
    atexit.register(gc.freeze)
    from sitegen.cli import main

    main(prog_name="sitegen")
