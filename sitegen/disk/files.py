"""A file whole or not at all, for its owner only where it is private; a lock that ends with its holder."""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
from collections.abc import Iterable
from pathlib import Path

_FAR = 1 << 30

# Read and written by their owner alone.
OWN_FILE, OWN_FOLDER = 0o600, 0o700


def own_folder(folder: Path) -> None:
    """Make a folder for its owner only, or make it so."""
    folder.mkdir(mode=OWN_FOLDER, parents=True, exist_ok=True)
    if folder.stat().st_mode & 0o077:
        with contextlib.suppress(OSError):  # a memory stick that knows no owners
            folder.chmod(OWN_FOLDER)


def write_whole(
    target: Path,
    content: bytes | Iterable[bytes],
    *,
    lasting: bool = True,
    parts: Path | None = None,
    private: bool = False,
) -> None:
    """Replace a file in one step: whoever reads it sees the old bytes or the new ones, never a part.

    Permissions are kept, but for a `private` file, which is its owner's alone whatever it was. `lasting`
    waits until a power cut couldn't undo it; what can be made again needn't. `parts` is the folder for the
    unfinished file, on the same disk; None means beside the target. Raises OSError; the old file then stands
    untouched, and nothing of the new one is left.
    """
    handle, name = tempfile.mkstemp(dir=parts or target.parent, prefix=f".{target.name}.", suffix=".part")
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.writelines([content] if isinstance(content, bytes) else content)
            if lasting:
                file.flush()
                os.fsync(file.fileno())
        if private:
            temporary.chmod(OWN_FILE)
        elif target.exists():
            shutil.copymode(target, temporary)
        else:
            # A temporary file is for its owner only; most of what is written here others are to read.
            temporary.chmod(0o644)
        temporary.replace(target)
    except BaseException:
        with contextlib.suppress(OSError):
            temporary.unlink()
        raise


def hold(handle: int) -> None:
    """Lock an open file for this process alone. Raises BlockingIOError while another one holds it.

    The operating system drops the lock when the process ends, however it ends.
    """
    if os.name == "nt":
        import msvcrt

        os.lseek(handle, _FAR, os.SEEK_SET)  # what is locked can't be read there, and who holds it is
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
        except OSError as held:
            raise BlockingIOError(*held.args) from held
    else:
        import fcntl

        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
