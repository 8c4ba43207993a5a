"""Keep files in the cache, and drop what nobody needs there."""

import time
from collections.abc import Container, Sequence
from contextlib import suppress
from pathlib import Path

from sitegen.disk import sweep_parts, write_whole

# Seconds; a part this old belongs to no build that still runs.
_ABANDONED = 24 * 60 * 60
# Seconds; what nobody has wanted and is this old is made again if it's wanted after all.
_UNUSED = 60 * _ABANDONED


def keep(target: Path, content: Sequence[bytes], *, parts: Path | None = None) -> None:
    """Put `content` at `target` in one step, by way of a part in the folder `parts`; raises OSError.

    Windows refuses while another program has `target` open; if another build has written the same bytes
    there, its file is as good as ours.
    """
    for needed in {parts or target.parent, target.parent}:
        needed.mkdir(parents=True, exist_ok=True)
    if parts is None:
        sweep_parts(target.parent)
    try:
        write_whole(target, content, lasting=False, parts=parts)
    except PermissionError:
        if not target.is_file() or target.read_bytes() != b"".join(content):
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
