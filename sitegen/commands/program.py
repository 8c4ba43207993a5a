"""How the program is called where the artist stands."""

from __future__ import annotations

import shlex
import shutil
import sys
from pathlib import Path


def program() -> str:
    """Return the words that start this program from any folder: `sitegen` where the terminal knows it."""
    started = Path(sys.argv[0])
    if shutil.which("sitegen") is not None:
        return "sitegen"
    if started.stem == "sitegen" and started.is_file():
        return shlex.quote(str(started.resolve()))
    return f"{shlex.quote(sys.executable)} -m sitegen"
