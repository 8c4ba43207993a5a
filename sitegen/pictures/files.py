"""Write files whole or not at all."""

import os
import tempfile
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path


def write_whole(target: Path, content: bytes | Iterable[bytes]) -> None:
    """Put `content` at `target` in one step, so that a reader sees the old file, the new one or none.

    Raises OSError; then nothing of the new file is left behind.
    """
    target.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(prefix=".", suffix=".part", dir=target.parent)
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
