"""Write files whole or not at all."""

import os
import tempfile
import time
from collections.abc import Container, Iterable
from contextlib import suppress
from pathlib import Path

# Seconds; a part this old belongs to no build that still runs.
_ABANDONED = 24 * 60 * 60
# Seconds; what nobody has wanted and is this old is made again if it's wanted after all.
_UNUSED = 60 * _ABANDONED


def write_whole(target: Path, content: bytes | Iterable[bytes], *, parts: Path | None = None) -> None:
    """Put `content` at `target` in one step, so that a reader sees the old file, the new one or none.

    `parts`: the folder for the unfinished file, on the same disk; None: beside the target.
    Raises OSError; then nothing of the new file is left behind.
    """
    folder = parts or target.parent
    for needed in {folder, target.parent}:
        needed.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(prefix=".", suffix=".part", dir=folder)
    try:
        with os.fdopen(handle, "wb") as file:
            file.writelines([content] if isinstance(content, bytes) else content)
        # A temporary file is for its owner only; pictures are going to be read by a web server.
        Path(name).chmod(0o644)
        _replace(Path(name), target)
    except BaseException:
        with suppress(OSError):
            Path(name).unlink()
        raise


def remove_abandoned(parts: Path) -> None:
    """Remove the unfinished files of builds that were killed; those of a build at work stay."""
    oldest = time.time() - _ABANDONED
    for part in parts.glob(".*.part"):
        # Another build may be tidying up too.
        with suppress(OSError):
            if part.stat().st_mtime < oldest:
                part.unlink()


def remove_unused(cache: Path, ending: str, used: Container[str]) -> list[str]:
    """Remove files of `ending` in the cache's folders that are neither `used` nor young; return their stems.

    A photo that is put back within that time, or a studio that is built from two folders, finds them again.
    """
    oldest, removed = time.time() - _UNUSED, []
    for file in cache.glob(f"??/*{ending}"):
        with suppress(OSError):
            if file.stem not in used and file.stat().st_mtime < oldest:
                file.unlink()
                removed.append(file.stem)
    return removed


def _replace(source: Path, target: Path) -> None:
    """Rename `source` to `target`.

    Windows refuses while another program has `target` open; that other build has written the same bytes
    under the same name, so a file of the same size is as good as ours.
    """
    try:
        source.replace(target)
    except PermissionError:
        if not target.is_file() or target.stat().st_size != source.stat().st_size:
            raise
        source.unlink()
