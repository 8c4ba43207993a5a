"""What rooms that write need of the disk: a file whole or not at all, a lock that ends with its holder."""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
from collections.abc import Iterable
from pathlib import Path


def write_whole(
    target: Path, content: bytes | Iterable[bytes], *, lasting: bool = True, parts: Path | None = None
) -> None:
    """Replace a file in one step: whoever reads it sees the old bytes or the new ones, never a part.

    Permissions are kept. `lasting` waits until a power cut couldn't undo it; what can be made again needn't.
    `parts` is the folder for the unfinished file, on the same disk; None means beside the target. Raises
    OSError; the old file then stands untouched, and nothing of the new one is left.
    """
    handle, name = tempfile.mkstemp(dir=parts or target.parent, prefix=f".{target.name}.", suffix=".part")
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.writelines([content] if isinstance(content, bytes) else content)
            if lasting:
                file.flush()
                os.fsync(file.fileno())
        if target.exists():
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
    """Lock an open file for this process alone. Raises OSError while another one holds it.

    The operating system drops the lock when the process ends, however it ends.
    """
    if os.name == "nt":
        import msvcrt

        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
    else:
        import fcntl

        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
