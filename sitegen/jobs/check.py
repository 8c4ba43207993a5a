"""Read everything, report every complaint, write nothing."""

from __future__ import annotations

from pathlib import Path

from sitegen.sources import Complaint, read


def check(folder: Path) -> tuple[Complaint, ...]:
    """Return every complaint about the studio's files, photos looked into included."""
    from sitegen import pictures

    def look(path: Path) -> str | None:
        fault = pictures.look(path)
        return fault.message if fault else None

    return read(folder, look).complaints
