"""Read everything, report every complaint, write nothing."""

from __future__ import annotations

from pathlib import Path

from sitegen.jobs.themes import complaint_of
from sitegen.sources import Complaint, read


def check(folder: Path) -> tuple[Complaint, ...]:
    """Return every complaint about the studio's files, photos looked into included."""
    from sitegen import pictures

    def look(path: Path) -> str | None:
        fault = pictures.look(path)
        return fault.message if fault else None

    reading = read(folder, look)
    if reading.studio is None:
        return reading.complaints
    wrong = complaint_of(folder, reading.studio.settings)
    return tuple(sorted([*reading.complaints, wrong])) if wrong else reading.complaints
